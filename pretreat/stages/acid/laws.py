"""Acid feed: the alkalinity that it takes, the anion that it brings, the gas that it frees."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, valid

CO2_PER_CACO3 = 2.0 * 44.009 / 100.086  # STOICHIOMETRY: one CO2 for each equivalent


@law
@cites("STOICHIOMETRY", "equivalents")
@valid(dose_mg_l=[0, None], alkalinity_mg_mg=[0, None])
def alkalinity_taken_mg_l_caco3(dose_mg_l: Number, alkalinity_mg_mg: Number) -> Number:
    """Alkalinity taken = dose of 100 % acid x alkalinity of a milligram.

    Worked by hand: sulfuric acid has 98.08 g in two equivalents, calcium carbonate 100.09 g, so
    49 mg/L take 50 mg/L as CaCO3.

    >>> round(alkalinity_taken_mg_l_caco3(49.0, 100.09 / 98.08), 1)
    50.0
    """
    return dose_mg_l * alkalinity_mg_mg


@law
@cites("STOICHIOMETRY", "equivalents")
@valid(dose_mg_l=[0, None], anion_mg_mg=[0, 1])
def anion_added_mg_l(dose_mg_l: Number, anion_mg_mg: Number) -> Number:
    """Sulfate or chloride added = dose of 100 % acid x anion of a milligram.

    Worked by hand: 98 mg/L of sulfuric acid bring 96 mg/L of sulfate.

    >>> round(anion_added_mg_l(98.0, 96.06 / 98.08), 1)
    96.0
    """
    return dose_mg_l * anion_mg_mg


@law
@cites("STOICHIOMETRY", "one CO2 for each bicarbonate")
@valid(alkalinity_mg_l_caco3=[0, None])
def co2_freed_mg_l(alkalinity_mg_l_caco3: Number) -> Number:
    """Carbon dioxide freed, at most = alkalinity taken x 2 x 44.009 / 100.086.

    At most, for where carbonate is left less comes free. Worked by hand: 50 mg/L as CaCO3 is
    1 meq/L, which frees 44 mg/L.

    >>> round(co2_freed_mg_l(50.0), 1)
    44.0
    """
    return alkalinity_mg_l_caco3 * CO2_PER_CACO3
