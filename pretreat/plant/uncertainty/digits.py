"""How many digits a number deserves: as many as its spread supports, and no more."""

import math

from pretreat.core.basis import cites
from pretreat.plant.uncertainty.distributions import P10_TO_P90

FINEST_RECOVERY = 0.01
PROBABILITY_STEP = 0.01
SURE = 0.99  # a model is never surer than that of a well
SNAP = 1e-9  # of a step: a value that stands on a step is not moved to the next


def u_of_percentiles(p10: float, p90: float) -> float:
    """Return the standard uncertainty that belongs to two percentiles of a normal spread.

    Parameters
    ----------
    p10, p90 : float
        Values below which 10 % and 90 % lie. [any unit]

    Returns
    -------
    float
        (p90 - p10) / 2.563. [same unit]
    """
    return abs(p90 - p10) / P10_TO_P90


@cites("JCGM100", "7.2.6: the uncertainty to at most two figures, the value to the same place")
def step_of(u: float) -> float:
    """Return the step to which a value with a standard uncertainty is printed.

    Parameters
    ----------
    u : float
        Standard uncertainty. [any unit]

    Returns
    -------
    float
        A power of ten: the place of the first figure of u, the second where the first is 1;
        0 where nothing is uncertain. [same unit]
    """
    if not u > 0.0 or not math.isfinite(u):
        return 0.0
    place = math.floor(math.log10(u) + SNAP)
    first = u / 10.0**place
    return float(10.0 ** (place - 1 if first < 2.0 else place))


def rounded_to(value: float, step: float, *, down: bool = False) -> float:
    """Return a value on a step: the nearest, or the one below.

    Parameters
    ----------
    value : float
        The value. [any unit]
    step : float
        The step; 0 leaves the value as it is. [same unit]
    down : bool
        Never above the value. [-]

    Returns
    -------
    float
        Value on the step. [same unit]
    """
    if step <= 0.0 or not math.isfinite(value):
        return value
    steps = value / step
    whole = math.floor(steps + SNAP) if down else math.floor(steps + 0.5)
    decimals = max(0, -math.floor(math.log10(step) + SNAP)) + 1
    return round(whole * step, decimals)


def supported(value: float, p10: float, p90: float) -> float:
    """Return a value with the digits that its spread supports.

    Parameters
    ----------
    value, p10, p90 : float
        The value and its percentiles. [any unit]

    Returns
    -------
    float
        Rounded value. [same unit]
    """
    return rounded_to(value, step_of(u_of_percentiles(p10, p90)))


def recovery_shown(recovery: float, p10: float | None = None, p90: float | None = None) -> float:
    """Return a recovery limit as it is printed: rounded down, never finer than 0.01.

    Parameters
    ----------
    recovery : float
        Maximum recovery. [-]
    p10, p90 : float, optional
        Its percentiles; without them the step is 0.01. [-]

    Returns
    -------
    float
        Recovery on its step, never above what was given. [-]
    """
    step = FINEST_RECOVERY
    if p10 is not None and p90 is not None:
        step = max(step, step_of(u_of_percentiles(p10, p90)))
    return rounded_to(recovery, step, down=True)


def probability_words(probability: float) -> str:
    """Return a probability as it is said: down to a whole percent, and never certain.

    Rounded up it would be said to lie further from the nine in ten of the verdict than it does.

    Parameters
    ----------
    probability : float
        Share of the draws, 0 to 1. [-]

    Returns
    -------
    str
        Such as "about 87 %", "at least 99 %" or "at most 1 %". [-]
    """
    if probability >= SURE:
        return "at least 99 %"
    if probability <= 1.0 - SURE:
        return "at most 1 %"
    return f"about {100.0 * rounded_to(probability, PROBABILITY_STEP, down=True):.0f} %"
