"""A year from tank to tank, as figures and as the levels of its first week."""

from math import inf, isfinite
from typing import Any

from msgspec.structs import replace

from pretreat.core.basis import Series
from pretreat.core.errors import OutOfRangeError
from pretreat.lab.read.wording import shown
from pretreat.plant.calendar.simulated import Plant, Wash, keeps_up
from pretreat.plant.calendar.week import Duty, first_nights
from pretreat.plant.calendar.year import Year, simulate
from pretreat.plant.water.demand import LEVEL, hourly_demand_m3_h, profile_shares
from pretreat.plant.water.product_tank import smallest_product_tank_m3
from pretreat.plant.water.storage_laws import (
    demand_beside_flushes_m3_d,
    product_tank_for_level_demand_m3,
    product_tank_m3,
)
from pretreat.plant.water.supply import Washer, minutes_of, stops_flow, washers
from pretreat.stages.train import Train

FLUSH_MIN = 2.0  # PRACTICE: product flushed through the membranes at each stop
HOURS_D = 24.0
LEAST_RUN_H = 1.0  # PRACTICE: frequent starts wear membranes and valves
NOTICED = 1e-4  # PRACTICE: about an hour of a year
MOST_STARTS_D = 12.0  # PRACTICE: a start every two hours
SPARE = 1.25  # PRACTICE: product tank above the smallest that serves
TRACED_DAYS = 7
FLUSH_ROUNDS = 2  # the flushes hardly depend on what they leave to be drawn
CARBON_GAP_D = 7.0
CHEMICALS = {  # of a year, and what one regeneration takes of them
    "salt_kg": ("softener.salt_kg_per_regeneration_of_all",),
    "permanganate_kg": ("iron_filter.permanganate_g_per_regeneration_of_all",),
}


def enter_year(train: Train) -> None:
    """Simulate a year and enter what it comes to; flag demand that is not met.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    """
    washes = _washes(train)
    if train.entries.value("storage.demand_m3_d") <= 0:
        train.entries.flag(
            "no_demand",
            "caution",
            "no product is drawn: no year is simulated; correct demand in [supply]",
            "storage.demand_m3_d",
        )
        return
    plant = None if washes is None else _plant(train, washes)
    if plant is None or not all(keeps_up(wash, plant.feed_m3_h) for wash in plant.washes):
        return  # each with a flag: no setting, no well, or a twin that is not ready
    days = max(1, round(train.entries.value("machine.days_per_year")))
    tank = _enter_tank(train, plant, days)
    if tank is None:
        return
    plant = _less_flushes(train, replace(plant, product_tank_m3=tank), days)
    _enter_result(train, simulate(plant, days))
    _enter_levels(train, plant)


def _less_flushes(train: Train, plant: Plant, days: int) -> Plant:
    """Return the plant with what the flushes leave drawn, where all that is made is drawn.

    The running hours of the site file hold the flushes; a demand of the site file does not.
    """
    if "supply.demand_m3_d" in train.design.chosen:
        return plant
    tried, share = plant, 0.0
    for _ in range(FLUSH_ROUNDS):
        year = simulate(tried, days)
        share = min(year.flush_m3 / year.product_m3, 1.0) if year.product_m3 > 0 else 0.0
        demand = tuple((hour, flow * (1.0 - share)) for hour, flow in plant.demand_m3_h)
        tried = replace(plant, demand_m3_h=demand)
    entries = train.entries
    key = "tanks.flush_share"
    entries.result(key, share, "-", "Part of the product that the flushes take", method="simulated")
    entries.ledger.rests(key, "tanks.flush_min", *_simulated_of(train))
    entries.law(
        "tanks.demand_m3_d",
        demand_beside_flushes_m3_d,
        demand_m3_d="storage.demand_m3_d",
        flush_share=key,
        label="Product drawn per day in the simulated year",
        method="all that is made, less the flushes",
    )
    return tried


def _simulated_of(train: Train) -> tuple[str, ...]:
    """Return the keys of all that moves a simulated year."""
    named = (
        "storage.demand_m3_d",
        "machine.product_flow_m3_h",
        "machine.feed_flow_m3_h",
        "machine.feed_m3_d",
        "machine.days_per_year",
        "tanks.product_m3",
    )
    of_stages = (
        key
        for w in washers(train)
        for key in (*w.programme_keys, f"{w.prefix}.backwash_every_d", w.water_key)
    )
    return tuple(key for key in (*named, *of_stages) if key in train.entries.ledger)


def _washes(train: Train) -> tuple[Wash, ...] | None:
    """Return the stages as the year sees them, None where one has no setting."""
    duties: list[tuple[Washer, float, float]] = []
    for washer in washers(train):
        gap, meter = _gap_and_meter(train, washer)
        if not (isfinite(gap) or isfinite(meter)):
            return None
        duties.append((washer, gap, meter))
    timed = [(w, gap) for w, gap, _ in duties if isfinite(gap)]
    firsts = first_nights(tuple(Duty(w.label, gap, minutes_of(train, w)) for w, gap in timed))
    first = {w.prefix: n for (w, _), n in zip(timed, firsts, strict=True)}
    return tuple(_wash(train, w, gap, meter, first.get(w.prefix, 0)) for w, gap, meter in duties)


def _gap_and_meter(train: Train, washer: Washer) -> tuple[float, float]:
    entries = train.entries
    if washer.prefix == "softener" and train.design.softener.control == "meter":
        per_week = entries.value(washer.per_week_key)
        return inf, entries.value("machine.feed_m3_d") * 7.0 / per_week
    setting = entries.ledger.number(f"{washer.prefix}.programme_days")
    if setting is not None:
        return setting, inf
    every = entries.ledger.number(f"{washer.prefix}.backwash_every_d")
    return (inf, inf) if every is None else (every, inf)


def _wash(train: Train, washer: Washer, gap: float, meter: float, first: int) -> Wash:
    entries = train.entries
    soft, iron = washer.prefix == "softener", washer.prefix == "iron_filter"
    grams = entries.ledger.number(CHEMICALS["permanganate_kg"][0]) if iron else None
    return Wash(
        washer.label,
        minutes_of(train, washer),
        entries.value(washer.water_key),
        gap,
        meter,
        stops_flow(train, washer),
        entries.value(CHEMICALS["salt_kg"][0]) if soft else 0.0,
        0.0 if grams is None else grams,
        soft,
        first,
    )


def _plant(train: Train, washes: tuple[Wash, ...]) -> Plant | None:
    entries, supply = train.entries, train.design.supply
    feed, product = entries.value("machine.feed_flow_m3_h"), train.design.machine.product_flow_m3_h
    raw_tank = supply.raw_tank_volume_m3 or 0.0
    well = inf if supply.well_yield_m3_h is None else supply.well_yield_m3_h
    if well == 0 or (raw_tank == 0 and well < feed):
        remedy = "another well" if well == 0 else "it needs a raw water tank"
        entries.flag(
            "well_below_feed",
            "warning",
            f"the well gives {well:g} m3/h, the machine takes {feed:.2f} m3/h: {remedy}; "
            "no year is simulated",
            "machine.feed_flow_m3_h",
        )
        return None
    minutes = entries.given("tanks.flush_min", FLUSH_MIN, "min", "Product flush at each stop")
    hardness = entries.ledger.number("softener.hardness_load_mg_l_caco3") or 0.0
    return Plant(
        product_m3_h=product,
        feed_m3_h=feed,
        product_tank_m3=1.0,
        demand_m3_h=hourly_demand_m3_h(
            entries.value("storage.demand_m3_d"), profile_shares(supply.demand_profile)
        ),
        washes=washes,
        raw_tank_m3=raw_tank,
        well_m3_h=well,
        flush_m3=minutes / 60.0 * feed,
        hardness_mg_l_caco3=hardness,
        leakage_mg_l_caco3=entries.ledger.number("softener.leakage_mg_l_caco3") or 0.0,
    )


def _enter_tank(train: Train, plant: Plant, days: int) -> float | None:
    """Enter the smallest product tank that serves, and the one the year is run with."""
    entries, key = train.entries, "tanks.smallest_product_m3"
    given = train.design.supply.product_tank_volume_m3
    try:
        smallest = smallest_product_tank_m3(plant, days)
    except OutOfRangeError as problem:
        entries.flag("demand_not_met", "warning", str(problem), "storage.demand_m3_d")
        if not given:
            return None
        return entries.given(
            "tanks.product_m3", given, "m3", "Product tank", origin="chosen", cites=()
        )
    level = train.design.supply.demand_profile == LEVEL
    entries.result(
        key,
        smallest,
        "m3",
        "Smallest product tank that serves "
        + ("a level demand" if level else "the demand profile"),
        method="simulated",
    )
    entries.ledger.rests(key, "tanks.flush_min", *_simulated_of(train))
    if given is not None:
        return _enter_given_tank(train, given, smallest)
    entries.given("tanks.spare_factor", SPARE, "-", "Product tank over the smallest")
    entries.given("tanks.least_run_h", LEAST_RUN_H, "h", "Shortest run of the machine wanted")
    tank: dict[str, Any] = {
        "smallest_m3": key,
        "spare_factor": "tanks.spare_factor",
        "product_flow_m3_h": "machine.product_flow_m3_h",
        "least_run_h": "tanks.least_run_h",
        "switch_band": plant.stop_share - plant.start_share,
        "label": "Product tank",
        "evidence": "common practice",
    }
    how = "the smallest with some spare, and long enough runs"
    if level:
        return entries.law(
            "tanks.product_m3",
            product_tank_for_level_demand_m3,
            demand_m3_d="storage.demand_m3_d",
            method=f"{how}; peaks on top",
            **tank,
        )
    return entries.law(
        "tanks.product_m3",
        product_tank_m3,
        lowest_demand_m3_h="storage.lowest_demand_m3_h",
        method=how,
        **tank,
    )


def _enter_given_tank(train: Train, tank_m3: float, smallest_m3: float) -> float | None:
    """Enter the tank of the site file; None, with a flag, where there is none to simulate."""
    if tank_m3 > 0:
        return train.entries.given(
            "tanks.product_m3", tank_m3, "m3", "Product tank", origin="chosen", cites=()
        )
    train.entries.flag(
        "no_product_tank",
        "warning",
        "the product tank of the site file holds 0 m3, so every regeneration stops "
        f"the supply: the smallest that serves holds {smallest_m3:.2f} m3; no year "
        "is simulated",
        "tanks.smallest_product_m3",
    )
    return None


def _enter_result(train: Train, year: Year) -> None:
    entries = train.entries
    lines = [
        ("hours_run_h", year.hours_run, "h/year", "Hours run"),
        ("starts", float(year.starts), "1/year", "Starts of the machine"),
        ("raw_m3", year.raw_m3, "m3/year", "Raw water"),
        ("product_made_m3", year.product_m3, "m3/year", "Product made"),
        ("served_m3", year.served_m3, "m3/year", "Product drawn"),
        ("concentrate_m3", year.concentrate_m3, "m3/year", "Concentrate"),
        ("regeneration_m3", year.wash_m3, "m3/year", "Water for regenerations and backwashes"),
        ("flush_m3", year.flush_m3, "m3/year", "Product used for flushing"),
        ("unmet_m3", year.unmet_m3, "m3/year", "Demand not met"),
        ("hours_without_water_h", year.hours_without_water, "h/year", "Hours without water"),
        ("lowest_product_m3", year.lowest_product_m3, "m3", "Lowest level of the product tank"),
        ("salt_kg", year.salt_kg, "kg/year", "Salt"),
        ("permanganate_kg", year.permanganate_kg, "kg/year", "Permanganate"),
    ]
    if train.design.supply.raw_tank_volume_m3:
        lines.append(("lowest_raw_m3", year.lowest_raw_m3, "m3", "Lowest level of the raw tank"))
    lines += [
        (
            f"regenerations_{name.lower().replace(' ', '_')}",
            float(n),
            "1/year",
            f"Regenerations: {name.lower()}",
        )
        for name, n in year.regenerations.items()
    ]
    rests_on = ("tanks.flush_min", *_simulated_of(train))
    for name, value, unit, label in lines:
        key = f"tanks.year_{name}"
        entries.result(
            key,
            value,
            unit,
            f"Year simulated: {label[:1].lower()}{label[1:]}",
            method="from switch to switch over the days of operation",
        )
        of_one = (k for k in CHEMICALS.get(name, ()) if k in entries.ledger)
        entries.ledger.rests(key, *rests_on, *of_one)
    if year.starts > MOST_STARTS_D * year.days:
        entries.flag(
            "many_starts",
            "caution",
            f"the machine starts {year.starts / year.days:.0f} times a day: a larger "
            "product tank, or switches further apart",
            "tanks.year_starts",
        )
    if noticed(year):
        entries.flag(
            "demand_not_met",
            "warning",
            f"in a simulated year {shown(year.unmet_m3, 3)} m3 of demand are not met and the "
            f"product tank is empty for {shown(year.hours_without_water, 3)} h: a larger tank, "
            "or more product",
            "tanks.year_unmet_m3",
        )


def noticed(year: Year) -> bool:
    """Tell whether anyone would notice what is not met.

    Parameters
    ----------
    year : Year
        A year simulated. [-]

    Returns
    -------
    bool
        True from about an hour of a year without water on, or the demand of one. [-]
    """
    unmet = year.unmet_m3 / year.product_m3 if year.product_m3 > 0 else 1.0
    dry = year.hours_without_water / (HOURS_D * year.days) if year.days > 0 else 1.0
    return year.unmet_m3 > 0 and max(unmet, dry) >= NOTICED


def _enter_levels(train: Train, plant: Plant) -> None:
    """Enter the levels at each event of the first week."""
    levels = simulate(plant, TRACED_DAYS, trace=True).levels
    raw = plant.raw_tank_m3 > 0
    columns = ("hour", "product_m3", "raw_m3") if raw else ("hour", "product_m3")
    width = len(columns)
    train.entries.ledger.table(
        Series(
            "tanks.levels",
            "Water in the tanks, first week of the simulated year",
            columns,
            ("h", "m3", "m3")[:width],
            tuple(level[:width] for level in levels),
            headings=("Hour", "Product tank", "Raw tank")[:width],
            method="at every switch; straight lines between",
        )
    )
