"""What stands in the way of a design that is no scale: flags and checks, each by its weight."""

import re
from collections.abc import Mapping, Sequence

from pretreat.core.basis import Flag
from pretreat.core.results import Ledger
from pretreat.core.undetected import amount_is, found_and_most, up_to
from pretreat.core.water import WaterAnalysis
from pretreat.lab.health import (
    DOSE,
    PARTS,
    RADIUM,
    SUMS,
    Exceedance,
    amounts_of,
    exceedances,
    germs_text,
)
from pretreat.membrane.elements.target_figures import (
    BLENDED,
    FREE,
    NOTED,
)
from pretreat.plant.delivered.rules import SODIC
from pretreat.plant.health import BINDING, DRINKING
from pretreat.plant.membrane_checks import (
    ALUMINIUM,
    CHLORINE,
    EXCHANGED,
    FILTERED_SULFIDE,
    LEFT,
    METALS,
    SDI,
    SULFIDE,
    TURBIDITY,
)
from pretreat.plant.verdict.case import AS_INSTALLED, GAP, NO_TRAIN, Obstacle
from pretreat.plant.verdict.equipment import DESTROYS, equipment_kind
from pretreat.plant.verdict.open_points.arsenic import remedy_of_arsenite
from pretreat.plant.verdict.organics import fouling_obstacles
from pretreat.site.design import ProductUse
from pretreat.stages.softener.bed_figures import KEEPS, VELOCITY_LOW

# Flags of the plant that must be seen to before the machine can run as designed.
CONDITIONS = frozenset(
    {
        "acid_product",
        "ammonia_in_product",
        "average_flux",
        "calcite_in_beds",
        "caustic_product",
        "delivered_ph",
        "discharge_over_limit",
        "element_concentrate",
        "element_drop",
        "element_feed",
        "element_recovery",
        "fullest_day_too_long",
        "hours_exceed_day",
        "lead_flux",
        "manganese_ph_near",
        "much_salt",
        "pressure_below_osmotic",
        "pressure_high",
        "pressure_too_low",
        "product_target",
        "product_unknown",
        "pump_below_feed",
        "pump_beside_wash",
        "pump_too_small",
        "recycle_needed",
        "remineralisation_short",
        "thin_for_soil",
        "train_needs",
        "vessel_drop",
        "well_below_feed",
        "well_below_wash",
        "well_too_small",
    }
)
# Warnings, not cautions, of an analysis or a plant that nobody would sign as they stand.
GRAVE = frozenset(
    {
        "acid_not_enough",
        "air_too_little",
        "alkalinity_conflict",
        "bisulfite_too_little",
        "chlorine_too_little",
        "demand_not_met",
        "demand_over_hours",
        "hardness_conflict",
        "inhibitor_needed",
        "iron_manganese_high",
        "iron_over_code",
        "manganese_ph_low",
        "no_setting",
        "permanganate_low",
        "ph_outside_window",
        "raw_tank_small",
        "rust_to_softener",
        "service_rate_high",
        "set_too_long",
        "sulfide",
        "sulfide_in_product",
        "twin_not_ready",
        "velocity_high",
        VELOCITY_LOW,
    }
)
UNSAFE = frozenset({"stage_overruled", "stage_missing", "unsafe_train"})
# The vessels do not bear the pressure, or the array cannot be run at all.
STOPS = frozenset({"machine_not_settled", "no_pressure_left", "vessel_pressure"})
# As warnings: the vessels or the well cannot do the work of a day, whatever is seen to.
TOO_SMALL = frozenset({"no_setting", "well_too_small"})
# As warnings: the machine cannot be fed by what is there. A pump is bought, a well is not.
NO_WATER = "well_below_feed"
UNFED = frozenset({"pump_below_feed", NO_WATER})
LASTING = STOPS | UNFED | {"pressure_high", "well_too_small"}  # no choice of a train mends them
# As warnings: what passes the filter is known after a pilot only.
PILOT = frozenset(
    {
        "air_leaves_manganese",
        "ammonia_takes_chlorine",
        "calcite_in_beds",
        "iron_manganese_high",
        "manganese_ph_low",
        "sulfide_on_resin",
    }
)
# Whatever their weight, another train is without them.
MENDED = frozenset({"calcite_in_beds", "much_salt", "sulfide_on_resin"})
RATES = {"velocity_high": "service_max_m_h"}  # figure of the limit, beside that of the rate
IN_USE = "service_practice_m_h"  # highest of practice, of a medium whose code is below it
# As computed no machine runs like it: what is said of it may not be taken.
UNKNOWN = frozenset({"jar_test", "wall_factor_range"})
# As warnings: somebody has to accept it before there is an answer.
QUESTIONS = frozenset({"discharge_over_limit", "much_salt"})
DOUBTS = frozenset({"charge_balance"})  # as warnings: the analysis itself is wrong somewhere
FEED_CHECKS = (METALS, ALUMINIUM, CHLORINE, SDI, TURBIDITY, SULFIDE)
FAR_METALS_MG_L = 0.3  # PRACTICE: iron + manganese, or aluminium, that fouls membranes soon
FAR_TIMES = 4.0  # PRACTICE: times the limit of sulfide, from where on it fouls in weeks
OPEN_TIMES = 3.0  # PRACTICE: times the limit of aluminium, half more than the looser of practice
MOST_UNMET = 0.1  # PRACTICE: of a year's demand; above it the plant is too small
FAR_RATE = 1.5  # PRACTICE: times a limit of service, from where on a bed does not do its work
FAR_TURBIDITY = 2.0  # PRACTICE: times the limit, from where on a cartridge does not last
ABOVE = "above"
UNDRUNK = ": nobody drinks it before that is mended and the product tested"
BEHIND_FILTER = "run a pilot, or measure behind the filter"
HEALTH = "health"  # code of what nobody may drink before it is known
SEVERE, OF_SODIUM = "severe limit", ": sodium"  # words of product_target
SOFTENED = "softener.iron_manganese_in_mg_l"  # a figure of every softener
SODIUM = (
    ": the softener puts sodium in the place of calcium: leave it out, or give the product its "
    "calcium back before it is used"
)
BLEND = "blending"  # raw water into what is drunk: it is disinfected
DAY_H, LEAST_LEFT_H = 24.0, 0.05  # no step of a regeneration is shorter
# Cautions of the membranes that the verdict takes up, not those of a raw water that is treated.
OF_MEMBRANES = frozenset({"magnesium_silicate", "metal_carbonate"})
RAW = "untreated."
ARSENIC, FORMS = "as", ("as3", "as5")
BORON = "b_mg_l"
BORON_TEST = "boron, in the raw water again and in the product"


def flag_obstacles(ledger: Ledger, target: str | None = None) -> list[Obstacle]:
    """Return what the flags of a study and the checks of the membrane feed put in the way.

    Parameters
    ----------
    ledger : Ledger
        With train, machine and product entered. [-]
    target : str, optional
        What the product is for, also where no figure tells since its water is not known; a
        use that nobody names may be drinking. [-]

    Returns
    -------
    list of Obstacle
        In the order in which they were found, what fouls the membranes last. [-]
    """
    checks = _feed_obstacles(ledger)
    told = {COUNTED_SO.split(one.text)[0] for one in checks} | _told_by_another(ledger)
    first: list[Obstacle] = []
    found: list[Obstacle] = []
    drunk = DRINKING in (target, ledger.study().value("product.target")) or target is None
    for flag in ledger.study().flags:
        kind = _weighed(ledger, flag, drunk=drunk)
        if kind == "condition" and _over_in_what_is_drunk(ledger, flag):
            # A blend brings it for sure; what passes the membranes is known by a test.
            kind = "stops" if BLENDED in flag.marks else "unknown"
            found.append(Obstacle(kind, f"{flag.text}{UNDRUNK}", code=flag.code))  # type: ignore[arg-type]
            continue
        if kind == "condition" and _poisons_crops(flag):
            one = Obstacle("question", flag.text, anyway=True, measure=BORON_TEST, code=flag.code)
            found.append(one)
            continue
        if kind == "condition" and _spoilt_by_softening(ledger, flag):
            text = f"{flag.text}{SODIUM}"
            found.append(
                Obstacle("question", text, of_train=True, of_softening=True, code=flag.code)
            )
        elif kind == "doubt":
            found.append(_doubt(flag))
        elif kind and flag.text not in told:
            lasting = flag.code in LASTING or _overloaded(ledger, flag)
            mended = kind in {"question", "stops"} or flag.code in MENDED
            mended = mended and not lasting and flag.code not in UNSAFE
            one = Obstacle(kind, flag.text, of_train=mended, anyway=lasting, code=flag.code)  # type: ignore[arg-type]
            (first if flag.code in DESTROYS else found).append(one)
    return [*first, *found, *checks]


def _told_by_another(ledger: Ledger) -> set[str]:
    """Return words that another flag says already: one element that takes too much of its feed."""
    flags = ledger.study().flags
    if all(flag.code != "wall_factor_range" for flag in flags):
        return set()
    return {flag.text for flag in flags if flag.code == "element_recovery"}


def _weighed(ledger: Ledger, flag: Flag, *, drunk: bool) -> str:
    """Return what a flag comes to in this plant; empty where it is none of the verdict's."""
    kind = equipment_kind(ledger, flag) or _kind(flag, drunk=drunk)
    if kind == "condition" and any(far(ledger, flag) for far in FAR):
        return "stops"
    if kind == "condition" and (_overloaded(ledger, flag) or _bursts(ledger, flag)):
        return "question"
    if kind == "condition" and flag.code == VELOCITY_LOW and KEEPS in flag.text:
        return kind if ledger.study().value("study.kind") == AS_INSTALLED else "question"
    if kind == "condition" and flag.code in UNFED and flag.level == "warning":
        if ledger.study().value("study.kind") == AS_INSTALLED:
            return "stops"
        return "question" if flag.code == NO_WATER else kind
    return kind


def _overloaded(ledger: Ledger, flag: Flag) -> bool:
    """Tell whether flux and feed are both far above: what keeps them is another machine."""
    from pretreat.membrane.elements.checks import FAR_LOADED, LOADS

    far = {f.code for f in ledger.study().flags if FAR_LOADED in f.marks}
    return FAR_LOADED in flag.marks and far >= LOADS


def _bursts(ledger: Ledger, flag: Flag) -> bool:
    """Tell whether vessels that stand are under more pressure than the usual ones bear."""
    return flag.code == "pressure_high" and ledger.study().value("study.kind") == AS_INSTALLED


def _doubt(flag: Flag) -> Obstacle:
    text = f"{flag.text}: have it analysed again"
    return Obstacle("doubt", text, anyway=True, code=flag.code)


def _over_in_what_is_drunk(ledger: Ledger, flag: Flag) -> bool:
    """Tell whether a limit for health that binds is exceeded in a product that people drink."""
    binds = flag.code == "product_target" and flag.level == "warning" and FREE not in flag.marks
    return binds and ledger.study().value("product.target") == DRINKING


def _no_standstill(ledger: Ledger, flag: Flag) -> bool:
    """Tell whether a single softener is left no time at all to regenerate."""
    single = ledger.study().value("softener.arrangement") == "single"
    hours = ledger.number("machine.hours_per_day") or 0.0
    return flag.code == "hours_exceed_day" and single and hours > DAY_H - LEAST_LEFT_H


def _much_unmet(ledger: Ledger, flag: Flag) -> bool:
    """Tell whether more of the demand is not met than anyone would call a shortage."""
    unmet, of_day = (ledger.number(k) for k in ("tanks.year_unmet_m3", "storage.demand_m3_d"))
    days = ledger.number("machine.days_per_year")
    if flag.code != "demand_not_met" or unmet is None or of_day is None or days is None:
        return False
    return unmet > MOST_UNMET * of_day * days


def _spoilt_by_softening(ledger: Ledger, flag: Flag) -> bool:
    """Tell whether a softener makes the product unfit for its own use: sodium for calcium."""
    severe = flag.code == "product_target" and SEVERE in flag.text and OF_SODIUM in flag.text
    return (severe or SODIC in flag.marks) and SOFTENED in ledger


def _poisons_crops(flag: Flag) -> bool:
    """Tell whether boron is above what even crops that bear much of it take."""
    of_boron = (flag.figure or "").endswith(f".{BORON}")
    return flag.code == "product_target" and of_boron and SEVERE in flag.text


def _kind(flag: Flag, *, drunk: bool) -> str:
    grave = flag.level == "warning"
    if grave and flag.code in UNSAFE | STOPS | TOO_SMALL:
        return "stops"
    if flag.code in UNKNOWN or (grave and flag.code in PILOT):
        return "unknown"
    if grave and flag.code in DOUBTS | QUESTIONS:
        return "doubt" if flag.code in DOUBTS else "question"
    if flag.code in OF_MEMBRANES and not (flag.figure or "").startswith(RAW):
        return "condition" if flag.level != "info" else ""
    if NOTED in flag.marks:
        return ""
    counts = (flag.code in CONDITIONS and flag.level != "info") or (grave and flag.code in GRAVE)
    return "condition" if counts or (flag.code == BLEND and drunk) else ""


def _far_over(ledger: Ledger, flag: Flag) -> bool:
    """Tell whether a rate of service is far over its limit, not just a little."""
    stage, _, _ = (flag.figure or "").rpartition(".")
    limit, rate = RATES.get(flag.code), ledger.number(flag.figure or "")
    most = ledger.number(f"{stage}.{limit}") if limit else None
    if rate is None or most is None:
        return False
    in_use = ledger.number(f"{stage}.{IN_USE}")
    return rate > (FAR_RATE * most if in_use is None else in_use)


# What stops a design although its flag is that of a condition.
FAR = (_far_over, _no_standstill, _much_unmet)


def _feed_obstacles(ledger: Ledger) -> list[Obstacle]:
    """Return the checks of the membrane feed that are above, where nothing surely mends it.

    Of a water without a train chlorine and metals are conditions: a train is chosen to take
    them. All else that fouls at once stops it there too.
    """
    study = ledger.study()
    no_train = study.value("study.kind") == NO_TRAIN
    table = study.series.get("train.membrane_checks")
    flags = [f for f in study.flags if f.code in ("membrane_feed", "sulfide")]
    found = []
    for name, value, limit, unit, verdict, _ in () if table is None else table.rows:
        if name not in FEED_CHECKS or not str(verdict).startswith(ABOVE):
            continue
        if verdict in (LEFT, EXCHANGED):
            tank = str(study.value("train.raw_water_storage")).startswith("in")
            air = OPEN_TANK if tank else NO_AIR
            found.append(
                _metals_to_measure(
                    ledger, str(verdict), float(value or 0.0), float(limit or 0.0), air
                )
            )
            continue
        surely = verdict == ABOVE
        number, most = float(value or 0.0), float(limit or 0.0)
        keys, what = COUNTED.get(name, ((), ""))
        told = amount_is(ledger, keys, number, most) if keys else f"is {number:.3g} {unit}"
        text = f"{name} {told} in the raw water, at most {most:g} {unit} onto "
        text += (
            "membranes: nothing of a train is judged here, treat it ahead"
            if no_train
            else "membranes: "
            + ("measure both behind the filter" if name == METALS else BEHIND_FILTER)
        )
        own = [f for f in flags if f.text.startswith(f"{name} ")]
        text = own[0].text if own else text
        chosen_for = no_train and name == METALS  # every train is chosen to take them
        far = surely and not chosen_for and _fouls_soon(name, number, most)
        lasting = far and name == ALUMINIUM  # no stage is chosen for it
        kind = "stops" if far else "condition"
        if name == ALUMINIUM and surely and not far and number > OPEN_TIMES * most:
            kind, lasting = "unknown", True  # no stage is chosen for it, and its form decides
        if verdict == FILTERED_SULFIDE and own and own[0].level == "warning":
            kind, lasting = "unknown", True  # of a filter that is not there yet; none is without
        unseen = keys and up_to(ledger, keys, number, most) is not None
        code, finer = "membrane_feed", f"{what}, {FINER}" if unseen else ""
        if finer:
            text += _counted(ledger, keys, finer)
            if kind == "stops":
                kind, code, lasting, far = "question", GAP, True, False
        mended = far and not lasting
        one = Obstacle(kind, text, of_train=mended, anyway=lasting, measure=finer, code=code)  # type: ignore[arg-type]
        found.append(one)
    return found if table is None else [*found, *fouling_obstacles(ledger)]


def _fouls_soon(name: str, number: float, most: float) -> bool:
    """Tell whether membranes foul at once by what is so far above its limit."""
    return (
        (name == METALS and number > FAR_METALS_MG_L)
        or (name == ALUMINIUM and number >= FAR_METALS_MG_L)
        or (name == SULFIDE and number > FAR_TIMES * most)
        or name == SDI
        or (name == TURBIDITY and number > FAR_TURBIDITY * most)
    )


NOT_FOUND, LESS_FOUND = "; none of it was found", "; less of it was found"
COUNTED_SO = re.compile(f"{NOT_FOUND}|{LESS_FOUND}")
FINER = "with a lower limit of detection"
COUNTED = {
    METALS: (("fe", "mn"), "iron and manganese"),
    ALUMINIUM: (("al",), "aluminium"),
    SULFIDE: (("h2s",), "hydrogen sulfide"),
}


def _counted(ledger: Ledger, keys: Sequence[str], finer: str) -> str:
    """Say that an amount rests on limits of detection, and what to analyse."""
    found, _ = found_and_most(ledger, keys)
    start = LESS_FOUND if found else NOT_FOUND
    return f"{start}, half the limit of detection is counted: analyse {finer}"


NO_AIR = "keep air out of well and piping"
OPEN_TANK = (
    f"{NO_AIR}, and have the raw tank closed to it: one open to the air makes rust of them, which "
    "is to be filtered (then give vented_raw_tank = true in [supply])"
)


def _metals_to_measure(
    ledger: Ledger, verdict: str, found: float, limit: float, air: str
) -> Obstacle:
    """Return the condition of metals that a filter or resin takes: how much, a test says.

    It tells no trains apart: those that take them have it alike.
    """
    if verdict == LEFT:
        text = (
            f"{METALS}: the iron filter is taken to leave {found:.2g} mg/L, no softener takes it "
            f"from all of the water behind it, and membranes take at most {limit:g} mg/L: measure "
            "iron and manganese behind the filter before the membranes run"
        )
    else:
        told = amount_is(ledger, COUNTED[METALS][0], found, limit, 2)
        text = (
            f"{METALS} {told} in the raw water, at most {limit:g} mg/L onto "
            "membranes: the softener exchanges them as long as they are dissolved: "
            f"{air}, clean the resin of iron at regular regenerations (common "
            "practice), and measure both behind the softener before the membranes run"
        )
    finer = ""
    if up_to(ledger, COUNTED[METALS][0], found, limit) is not None:
        finer = f"{COUNTED[METALS][1]}, {FINER}"
        text += _counted(ledger, COUNTED[METALS][0], finer)
    return Obstacle("condition", text, anyway=True, measure=finer, code="membrane_feed")


def health_obstacles(ledger: Ledger, water: WaterAnalysis, use: ProductUse) -> list[Obstacle]:
    """Return what is over a limit for health in the raw water and not known in the product.

    Parameters
    ----------
    ledger : Ledger
        With the product entered. [-]
    water : WaterAnalysis
        The analysis. [-]
    use : ProductUse
        What the product is for; only drinking asks for it. [-]

    Returns
    -------
    list of Obstacle
        One condition that names them, and one for germs, where there are any. [-]
    """
    if use.target != DRINKING:
        return []
    germs = germs_text(water)
    found = [Obstacle("condition", germs, code=HEALTH)] if germs else []
    whose = BINDING.get(use.jurisdiction or "")
    over = exceedances(amounts_of(water), whose, aesthetic=False)
    names = [
        one.name
        for one in over
        if one.key not in SUMS
        and not (one.key == DOSE and _radium_of_product_known(ledger))
        and ledger.number(f"product.{one.key}_mg_l") is None
        and ledger.number(f"product.{one.key}") is None
    ]
    if not names:
        return found
    text = (
        f"over a limit for health in the raw water, passage into the product not computed: "
        f"{', '.join(names)}; have the product analysed before anyone drinks it"
    )
    arsenic = [one for one in over if one.key == ARSENIC and one.name in names]
    text += _of_arsenite(ledger, arsenic[0], amounts_of(water)) if arsenic else ""
    return [*found, Obstacle("condition", text, anyway=True, code=HEALTH)]


def _radium_of_product_known(ledger: Ledger) -> bool:
    """Tell whether the radioactivity of the product is calculated, and held against its limit."""
    return any(ledger.number(f"product.{key}") is not None for key in (RADIUM, *PARTS[DOSE]))


def _of_arsenite(ledger: Ledger, arsenic: Exceedance, amounts: Mapping[str, float]) -> str:
    """Say what an arsenic asks for that membranes may hold in part only."""
    known, limit = [amounts.get(key) for key in FORMS], arsenic.limits[0].limit
    trivalent, pentavalent = known
    if trivalent is None and pentavalent is not None:
        trivalent = max(arsenic.amount - pentavalent, 0.0)
    hold = f"membranes hold it only in part: {remedy_of_arsenite(ledger)}"
    if trivalent is None:
        return f"; have the form of the arsenic analysed: is it arsenite, {hold}"
    if trivalent <= limit:
        return ""
    return f"; {trivalent:.2g} mg/L of the arsenic is arsenite, and {hold}"
