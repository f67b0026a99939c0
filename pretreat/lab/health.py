"""Limits for drinking water: which ones a water exceeds, and where the train leaves it.

A comparison with printed limits is no judgement that a water may be drunk: that belongs to the
health authority and to licensed practice.
"""

from collections.abc import Collection, Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Literal

from msgspec import Struct

from pretreat.core.basis import Flag, Level, cites
from pretreat.core.law import Number, law, valid
from pretreat.core.tables import analytes, rows
from pretreat.core.units import molar_mass
from pretreat.core.water import WaterAnalysis
from pretreat.lab.interpret.traces import only_present, traces

Jurisdiction = Literal["us", "eu", "who"]
Bound = Literal["here", "anybody", "elsewhere"]
NITROGEN = ("no3", "no2")
DOSE, RADIUM, URANIUM_238 = "indicative_dose", "ra_pci_l", "u238"
# What a limit takes together, and of what: told where none of it is over by itself.
PARTS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "no3_no2_n": NITROGEN,
        "no3_no2_ratio": NITROGEN,
        DOSE: ("ra226_pci_l", "ra228_pci_l"),
    }
)
SUMS = ("no3_no2_n", "no3_no2_ratio")
GERMS = (("ecoli_cfu_100_ml", "E. coli"), ("coliform_cfu_100_ml", "coliforms"))
DEFER = "the health authority and licensed practice decide"
EURATOM = "EURATOM2013_51"
FROM_MEMORY = "limit to be verified in the text in force"
NO_WORDS: Mapping[str, str] = MappingProxyType({})
N_PER_NO3 = molar_mass("N") / molar_mass("NO3")
N_PER_NO2 = molar_mass("N") / molar_mass("NO2")
TOTALS = ("fe", "mn", "al")  # health looks at the total, dissolved or not


class HealthLimit(Struct, frozen=True):
    """One limit of data/health_limits.csv, in ``unit``; ``printed`` is how the law words it."""

    key: str
    name: str
    limit: float
    unit: str
    printed: str
    law: str
    jurisdiction: str
    kind: str
    source: str
    evidence: str


class Exceedance(Struct, frozen=True):
    """A constituent above one limit or more, the strictest first."""

    key: str
    name: str
    amount: float
    unit: str
    limits: tuple[HealthLimit, ...]

    @property
    def times(self) -> float:
        """How many times the strictest limit."""
        return self.amount / self.limits[0].limit


@cites("CFR141_62", "total nitrate and nitrite, 10 mg/L as N")
@cites("WHO_GDWQ", "sum of the ratios to 50 and 3 mg/L, not above 1; EU 2020/2184 likewise")
def nitrate_and_nitrite(no3_mg_l: float, no2_mg_l: float) -> dict[str, float]:
    """Return nitrate and nitrite taken together, by the keys of their limits.

    Parameters
    ----------
    no3_mg_l, no2_mg_l : float
        As the ion. [mg/L]

    Returns
    -------
    dict of str to float
        ``no3_no2_n`` as nitrogen [mg/L], ``no3_no2_ratio`` nitrate / 50 + nitrite / 3 [-].
    """
    nitrogen = no3_mg_l * N_PER_NO3 + no2_mg_l * N_PER_NO2
    return {"no3_no2_n": nitrogen, "no3_no2_ratio": no3_mg_l / 50.0 + no2_mg_l / 3.0}


@cites("EURATOM2013_51", "sum of activity over derived concentration, not above 1: 0.10 mSv a year")
def indicative_dose(found: Mapping[str, float]) -> float | None:
    """Return the sum of activity over derived concentration of radium and uranium.

    Parameters
    ----------
    found : mapping of str to float
        Amounts by the keys of their limits; radium whose nuclides are not apart counts as
        radium 228, the worse. [pCi/L, mg/L]

    Returns
    -------
    float or None
        None where no radium was found. [-]
    """
    derived = {x.key: x.limit for x in health_limits() if x.source == EURATOM}
    parts = {key: found[key] for key in PARTS[DOSE] if key in found}
    if not parts and RADIUM in found:
        parts = {"ra228_pci_l": found[RADIUM]}
    if not parts:
        return None
    uranium = found.get("u", 0.0) / derived[URANIUM_238]
    return sum(v / derived[k] for k, v in parts.items()) + uranium


@lru_cache(maxsize=1)
def health_limits() -> tuple[HealthLimit, ...]:
    """Return every limit of data/health_limits.csv."""
    return tuple(
        HealthLimit(
            r["key"],
            r["name"],
            float(r["limit"]),
            r["unit"],
            r["printed"],
            r["law"],
            r["jurisdiction"],
            r["kind"],
            r["source"],
            r["evidence"],
        )
        for r in rows("health_limits.csv")
    )


def amounts_of(water: WaterAnalysis) -> dict[str, float]:
    """Return what was found in a water by the keys of the limits, totals where there are any.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis; what was not detected is left out. [-]

    Returns
    -------
    dict of str to float
        mg/L as the ion, or as the key names it. [-]
    """
    found = {**water.mg_l, **water.properties}
    metals = {k: t.property for k, t in traces().items() if t.unit == "mg/L"}
    found |= {k: found[name] for k, name in metals.items() if name in found}
    found |= {k: v for k, v in water.total_mg_l.items() if k in TOTALS or k not in found}
    if found.get("no3") and found.get("no2"):
        found |= nitrate_and_nitrite(found["no3"], found["no2"])
    dose = indicative_dose(found)
    return found if dose is None else found | {DOSE: dose}


def exceedances(
    amounts: Mapping[str, float],
    jurisdiction: Jurisdiction | None = None,
    *,
    aesthetic: bool = True,
) -> tuple[Exceedance, ...]:
    """Return the constituents above a limit for drinking water.

    Parameters
    ----------
    amounts : mapping of str to float
        What is in the water. [unit of data/health_limits.csv]
    jurisdiction : {"us", "eu", "who"}, optional
        Whose limits; all of them if omitted. [-]
    aesthetic : bool
        Secondary and indicator limits too. [-]

    Returns
    -------
    tuple of Exceedance
        Once per constituent, limits for health before others, then by how far over. [-]
    """
    over: dict[str, list[HealthLimit]] = {}
    for limit in health_limits():
        applies = jurisdiction in (None, limit.jurisdiction)
        applies = applies and (aesthetic or limit.kind == "health")
        if applies and amounts.get(limit.key, 0.0) > limit.limit:
            over.setdefault(limit.key, []).append(limit)
    found = [
        Exceedance(
            key,
            limits[0].name,
            amounts[key],
            limits[0].unit,
            tuple(sorted(limits, key=lambda one: (one.kind != "health", one.limit))),
        )
        for key, limits in over.items()
    ]
    return tuple(sorted(found, key=lambda e: (e.limits[0].kind != "health", -e.times)))


def fates(key: str, stages: Collection[str]) -> tuple[str, ...]:
    """Return what the stages of a train do with a constituent, and where it ends up.

    Parameters
    ----------
    key : str
        Key of data/health_fates.csv. [-]
    stages : collection of str
        Stage keys; "membrane" for the machine. [-]

    Returns
    -------
    tuple of str
        One clause per stage, in the order of the table. [-]
    """
    return tuple(
        r["text"] for r in rows("health_fates.csv") if r["key"] == key and r["stage"] in stages
    )


def health_flags(
    amounts: Mapping[str, float],
    *,
    drinking: bool = False,
    jurisdiction: Jurisdiction | None = None,
    stages: Collection[str] = ("membrane",),
    which: str = "the raw water",
    more: Mapping[str, str] = NO_WORDS,
) -> tuple[Flag, ...]:
    """Return one `health_limit` flag per constituent above a limit for drinking water.

    A warning where the water is meant for drinking (then secondary limits count too), else an
    info line for the limits of health alone. What is above limits of other bodies alone is told
    as theirs (`health_limit_elsewhere`) where a jurisdiction binds: a caution for health, an info
    line for the rest.

    Parameters
    ----------
    amounts : mapping of str to float
        What is in the water. [unit of data/health_limits.csv]
    drinking : bool
        The stated target is drinking water. [-]
    jurisdiction : {"us", "eu", "who"}, optional
        Whose limits bind; all are compared if omitted. [-]
    stages : collection of str
        Stages of the train, to say where the constituent ends up. [-]
    which : str
        What the water is called. [-]
    more : mapping of str to str
        What else is known of a constituent, by its key. [-]

    Returns
    -------
    tuple of Flag
        The gravest first. [-]
    """
    own = _sums_left(exceedances(amounts, jurisdiction, aesthetic=drinking))
    told = {one.key for one in own}
    every = () if jurisdiction is None else exceedances(amounts, aesthetic=drinking)
    again = {RADIUM, DOSE, *PARTS[DOSE]} if told & {RADIUM, DOSE, *PARTS[DOSE]} else set()
    others = _sums_left(tuple(one for one in every if one.key not in told | again), told)

    def flag(one: Exceedance, level: Level, bound: Bound) -> Flag:
        ends = (*fates(one.key, stages), *([more[one.key]] if one.key in more else []))
        figure = f"water.{one.key}" if one.key.endswith("_l") else f"water.{one.key}_mg_l"
        code = "health_limit_elsewhere" if bound == "elsewhere" else "health_limit"
        return Flag(code, level, _text(one, which, ends, bound), figure)

    def level_of(one: Exceedance) -> Level:
        return "caution" if drinking and one.limits[0].kind == "health" else "info"

    binds: Bound = "anybody" if jurisdiction is None else "here"
    return (
        *(flag(one, "warning" if drinking else "info", binds) for one in own),
        *(flag(one, level_of(one), "elsewhere") for one in others),
    )


def _sums_left(found: tuple[Exceedance, ...], told: Collection[str] = ()) -> tuple[Exceedance, ...]:
    """Leave out nitrate and nitrite together where one of the two is over by itself."""
    alone = {*told, *(one.key for one in found)}
    return tuple(one for one in found if alone.isdisjoint(_parts_of(one.key)))


def _parts_of(key: str) -> tuple[str, ...]:
    """Return what tells of a sum already where it is over by itself."""
    return (*PARTS[key], *((RADIUM,) if key == DOSE else ())) if key in PARTS else ()


def _text(one: Exceedance, which: str, ends: tuple[str, ...], bound: "Bound") -> str:
    laws = "; ".join(_law(limit) for limit in one.limits)
    fate = f"; {'; '.join(ends)}" if ends else ""
    where = {
        "here": "",
        "anybody": ", where that law binds",
        "elsewhere": "; another body's limit, which does not bind here",
    }[bound]
    unit = "" if one.unit == "-" else f" {one.unit}"
    basis = ", all as the ion" if any(map(_other_basis, one.limits)) else ""
    return (
        f"{one.name} is {one.amount:.3g}{unit} in {which}: above the drinking-water limit "
        f"of {laws}{basis}{where}{fate}; {DEFER}"
    )


def _other_basis(limit: HealthLimit) -> bool:
    return limit.key not in PARTS and limit.printed.partition(" as ")[0] != limit.printed


def _law(limit: HealthLimit) -> str:
    kind = "" if limit.kind == "health" else ", secondary"
    memory = f", {FROM_MEMORY}" if limit.evidence == "memory" else ""
    if _other_basis(limit):  # shown on the basis of the amount beside it
        return f"{limit.limit:.3g} {limit.unit} ({limit.printed}, {limit.law}{kind}{memory})"
    return f"{limit.printed} ({limit.law}{kind}{memory})"


@cites("CFR141_63", "E. coli: none; total coliforms: assessment; EU and WHO: none in 100 mL")
def germs_text(water: WaterAnalysis) -> str:
    """Say which germs were found in a water; membranes and softeners are no barrier to rely on.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis; germs that are said to be there and not counted are so named. [-]

    Returns
    -------
    str
        Empty where none were found or looked for. [-]
    """
    present, counts = only_present(water.readings), water.properties
    found = [
        f"{name} present (not counted)" if k in present else f"{name} {counts[k]:.3g} in 100 mL"
        for k, name in GERMS
        if counts.get(k)
    ]
    if not found:
        return ""
    return (
        f"germs in the raw water: {', '.join(found)}; drinking water has none in 100 mL (40 CFR "
        f"141.63, EU 2020/2184, WHO guideline, {FROM_MEMORY}): find where they come from, "
        "disinfect the well, the machine and the product, and have it tested again; membranes "
        f"hold most germs and are no disinfection; {DEFER}"
    )


# PRACTICE: of each, what a deep or a clean well seldom holds; mg/L as the ion.
SEWAGE_MG_L = {"nh4": 0.3, "no2": 0.1, "po4": 0.3, "no3": 25.0}
SEWAGE_SIGNS = 3


def sewage_text(mg_l: Mapping[str, float], measured: Collection[str]) -> str:
    """Say that nitrogen in several forms, with phosphate, looks like sewage or manure.

    Parameters
    ----------
    mg_l : mapping of str to float
        Composition. [mg/L as the ion]
    measured : collection of str
        Properties that were looked for, germs among them. [-]

    Returns
    -------
    str
        Empty where fewer than three signs stand together, or germs were looked for. [-]
    """
    if any(key in measured for key, _ in GERMS):
        return ""
    found = [k for k, least in SEWAGE_MG_L.items() if mg_l.get(k, 0.0) >= least]
    if len(found) < SEWAGE_SIGNS:
        return ""
    named = ", ".join(f"{analytes()[k].name} {mg_l[k]:.3g}" for k in found)
    return (
        f"{named} mg/L together look like sewage, a drain or manure (common practice): have the "
        "water tested for germs (E. coli, enterococci) before anyone drinks it, find the source, "
        f"and protect the well; membranes are no disinfection; {DEFER}"
    )


def radium_text(properties: Mapping[str, float]) -> str:
    """Say that radium 226 or 228 was measured alone, where the limit is of both together.

    Parameters
    ----------
    properties : mapping of str to float
        Properties of the analysis. [pCi/L]

    Returns
    -------
    str
        Empty where both were, or neither. [-]
    """
    pair = {"226": properties.get("ra226_pci_l"), "228": properties.get("ra228_pci_l")}
    known = {k: v for k, v in pair.items() if v is not None}
    if len(known) != 1 or properties.get("ra_pci_l") != next(iter(known.values())):
        return ""
    (one, amount) = next(iter(known.items()))
    other = "228" if one == "226" else "226"
    return (
        f"radium {one} is {amount:.3g} pCi/L and radium {other} was not measured: the limit of 5 "
        f"pCi/L (40 CFR 141.66(b)) is of both together; have radium {other} measured"
    )


@law
@cites("STOICHIOMETRY", "all that is held is in the concentrate")
@valid(activity_pci_l=[0, None], recovery=[0, 0.99])
def concentrate_pci_l(activity_pci_l: Number, recovery: Number) -> Number:
    """What the membranes hold, in the concentrate = activity of the feed / (1 - recovery).

    Worked by hand: 10 pCi/L at a concentration factor of 3.3 are 33.

    >>> round(concentrate_pci_l(10.0, 1.0 - 1.0 / 3.3), 6)
    33.0
    """
    return activity_pci_l / (1.0 - recovery)


@law
@cites("STOICHIOMETRY", "all that is held leaves in a few bed volumes")
@valid(activity_pci_l=[0, None], water_m3=[0, None], held_share=[0, 1], waste_m3=(0, None))
def waste_pci_l(
    activity_pci_l: Number, water_m3: Number, held_share: Number, waste_m3: Number
) -> Number:
    """Mean of what the resin held, in the spent brine = activity x water x share / waste.

    Worked by hand: 10 pCi/L of 10 m3, nine tenths held, 0.30 m3 of waste.

    >>> round(waste_pci_l(10.0, 10.0, 0.9, 0.30), 6)
    300.0
    """
    return activity_pci_l * water_m3 * held_share / waste_m3
