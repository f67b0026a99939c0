"""Alkali feed: the dose of base for an alkalinity, and the sodium that it brings."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, valid


@law
@cites("STOICHIOMETRY", "equivalents")
@valid(dose_mg_l=[0, None], alkalinity_mg_mg=[0, None])
def alkalinity_added_mg_l_caco3(dose_mg_l: Number, alkalinity_mg_mg: Number) -> Number:
    """Alkalinity added = dose of pure base x alkalinity of a milligram.

    Worked by hand: 40 mg/L of sodium hydroxide are 1 meq/L, 50 mg/L as CaCO3.

    >>> alkalinity_added_mg_l_caco3(40.0, 1.25)
    50.0
    """
    return dose_mg_l * alkalinity_mg_mg


@law
@cites("STOICHIOMETRY", "equivalents")
@valid(dose_mg_l=[0, None], sodium_mg_mg=[0, 1])
def sodium_added_mg_l(dose_mg_l: Number, sodium_mg_mg: Number) -> Number:
    """Sodium added = dose of pure base x sodium of a milligram.

    Worked by hand: 40 mg/L of sodium hydroxide bring 23 mg/L.

    >>> sodium_added_mg_l(40.0, 0.575)
    23.0
    """
    return dose_mg_l * sodium_mg_mg
