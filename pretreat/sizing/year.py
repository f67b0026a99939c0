"""A year from tank to tank: well, raw tank, train, machine, product tank, demand.

Event by event: between two events every flow is constant, so levels are straight lines and
nothing is lost to a time step. Events are the level switches, the nights on which stages are
due, metered volumes used up, and changes of demand. The well fills the raw tank through a
float valve whenever there is room; the machine follows the switches of the product tank.
"""

from dataclasses import dataclass
from math import inf

from pretreat.errors import OutOfRangeError

HOURS_PER_DAY = 24.0
NOON_H = 12.0
CYCLE_DAYS = 42  # after which nights of every second, third and seventh day fall alike
TINY = 1e-9  # m3 and h; a switch that is this near has been reached


@dataclass(frozen=True, slots=True)
class Wash:
    """A stage that regenerates: every ``gap_d`` from midnight, or after ``meter_m3`` of feed.

    ``gap_d`` is a setting of a timer (0.5, 1, 2, 3, 4, 7), or infinite for a meter; ``stops``
    says whether the machine waits; ``first_night`` shifts the nights.
    """

    name: str
    minutes: float
    water_m3: float
    gap_d: float = inf
    meter_m3: float = inf
    stops: bool = True
    salt_kg: float = 0.0
    permanganate_g: float = 0.0
    softens: bool = False
    first_night: int = 0


@dataclass(frozen=True, slots=True)
class Plant:
    """A plant as the year sees it: flows [m³/h], tanks [m³], switches as shares of the tanks.

    ``raw_tank_m3`` of 0 means that the well feeds the train without a tank.
    ``demand_m3_h`` holds the demand from an hour of the day on, the first hour 0.
    ``hardness_mg_l_caco3`` and ``leakage_mg_l_caco3`` stand ahead of and behind the softener.
    """

    product_m3_h: float
    feed_m3_h: float
    product_tank_m3: float
    demand_m3_h: tuple[tuple[float, float], ...]
    washes: tuple[Wash, ...] = ()
    raw_tank_m3: float = 0.0
    well_m3_h: float = inf
    start_share: float = 0.6
    stop_share: float = 0.95
    raw_lowest_share: float = 0.1
    raw_again_share: float = 0.3
    flush_m3: float = 0.0
    hardness_mg_l_caco3: float = 0.0
    leakage_mg_l_caco3: float = 0.0


@dataclass(frozen=True, slots=True)
class Year:
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


def check_plant(plant: Plant) -> None:
    """Refuse a plant that cannot be simulated.

    Parameters
    ----------
    plant : Plant
        The plant. [-]

    Raises
    ------
    OutOfRangeError
        If a flow, a tank, a switch, a setting or the demand profile makes no sense.
    """
    if not 0 < plant.product_m3_h < plant.feed_m3_h:
        raise OutOfRangeError(
            f"a year with {plant.product_m3_h:g} m3/h of product from {plant.feed_m3_h:g} m3/h of "
            "feed: both must be above 0, the feed larger"
        )
    if not (plant.product_tank_m3 > 0 and plant.raw_tank_m3 >= 0 and plant.well_m3_h > 0):
        raise OutOfRangeError("a year needs a product tank and a well that gives water")
    if plant.raw_tank_m3 == 0 and plant.well_m3_h < plant.feed_m3_h:
        raise OutOfRangeError(
            f"the well gives {plant.well_m3_h:g} m3/h, the machine takes {plant.feed_m3_h:g} m3/h: "
            "without a raw tank it cannot run"
        )
    if not 0 <= plant.start_share < plant.stop_share <= 1:
        raise OutOfRangeError(
            f"product tank switches at {plant.start_share:g} and {plant.stop_share:g} of the tank: "
            "the machine must start below the level at which it stops"
        )
    hours = [hour for hour, _ in plant.demand_m3_h]
    if not hours or hours[0] != 0 or hours != sorted(set(hours)) or hours[-1] >= HOURS_PER_DAY:
        raise OutOfRangeError("the demand profile must start at hour 0 and rise to below 24")
    if any(demand < 0 for _, demand in plant.demand_m3_h):
        raise OutOfRangeError("the demand profile has a negative demand")


def night_is_due(gap_d: float, day: int) -> bool:
    """Tell whether a setting falls on the midnight of a day, counted from the first at 0.

    Parameters
    ----------
    gap_d : float
        A setting of a timer, or infinite for a meter. [d]
    day : int
        Day, from 0. [-]

    Returns
    -------
    bool
        True where the stage regenerates. [-]

    Raises
    ------
    OutOfRangeError
        If no timer has the setting.
    """
    if gap_d == inf:
        return False
    if gap_d not in {0.5, 1.0, 2.0, 3.0, 4.0, 7.0}:
        raise OutOfRangeError(f"a timer set to {gap_d:g} d: must be 0.5, 1, 2, 3, 4 or 7 d")
    if gap_d == 4.0:  # twice a week: gaps of three and four days
        return day % 7 in {0, 3}
    return day % max(int(gap_d), 1) == 0


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
        self.now = self.locked_until = 0.0
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


def simulate(plant: Plant, days: int = 365, *, trace: bool = False) -> Year:
    """Run a plant from tank to tank.

    Parameters
    ----------
    plant : Plant
        The plant; tanks start full. [-]
    days : int
        Days of operation, one after the other. [d]
    trace : bool
        True to keep the levels at every event. [-]

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
    run = _Run(plant, trace=trace)
    nights, noons = _calendar(plant)
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
    _until(run, days * HOURS_PER_DAY)
    return _year(run, days)


def _calendar(plant: Plant) -> tuple[list[tuple[int, ...]], tuple[int, ...]]:
    """Return the stages due on each midnight of the cycle, and those due again at noon."""
    washes = plant.washes
    nights = [
        tuple(
            i
            for i, w in enumerate(washes)
            if night_is_due(w.gap_d, (day - w.first_night) % CYCLE_DAYS)
        )
        for day in range(CYCLE_DAYS)
    ]
    return nights, tuple(i for i, w in enumerate(washes) if w.gap_d < 1.0)


def _until(run: _Run, end: float) -> None:
    """Run to a time, from switch to switch."""
    while run.now < end - TINY:
        _switch(run)
        limit = min(end, run.locked_until) if run.locked_until > run.now + TINY else end
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
    if run.p <= run.start_m3 + TINY and not run.raw_short and run.locked_until <= run.now + TINY:
        run.running = True
        run.starts += 1


def _stop(run: _Run) -> None:
    run.running = False
    flush = min(run.plant.flush_m3, run.p)
    run.p -= flush
    run.flushed += flush
    run.low_p = min(run.low_p, run.p)


def _time_to_switch(run: _Run) -> float:
    """Return the hours to the next switch of the state the plant is in."""
    if run.running:
        return _time_while_running(run)
    falling = run.demand
    time = inf
    if falling > 0:
        target = run.start_m3 if run.p > run.start_m3 + TINY else 0.0
        if run.p > TINY:
            time = (run.p - target) / falling
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
        lowest_product_m3=run.low_p,
        lowest_raw_m3=run.low_r,
        most_softened_m3=max(run.longest_soft_h, since) * plant.feed_m3_h if soft else 0.0,
        hardness_leaked_kg=leaked,
        hardness_washed_out_kg=washed_out,
        hardness_held_kg=held,
        raw_balance_m3=run.raw - feed - run.washed - (run.r - plant.raw_tank_m3),
        product_balance_m3=made - run.served - run.flushed - (run.p - run.stop_m3),
        hardness_balance_kg=feed * plant.hardness_mg_l_caco3 / 1000.0 - leaked - washed_out - held,
        levels=tuple(run.levels),
    )


def smallest_product_tank_m3(plant: Plant, days: int = 60, most_m3: float = 1000.0) -> float:
    """Return the smallest product tank with which no demand goes unmet, to 1 %.

    Parameters
    ----------
    plant : Plant
        The plant; its product tank is varied. [-]
    days : int
        Days simulated; the calendar repeats after 42. [d]
    most_m3 : float
        Largest tank tried. [m³]

    Returns
    -------
    float
        Product tank, all of it from empty to full. [m³]

    Raises
    ------
    OutOfRangeError
        If even the largest does not serve: the machine makes too little.
    """
    from dataclasses import replace

    def serves(tank_m3: float) -> bool:
        return simulate(replace(plant, product_tank_m3=tank_m3), days).unmet_m3 <= TINY

    if not serves(most_m3):
        raise OutOfRangeError(
            f"no product tank up to {most_m3:g} m3 serves the demand: the machine makes too little "
            "in the hours that regenerations leave; raise product flow or run longer"
        )
    low, high = 0.0, most_m3
    while high - low > 0.01 * high:
        middle = (low * high) ** 0.5 if low > 0 else high / 2.0
        low, high = (low, middle) if serves(middle) else (middle, high)
    return high
