"""A year from tank to tank: well, raw tank, train, machine, product tank, demand.

Event by event: between two events every flow is constant, so levels are straight lines and
nothing is lost to a time step. Events are the level switches, the nights on which stages are
due, metered volumes used up, and changes of demand. The well fills the raw tank through a
float valve whenever there is room; the machine follows the switches of the product tank.
"""

from math import inf

from msgspec import Struct
from msgspec.structs import replace

from pretreat.plant.calendar.simulated import (
    CYCLE_DAYS,
    HOURS_PER_DAY,
    Plant,
    calendar_of,
    check_plant,
)

NOON_H = 12.0
TINY = 1e-9  # m3 and h; a switch that is this near has been reached
BOUNDLESS_M3_H = 1e6  # a well whose yield is not known gives more than any machine takes
MANY_CYCLES = 6  # alike, from which on they are passed at once
RESTART_H = 1.0 / 15.0  # PRACTICE: small motors start at most 15 times an hour


class Year(Struct, frozen=True):
    """What a simulated year came to: water [m³], hours [h], hardness and salt [kg].

    The balances are what enters less what leaves and what stays: zero but for rounding.
    ``most_softened_m3`` is the longest run of the softener between two regenerations.
    """

    days: float
    hours_run: float
    starts: int
    regenerations: dict[str, int]
    salt_kg: float
    permanganate_kg: float
    raw_m3: float
    feed_m3: float
    product_m3: float
    concentrate_m3: float
    wash_m3: float
    flush_m3: float
    served_m3: float
    unmet_m3: float
    hours_without_water: float
    lowest_product_m3: float
    lowest_raw_m3: float
    most_softened_m3: float
    hardness_leaked_kg: float
    hardness_washed_out_kg: float
    hardness_held_kg: float
    raw_balance_m3: float
    product_balance_m3: float
    hardness_balance_kg: float
    levels: tuple[tuple[float, float, float], ...]


class _Run:
    """The state of one simulation and its sums."""

    def __init__(self, plant: Plant, *, trace: bool) -> None:
        self.plant, self.trace = plant, trace
        self.start_m3 = plant.start_share * plant.product_tank_m3
        self.stop_m3 = plant.stop_share * plant.product_tank_m3
        self.raw_lowest_m3 = plant.raw_lowest_share * plant.raw_tank_m3
        self.raw_again_m3 = plant.raw_again_share * plant.raw_tank_m3
        self.p, self.r = self.stop_m3, plant.raw_tank_m3
        self.low_p, self.low_r = self.p, self.r
        self.now = self.locked_until = self.ready_at = 0.0
        self.hours = self.raw = self.washed = self.flushed = 0.0
        self.served = self.unmet = self.dry_h = 0.0
        self.running = self.raw_short = False
        self.starts = 0
        self.demand = 0.0
        self.counts = [0] * len(plant.washes)
        self.marks = [0.0] * len(plant.washes)  # hours run at the last regeneration
        self.meters = [
            (i, wash.meter_m3 / plant.feed_m3_h)
            for i, wash in enumerate(plant.washes)
            if wash.meter_m3 < inf
        ]
        self.longest_soft_h = self.washed_out_h = 0.0
        self.levels: list[tuple[float, float, float]] = []


def simulate(
    plant: Plant, days: int = 365, *, trace: bool = False, until_dry: bool = False
) -> Year:
    """Run a plant from tank to tank.

    Parameters
    ----------
    plant : Plant
        The plant; tanks start full. [-]
    days : int
        Days of operation, one after the other. [d]
    trace : bool
        True to keep the levels at every event. [-]
    until_dry : bool
        True to end with the first day on which demand is not met. [-]

    Returns
    -------
    Year
        Hours, water, consumption, lowest levels and balances. [-]

    Raises
    ------
    OutOfRangeError
        If the plant makes no sense.
    """
    check_plant(plant)
    plant = replace(plant, well_m3_h=min(plant.well_m3_h, BOUNDLESS_M3_H))
    run = _Run(plant, trace=trace)
    nights, noons = calendar_of(plant.washes)
    hours = sorted({hour for hour, _ in plant.demand_m3_h} | ({NOON_H} if noons else set()))
    demand = dict(plant.demand_m3_h)
    for day in range(days):
        midnight = day * HOURS_PER_DAY
        for hour in hours:
            _until(run, midnight + hour)
            run.demand = demand.get(hour, run.demand)
            due = nights[day % CYCLE_DAYS] if hour == 0 else noons if hour == NOON_H else ()
            if due:
                _wash(run, due)
        if until_dry and run.unmet > TINY:
            days = day
            break
    else:
        _until(run, days * HOURS_PER_DAY)
    return _year(run, days)


def _until(run: _Run, end: float) -> None:
    """Run to a time, from switch to switch."""
    while run.now < end - TINY:
        _switch(run)
        limit = min(end, run.locked_until) if run.locked_until > run.now + TINY else end
        if not run.running and run.ready_at == run.now + RESTART_H:
            _pass_cycles(run, limit)
        _move(run, min(limit - run.now, _time_to_switch(run)))
        if run.meters and run.running:
            _check_meters(run)


def _switch(run: _Run) -> None:
    """Start or stop the machine where a level asks for it."""
    if run.running:
        if run.p >= run.stop_m3 - TINY:
            _stop(run)
        elif run.plant.raw_tank_m3 and run.r <= run.raw_lowest_m3 + TINY:
            run.raw_short = True
            _stop(run)
        return
    if run.raw_short and run.r >= run.raw_again_m3 - TINY:
        run.raw_short = False
    if run.p <= run.start_m3 + TINY and not run.raw_short and _may_start_at(run) <= run.now + TINY:
        run.running = True
        run.starts += 1


def _pass_cycles(run: _Run, end: float) -> None:
    """Pass at once many cycles from full to full that are all alike, where nothing else happens.

    Few, and what is short of a whole one, are left to the switches.
    """
    plant, full = run.plant, run.stop_m3 - run.plant.flush_m3
    gain = plant.product_m3_h - run.demand
    raw_waits = plant.raw_tank_m3 and (
        run.r < plant.raw_tank_m3 or plant.well_m3_h < plant.feed_m3_h
    )
    locked = run.locked_until > run.now + TINY
    if run.trace or raw_waits or locked or run.p != full or run.demand <= 0 or gain <= 0:
        return
    falls = max((full - run.start_m3) / run.demand, RESTART_H)
    if end - run.now < MANY_CYCLES * falls:
        return
    lowest = full - run.demand * falls
    runs = (run.stop_m3 - lowest) / gain
    if lowest < TINY or runs < TINY:
        return
    left = [(hours - (run.hours - run.marks[i])) / runs - 1.0 for i, hours in run.meters]
    cycles = int(max(min([(end - run.now) / (falls + runs), *left]), 0.0))
    if cycles < MANY_CYCLES:
        return
    run.low_p = min(run.low_p, lowest)
    run.starts += cycles
    run.hours += cycles * runs
    run.raw += cycles * runs * plant.feed_m3_h
    run.flushed += cycles * plant.flush_m3
    run.served += cycles * (falls + runs) * run.demand
    run.now += cycles * (falls + runs)
    run.ready_at = run.now + RESTART_H


def _may_start_at(run: _Run) -> float:
    return max(run.locked_until, run.ready_at)


def _stop(run: _Run) -> None:
    run.running = False
    run.ready_at = run.now + RESTART_H
    flush = min(run.plant.flush_m3, run.p)
    run.p -= flush
    run.flushed += flush
    run.low_p = min(run.low_p, run.p)


def _time_to_switch(run: _Run) -> float:
    """Return the hours to the next switch of the state the plant is in."""
    if run.running:
        return _time_while_running(run)
    falling = run.demand
    time = run.ready_at - run.now if run.ready_at > run.now + TINY else inf
    if falling > 0:
        target = run.start_m3 if run.p > run.start_m3 + TINY else 0.0
        if run.p > TINY:
            time = min(time, (run.p - target) / falling)
    if run.raw_short and run.locked_until <= run.now + TINY:
        time = min(time, max(run.raw_again_m3 - run.r, TINY) / run.plant.well_m3_h)
    return time


def _time_while_running(run: _Run) -> float:
    plant = run.plant
    gain = plant.product_m3_h - run.demand
    time = inf
    if gain > 0:
        time = (run.stop_m3 - run.p) / gain
    elif gain < 0 and run.p > TINY:
        time = run.p / -gain
    loss = plant.feed_m3_h - plant.well_m3_h
    if plant.raw_tank_m3 and loss > 0:
        time = min(time, max(run.r - run.raw_lowest_m3, TINY) / loss)
    for i, hours in run.meters:
        time = min(time, max(hours - (run.hours - run.marks[i]), TINY))
    return time


def _move(run: _Run, dt: float) -> None:
    """Let a time pass with every flow constant."""
    plant = run.plant
    made, draw = (plant.product_m3_h, plant.feed_m3_h) if run.running else (0.0, 0.0)
    change = (made - run.demand) * dt
    if run.p + change < -TINY:  # the tank is empty and stays so
        run.unmet -= run.p + change
        run.dry_h += dt
        change = -run.p
    run.served += made * dt - change
    run.p += change
    run.low_p = min(run.low_p, run.p)
    if run.running:
        run.hours += dt
    if run.locked_until <= run.now + TINY:
        _move_raw(run, draw, dt)
    run.now += dt
    if run.trace:
        run.levels.append((run.now, run.p, run.r))


def _move_raw(run: _Run, draw: float, dt: float) -> None:
    plant = run.plant
    if not plant.raw_tank_m3:
        run.raw += draw * dt
        return
    level = min(run.r + (plant.well_m3_h - draw) * dt, plant.raw_tank_m3)
    run.raw += level - run.r + draw * dt
    run.r = level
    run.low_r = min(run.low_r, level)


def _check_meters(run: _Run) -> None:
    due = tuple(i for i, hours in run.meters if run.hours - run.marks[i] >= hours - TINY)
    if due:
        _wash(run, due)


def _wash(run: _Run, due: tuple[int, ...]) -> None:
    """Regenerate stages one after the other; the raw tank falls by what the well cannot give."""
    plant = run.plant
    clock = max(run.now, run.locked_until)
    for i in due:
        wash = plant.washes[i]
        hours = wash.minutes / 60.0
        if wash.stops:
            if run.running:
                _stop(run)
            clock += _take(run, wash.water_m3, hours)
            run.locked_until = clock
        else:
            _take(run, wash.water_m3, 0.0)
        run.counts[i] += 1
        run.washed += wash.water_m3
        since = run.hours - run.marks[i]
        run.marks[i] = run.hours
        if wash.softens:
            run.longest_soft_h = max(run.longest_soft_h, since)
            run.washed_out_h += since


def _take(run: _Run, water_m3: float, hours: float) -> float:
    """Take water for a regeneration; return its time, longer where the well must catch up."""
    plant = run.plant
    if not plant.raw_tank_m3:
        run.raw += water_m3
        return hours
    hours = max(hours, (water_m3 - run.r) / plant.well_m3_h)
    level = min(run.r + plant.well_m3_h * hours, plant.raw_tank_m3 + water_m3) - water_m3
    run.raw += level - run.r + water_m3
    run.r = level
    run.low_r = min(run.low_r, level)
    return hours


def _year(run: _Run, days: int) -> Year:
    plant = run.plant
    feed, made = run.hours * plant.feed_m3_h, run.hours * plant.product_m3_h
    soft = [i for i, wash in enumerate(plant.washes) if wash.softens]
    since = max((run.hours - run.marks[i] for i in soft), default=0.0)
    taken = (plant.hardness_mg_l_caco3 - plant.leakage_mg_l_caco3) / 1000.0 * plant.feed_m3_h
    washed_out, held = run.washed_out_h * taken, since * taken if soft else 0.0
    leaked = feed * (plant.leakage_mg_l_caco3 if soft else plant.hardness_mg_l_caco3) / 1000.0
    return Year(
        days=float(days),
        hours_run=run.hours,
        starts=run.starts,
        regenerations={w.name: n for w, n in zip(plant.washes, run.counts, strict=True)},
        salt_kg=sum(w.salt_kg * n for w, n in zip(plant.washes, run.counts, strict=True)),
        permanganate_kg=sum(
            w.permanganate_g * n for w, n in zip(plant.washes, run.counts, strict=True)
        )
        / 1000.0,
        raw_m3=run.raw,
        feed_m3=feed,
        product_m3=made,
        concentrate_m3=feed - made,
        wash_m3=run.washed,
        flush_m3=run.flushed,
        served_m3=run.served,
        unmet_m3=run.unmet,
        hours_without_water=run.dry_h,
        lowest_product_m3=max(run.low_p, 0.0),  # below by rounding only
        lowest_raw_m3=max(run.low_r, 0.0),
        most_softened_m3=max(run.longest_soft_h, since) * plant.feed_m3_h if soft else 0.0,
        hardness_leaked_kg=leaked,
        hardness_washed_out_kg=washed_out,
        hardness_held_kg=held,
        raw_balance_m3=run.raw - feed - run.washed - (run.r - plant.raw_tank_m3),
        product_balance_m3=made - run.served - run.flushed - (run.p - run.stop_m3),
        hardness_balance_kg=feed * plant.hardness_mg_l_caco3 / 1000.0 - leaked - washed_out - held,
        levels=tuple(run.levels),
    )
