"""Noise and level of a gauge over time, by statistics that a wild reading does not move."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite, sqrt
from statistics import median

from pretreat.basis import cites

BASELINE_READINGS = 8  # RECORD_STATISTICS: the first readings that give the level when new
WINDOW_DAYS = 32.0  # RECORD_STATISTICS: readings of so many days make the level of today
FEWEST, MOST = 4, 21  # RECORD_STATISTICS: readings in that window
MAD_TO_SIGMA = 1.4826  # normal distribution: 1 / 0.6745


@dataclass(frozen=True, slots=True)
class Level:
    """Where a value stands today against when new, and how sure that is.

    ``change`` in the unit of the value (a logarithm where it is a ratio); ``error`` is one
    standard deviation of it; ``warmer_c`` is how much warmer the water was.
    """

    change: float
    error: float
    readings: int
    warmer_c: float = 0.0

    @property
    def signs(self) -> float:
        """Change over its error. [-]."""
        return self.change / self.error


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


@cites("RECORD_STATISTICS", "median absolute successive difference, normal noise")
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
    steps = [abs(b - a) for a, b in pairwise(values)]
    if not steps:
        return least
    few = 1.0 + 2.0 / len(steps)  # a noise known from few readings may be larger
    return max(least, few * MAD_TO_SIGMA * median(steps) / sqrt(2.0))


def level(days: Sequence[float], values: Sequence[float], least_noise: float) -> Level | None:
    """Return where the last readings stand against the first.

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
    Level or None
        None while there are too few readings behind the first ones. [-]
    """
    kept = [(d, v) for d, v in zip(days, values, strict=True) if isfinite(v)]
    base = [v for _, v in kept[:BASELINE_READINGS]]
    later = kept[BASELINE_READINGS:]
    if len(later) < FEWEST:
        return None
    today = later[-1][0]
    recent = [v for d, v in later[-MOST:] if today - d <= WINDOW_DAYS]
    recent = recent if len(recent) >= FEWEST else [v for _, v in later[-FEWEST:]]
    single = noise([v for _, v in kept], least_noise)
    error = single * sqrt(1.0 / len(recent) + 1.0 / len(base))
    return Level(hodges_lehmann(recent) - hodges_lehmann(base), error, len(recent))
