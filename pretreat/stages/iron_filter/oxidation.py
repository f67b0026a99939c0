"""Oxidation of iron, manganese and hydrogen sulfide: demand, alkalinity used, solids formed.

Reactions per mole: 3 Fe2+ + KMnO4, 3 Mn2+ + 2 KMnO4, 2 Fe2+ + Cl2, Mn2+ + Cl2,
4 Fe2+ + O2, 2 Mn2+ + O2; hydrogen sulfide to sulfur gives two electrons, to sulfate eight.
"""

from typing import Literal

from pretreat.core.basis import cites
from pretreat.core.units import molar_mass

Oxidant = Literal["permanganate", "chlorine", "air"]
ELECTRONS = {"permanganate": 3.0, "chlorine": 2.0, "air": 4.0}
OXIDANT_FORMULA = {"permanganate": "KMnO4", "chlorine": "Cl2", "air": "O2"}
GIVEN = {"fe": ("Fe", 1.0), "mn": ("Mn", 2.0), "h2s": ("H2S", 2.0), "h2s_sulfate": ("H2S", 8.0)}
# Acid released per mole of metal, as moles of H+: the metal's hydrolysis less what the
# oxidant's own reduction takes up (4 per permanganate and per oxygen molecule).
ACID = {
    ("fe", "permanganate"): 3.0 - 4.0 / 3.0,
    ("mn", "permanganate"): 4.0 - 8.0 / 3.0,
    ("fe", "chlorine"): 3.0,
    ("mn", "chlorine"): 4.0,
    ("fe", "air"): 3.0 - 1.0,
    ("mn", "air"): 4.0 - 2.0,
}
HYDROXIDE = molar_mass("FeO3H3") / molar_mass("Fe")
DIOXIDE = molar_mass("MnO2") / molar_mass("Mn")


@cites("STOICHIOMETRY", "electron balance")
def oxidant_per_mg(reduced: str, oxidant: str) -> float:
    """Return the oxidant that a milligram needs.

    Parameters
    ----------
    reduced : str
        "fe", "mn", "h2s" (to sulfur) or "h2s_sulfate". [-]
    oxidant : str
        "permanganate", "chlorine" or "air" (as oxygen). [-]

    Returns
    -------
    float
        Oxidant. [mg/mg]
    """
    formula, given = GIVEN[reduced]
    moles = given / ELECTRONS[oxidant]
    return moles * molar_mass(OXIDANT_FORMULA[oxidant]) / molar_mass(formula)


@cites("STOICHIOMETRY", "electron balance")
def oxidant_demand_mg_l(
    iron_mg_l: float, manganese_mg_l: float, h2s_mg_l: float, oxidant: str
) -> float:
    """Return the oxidant that the water needs, hydrogen sulfide to sulfur.

    Parameters
    ----------
    iron_mg_l, manganese_mg_l, h2s_mg_l : float
        Dissolved iron, manganese and hydrogen sulfide. [mg/L]
    oxidant : str
        "permanganate", "chlorine" or "air". [-]

    Returns
    -------
    float
        Oxidant. [mg/L]
    """
    return (
        iron_mg_l * oxidant_per_mg("fe", oxidant)
        + manganese_mg_l * oxidant_per_mg("mn", oxidant)
        + h2s_mg_l * oxidant_per_mg("h2s", oxidant)
    )


@cites("MEMORY", "continuous feed: 1 x Fe + 2 x Mn + 5 x H2S")
def permanganate_rule_mg_l(iron_mg_l: float, manganese_mg_l: float, h2s_mg_l: float) -> float:
    """Return the permanganate feed by the trade's rule.

    Parameters
    ----------
    iron_mg_l, manganese_mg_l, h2s_mg_l : float
        Dissolved iron, manganese and hydrogen sulfide. [mg/L]

    Returns
    -------
    float
        Potassium permanganate. [mg/L]
    """
    return iron_mg_l + 2.0 * manganese_mg_l + 5.0 * h2s_mg_l


@cites("STOICHIOMETRY", "acid released")
def alkalinity_per_mg(reduced: str, oxidant: str) -> float:
    """Return the alkalinity that the oxidation of a milligram uses up.

    Parameters
    ----------
    reduced : str
        "fe" or "mn". [-]
    oxidant : str
        "permanganate", "chlorine" or "air". [-]

    Returns
    -------
    float
        Alkalinity, as CaCO3. [mg/mg]
    """
    return ACID[(reduced, oxidant)] * molar_mass("CaCO3") / 2.0 / molar_mass(GIVEN[reduced][0])


@cites("STOICHIOMETRY", "Fe(OH)3 and MnO2, with the MnO2 of the permanganate")
def solids_per_mg(reduced: str, oxidant: str) -> float:
    """Return the solids that the oxidation of a milligram forms.

    Parameters
    ----------
    reduced : str
        "fe" or "mn". [-]
    oxidant : str
        "permanganate", "chlorine" or "air". [-]

    Returns
    -------
    float
        Solids. [mg/mg]
    """
    own = HYDROXIDE if reduced == "fe" else DIOXIDE
    if oxidant != "permanganate":
        return own
    return own + oxidant_per_mg(reduced, oxidant) * molar_mass("MnO2") / molar_mass("KMnO4")
