"""Which single change would explain an analysis that does not agree with itself."""

from collections.abc import Iterator, Mapping
from math import log
from types import MappingProxyType

from msgspec import Struct
from msgspec.structs import replace

from pretreat.chemistry.composition import meq_l
from pretreat.core.tables import analytes
from pretreat.core.units import CACO3_MG_PER_MEQ, HCO3_PER_CACO3, molar_mass
from pretreat.core.water import WaterAnalysis
from pretreat.lab.read.wording import shown

# An analysis is looked into when one of these is exceeded (ratios as distances from 1).
SUSPECT_BALANCE_PCT = 5.5
SUSPECT_RATIO = 1.4
# A change explains an analysis when what is left is within these.
LEFT_BALANCE_PCT = 5.0
LEFT_EC_RATIO = 1.3
GROSS_EC_RATIO, LEFT_EC_SHARE = 2.0, 0.3  # of a gross misfit a second fault may leave a part
TDS_PER_EC = (0.4, 1.2)  # PRACTICE: outside, dissolved solids hold the same fault
LEFT_TDS_RATIO, LEFT_HARDNESS_RATIO = 1.3, 1.15
MOST_NAMED = 2
MISFIT_LEFT = 0.6  # of the misfit before; a change that leaves more explains nothing
WORTH_NAMING = 0.2  # of a result; a smaller change closes a balance but names no slip
# Usual scatter of sound analyses, by which the checks are weighed against each other
# (balance in %, the others as logarithms of a ratio), and the most that each may count.
SCATTER_BALANCE_PCT, SCATTER_EC, SCATTER_TDS, SCATTER_HARDNESS = 3.0, 0.12, 0.15, 0.08
MOST_OF_EC, MOST_OF_OTHERS = 8.0, 4.0
# How unlikely each slip is, on the same scale: the order in which they are named.
FACTOR_SLIP, BASIS_SLIP, EXCHANGE, ONE_AS_CACO3 = 0.5, 0.7, 1.0, 1.5
ANY_ALKALINITY, ANY_AMOUNT, LEFT_OUT = 1.5, 2.0, 3.0

# Without a second check these slips are named only where the balance is off by this much.
GROSS_BALANCE_PCT = 15.0
NEED_A_SECOND = (FACTOR_SLIP, EXCHANGE)

_NITROGEN = molar_mass("NO3") / molar_mass("N")
FACTORS = MappingProxyType(
    {
        0.1: "is ten times too high (decimal point)",
        10.0: "is ten times too low (a digit lost)",
        0.001: "is a thousand times too high (µg/L taken as mg/L)",
        1000.0: "is a thousand times too low (mg/L taken as µg/L)",
    }
)
EC_SLIPS = (
    (1000.0, "is in mS/cm, not µS/cm"),
    (10.0, "is ten times too low (mS/m, or a digit lost)"),
    (0.1, "is ten times too high"),
    (0.001, "is a thousand times too high"),
)
_SWAPS = (
    ("na", "cl"),
    ("ca", "mg"),
    ("so4", "cl"),
    ("na", "k"),
    ("ca", "na"),
    ("mg", "na"),
    ("no3", "cl"),
    ("no3", "so4"),
)
_IONS = ("ca", "mg", "na", "k", "so4", "cl", "no3", "fe", "nh4")
# An amount that is ten times too high is much of its side; of what is rare in wells a little is.
LEAST_SHARE, LEAST_SHARE_OF_RARE = 0.3, 0.1
_RARE = frozenset({"k", "fe", "nh4"})
_LESSER = (("k", "na"), ("no3", "cl"), ("no3", "so4"))  # the first is seldom the larger


class Change(Struct, frozen=True):
    """One change of an analysis, in words, and how unlikely such a slip is."""

    text: str
    mg_l: Mapping[str, float]
    alkalinity_mg_l_caco3: float
    unlikely: float


def likely_culprits(
    water: WaterAnalysis, mg_l: Mapping[str, float], numbers: Mapping[str, float]
) -> tuple[str, ...]:
    """Name the single changes that make an analysis agree with itself, the best first.

    Parameters
    ----------
    water : WaterAnalysis
        The water. [-]
    mg_l : mapping of str to float
        Its composition, non-detects filled in. [mg/L as the ion]
    numbers : mapping of str to float
        Its checks, from `pretreat.lab.judge.quality.checks`. [-]

    Returns
    -------
    tuple of str
        At most two sentences; empty where nothing is suspect or nothing explains it. [-]
    """
    balance, ratio = abs(numbers.get("ion_balance_pct", 0.0)), numbers.get("ec_ratio")
    off = _distance(ratio)
    if balance <= SUSPECT_BALANCE_PCT and off <= log(SUSPECT_RATIO):
        return ()
    by_conductivity = _conductivity_slip(water, numbers)
    if balance <= SUSPECT_BALANCE_PCT and by_conductivity:
        return (by_conductivity,)
    ranked = sorted(_explaining(water, mg_l, numbers), key=lambda pair: pair[0])
    texts = list(dict.fromkeys(text for _, text in ranked))
    if not texts:
        texts = [by_conductivity] if by_conductivity else _beside_conductivity(water, mg_l, numbers)
    return tuple(texts[:MOST_NAMED])


def _beside_conductivity(
    water: WaterAnalysis, mg_l: Mapping[str, float], numbers: Mapping[str, float]
) -> list[str]:
    """Name the slip of an ion where the conductivity is wrong as well: no change explains all."""
    ec = water.properties.get("ec_us_cm")
    if ec is None or _distance(numbers.get("ec_ratio")) <= log(SUSPECT_RATIO):
        return []
    others = {key: value for key, value in water.properties.items() if key != "ec_us_cm"}
    without = {key: value for key, value in numbers.items() if key != "ec_ratio"}
    bare = replace(water, properties=others)
    found = sorted(_explaining(bare, mg_l, without, EXCHANGE), key=lambda pair: pair[0])
    return [
        f"two faults at once: {text}, and the conductivity {shown(ec)} µS/cm fits neither way"
        for _, text in found[:1]
    ]


def _explaining(
    water: WaterAnalysis,
    mg_l: Mapping[str, float],
    numbers_before: Mapping[str, float],
    most_unlikely: float = LEFT_OUT,
) -> Iterator[tuple[float, str]]:
    from pretreat.lab.judge.quality import checks

    before = _misfit(numbers_before)
    backed = abs(numbers_before.get("ion_balance_pct", 0.0)) > GROSS_BALANCE_PCT or any(
        numbers_before.get(key) for key in ("ec_ratio", "tds_ratio", "hardness_ratio")
    )
    for change in _changes(water, mg_l):
        if change.unlikely > most_unlikely or (change.unlikely in NEED_A_SECOND and not backed):
            continue
        changed = replace(water, alkalinity_mg_l_caco3=change.alkalinity_mg_l_caco3)
        numbers = {k: v for k, v in checks(changed, change.mg_l).items() if v is not None}
        left = abs(numbers["ion_balance_pct"])
        if left > LEFT_BALANCE_PCT or _contradicted(water, numbers, numbers_before):
            continue
        misfit = _misfit(numbers)
        if misfit < MISFIT_LEFT * before:
            yield misfit + change.unlikely, change.text


def _contradicted(
    water: WaterAnalysis, numbers: Mapping[str, float], before: Mapping[str, float]
) -> bool:
    """Tell whether conductivity, dissolved solids or hardness speak against a change."""
    most = {
        "ec_ratio": log(LEFT_EC_RATIO),
        "tds_ratio": log(LEFT_TDS_RATIO),
        "hardness_ratio": log(LEFT_HARDNESS_RATIO),
    }
    ec, tds = (water.properties.get(key) for key in ("ec_us_cm", "tds_mg_l"))
    if ec and tds and not TDS_PER_EC[0] <= tds / ec <= TDS_PER_EC[1]:
        del most["tds_ratio"]
    off = _distance(before.get("ec_ratio"))
    if off > log(GROSS_EC_RATIO):
        most["ec_ratio"] = max(most["ec_ratio"], LEFT_EC_SHARE * off)
    return any(_distance(numbers.get(key)) > far for key, far in most.items())


def _misfit(numbers: Mapping[str, float]) -> float:
    """Return how badly an analysis disagrees with itself, in units of a usual scatter."""
    balance = abs(numbers.get("ion_balance_pct", 0.0)) / SCATTER_BALANCE_PCT
    conductivity = _distance(numbers.get("ec_ratio")) / SCATTER_EC
    solids = _distance(numbers.get("tds_ratio")) / SCATTER_TDS
    hardness = _distance(numbers.get("hardness_ratio")) / SCATTER_HARDNESS
    return (
        balance
        + min(conductivity, MOST_OF_EC)
        + min(solids, MOST_OF_OTHERS)
        + min(hardness, MOST_OF_OTHERS)
    )


def _distance(ratio: float | None) -> float:
    return abs(log(ratio)) if ratio is not None and ratio > 0 else 0.0


def _changes(water: WaterAnalysis, mg_l: Mapping[str, float]) -> Iterator[Change]:
    alkalinity = water.alkalinity_mg_l_caco3 or 0.0
    for key in _IONS:
        amount = mg_l.get(key, 0.0)
        if amount <= 0:
            continue
        name = analytes()[key].name
        for factor, words in FACTORS.items():
            if _plausible_slip(mg_l, alkalinity, key, factor):
                text = f"{name} {_told(amount)} mg/L {words}"
                yield _one(mg_l, alkalinity, key, amount * factor, text, FACTOR_SLIP)
        yield from _as_caco3(mg_l, alkalinity, key)
    printed_as_n = any(r.analyte == "no3" and r.used and r.basis == "as N" for r in water.readings)
    yield from _nitrate(mg_l, alkalinity, printed_as_n=printed_as_n)
    yield from _alkalinity(mg_l, alkalinity)
    yield from _swapped(mg_l, alkalinity, printed_as_n=printed_as_n)
    yield from _closing(mg_l, alkalinity)


def _told(amount: float) -> str:
    return shown(amount, 3)


def _plausible_slip(mg_l: Mapping[str, float], alkalinity: float, key: str, factor: float) -> bool:
    """Tell whether a result can have slipped by so much: too high it is much of its side.

    To take a result away all but explains any excess of its own size, and is no finding.
    """
    from pretreat.chemistry.composition import ion_sums_meq_l

    if factor > 1.0:
        return key not in _RARE
    cations, anions = ion_sums_meq_l(mg_l, alkalinity)
    side = float(cations if analytes()[key].charge > 0 else anions)
    least = LEAST_SHARE_OF_RARE if key in _RARE else LEAST_SHARE
    return float(meq_l(key, mg_l[key])) >= least * side


def _one(
    mg_l: Mapping[str, float],
    alkalinity: float,
    key: str,
    amount: float,
    text: str,
    unlikely: float,
) -> Change:
    return Change(text, {**mg_l, key: amount}, alkalinity, unlikely)


def _as_caco3(mg_l: Mapping[str, float], alkalinity: float, key: str) -> Iterator[Change]:
    """Try a result that is as CaCO3 although it is printed as the ion."""
    ion, amount = analytes()[key], mg_l[key]
    factor = molar_mass(ion.formula) / abs(ion.charge) / CACO3_MG_PER_MEQ
    text = (
        f"{ion.name} {_told(amount)} mg/L looks like mg/L as CaCO3 ({_told(amount * factor)} mg/L "
        f"as the ion)"
    )
    yield _one(mg_l, alkalinity, key, amount * factor, text, ONE_AS_CACO3)


def _nitrate(
    mg_l: Mapping[str, float], alkalinity: float, *, printed_as_n: bool
) -> Iterator[Change]:
    """Try the other basis: as N only where the result was not read as N already."""
    amount = mg_l.get("no3", 0.0)
    if amount > 0:
        more = (
            f"nitrate {_told(amount)} mg/L looks like mg/L as N "
            f"({_told(amount * _NITROGEN)} mg/L as NO3)"
        )
        less = (
            f"nitrate {_told(amount)} mg/L looks converted from N once too often "
            f"({_told(amount / _NITROGEN)} mg/L)"
        )
        if not printed_as_n:
            yield _one(mg_l, alkalinity, "no3", amount * _NITROGEN, more, BASIS_SLIP)
        yield _one(mg_l, alkalinity, "no3", amount / _NITROGEN, less, BASIS_SLIP)


def _alkalinity(mg_l: Mapping[str, float], alkalinity: float) -> Iterator[Change]:
    now = f"alkalinity {_told(alkalinity)} mg/L as CaCO3"
    for factor, words in FACTORS.items():
        yield _alkaline(mg_l, alkalinity * factor, f"{now} {words}", FACTOR_SLIP)
    less, more = alkalinity / HCO3_PER_CACO3, alkalinity * HCO3_PER_CACO3
    yield _alkaline(
        mg_l, less, f"{now} looks like mg/L of bicarbonate ({_told(less)} as CaCO3)", BASIS_SLIP
    )
    yield _alkaline(
        mg_l,
        more,
        f"{now} looks converted from bicarbonate once too often ({_told(more)})",
        BASIS_SLIP,
    )


def _alkaline(mg_l: Mapping[str, float], alkalinity: float, text: str, unlikely: float) -> Change:
    return Change(
        text, {**mg_l, "hco3": alkalinity * HCO3_PER_CACO3, "co3": 0.0}, alkalinity, unlikely
    )


def _swapped(
    mg_l: Mapping[str, float], alkalinity: float, *, printed_as_n: bool
) -> Iterator[Change]:
    """Try two results in each other's row; nitrate on another basis was in no other's row."""
    for one, two in _SWAPS:
        if (printed_as_n and "no3" in (one, two)) or _seldom(mg_l, one, two):
            continue
        if mg_l.get(one, 0.0) > 0 and mg_l.get(two, 0.0) > 0:
            text = (
                f"{analytes()[one].name} {_told(mg_l[one])} and {analytes()[two].name} "
                f"{_told(mg_l[two])} mg/L look exchanged"
            )
            yield Change(text, {**mg_l, one: mg_l[two], two: mg_l[one]}, alkalinity, EXCHANGE)


def _seldom(mg_l: Mapping[str, float], one: str, two: str) -> bool:
    """Tell whether an exchange would make the larger of two what is seldom the larger."""
    less, more = (one, two) if (one, two) in _LESSER else (two, one)
    return (less, more) in _LESSER and mg_l.get(less, 0.0) < mg_l.get(more, 0.0)


def _closing(mg_l: Mapping[str, float], alkalinity: float) -> Iterator[Change]:
    """Try for each ion the amount that closes the balance."""
    from pretreat.chemistry.composition import ion_sums_meq_l

    cations, anions = ion_sums_meq_l(mg_l, alkalinity)
    excess = float(cations - anions)
    for key in ("ca", "mg", "na", "k", "so4", "cl", "no3"):
        ion = analytes()[key]
        here = float(meq_l(key, mg_l.get(key, 0.0)))
        wanted = here - excess if ion.charge > 0 else here + excess
        if wanted <= 0 or abs(excess) < WORTH_NAMING * max(here, wanted):
            continue
        amount = wanted * molar_mass(ion.formula) / abs(ion.charge)
        word = "too high" if amount < mg_l.get(key, 0.0) else "too low"
        text = (
            f"{ion.name} {_told(mg_l.get(key, 0.0))} mg/L looks {word}; {_told(amount)} "
            f"mg/L would close the balance"
        )
        yield _one(mg_l, alkalinity, key, amount, text, ANY_AMOUNT if mg_l.get(key) else LEFT_OUT)
    wanted = alkalinity / CACO3_MG_PER_MEQ + excess
    if wanted > 0 and abs(excess) >= WORTH_NAMING * max(wanted, alkalinity / CACO3_MG_PER_MEQ):
        closing = wanted * CACO3_MG_PER_MEQ
        word = "missing or too low" if closing > alkalinity else "too high"
        text = (
            f"alkalinity {_told(alkalinity)} mg/L as CaCO3 looks {word}; {_told(closing)} "
            f"mg/L as CaCO3 would close the balance"
        )
        yield _alkaline(mg_l, closing, text, ANY_ALKALINITY)


def _conductivity_slip(water: WaterAnalysis, numbers: Mapping[str, float]) -> str:
    """Return the unit slip of the conductivity that would make it agree, or an empty text."""
    ratio = numbers.get("ec_ratio")
    ec = water.properties.get("ec_us_cm", 0.0)
    for factor, words in EC_SLIPS:
        if ratio is not None and _distance(ratio / factor) <= log(LEFT_EC_RATIO):
            return f"conductivity {shown(ec)} µS/cm {words}"
    return ""
