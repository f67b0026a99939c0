"""Concentrations as equivalents: what a milligram of an ion stands for as calcium carbonate."""

from collections.abc import Mapping

from pretreat.core.basis import cites
from pretreat.core.tables import analytes
from pretreat.core.units import CACO3_MG_PER_MEQ, molar_mass

HARDNESS_IONS = ("ca", "mg", "sr", "ba")
METALS = ("fe", "mn")


def caco3_per_mg(key: str) -> float:
    """Return the hardness that a milligram of an ion stands for.

    Parameters
    ----------
    key : str
        Key of data/analytes.csv. [-]

    Returns
    -------
    float
        Equivalents, as CaCO3. [mg/mg]
    """
    ion = analytes()[key]
    return CACO3_MG_PER_MEQ * abs(ion.charge) / molar_mass(ion.formula)


@cites("STOICHIOMETRY", "equivalents")
def equivalent_hardness_mg_l_caco3(
    mg_l: Mapping[str, float], keys: tuple[str, ...] = (*HARDNESS_IONS, *METALS)
) -> float:
    """Return what a resin takes up: hardness in equivalents.

    Parameters
    ----------
    mg_l : mapping of str to float
        Concentrations. [mg/L as the ion]
    keys : tuple of str
        Ions counted. [-]

    Returns
    -------
    float
        Hardness. [mg/L as CaCO3]
    """
    return sum(mg_l.get(key, 0.0) * caco3_per_mg(key) for key in keys)
