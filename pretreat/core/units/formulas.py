"""Atomic weights, molar masses and the factors of the trade's units."""

from functools import lru_cache

from pretreat.core.errors import UnitError
from pretreat.core.text import lazy

ZERO_C_IN_K = 273.15

# IUPAC Commission on Isotopic Abundances and Atomic Weights, abridged values 2021 (from memory).
ATOMIC_WEIGHT = {
    "H": 1.008,
    "Li": 6.94,
    "B": 10.81,
    "C": 12.011,
    "N": 14.007,
    "O": 15.999,
    "F": 18.998403,
    "Na": 22.989769,
    "Mg": 24.305,
    "Al": 26.981538,
    "Si": 28.085,
    "P": 30.973762,
    "S": 32.06,
    "Cl": 35.45,
    "K": 39.0983,
    "Ca": 40.078,
    "Mn": 54.938043,
    "Fe": 55.845,
    "Ni": 58.6934,
    "Cu": 63.546,
    "Zn": 65.38,
    "As": 74.921595,
    "Se": 78.971,
    "Br": 79.904,
    "Sr": 87.62,
    "Cd": 112.414,
    "I": 126.90447,
    "Ba": 137.327,
    "Hg": 200.592,
    "Pb": 207.2,
    "U": 238.02891,
}

_ATOM = lazy(r"([A-Z][a-z]?)(\d*)")


def atoms(formula: str) -> dict[str, int]:
    """Return the number of atoms of each element in a formula without brackets.

    Parameters
    ----------
    formula : str
        For example "HCO3". [-]

    Returns
    -------
    dict of str to int
        Atoms by element. [-]

    Raises
    ------
    UnitError
        If the text is not a formula of known elements.
    """
    found: dict[str, int] = {}
    end = 0
    for match in _ATOM.finditer(formula):
        element, number = match.groups()
        if match.start() != end or element not in ATOMIC_WEIGHT:
            break
        found[element] = found.get(element, 0) + int(number or 1)
        end = match.end()
    if not found or end != len(formula):
        raise UnitError(f"'{formula}' is not a chemical formula of known elements")
    return found


@lru_cache(maxsize=256)
def molar_mass(formula: str) -> float:
    """Return the molar mass of a formula.

    Parameters
    ----------
    formula : str
        For example "CaCO3". [-]

    Returns
    -------
    float
        Molar mass. [g/mol]
    """
    return sum(ATOMIC_WEIGHT[element] * n for element, n in atoms(formula).items())


CACO3_MG_PER_MEQ = molar_mass("CaCO3") / 2
HCO3_PER_CACO3 = molar_mass("HCO3") / CACO3_MG_PER_MEQ
CO3_PER_CACO3 = molar_mass("CO3") / molar_mass("CaCO3")
# Two HCO3 lose CO2 and H2O on drying and stay as one CO3 (residue on evaporation).
HCO3_LEFT_IN_RESIDUE = molar_mass("CO3") / 2 / molar_mass("HCO3")

# Definitions: international pound and inch, US gallon of 231 cubic inches.
LITRE_PER_US_GALLON = 3.785411784
GRAM_PER_GRAIN = 0.06479891
GRAM_PER_POUND = 453.59237
METRE_PER_FOOT = 0.3048
LITRE_PER_CUBIC_FOOT = (10 * METRE_PER_FOOT) ** 3
KPA_PER_PSI = 6.894757293168
MG_L_CACO3_PER_GPG = 1000 * GRAM_PER_GRAIN / LITRE_PER_US_GALLON
MG_L_CACO3_PER_CLARK_DEGREE = 1000 * GRAM_PER_GRAIN / 4.54609
MG_L_CACO3_PER_GERMAN_DEGREE = 10 * molar_mass("CaCO3") / molar_mass("CaO")
MG_L_CACO3_PER_FRENCH_DEGREE = 10.0
G_L_PER_KGR_FT3 = 1000 * GRAM_PER_GRAIN / LITRE_PER_CUBIC_FOOT
G_L_PER_LB_FT3 = GRAM_PER_POUND / LITRE_PER_CUBIC_FOOT
M_H_PER_GPM_FT2 = 60 * LITRE_PER_US_GALLON / 1000 / METRE_PER_FOOT**2
