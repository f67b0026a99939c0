"""How the softener's vessels stand to each other: alone, in turn, or one behind the other."""

from pretreat.core.basis import Series, Value
from pretreat.stages.bed.arrangement import arrangement_of
from pretreat.stages.bed.laws import medium_of_all_l
from pretreat.stages.softener import laws
from pretreat.stages.softener.lead_lag import (
    Turn,
    lead_capacity_g_caco3_l,
    lead_turn_d,
    series_drop_kpa,
    turns,
)
from pretreat.stages.train import Train

P = "softener"
TURNS_SHOWN = 6  # each vessel in each place twice


def enter_arrangement(train: Train) -> None:
    """Enter the resin of all vessels, and for several vessels how they take turns."""
    entries = train.entries
    arrangement = arrangement_of(entries.ledger, P)
    entries.law(
        f"{P}.vessels_per_duty",
        laws.vessels_per_duty,
        vessels=f"{P}.vessels",
        vessels_side_by_side=f"{P}.vessels_side_by_side",
        unit="-",
        label="Vessels for each one that shares the flow",
    )
    entries.law(
        f"{P}.resin_bought_l",
        medium_of_all_l,
        medium_l=f"{P}.resin_filled_l",
        vessels=f"{P}.vessels",
        label="Resin in all vessels",
    )
    if arrangement == "single":
        return
    entries.law(
        f"{P}.regenerations_per_vessel_year",
        laws.turns_per_year,
        regenerations_per_year=f"{P}.regenerations_per_year",
        vessels_per_duty=f"{P}.vessels_per_duty",
        unit="1/year",
        label="Softener: regenerations of each vessel per year",
    )
    _note_twin(train)
    if arrangement == "lead-lag":
        _enter_lead_lag(train)


def _note_twin(train: Train) -> None:
    """Flag a vessel that would be called before it has regenerated."""
    entries = train.entries
    run_h = entries.value(f"{P}.interval_d") * entries.value("machine.hours_per_day")
    number = entries.value(f"{P}.vessels_side_by_side")  # one round, they regenerate in turn
    needed_h = number * entries.value(f"{P}.regeneration_min") / 60.0
    if run_h < needed_h:
        entries.flag(
            "twin_not_ready",
            "warning",
            f"Softener: a vessel lasts {run_h:.2g} h of running, another needs "
            f"{needed_h:.2g} h to regenerate (DAVIS2010: out of service must be shorter "
            "than the run): larger vessels",
            f"{P}.regeneration_min",
        )


def _enter_lead_lag(train: Train) -> None:
    """Enter what each of the two vessels sees, with the lead run to exhaustion."""
    entries = train.entries
    capacity = entries.value(f"{P}.capacity_g_caco3_l")
    held = entries.law(
        f"{P}.lead_capacity_g_caco3_l",
        lead_capacity_g_caco3_l,
        capacity_g_caco3_l=f"{P}.capacity_g_caco3_l",
        salt_dose_g_l=f"{P}.salt_dose_g_l",
        label="Capacity of the lead vessel, run to exhaustion",
        evidence="computed",
        method="the lag takes up what passes after breakthrough; straight front",
    )
    turn_d = entries.law(
        f"{P}.turn_d",
        lead_turn_d,
        interval_d=f"{P}.interval_d",
        reserve=f"{P}.reserve",
        lead_capacity_g_caco3_l=f"{P}.lead_capacity_g_caco3_l",
        capacity_g_caco3_l=f"{P}.capacity_g_caco3_l",
        label="Lead-lag: days of a turn, lead run to exhaustion",
        method="no reserve: the lag is the reserve",
    )
    load_kg_h = entries.value(f"{P}.load_kg_caco3_d") / entries.value("machine.hours_per_day")
    exhausted_kg = turn_d * entries.value(f"{P}.load_kg_caco3_d")
    run = turns(TURNS_SHOWN, load_kg_h, exhausted_kg * capacity / held, exhausted_kg)
    _enter_positions(train, run[-1])
    _enter_turns(train, run)
    entries.law(
        f"{P}.pressure_drop_series_kpa",
        series_drop_kpa,
        one_kpa=f"{P}.pressure_drop_kpa",
        label="Softener: pressure drop of lead and lag, clean",
        method="one behind the other",
    )
    interval = entries.value(f"{P}.interval_d")
    entries.flag(
        "lead_lag",
        "info",
        f"lead and lag: the lead regenerates every {interval:.2f} d with no reserve (the lag is "
        "it), and the lag serves alone meanwhile; if the lead is run until the lag has to take "
        f"over, a turn lasts up to {turn_d:.2f} d (straight front, an estimate: test between the "
        "vessels). Leakage stays that of the equilibrium",
        f"{P}.turn_d",
    )


def _enter_positions(train: Train, turn: Turn) -> None:
    entries = train.entries
    hard, leak = (
        entries.value(f"{P}.hardness_load_mg_l_caco3"),
        entries.value(f"{P}.leakage_mg_l_caco3"),
    )
    between = leak + (hard - leak) * turn.lag_kg / (turn.lead_kg + turn.lag_kg)
    flow, drop = entries.value(train.water_of(P)[0]), entries.value(f"{P}.pressure_drop_kpa")
    rows: tuple[tuple[Value, ...], ...] = (
        ("lead", hard, between, turn.lead_kg, flow, drop),
        ("lag", between, leak, turn.lag_kg, flow, drop),
        ("regenerated after the turn", None, None, -turn.washed_out_kg, None, None),
    )
    entries.ledger.table(
        Series(
            f"{P}.positions",
            "What each vessel of the softener sees in a turn",
            (
                "place",
                "in_mg_l_caco3",
                "out_mg_l_caco3",
                "takes_up_kg_caco3",
                "flow_m3_h",
                "pressure_drop_kpa",
            ),
            ("-", "mg/L as CaCO3", "mg/L as CaCO3", "kg as CaCO3", "m3/h", "kPa"),
            rows,
            headings=("Place", "Enters, mean", "Leaves, mean", "Takes up", "Flow", "Pressure drop"),
            cites=("DAVIS2010",),
            method="lead run to exhaustion; means over a turn",
        )
    )


def _enter_turns(train: Train, run: tuple[Turn, ...]) -> None:
    hours_per_day, day = train.entries.value("machine.hours_per_day"), 0.0
    rows: list[tuple[Value, ...]] = []
    for number, turn in enumerate(run, start=1):
        until = day + turn.hours / hours_per_day
        places = (f"vessel {place + 1}" for place in (turn.lead, turn.lag, turn.regenerating))
        rows.append((float(number), day, until, *places))
        day = until
    train.entries.ledger.table(
        Series(
            f"{P}.turns",
            "Turns of the softener's vessels, all new at the start",
            ("turn", "from_d", "until_d", "lead", "lag", "regenerating"),
            ("-", "d", "d", "-", "-", "-"),
            tuple(rows),
            headings=("Turn", "From day", "Until day", "Leads", "Lags", "Regenerates after it"),
            cites=("DAVIS2010",),
            method="the lag leads next; the lead regenerates",
        )
    )


def note_set_interval(train: Train) -> None:
    """Flag a timer that is set to a longer gap than the capacity lasts."""
    entries, given = train.entries, train.design.softener.regenerate_every_days
    interval = entries.value(f"{P}.interval_d")
    if train.sizing or given is None:
        return
    entries.given(
        f"{P}.set_interval_d", given, "d", "Interval set at present", origin="chosen", cites=()
    )
    if given > interval:
        _flag_set_too_long(train, given, interval)


def _flag_set_too_long(train: Train, given: float, interval: float) -> None:
    """Tell a reserve that is used up from a bed that is exhausted ahead of the regeneration."""
    entries = train.entries
    days = entries.ledger.number(f"{P}.programme_days")
    remedy = "regenerate oftener than a timer can, or more resin"
    if days:
        remedy = "set it to twice a day" if days < 1.0 else f"set it to {days:g} d"
    reserve = entries.ledger.number(f"{P}.reserve") or 0.0
    exhausted = interval / (1.0 - reserve)
    if given <= exhausted:
        left = 1.0 - given / exhausted
        text = (
            f"the timer is set to {given:g} d, the capacity less its reserve of {reserve:.0%} "
            f"lasts {interval:.2f} d, the whole of it {exhausted:.2f} d: {left:.0%} is left"
            " as reserve, hard water comes on a day of more demand or as the resin ages: "
            f"{remedy}, or a larger dose of salt"
        )
        entries.flag("set_too_long", "caution", text, f"{P}.set_interval_d")
        return
    entries.flag(
        "set_too_long",
        "warning",
        f"the timer is set to {given:g} d, the bed is exhausted after {exhausted:.2f} d "
        f"({interval:.2f} d with its reserve): hard water reaches the membranes before each "
        f"regeneration: {remedy}",
        f"{P}.set_interval_d",
    )
