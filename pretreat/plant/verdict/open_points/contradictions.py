"""What a report says twice and differently: a condition, and no answer where it is far apart."""

from collections.abc import Sequence

from msgspec.structs import replace

from pretreat.chemistry.composition import CARBONATES
from pretreat.core.basis import Flag
from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.core.units import CO3_PER_CACO3, HCO3_PER_CACO3
from pretreat.core.water import WaterAnalysis
from pretreat.lab.judge.contradictions import CONTRADICTS, FAR_TIMES, PH
from pretreat.plant.verdict.case import Obstacle

CODE = "charge_balance"  # of data/quote_conditions.csv: the analysis is to be seen to
# Flags of a second check, the figure of its ratio, and what is to be measured again.
RATIOS = {
    "ec_ions_mismatch": ("water.ec_ratio", "conductivity again, and the major ions with it"),
    "tds_ions_mismatch": ("water.tds_ratio", "dissolved solids again, and the major ions with it"),
    "hardness_ions_mismatch": ("water.hardness_ratio", "calcium, magnesium and hardness again"),
}
PH_AT_WELL = "pH and carbon dioxide at the well"
# What decides about scale and fouling where one result stands twice.
DECIDING = frozenset({"ba", "ca", "f", "fe", "mn", "po4", "sio2", "so4", "sr"})
HARDNESS_TIMES = 1.25  # PRACTICE: of calcium and magnesium beside a total hardness
ALKALINITY_TIMES = 1.15  # PRACTICE: silicate, borate and the scatter of a titration stay below
DUPLICATE, TWO_METERS, OF_HARDNESS = "duplicate_results", "ec_field_lab", "hardness_ions_mismatch"
ALKALINITIES = "alkalinity_hco3_mismatch"


def contradiction_obstacles(
    ledger: Ledger, water: WaterAnalysis, told: Sequence[Obstacle]
) -> list[Obstacle]:
    """Return what stands so far, the graver for what contradicts it, and what comes to it.

    Parameters
    ----------
    ledger : Ledger
        With the quality of the analysis entered. [-]
    water : WaterAnalysis
        The analysis. [-]
    told : sequence of Obstacle
        What of the analysis is told already. [-]

    Returns
    -------
    list of Obstacle
        The contradictions; then the same, a second check that is far off as a question. [-]
    """
    flags = list(dict.fromkeys((*ledger.study().flags, *water.flags)))
    far = [f for f in flags if f.code in RATIOS and _far_off(ledger, f)]
    rest = [_graver(one, far) for one in told]
    found = [_far_apart(f) for f in far if not any(f.text in one.text for one in rest)]
    found += [_contradiction(f) for f in flags if f.code == CONTRADICTS]
    twice = [f for f in flags if not any(f.text in one.text for one in rest)]
    found += [one for f in twice if (one := _twice(ledger, water, f)) is not None]
    return [*found, *rest]


def _far_off(ledger: Ledger, flag: Flag) -> bool:
    """Tell whether what was measured is more than half as much again as the ions make, or less.

    Of a conductivity below that of the ions the warning counts: pairs with sulfate carry none.
    """
    ratio = ledger.number(RATIOS[flag.code][0])
    if ratio is None:
        return False
    paired = flag.code == "ec_ions_mismatch" and ratio > 1.0
    return flag.level == "warning" if paired else not 1.0 / FAR_TIMES <= ratio <= FAR_TIMES


def _graver(one: Obstacle, far: Sequence[Flag]) -> Obstacle:
    mine = [f for f in far if f.text in one.text]
    if one.kind != "condition" or not mine:
        return one
    return replace(one, kind="question", measure=RATIOS[mine[0].code][1])


def _far_apart(flag: Flag) -> Obstacle:
    text = f"{flag.text}: they contradict each other: have both measured again"
    measure = RATIOS[flag.code][1]
    return Obstacle("question", text, anyway=True, measure=measure, code=CODE)


def _contradiction(flag: Flag) -> Obstacle:
    kind = "question" if flag.level == "warning" else "condition"
    measure = PH_AT_WELL if flag.figure == PH else "the analysis again: it contradicts itself"
    return Obstacle(kind, flag.text, anyway=True, measure=measure, code=CODE)  # type: ignore[arg-type]


def _twice(ledger: Ledger, water: WaterAnalysis, flag: Flag) -> Obstacle | None:
    """Return what two results of one thing put in the way, where they are clearly apart."""
    weigh = WEIGHTS.get(flag.code)
    kind, measure = ("", "") if weigh is None else weigh(ledger, water, flag)
    if not kind:
        return None
    text = flag.text
    if "ask the lab" not in text:
        text += ": one of the two is wrong: ask the laboratory, or have it measured again"
    return Obstacle(kind, text, anyway=True, measure=measure, code=CODE)  # type: ignore[arg-type]


# Each returns the kind of obstacle, empty where it is none, and what is to be measured.
def _alkalinities(_: Ledger, water: WaterAnalysis, __: Flag) -> tuple[str, str]:
    parts = water.mg_l.get("hco3", 0.0) / HCO3_PER_CACO3
    parts += water.mg_l.get("co3", 0.0) / CO3_PER_CACO3
    times = _times([parts, water.alkalinity_mg_l_caco3 or 0.0])
    kind = "question" if times > FAR_TIMES else "condition" if times > ALKALINITY_TIMES else ""
    return kind, "alkalinity again"


def _hardness(ledger: Ledger, _: WaterAnalysis, flag: Flag) -> tuple[str, str]:
    ratio = ledger.number(RATIOS[OF_HARDNESS][0]) or 1.0
    clear = flag.level == "caution" and not 1.0 / HARDNESS_TIMES <= ratio <= HARDNESS_TIMES
    kind = "condition" if clear and not _far_off(ledger, flag) else ""
    return kind, RATIOS[OF_HARDNESS][1]


def _meters(_: Ledger, water: WaterAnalysis, __: Flag) -> tuple[str, str]:
    found = [r.value or 0.0 for r in water.readings if r.analyte == "ec_us_cm"]
    return "condition" if _times(found) > FAR_TIMES else "", "conductivity again"


def _duplicate(_: Ledger, water: WaterAnalysis, flag: Flag) -> tuple[str, str]:
    if flag.figure == PH:
        return "condition", PH_AT_WELL  # it is flagged from 0.3 apart
    key = (flag.figure or "").removeprefix("water.").removesuffix("_mg_l")
    if key not in analytes() or key in CARBONATES or _times(_values(water, key)) <= FAR_TIMES:
        return "", ""
    return "question" if key in DECIDING else "condition", f"{analytes()[key].name} again"


WEIGHTS = {
    ALKALINITIES: _alkalinities,
    OF_HARDNESS: _hardness,
    TWO_METERS: _meters,
    DUPLICATE: _duplicate,
}


def _values(water: WaterAnalysis, key: str) -> list[float]:
    """Return the results of the fraction that is used, non-detects by their limit."""
    found = [r for r in water.readings if r.analyte == key]
    used = next((r.fraction for r in found if r.used), "")
    return [r.value or r.below or 0.0 for r in found if r.fraction == used]


def _times(values: Sequence[float]) -> float:
    """Return how many times the highest is the lowest."""
    known = [v for v in values if v > 0.0]
    return max(known) / min(known) if len(known) > 1 else 1.0
