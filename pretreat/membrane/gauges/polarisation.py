"""Concentration polarisation: how much more concentrated the wall is than the bulk."""

from math import exp

from pretreat.core.basis import cites
from pretreat.core.errors import check_range

ELEMENT_RECOVERY_RANGE = (0.0, 0.3)  # beyond it no element of the usual kind is run
USUAL_ELEMENT_RECOVERY = 0.15  # common practice, no source


@cites("PRACTICE", "exp(0.7 r), one element geometry; no standard found")
def wall_factor(element_recovery: float) -> float:
    """Return concentration at the membrane wall over concentration in bulk.

    Parameters
    ----------
    element_recovery : float
        Recovery of one element, 0 to 0.3. [-]

    Returns
    -------
    float
        Factor. [-]

    Raises
    ------
    OutOfRangeError
        If the element recovery is outside the range.
    """
    check_range("element recovery", element_recovery, ELEMENT_RECOVERY_RANGE, "-", "PRACTICE")
    return exp(0.7 * element_recovery)
