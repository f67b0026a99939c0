"""Alkali into the product: the dose that binds its carbon dioxide."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, most, valid


@law
@cites("STOICHIOMETRY", "CO2 to bicarbonate")
@valid(co2_mg_l=[0, None], co2_bound=[0, 1], base_mg_mg=(0, None))
def dose_for_co2_mg_l(co2_mg_l: Number, co2_bound: Number, base_mg_mg: Number) -> Number:
    """Dose of pure base = carbon dioxide x share bound x base for a milligram of it.

    Worked by hand: 44 mg/L of carbon dioxide, half of it bound, take 20 mg/L of sodium hydroxide
    (40 g for 44 g).

    >>> round(dose_for_co2_mg_l(44.0, 0.5, 40.0 / 44.0), 9)
    20.0
    """
    return co2_mg_l * co2_bound * base_mg_mg


@law
@cites("STOICHIOMETRY", "equivalents")
@valid(dose_mg_l=[0, None], sodium_mg_mg=[0, 1])
def sodium_in_product_mg_l(dose_mg_l: Number, sodium_mg_mg: Number) -> Number:
    """Sodium added to the product = dose of pure base x sodium of a milligram.

    Worked by hand: 40 mg/L of sodium hydroxide bring 23 mg/L.

    >>> sodium_in_product_mg_l(40.0, 0.575)
    23.0
    """
    return dose_mg_l * sodium_mg_mg


@law
@cites("STOICHIOMETRY", "CO2 to bicarbonate")
@valid(co2_mg_l=[0, None], dose_mg_l=[0, None], base_mg_mg=(0, None))
def co2_left_mg_l(co2_mg_l: Number, dose_mg_l: Number, base_mg_mg: Number) -> Number:
    """Carbon dioxide left = carbon dioxide - dose of pure base / base for a milligram of it.

    Worked by hand: of 44 mg/L, 20 mg/L of sodium hydroxide bind half.

    >>> round(co2_left_mg_l(44.0, 20.0, 40.0 / 44.0), 9)
    22.0
    """
    return most(co2_mg_l - dose_mg_l / base_mg_mg, 0.0)
