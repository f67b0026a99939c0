"""The product tank that serves a demand through the regenerations."""

from math import inf

from msgspec.structs import replace

from pretreat.core.errors import OutOfRangeError
from pretreat.plant.calendar.simulated import CYCLE_DAYS, HOURS_PER_DAY, Plant, calendar_of
from pretreat.plant.calendar.year import TINY, simulate

LARGEST_TANK_DAYS = 4.0  # days of demand, and beside them ...
LARGEST_TANK_H = 4.0  # ... hours of product, where the search for a tank begins
MOST_GROWTHS = 12
GROWTH = 1.05
_HELD_BACK = (
    "even a product tank of {tank:.3g} m3 does not serve {demand:.3g} m3/d: well or raw tank hold "
    "the machine back"
)
SEARCH_WIDTH = 0.01  # part of the tank to which the search narrows
NO_TANK_M3 = 1e-6  # a tank below it is none


def most_product_m3_d(plant: Plant) -> float:
    """Return the product a day can give beside the regenerations that stop the machine.

    Parameters
    ----------
    plant : Plant
        The plant. [-]

    Returns
    -------
    float
        Product, mean over the cycle of the nights. [m³/d]
    """
    nights, noons = calendar_of(plant.washes)
    timed = [i for night in nights for i in night] + list(noons) * CYCLE_DAYS
    stopped = sum(plant.washes[i].minutes for i in timed if plant.washes[i].stops)
    hours = HOURS_PER_DAY - stopped / 60.0 / CYCLE_DAYS
    for wash in plant.washes:
        if wash.stops and wash.meter_m3 < inf:
            run = wash.meter_m3 / plant.feed_m3_h
            hours *= run / (run + wash.minutes / 60.0)
    return plant.product_m3_h * max(hours, 0.0)


def smallest_product_tank_m3(plant: Plant, days: int = 365) -> float:
    """Return a product tank with which no demand goes unmet, near the smallest.

    A short simulation finds it to 1 %; the whole time proves it, and it grows where the
    regenerations then meet a lower level.

    Parameters
    ----------
    plant : Plant
        The plant; its product tank is varied. [-]
    days : int
        Days of operation. [d]

    Returns
    -------
    float
        Product tank, all of it from empty to full. [m³]

    Raises
    ------
    OutOfRangeError
        If no tank serves: the machine makes too little.
    """
    demand, most = _day_of_demand_m3(plant), most_product_m3_d(plant)
    if demand > most:
        raise OutOfRangeError(
            f"the demand is {demand:.3g} m3/d, the machine makes at most {most:.3g} m3/d in the "
            f"hours that regenerations leave: raise the product flow{_duplex(plant)}"
        )

    def serves(tank_m3: float, time_d: int) -> bool:
        tried = replace(plant, product_tank_m3=tank_m3)
        return simulate(tried, time_d, until_dry=True).unmet_m3 <= TINY

    low, high = 0.0, LARGEST_TANK_DAYS * demand + LARGEST_TANK_H * plant.product_m3_h
    if not serves(high, min(days, CYCLE_DAYS)):
        raise OutOfRangeError(_HELD_BACK.format(tank=high, demand=demand))
    while high - low > max(SEARCH_WIDTH * high, NO_TANK_M3):
        middle = (low + high) / 2.0
        low, high = (low, middle) if serves(middle, min(days, CYCLE_DAYS)) else (middle, high)
    for _ in range(MOST_GROWTHS):
        if serves(high, days):
            return high
        high *= GROWTH
    raise OutOfRangeError(_HELD_BACK.format(tank=high, demand=demand))


def _duplex(plant: Plant) -> str:
    return ", or a duplex softener" if any(w.softens and w.stops for w in plant.washes) else ""


def _day_of_demand_m3(plant: Plant) -> float:
    hours = [hour for hour, _ in plant.demand_m3_h[1:]] + [HOURS_PER_DAY]
    return sum(
        rate * (end - start) for (start, rate), end in zip(plant.demand_m3_h, hours, strict=True)
    )
