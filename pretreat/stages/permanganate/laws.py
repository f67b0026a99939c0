"""The continuous feed of permanganate: the potassium that it brings."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, valid

K_PER_KMNO4 = 39.098 / 158.03  # STOICHIOMETRY: atomic weights


@law
@cites("STOICHIOMETRY", "atomic weights")
@valid(dose_mg_l=[0, None])
def potassium_added_mg_l(dose_mg_l: Number) -> Number:
    """Potassium added = dose of KMnO4 x 39.098 / 158.03.

    Worked by hand: 158 mg/L bring 39 mg/L.

    >>> round(potassium_added_mg_l(158.0), 0)
    39.0
    """
    return dose_mg_l * K_PER_KMNO4
