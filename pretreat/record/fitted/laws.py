"""How far a fitted value has moved."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, valid

PERCENT = 100.0
UNITY = 1.0


@law
@valid(now=[0, None], before=(0, None))
def moved_pct(now: Number, before: Number) -> Number:
    """Movement = 100 x (now / before - 1).

    Worked by hand: from 4.0 to 3.4.

    >>> round(moved_pct(3.4, 4.0), 9)
    -15.0
    """
    return PERCENT * (now / before - UNITY)


@law
@cites("PRACTICE", "B of a class of ions keeps its ratio to B of sodium chloride")
@valid(ratio=[0, None], salt_permeability_lmh=[0, None])
def permeability_of_class_lmh(ratio: Number, salt_permeability_lmh: Number) -> Number:
    """B of a class = ratio x B of sodium chloride.

    Worked by hand: divalent cations at 0.2 of 0.3.

    >>> round(permeability_of_class_lmh(0.2, 0.3), 9)
    0.06
    """
    return ratio * salt_permeability_lmh
