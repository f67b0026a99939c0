"""Limits of drinking water that the table of targets leaves out, where the raw water holds them."""

from collections.abc import Mapping
from math import inf, isfinite

from pretreat.core.basis import Evidence
from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.lab.health import (
    DOSE,
    PARTS,
    RADIUM,
    HealthLimit,
    health_limits,
    indicative_dose,
    nitrate_and_nitrite,
)
from pretreat.membrane.elements.targets import Limit, limits
from pretreat.site.design import ProductUse

DRINKING, PROCESS = "drinking", "process"
ACID_PH, BASIC_PH = 6.5, 9.5  # EU98_83, CFR143_3: below it is corrosive, above caustic
OXYGEN, SODIC = "o2", "sodic"  # a parameter, and the mark of a flag
NAMES = {"ra_pci_l": "ra", "gross_alpha_pci_l": "gross_alpha"}


def parameter_of(key: str) -> str:
    """Return the parameter of a target that a key of data/health_limits.csv is.

    Parameters
    ----------
    key : str
        Key of the limit. [-]

    Returns
    -------
    str
        Such as "no3_mg_l", "pb", "ra". [-]
    """
    return f"{key}_mg_l" if key in analytes() else NAMES.get(key, key)


def trace_amounts(ledger: Ledger) -> dict[str, float]:
    """Return what the raw water holds of all that has a limit for drinking water.

    Parameters
    ----------
    ledger : Ledger
        With the water entered. [-]

    Returns
    -------
    dict of str to float
        By parameter of a target. [unit of the limit]
    """
    found = {}
    for limit in health_limits():
        key = limit.key if limit.key.endswith("_l") else f"{limit.key}_mg_l"
        number = ledger.number(f"water.{key}")
        if number is not None:
            found[parameter_of(limit.key)] = number
    return found | sums_of(found)


def sums_of(values: Mapping[str, float]) -> dict[str, float]:
    """Return nitrate and nitrite, and radioactivity, taken together as their limits take them.

    Parameters
    ----------
    values : mapping of str to float
        By parameter of a target. [mg/L as the ion]

    Returns
    -------
    dict of str to float
        Without what is not known. [unit of the limit]
    """
    pair = [values.get(key, inf) for key in ("no3_mg_l", "no2_mg_l")]
    found = nitrate_and_nitrite(*pair) if all(map(isfinite, pair)) else {}
    known = {RADIUM: values["ra"]} if isfinite(values.get("ra", inf)) else {}
    parts = {k: v for k in (*PARTS[DOSE], "u") if isfinite(v := values.get(k, inf))}
    dose = indicative_dose(known | parts)
    return found if dose is None else found | {DOSE: dose}


def more_rules(ledger: Ledger, use: ProductUse) -> tuple[Limit, ...]:
    """Return the limits of drinking water that bind what was found in the raw water besides.

    Parameters
    ----------
    ledger : Ledger
        With the water entered. [-]
    use : ProductUse
        Target and jurisdiction. [-]

    Returns
    -------
    tuple of Limit
        Those that data/product_targets.csv does not hold. [-]
    """
    if use.target != DRINKING:
        return ()
    found, there = trace_amounts(ledger), _held()
    return tuple(
        _as_rule(limit)
        for limit in health_limits()
        if use.jurisdiction in (None, limit.jurisdiction)
        and parameter_of(limit.key) in found
        and (limit.jurisdiction, parameter_of(limit.key)) not in there
    )


def others(use: ProductUse) -> tuple[Limit, ...]:
    """Return the limits for health of the bodies that do not bind where one is named.

    Parameters
    ----------
    use : ProductUse
        Target and jurisdiction. [-]

    Returns
    -------
    tuple of Limit
        Empty where none is named. [-]
    """
    if use.target != DRINKING or use.jurisdiction is None:
        return ()
    return tuple(
        _as_rule(limit)
        for limit in health_limits()
        if limit.kind == "health" and limit.jurisdiction != use.jurisdiction
    )


def _held() -> set[tuple[str, str]]:
    return {(x.jurisdiction, x.parameter) for x in limits() if x.target == DRINKING}


def _as_rule(limit: HealthLimit) -> Limit:
    evidence: Evidence = limit.evidence  # type: ignore[assignment]
    return Limit(
        DRINKING,
        limit.jurisdiction,
        parameter_of(limit.key),
        limit.name,
        limit.unit,
        -inf,
        limit.limit,
        limit.kind,
        limit.source,
        f"{limit.printed}, {limit.law}",
        evidence,
    )
