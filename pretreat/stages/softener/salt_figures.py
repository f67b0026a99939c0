"""Salt of the softener, what a technician keys in, and what other doses would do."""

from math import ceil

from pretreat.core.basis import Series, Value
from pretreat.core.graph import elementwise
from pretreat.core.units import LITRE_PER_US_GALLON
from pretreat.stages.bed import valve_laws
from pretreat.stages.bed.figures import enter_round
from pretreat.stages.bed.valve_figures import enter_keyed
from pretreat.stages.softener import laws as sizing
from pretreat.stages.softener import salt_laws
from pretreat.stages.softener.installed import reaching
from pretreat.stages.softener.regeneration import LONGEST_OUT_OF_SERVICE_MIN, Step
from pretreat.stages.softener.resin import (
    COUNTER_CURRENT_LEAKAGE,
    CapacityTable,
    capacity_g_caco3_l,
    capacity_table,
    leakage_mg_l_caco3,
    operating_capacity_g_l,
    resin_hardness_left,
)
from pretreat.stages.train import Train

P = "softener"
AS_MUCH = 1.001  # of a capacity: rounding of a table
EFFICIENT_SALT_G_G = 2.09  # NSF44: at least 3350 gr/lb
OVERSHOOT_MIN = 0.25  # PRACTICE: a quarter of a minute less does not matter, more is rounded up
REFILL_FLOWS_GPM = (0.5, 1.0, 2.0, 5.0)  # PRACTICE: flow controls usual on brine refills
REFILL_WITHIN_MIN = 30.0  # PRACTICE


def whole_minutes(minutes: float) -> float:
    """Return a time as it is keyed in: whole minutes, up unless it is a quarter over at most.

    Parameters
    ----------
    minutes : float
        Time. [min]

    Returns
    -------
    float
        Whole minutes, at least 1. [min]
    """
    return float(max(ceil(minutes - OVERSHOOT_MIN - 1e-9), 1))


def usual_refill_flow_gpm(refill_l: float) -> float:
    """Return the smallest usual refill flow that fills within half an hour, else the largest.

    Parameters
    ----------
    refill_l : float
        Water of a refill. [L]

    Returns
    -------
    float
        Flow. [gpm]
    """
    most = refill_l / REFILL_WITHIN_MIN / LITRE_PER_US_GALLON
    return next((flow for flow in REFILL_FLOWS_GPM if flow >= most), REFILL_FLOWS_GPM[-1])


def enter_salt(train: Train) -> None:
    """Enter salt per regeneration and year, and its efficiency.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    """
    entries = train.entries
    entries.law(
        f"{P}.salt_kg_per_regeneration",
        salt_laws.salt_kg,
        volume_l=f"{P}.resin_filled_l",
        salt_dose_g_l=f"{P}.salt_dose_g_l",
        label="Salt per regeneration, one vessel",
        method="resin of one vessel times dose",
    )
    enter_round(train, P, "salt_kg_per_regeneration", "kg", "Salt per regeneration")
    entries.law(
        f"{P}.salt_kg_per_year",
        salt_laws.salt_kg_per_year,
        salt_kg=f"{P}.salt_kg_per_regeneration_of_all",
        regenerations_per_year=f"{P}.regenerations_per_year",
        label="Salt per year, all vessels",
        method="regenerations times salt",
    )
    entries.law(
        f"{P}.refill_l",
        salt_laws.refill_l,
        salt_kg=f"{P}.salt_kg_per_regeneration",
        label="Refill of the brine tank, one vessel",
        method="saturated brine, 26.4 % by weight",
    )
    entries.law(
        f"{P}.salt_g_per_g_caco3",
        salt_laws.salt_g_per_g_caco3,
        salt_dose_g_l=f"{P}.salt_dose_g_l",
        capacity_g_caco3_l=f"{P}.capacity_g_caco3_l",
        label="Salt for a gram of hardness, bed used up",
        method="stoichiometric 1.17, published efficiency rating at most 2.09",
    )
    _enter_efficiency(train)


def _enter_efficiency(train: Train) -> None:
    """Enter the salt of a year over the hardness of a year; that is what the rating judges."""
    entries = train.entries
    if entries.ledger.number(f"{P}.salt_kg_per_year") is None:
        return
    ratio = entries.law(
        f"{P}.salt_effective_g_per_g_caco3",
        salt_laws.effective_salt_g_per_g_caco3,
        salt_kg_per_year=f"{P}.salt_kg_per_year",
        load_kg_caco3_d=f"{P}.load_kg_caco3_d",
        days_per_year="machine.days_per_year",
        label="Salt for a gram of hardness, by the programme",
        cites=(),
        method="salt of a year over hardness of a year, reserve and unused capacity included",
    )
    if ratio > EFFICIENT_SALT_G_G:
        full = entries.value(f"{P}.salt_g_per_g_caco3")
        entries.flag(
            "salt_efficiency",
            "info",
            f"the programme takes {ratio:.2f} g of salt for a gram of hardness "
            f"({full:.2f} with the bed used up); the published efficiency rating asks "
            f"{EFFICIENT_SALT_G_G:g} or less (NSF/ANSI 44, metered units, 3350 grains a pound): a "
            "smaller dose or a meter saves salt, a larger dose saves resin",
            f"{P}.salt_effective_g_per_g_caco3",
        )


def enter_settings(train: Train, steps: tuple[Step, ...]) -> None:
    """Enter what a technician keys in, for one vessel.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    steps : tuple of Step
        Steps of one vessel. [-]
    """
    entries, choice = train.entries, train.design.softener
    refill_l = entries.value(f"{P}.refill_l")
    rows = _step_rows(steps)
    flow = choice.refill_flow_l_min
    if flow is None:
        rows.append(("refill", None, None, None, refill_l))
        gpm = usual_refill_flow_gpm(refill_l)
        l_min = gpm * LITRE_PER_US_GALLON
        minutes = whole_minutes(refill_l / l_min)
        _enter_usual_refill(train, l_min)
        rows.append(("or refill, usual flow", minutes, refill_l / l_min, l_min, refill_l))
        entries.flag(
            "refill_flow_unknown",
            "info",
            "refill minutes follow from the refill flow on the valve's label; give "
            f"refill_flow in [softener]. At a usual {gpm:g} gpm "
            f"({l_min:.1f} L/min, common practice) they are {minutes:.0f}",
            f"{P}.refill_l",
        )
    else:
        if f"{P}.refill_flow_l_min" not in entries.ledger:
            entries.given(
                f"{P}.refill_flow_l_min", flow, "L/min", "Refill flow", origin="chosen", cites=()
            )
        exact = refill_l / flow
        rows.append(("refill", whole_minutes(exact), exact, flow, refill_l))
    _enter_keyed_steps(train)
    entries.ledger.table(
        Series(
            f"{P}.settings",
            "Settings of the softener's valve, one vessel",
            ("step", "set_min", "minutes", "flow_l_min", "volume_l"),
            ("-", "min", "min", "L/min", "L"),
            tuple(rows),
            headings=("Step", "Set", "Minutes", "Flow", "Volume"),
            cites=("CLIFFORD", "DAVIS2010", "UFC13FN"),
            method="rinse until the drain runs soft; most valves draw brine and rinse slowly "
            "in one step",
        )
    )
    total = entries.value(f"{P}.regeneration_min")
    if total > LONGEST_OUT_OF_SERVICE_MIN:
        entries.flag(
            "long_regeneration",
            "info",
            f"a regeneration takes {total:.0f} min, the printed longest steps add up to 120 min",
            f"{P}.regeneration_min",
        )


def _enter_usual_refill(train: Train, l_min: float) -> None:
    """Enter the refill flow that is assumed: the input from which refill minutes follow."""
    train.entries.given(
        f"{P}.refill_flow_l_min",
        l_min,
        "L/min",
        "Refill flow",
        evidence="common practice",
        cites=("PRACTICE",),
        method="usual flow control on a refill; see the valve's label",
    )
    usual = elementwise(lambda litres: usual_refill_flow_gpm(litres) * LITRE_PER_US_GALLON)
    train.entries.ledger.rests(
        f"{P}.refill_flow_l_min",
        f"{P}.refill_l",
        again=lambda value: usual(value(f"{P}.refill_l")),
    )


def _enter_keyed_steps(train: Train) -> None:
    """Enter the minutes of every step as they are keyed in, and the flow of the brine."""
    entries = train.entries
    if f"{P}.refill_min" not in entries.ledger:
        entries.law(
            f"{P}.refill_min",
            valve_laws.refill_at_flow_min,
            refill_l=f"{P}.refill_l",
            flow_l_min=f"{P}.refill_flow_l_min",
            label="Refill of the brine tank",
        )
    entries.law(
        f"{P}.brine_flow_l_min",
        valve_laws.step_flow_l_min,
        volume_l=f"{P}.resin_filled_l",
        step_bv=f"{P}.brine_bv",
        step_min=f"{P}.brine_min",
        label="Brine and slow rinse, flow of one vessel",
    )
    entries.law(
        f"{P}.slow_rinse_min",
        valve_laws.slow_rinse_min,
        slow_rinse_bv=f"{P}.slow_rinse_bv",
        brine_bv=f"{P}.brine_bv",
        brine_min=f"{P}.brine_min",
        label="Slow rinse, time",
    )
    entries.law(
        f"{P}.fast_rinse_min",
        valve_laws.rinse_at_rate_min,
        rinse_bv=f"{P}.fast_rinse_bv",
        rate_bv_h=f"{P}.fast_rinse_bv_h",
        label="Fast rinse, time",
    )
    for step, words in (
        ("backwash", "Backwash"),
        ("brine", "Brine"),
        ("slow_rinse", "Slow rinse"),
        ("fast_rinse", "Fast rinse"),
        ("refill", "Refill"),
    ):
        enter_keyed(train, f"{P}.{step}_set_min", f"{P}.{step}_min", f"{words}, minutes keyed in")
    entries.law(
        f"{P}.brine_and_rinse_set_min",
        valve_laws.both_min,
        brine_set_min=f"{P}.brine_set_min",
        slow_rinse_set_min=f"{P}.slow_rinse_set_min",
        label="Brine and slow rinse as one step, minutes keyed in",
    )


def _step_rows(steps: tuple[Step, ...]) -> list[tuple[Value, ...]]:
    """Return a row for each step, and one for the two that most valves know as one."""
    rows: list[tuple[Value, ...]] = []
    for s in steps:
        flow, litres = s.flow_m3_h * 1000.0 / 60.0, s.volume_m3 * 1000.0
        rows.append((s.name, whole_minutes(s.minutes), s.minutes, flow, litres))
    both = [s for s in steps if s.name in {"brine", "slow rinse"}]
    minutes = sum(s.minutes for s in both)
    keyed = sum(whole_minutes(s.minutes) for s in both)
    litres = sum(s.volume_m3 for s in both) * 1000.0
    rows.insert(3, ("or brine + slow rinse", keyed, minutes, litres / minutes, litres))
    return rows


def enter_dose_options(train: Train, table: CapacityTable) -> None:
    """Enter what other salt doses would do to the same bed."""
    entries = train.entries
    if not entries.ledger.shown:
        return
    own = entries.value(f"{P}.salt_dose_g_l")
    volume, load = entries.value(f"{P}.resin_filled_l"), entries.value(f"{P}.load_kg_caco3_d")
    factor, reserve = entries.value(f"{P}.capacity_factor"), entries.value(f"{P}.reserve")
    cations, hardness = (
        entries.value(f"{P}.total_cations_eq_l"),
        entries.value(f"{P}.hardness_in_mg_l_caco3"),
    )
    number, rows = entries.value(f"{P}.vessels_side_by_side"), []
    plain = capacity_table() if table.name == "counter-current" else table
    counter = table.name == "counter-current"
    share = COUNTER_CURRENT_LEAKAGE if counter else 1.0
    for dose in sorted({own, *table.dose_g_l}):
        capacity = operating_capacity_g_l(dose, reaching(table, dose))
        held = capacity_g_caco3_l(dose, plain.dose_g_l, plain.capacity_g_l)
        if counter and dose != own and capacity <= held * AS_MUCH:
            continue  # co-current holds as much there: no dose of a counter-current bed
        usable = sizing.usable_capacity_kg_caco3(
            volume, capacity, capacity_factor=factor, reserve=reserve
        )
        leak = min(share * leakage_mg_l_caco3(cations, resin_hardness_left(held)), hardness)
        if dose == own:
            leak = entries.value(f"{P}.leakage_mg_l_caco3")
        rows.append(
            (
                dose,
                capacity,
                sizing.interval_d(usable, load, number),
                volume * dose / 1000.0,
                dose / capacity,
                leak,
                "set" if dose == own else "",
            )
        )
    entries.ledger.table(
        Series(
            f"{P}.dose_options",
            "The same bed at other salt doses",
            (
                "dose_g_l",
                "capacity_g_caco3_l",
                "interval_d",
                "salt_kg",
                "salt_g_per_g",
                "leakage_mg_l_caco3",
                "mark",
            ),
            ("g/L", "g/L as CaCO3", "d", "kg", "g/g", "mg/L as CaCO3", "-"),
            tuple(rows),
            headings=(
                "Salt dose",
                "Capacity",
                "Interval",
                "Salt per regeneration",
                "Salt per hardness",
                "Leakage",
                "",
            ),
            cites=(table.source, "HELFFERICH"),
            method="more salt: longer and softer, dearer",
        )
    )
