"""What an analysis leaves open by its age, its origin, and what was not looked for."""

import datetime
from collections.abc import Sequence

import numpy as np

from pretreat.chemistry.composition import meq_l
from pretreat.core.basis import Flag
from pretreat.core.release import RELEASED
from pretreat.core.results import Ledger
from pretreat.core.units import CACO3_MG_PER_MEQ
from pretreat.core.water import WaterAnalysis
from pretreat.lab.interpret.day_order import both_days
from pretreat.lab.interpret.raw_water import day_in
from pretreat.lab.interpret.whose_water import NOT_RAW
from pretreat.lab.judge.trace_units import TYPED
from pretreat.lab.water_laws import TDS_OF_EC, hardness_mg_l_caco3
from pretreat.plant.health import DRINKING
from pretreat.plant.verdict.case import GAP, NO_TRAIN, Obstacle
from pretreat.plant.verdict.judge import Question
from pretreat.site.design import ProductUse

SOFT_MG_L = 8.0  # PRACTICE: of hardness as CaCO3; half a grain, what a softener leaves
BUFFERED_MG_L = 100.0  # PRACTICE: as CaCO3; rain and permeate are soft with less
UNIT = "the unit, and the trace again"
OLD_YEARS = 2  # PRACTICE: a well changes; an order rests on a newer sample
OF_TOTAL = "phosphate_of_total"  # flag: total phosphorus stands for orthophosphate
PHOSPHATE = "calcium_phosphate"
RAW_SI = (f"untreated.scaling.si_{PHOSPHATE}", f"scaling.si_{PHOSPHATE}")
FILTERS = ("iron_filter.media_volume_l", "multimedia.media_volume_l")
METALS = {"fe": "iron", "mn": "manganese"}
FEWEST_TIMES = 0.6  # PRACTICE: of the ions; a reading of the solids below it contradicts them
FAR_RATIO = (0.7, 1.25)  # PRACTICE: of what the ions make to what was measured
# Flag of a second check, and the figure of its ratio.
SECOND_CHECKS = {"ec_ions_mismatch": "water.ec_ratio", "tds_ions_mismatch": "water.tds_ratio"}
NEW, ORTHO, UNFILTERED = "a new full analysis", "orthophosphate", "total iron and manganese"
# What belongs into the analysis of a water for membranes and has no scale: names by key.
LOOKED_FOR = {
    "turbidity_ntu": "turbidity",
    "sdi": "silt density index",
    "toc_mg_l": "total organic carbon",
    "h2s_mg_l": "hydrogen sulfide",
    "nh4": "ammonia",
}
WHERE_DRUNK = {
    "ecoli_cfu_100_ml": "E. coli",
    "no3": "nitrate",
    "no2": "nitrite",
    "as": "arsenic",
    "f": "fluoride",
    "pb_mg_l": "lead",
    "u_mg_l": "uranium",
}


def unmeasured(water: WaterAnalysis, *, drunk: bool) -> tuple[str, ...]:
    """Return what nobody looked for, and no figure judges.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    drunk : bool
        People drink the product. [-]

    Returns
    -------
    tuple of str
        Names. [-]
    """
    wanted = LOOKED_FOR | (WHERE_DRUNK if drunk else {})
    return tuple(
        name
        for key, name in wanted.items()
        if not water.measured(key) and key not in water.unread  # told by the line it stands in
    )


def unmeasured_obstacles(ledger: Ledger, water: WaterAnalysis, use: ProductUse) -> list[Obstacle]:
    """Enter what was not measured and not judged, in one line; return it where people drink.

    Parameters
    ----------
    ledger : Ledger
        Takes the line. [-]
    water : WaterAnalysis
        The analysis. [-]
    use : ProductUse
        What the product is for. [-]

    Returns
    -------
    list of Obstacle
        A condition where the product is for drinking; else nothing, the verdict stays. [-]
    """
    drunk = use.target == DRINKING
    names = (*unmeasured(water, drunk=drunk), *_phosphate(ledger))
    if not names:
        return []
    key, told = "verdict.not_measured", ", ".join(names)
    ledger.put(key, told, "-", "Not measured and not judged", method="lines of the analysis")
    ledger.rests(key, held=True)
    if not drunk:
        return []
    text = (
        f"not measured and not judged: {told}; have them measured before anyone drinks the "
        "product: the health authority decides"
    )
    return [Obstacle("condition", text, anyway=True, code="health")]


def _phosphate(ledger: Ledger) -> tuple[str, ...]:
    """Return phosphate where no more of it than wells hold would let calcium phosphate limit."""
    told = (f for f in ledger.study().flags if f.code == "phosphate_not_measured")
    return ("phosphate",) if any(f.figure == "recovery.max" for f in told) else ()


def old_obstacles(
    ledger: Ledger, water: WaterAnalysis, quoted: datetime.date | None
) -> list[Obstacle]:
    """Return the condition of an analysis that is too old to order anything by.

    There is no clock in a study: two runs give the same. An analysis is held against the day of
    the quote where the site file names one, else of this release. Nothing is ordered by what a
    water does on its own.

    Parameters
    ----------
    ledger : Ledger
        With the kind of the study. [-]
    water : WaterAnalysis
        The analysis. [-]
    quoted : date, optional
        Date of the quote. [-]

    Returns
    -------
    list of Obstacle
        One condition at most. [-]
    """
    if ledger.study().value("study.kind") == NO_TRAIN:
        return []
    year, month, day = day_in(water.date or water.sample)
    either = both_days(water.date)  # of two ways to read it the older
    year, month, day = min(either) if either else (year, month, day)
    then = max(RELEASED, (quoted.year, quoted.month, quoted.day)) if quoted else RELEASED
    if not year or (year + OLD_YEARS, month or 12, day or 31) >= then:
        return []
    shown = water.date or "-".join(f"{part:02d}" for part in (year, month, day) if part)
    text = (
        f"the analysis is of {shown}, more than {OLD_YEARS} years old (common practice): a well "
        "changes: have a new one made before anything is ordered"
    )
    return [Obstacle("condition", text, anyway=True, measure=NEW, code="charge_balance")]


def origin_obstacles(ledger: Ledger, water: WaterAnalysis) -> list[Obstacle]:
    """Return the condition of a sample that is no raw water by its name, or hardly by its ions.

    Parameters
    ----------
    ledger : Ledger
        With the kind of the study. [-]
    water : WaterAnalysis
        The analysis. [-]

    Returns
    -------
    list of Obstacle
        One condition at most. [-]
    """
    named = [
        Obstacle("condition", flag.text, anyway=True, measure=NEW, code="charge_balance")
        for flag in water.flags
        if flag.code == NOT_RAW
    ]
    no_train = ledger.study().value("study.kind") == NO_TRAIN  # any water is judged as it is
    return named[:1] if named or no_train else _softened_obstacles(water)


def _softened_obstacles(water: WaterAnalysis) -> list[Obstacle]:
    """Return the condition of a sample that holds what a softener leaves, and little else does."""
    found = {k: water.mg_l.get(k, water.below_mg_l.get(k)) for k in ("ca", "mg", "na")}
    calcium, magnesium, sodium = found["ca"], found["mg"], found["na"]
    alkalinity = water.alkalinity_mg_l_caco3 or 0.0
    if calcium is None or magnesium is None or sodium is None:
        return []
    hardness = float(hardness_mg_l_caco3(calcium, magnesium))
    as_caco3 = meq_l("na", sodium) * CACO3_MG_PER_MEQ
    if hardness > SOFT_MG_L or alkalinity < BUFFERED_MG_L or as_caco3 < BUFFERED_MG_L:
        return []
    text = (
        f"the sample holds {hardness:.2g} mg/L of hardness (as CaCO3) beside {sodium:.3g} mg/L of "
        f"sodium and {alkalinity:.3g} mg/L of alkalinity: that is what a softener leaves (few "
        "wells give it, common practice): ask whether it was taken behind a softener; if so, have "
        "the raw water analysed ahead of it before anything is ordered"
    )
    return [Obstacle("condition", text, anyway=True, measure=NEW, code="charge_balance")]


def unit_obstacles(ledger: Ledger) -> list[Obstacle]:
    """Return the condition of a trace whose unit is to be asked for: most likely µg/L.

    Parameters
    ----------
    ledger : Ledger
        With the quality of the analysis entered. [-]

    Returns
    -------
    list of Obstacle
        One condition at most. [-]
    """
    return [
        Obstacle("condition", flag.text, anyway=True, measure=UNIT, code="charge_balance")
        for flag in ledger.study().flags
        if flag.code == "likely_culprit" and TYPED in flag.text
    ][:1]


def metal_form_obstacles(ledger: Ledger, water: WaterAnalysis) -> list[Obstacle]:
    """Return the condition of metals of which the dissolved part alone was measured.

    Rust that is there already blocks a cartridge; a filter takes it, and turbidity or a silt
    density index would tell.

    Parameters
    ----------
    ledger : Ledger
        With the train entered. [-]
    water : WaterAnalysis
        The analysis. [-]

    Returns
    -------
    list of Obstacle
        One condition at most. [-]
    """
    told = any(water.measured(key) for key in ("turbidity_ntu", "sdi", "tss_mg_l"))
    no_train = ledger.study().value("study.kind") == NO_TRAIN
    if told or no_train or any(key in ledger for key in FILTERS):
        return []
    alone = []
    for key, name in METALS.items():
        forms = {r.fraction for r in water.readings if r.analyte == key}
        if forms == {"dissolved"} and key not in water.total_mg_l:
            alone.append(name)
    if not alone:
        return []
    text = (
        f"of {' and '.join(alone)} the dissolved part alone was measured, and neither turbidity "
        "nor silt density index: what is rust already blocks cartridges and spacers (common "
        "practice): measure total iron and manganese (unfiltered, acidified), or turbidity and "
        "silt density index"
    )
    return [Obstacle("condition", text, measure=UNFILTERED, code=GAP)]


def solids_obstacles(ledger: Ledger, water: WaterAnalysis) -> list[Obstacle]:
    """Return the condition of a reading of the salinity that the ions measured contradict.

    Parameters
    ----------
    ledger : Ledger
        With the water entered. [-]
    water : WaterAnalysis
        The analysis. [-]

    Returns
    -------
    list of Obstacle
        One condition at most, where no second check of the analysis says it. [-]
    """
    said = [f for f in (*ledger.study().flags, *water.flags) if f.code in SECOND_CHECKS]
    if said:
        return _far_from_ions(ledger, said)
    ions = ledger.number("water.ions_mg_l") or ledger.number("water.tds_mg_l") or 0.0
    solids, ec = water.properties.get("tds_mg_l"), water.properties.get("ec_us_cm")
    for value, unit, name, made in (
        (solids, "mg/L", "dissolved solids", solids),
        (ec, "µS/cm", "conductivity", None if ec is None else TDS_OF_EC * ec),
    ):
        if made is not None and value is not None and made < FEWEST_TIMES * ions:
            text = (
                f"{name} is {value:.3g} {unit} and the ions measured alone are {ions:.3g} mg/L: "
                "they contradict each other, one of the readings is wrong, and the leakage of a "
                "softener, pressure and product rest on them: measure both again"
            )
            ask = f"{name} and total hardness again"
            return [Obstacle("condition", text, anyway=True, measure=ask, code="charge_balance")]
    return []


def _far_from_ions(ledger: Ledger, said: Sequence[Flag]) -> list[Obstacle]:
    """Return the condition of a second check that is far off, where nothing else says it.

    A warning, and one beside a balance that does not close, is told as that.
    """
    told = any(f.code in ("charge_balance", "ion_by_balance") for f in ledger.study().flags)
    if told or any(f.level == "warning" for f in said):
        return []
    far = [
        f
        for f in dict.fromkeys(said)
        if (ratio := ledger.number(SECOND_CHECKS[f.code])) is not None
        and not FAR_RATIO[0] <= ratio <= FAR_RATIO[1]
    ]
    if not far:
        return []
    text = (
        f"{'; '.join(f.text for f in far)}: the readings contradict each other (common practice: "
        f"{FAR_RATIO[0]:g} to {FAR_RATIO[1]:g}): measure conductivity at the well and dissolved "
        "solids again, and with them sodium, chloride, sulfate and alkalinity"
    )
    ask = "conductivity and dissolved solids again"
    return [Obstacle("condition", text, anyway=True, measure=ask, code="charge_balance")]


def phosphorus_obstacles(ledger: Ledger, question: Question) -> list[Obstacle]:
    """Return the condition of total phosphorus that stands for orthophosphate.

    A softener takes the calcium; water that passes it, or a run that is too long, meets the
    phosphate with all of it.

    Parameters
    ----------
    ledger : Ledger
        With the scales entered. [-]
    question : Question
        The design whose verdict is asked. [-]

    Returns
    -------
    list of Obstacle
        One condition, where the raw water would be above the limit of calcium phosphate.
    """
    water = question.water
    if all(flag.code != OF_TOTAL for flag in water.flags):
        return []
    si = next((v for k in RAW_SI if (v := ledger.number(k)) is not None), None)
    limit = question.band.low.si.get(PHOSPHATE)
    if si is None or limit is None or si <= float(np.asarray(limit)):
        return []
    text = (
        f"phosphorus was measured as total alone: were all of it orthophosphate "
        f"({water.mg_l.get('po4', 0.0):.2g} mg/L of PO4), calcium phosphate would be above its "
        f"limit in the concentrate of water that no softener took the calcium of (SI {si:.1f}, "
        f"limit {float(np.asarray(limit)):.1f}): measure orthophosphate; until then no hard water "
        "may reach the membranes"
    )
    return [Obstacle("condition", text, anyway=True, measure=ORTHO, code=GAP)]
