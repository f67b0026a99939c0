"""Noise and level of a gauge over time, by statistics that a wild reading does not move."""

from collections.abc import Mapping, Sequence
from itertools import islice, pairwise
from math import ceil, isfinite, nan, sqrt
from statistics import median

from msgspec import Struct

from pretreat.core.basis import cites

# RECORD_STATISTICS: the first readings that give the level when new: so many, or as many as were
# taken in so many days, but not fewer than four.
BASELINE_READINGS, BASELINE_DAYS, BASELINE_FEWEST = 8, 60.0, 4
WINDOW_DAYS = 22.0  # RECORD_STATISTICS: readings of so many days make the level of today
FEWEST, MOST = 3, 21  # RECORD_STATISTICS: readings in that window
HEAD, TAIL = 16, 60  # RECORD_STATISTICS: readings looked at, the first and the last
LONE_ERRORS = 4.0  # RECORD_STATISTICS: a reading so far off stands only if the next one agrees
STEEP_ERRORS, STEEP_FEWEST = 6.0, 3  # RECORD_STATISTICS: two such readings need no third
AGREEING = 2
NEIGHBOURS = 3  # RECORD_STATISTICS: readings on each side that a reading is compared with
# Normal distribution: mean size of the smaller four fifths of all deviations, over sigma.
KEPT_SHARE, KEPT_MEAN = 0.8, 0.5586


class Level(Struct, frozen=True):
    """Where a value stands today against when new, and how sure that is.

    ``change`` in the unit of the value (a logarithm where it is a ratio); ``error`` is one
    standard deviation of it; ``warmer_c`` is how much warmer the water was; ``aged`` is
    what sound membranes of that age change by. ``steep`` tells that the last two readings agree
    on a change far beyond noise.
    """

    change: float
    error: float
    readings: int
    warmer_c: float = 0.0
    aged: float = 0.0
    steep: bool = False

    @property
    def beyond(self) -> float:
        """Change beyond what age explains. [unit of the value]."""
        return self.change - self.aged

    @property
    def signs(self) -> float:
        """Change beyond age over its error. [-]."""
        return self.beyond / self.error


def hodges_lehmann(values: Sequence[float]) -> float:
    """Return the median of all means of two, which a quarter of wild values does not move.

    Parameters
    ----------
    values : sequence of float
        Values. [any unit]

    Returns
    -------
    float
        Their level. [unit of the values]
    """
    return median((a + b) / 2.0 for i, a in enumerate(values) for b in values[i:])


@cites("RECORD_STATISTICS", "successive differences, the larger fifth left out, normal noise")
def noise(values: Sequence[float], least: float) -> float:
    """Return the noise of single readings from their successive differences.

    Parameters
    ----------
    values : sequence of float
        Values in order of time. [any unit]
    least : float
        Noise never taken smaller than this. [same unit]

    Returns
    -------
    float
        Standard deviation. [unit of the values]
    """
    steps = sorted(abs(b - a) for a, b in pairwise(values))
    if not steps:
        return least
    few = 1.0 + 2.0 / len(steps)  # a noise known from few readings may be larger
    kept = steps[: ceil(KEPT_SHARE * len(steps))]
    return max(least, few * sum(kept) / len(kept) / KEPT_MEAN / sqrt(2.0))


def off_alone(values: Mapping[int, float], place: int, limit: float) -> bool:
    """Tell whether a reading is off and neither the one before nor the one after agrees.

    Parameters
    ----------
    values : mapping of int to float
        Values by place in order of time, of the reading and those near it. [any unit]
    place : int
        Place of the reading. [-]
    limit : float
        How far from the median of its neighbours is off. [same unit]

    Returns
    -------
    bool
        True for a reading that stands alone. [-]
    """
    order = sorted(values)
    read = [values[i] for i in order]
    here = order.index(place)
    if abs(_off(read, here)) <= limit:
        return False
    beside = [_off(read, i) for i in (here - 1, here + 1) if 0 <= i < len(read)]
    return not _agrees(beside, _off(read, here), limit)


def _off(values: Sequence[float], place: int) -> float:
    """Return how far a value stands from the median of its neighbours."""
    near = [
        *values[max(0, place - NEIGHBOURS) : place],
        *values[place + 1 : place + 1 + NEIGHBOURS],
    ]
    return values[place] - median(near) if near else 0.0


def _agrees(beside: Sequence[float], off: float, limit: float) -> bool:
    """Tell whether the value before or after is off to the same side."""
    return any(abs(other) > limit / 2.0 and other * off > 0.0 for other in beside)


def agreed(values: Sequence[float], least_noise: float) -> tuple[bool, ...]:
    """Tell which readings stand: a wild one counts only if the one before or after agrees.

    Parameters
    ----------
    values : sequence of float
        Values in order of time. [any unit]
    least_noise : float
        Noise of single readings is not taken smaller than this. [same unit]

    Returns
    -------
    tuple of bool
        False for a reading that is off alone. [-]
    """
    limit = LONE_ERRORS * noise(values, least_noise)
    if not values or max(values) - min(values) <= limit:
        return (True,) * len(values)
    return tuple(_stands(values, i, limit) for i in range(len(values)))


def _stands(values: Sequence[float], place: int, limit: float) -> bool:
    near = values[max(0, place - NEIGHBOURS) : place + 1 + NEIGHBOURS]
    if max(near) - min(near) <= limit:  # the usual case, without a median
        return True
    off = _off(values, place)
    beside = [_off(values, i) for i in (place - 1, place + 1) if 0 <= i < len(values)]
    return abs(off) <= limit or _agrees(beside, off, limit)


def _baseline(days: Sequence[float]) -> int:
    """Return how many of the first readings give the level when new."""
    soon = sum(day - days[0] <= BASELINE_DAYS for day in days)
    return min(BASELINE_READINGS, max(soon, BASELINE_FEWEST))


def new_level(days: Sequence[float], values: Sequence[float], least_noise: float) -> float:
    """Return the level of the first readings.

    Parameters
    ----------
    days : sequence of float
        Times in order. [d]
    values : sequence of float
        Values; those that are not numbers are left out. [any unit]
    least_noise : float
        Noise of single readings is not taken smaller than this. [same unit]

    Returns
    -------
    float
        Level, NaN where nothing was read. [unit of the values]
    """
    kept = _kept(days, values, least_noise)
    if not kept:
        return nan
    return hodges_lehmann([v for _, v in kept[: _baseline([d for d, _ in kept])]])


def ends(values: Sequence[float], tail: int = TAIL) -> tuple[int, ...]:
    """Return the places of the first and the last values read.

    What lies between says nothing of new or of today, and a long record stays quick.

    Parameters
    ----------
    values : sequence of float
        Values in order of time; those that are not numbers are left out. [any unit]
    tail : int
        How many of the last. [-]

    Returns
    -------
    tuple of int
        Places in order of time. [-]
    """
    first = list(islice((i for i, v in enumerate(values) if isfinite(v)), HEAD))
    behind = first[-1] if first else len(values)
    back = range(len(values) - 1, behind, -1)
    last = list(islice((i for i in back if isfinite(values[i])), tail))
    return (*first, *reversed(last))


def _kept(
    days: Sequence[float], values: Sequence[float], least_noise: float
) -> list[tuple[float, float]]:
    read = [(days[i], values[i]) for i in ends(values)]
    stand = agreed([v for _, v in read], least_noise)
    return [pair for pair, stands in zip(read, stand, strict=True) if stands]


@cites("RECORD_STATISTICS", "two readings that agree, far off all others")
def _steep(values: Sequence[float], least_noise: float) -> Level | None:
    """Return the level of the last two readings where both fell, or rose, far beyond noise."""
    before, last = values[:-AGREEING], values[-AGREEING:]
    if len(before) < STEEP_FEWEST:
        return None
    single = noise(before, least_noise)
    base = hodges_lehmann(before[:BASELINE_READINGS])
    near = hodges_lehmann(before[-STEEP_FEWEST:])
    off = [v - level for v in last for level in (base, near)]
    least = STEEP_ERRORS * single
    if not (min(off) > least or max(off) < -least):
        return None
    error = single * sqrt(1.0 / len(last) + 1.0 / min(len(before), BASELINE_READINGS))
    return Level(hodges_lehmann(last) - base, error, len(last), steep=True)


def needed(days: Sequence[float]) -> int:
    """Return how many complete readings are needed before a change can be told.

    Parameters
    ----------
    days : sequence of float
        Times of the readings so far, in order. [d]

    Returns
    -------
    int
        Readings that give the level when new, and those behind them. [-]
    """
    return _baseline(days) + FEWEST


@cites("RECORD_STATISTICS", "levels of the first and the last readings, and their error")
def level(days: Sequence[float], values: Sequence[float], least_noise: float) -> Level | None:
    """Return where the last readings stand against the first.

    Parameters
    ----------
    days : sequence of float
        Times in order. [d]
    values : sequence of float
        Values; those that are not numbers, and those that are off alone, are left out. [any unit]
    least_noise : float
        Noise of single readings is not taken smaller than this. [same unit]

    Returns
    -------
    Level or None
        None while there are too few readings behind the first ones. [-]
    """
    kept = _kept(days, values, least_noise)
    if not kept:
        return None
    single = noise([v for _, v in kept], least_noise)
    fall = _steep([v for _, v in kept], least_noise)
    if fall is not None:
        return fall
    first = _baseline([d for d, _ in kept])
    base, later = [v for _, v in kept[:first]], kept[first:]
    if len(later) < FEWEST:
        return None
    today = later[-1][0]
    recent = [v for d, v in later[-MOST:] if today - d <= WINDOW_DAYS]
    recent = recent if len(recent) >= FEWEST else [v for _, v in later[-FEWEST:]]
    error = single * sqrt(1.0 / len(recent) + 1.0 / len(base))
    return Level(hodges_lehmann(recent) - hodges_lehmann(base), error, len(recent))
