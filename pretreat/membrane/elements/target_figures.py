"""The product against what it is for: each limit with its source, and what exceeds it."""

from collections.abc import Mapping
from math import isfinite

from pretreat.core.basis import Flag, Level, Series
from pretreat.core.results import Ledger
from pretreat.membrane.elements.targets import (
    HEALTH,
    Limit,
    Verdict,
    health_behaviour,
    judge,
    limits,
    limits_of,
)
from pretreat.site.design import ProductUse

REPEALED = "eu98"  # compared only where it is named
LEVELS: Mapping[str, Level] = {"aesthetic": "caution", "slight": "caution"}
DEFER = "codes of the place and the authority decide"


def enter_target(ledger: Ledger, use: ProductUse, values: Mapping[str, float]) -> None:
    """Hold the product against the target that the site names.

    Parameters
    ----------
    ledger : Ledger
        With the product entered. [-]
    use : ProductUse
        Target and jurisdiction. [-]
    values : mapping of str to float
        Values of the product by parameter. [unit in the name]
    """
    if use.target is None:
        return
    ledger.put("product.target", use.target, "-", "What the product is for", origin="chosen")
    if use.jurisdiction is None:
        rules = tuple(x for x in limits() if x.target == use.target and x.jurisdiction != REPEALED)
    else:
        rules = limits_of(use.target, use.jurisdiction)
    found = judge(values, rules)
    rows = []
    for v in found:
        bounds = (v.limit.low, v.limit.high)
        value = v.value if isfinite(v.value) else None
        low, high = (b if isfinite(b) else None for b in bounds)
        source = f"{v.limit.source}, {v.limit.where}"
        whose = v.limit.jurisdiction
        rows.append(
            (
                v.limit.name,
                value,
                low,
                high,
                v.limit.unit,
                v.limit.grade,
                whose,
                v.state,
                source,
                v.limit.evidence,
            )
        )
    ledger.table(
        Series(
            "product.against_target",
            f"The product against limits for {use.target} water",
            (
                "parameter",
                "value",
                "low",
                "high",
                "unit",
                "grade",
                "whose",
                "state",
                "source",
                "evidence",
            ),
            ("-",) * 10,
            tuple(rows),
            method=f"limits bind where the law named binds; {DEFER}",
            cites=tuple(dict.fromkeys(rule.source for rule in rules)),
            headings=(
                "Parameter",
                "Product",
                "Low",
                "High",
                "Unit",
                "Grade",
                "Whose",
                "State",
                "Source",
                "Evidence",
            ),
        )
    )
    _flag(ledger, found, bound=use.jurisdiction is not None)


def _flag(ledger: Ledger, found: tuple[Verdict, ...], *, bound: bool) -> None:
    """Flag what is exceeded, once a parameter, the gravest limit first."""
    over: dict[str, Verdict] = {}
    grave = sorted(found, key=lambda v: (v.limit.grade in LEVELS, v.limit.high))
    for verdict in grave:
        if verdict.state == "exceeded":
            over.setdefault(verdict.limit.parameter, verdict)
    for parameter, verdict in over.items():
        where = "" if bound else ", where that law binds"
        text = f"product water: {verdict.text}{where}{_behaviour(verdict.limit)}; {DEFER}"
        level = LEVELS.get(verdict.limit.grade, "warning")
        key = f"product.{parameter}"
        ledger.flag(Flag("product_target", level, text, key if key in ledger else "product.target"))
    states = {"not measured", "not judged"}
    open_ = {v.limit.name: v.limit.parameter for v in found if v.state in states}
    in_raw = {name for name, key in open_.items() if _in_raw_water(ledger, key)}
    for words, names in (
        (
            "not measured or not computable, so not judged in the product water",
            open_.keys() - in_raw,
        ),
        ("measured in the raw water, passage into the product not computed", in_raw),
    ):
        if not names:
            continue
        text = f"{words}: {', '.join(sorted(names))}"
        ledger.flag(Flag("product_target_open", "caution", text, "product.target"))


def _in_raw_water(ledger: Ledger, parameter: str) -> bool:
    name = parameter.removesuffix("_mg_l")
    keys = (f"water.{name}_mg_l", f"water.{name}_pci_l", f"water.{name}")
    return any(ledger.number(key) is not None for key in keys)


def _behaviour(limit: Limit) -> str:
    known = health_behaviour().get(limit.parameter.removesuffix("_mg_l"))
    if known is None or limit.grade != HEALTH:
        return ""
    return f"; membrane: {known.membrane}; softener: {known.softener}; {known.caution}"
