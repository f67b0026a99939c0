"""The feed of bisulfite: what chlorine takes, and what it brings."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, valid

NAHSO3_PER_CL2 = 104.06 / 70.906  # STOICHIOMETRY: one to one
NA_PER_NAHSO3 = 22.990 / 104.06
SO4_PER_NAHSO3 = 96.06 / 104.06
CACO3_PER_NAHSO3 = 100.086 / 104.06  # two acid equivalents for each sulfite oxidised by HOCl


@law
@cites("STOICHIOMETRY", "one sulfite for each chlorine")
@valid(chlorine_mg_l=[0, None], excess=[1, 10])
def bisulfite_dose_mg_l(chlorine_mg_l: Number, excess: Number) -> Number:
    """Dose as NaHSO3 = free chlorine x 1.468 x excess.

    A field guide on dechlorination prints 1.61 mg/mg, an excess of 1.10.

    >>> round(bisulfite_dose_mg_l(1.0, 1.1), 2)
    1.61
    """
    return chlorine_mg_l * NAHSO3_PER_CL2 * excess


@law
@cites("STOICHIOMETRY", "sulfite ends as sulfate")
@valid(dose_mg_l=[0, None])
def sulfate_added_mg_l(dose_mg_l: Number) -> Number:
    """Sulfate added = dose x 96.06 / 104.06, once all of it is oxidised.

    Worked by hand: 104 mg/L end as 96 mg/L.

    >>> round(sulfate_added_mg_l(104.0), 0)
    96.0
    """
    return dose_mg_l * SO4_PER_NAHSO3


@law
@cites("STOICHIOMETRY", "atomic weights")
@valid(dose_mg_l=[0, None])
def sodium_added_mg_l(dose_mg_l: Number) -> Number:
    """Sodium added = dose x 22.990 / 104.06.

    Worked by hand: 104 mg/L bring 23 mg/L.

    >>> round(sodium_added_mg_l(104.0), 0)
    23.0
    """
    return dose_mg_l * NA_PER_NAHSO3


@law
@cites("STOICHIOMETRY", "acid released")
@valid(dose_mg_l=[0, None])
def alkalinity_used_mg_l_caco3(dose_mg_l: Number) -> Number:
    """Alkalinity used, at most = dose x 100.086 / 104.06: two equivalents for each mole.

    HSO3- + HOCl = SO4(2-) + Cl- + 2 H+. Worked by hand: 104 mg/L take 100 mg/L as CaCO3.

    >>> round(alkalinity_used_mg_l_caco3(104.0), 0)
    100.0
    """
    return dose_mg_l * CACO3_PER_NAHSO3
