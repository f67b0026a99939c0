"""Recovery, concentration and saturation of the membranes."""

from collections.abc import Sequence

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, least, valid


@law
@valid(recovery="[0, 1)")
def system_recovery(recovery: Number) -> Number:
    """System recovery = recovery of the machine, product over fresh feed.

    Worked by hand: it is the same number.

    >>> system_recovery(0.65)
    0.65
    """
    return recovery


@law
@valid(recovery="[0, 1)", recycled_share="[0, 1)")
def array_recovery(recovery: Number, recycled_share: Number) -> Number:
    """Recovery of the array = product / (fresh feed + recycle) = recovery x (1 - share recycled).

    Worked by hand: 1.2 m3/h of 2 m3/h, with 1 m3/h recycled beside them: a third of 3 m3/h.

    >>> round(array_recovery(0.6, 1.0 / 3.0), 12)
    0.4
    """
    return recovery * (1.0 - recycled_share)


@law
@cites("D4582", "concentration factor of an ion that does not pass")
@valid(recovery="[0, 1)")
def concentration_factor_without_passage(recovery: Number) -> Number:
    """Concentration factor = 1 / (1 - recovery), for an ion that does not pass.

    Worked by hand: at 75 % a quarter of the water holds all the salt.

    >>> concentration_factor_without_passage(0.75)
    4.0
    """
    return 1.0 / (1.0 - recovery)


@law
def percent_of_saturation(saturation_index: Number) -> Number:
    """Percent of saturation = 100 x 10^SI.

    From the definition of the index: an SI of 0 is saturated, 1 is ten times.

    >>> percent_of_saturation(1.0)
    1000.0
    """
    return 100.0 * 10.0**saturation_index


@law
def highest_recovery(allowed: Sequence[Number]) -> Number:
    """Highest recovery that all allow: the lowest of what water and valves allow.

    Worked by hand: the water allows 74 %, the valves 80 %.

    >>> highest_recovery([0.74, 0.80])
    0.74
    """
    return least(allowed)
