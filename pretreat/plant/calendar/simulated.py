"""A plant as a simulated year sees it: flows, tanks, switches, and the stages that regenerate."""

from functools import lru_cache
from math import inf

from msgspec import Struct

from pretreat.core.errors import OutOfRangeError

HOURS_PER_DAY = 24.0
CYCLE_DAYS = 42  # after which nights of every second, third and seventh day fall alike


class Wash(Struct, frozen=True):
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


class Plant(Struct, frozen=True):
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


def keeps_up(wash: Wash, feed_m3_h: float) -> bool:
    """Tell whether a stage that regenerates beside the flow is done before it is called again.

    Parameters
    ----------
    wash : Wash
        The stage. [-]
    feed_m3_h : float
        Flow through it. [m³/h]

    Returns
    -------
    bool
        True where it is, and for a stage that stops the flow. [-]
    """
    return wash.stops or wash.meter_m3 / feed_m3_h >= wash.minutes / 60.0


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
    if not all(keeps_up(wash, plant.feed_m3_h) for wash in plant.washes):
        raise OutOfRangeError(
            "a vessel is used up before the other has regenerated: larger vessels, or less flow"
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


@lru_cache(maxsize=8)
def calendar_of(washes: tuple[Wash, ...]) -> tuple[tuple[tuple[int, ...], ...], tuple[int, ...]]:
    """Return the stages due on each midnight of the cycle, and those due again at noon.

    Parameters
    ----------
    washes : tuple of Wash
        Those of a plant. [-]

    Returns
    -------
    tuple
        Places in ``washes`` by night of the cycle, and those of every noon. [-]
    """
    nights = tuple(
        tuple(
            i
            for i, w in enumerate(washes)
            if night_is_due(w.gap_d, (day - w.first_night) % CYCLE_DAYS)
        )
        for day in range(CYCLE_DAYS)
    )
    return nights, tuple(i for i, w in enumerate(washes) if w.gap_d < 1.0)
