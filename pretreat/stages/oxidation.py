"""Oxidation of iron, manganese and hydrogen sulfide: demand, alkalinity used, solids formed.

Reactions per mole: 3 Fe2+ + KMnO4, 3 Mn2+ + 2 KMnO4, 2 Fe2+ + Cl2, Mn2+ + Cl2,
4 Fe2+ + O2, 2 Mn2+ + O2; hydrogen sulfide to sulfur gives two electrons, to sulfate eight.
"""

from collections.abc import Sequence
from typing import Literal

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, valid
from pretreat.core.units import molar_mass
from pretreat.stages.filters import DAYS_PER_WEEK

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
RULE_MANGANESE, RULE_SULFIDE = 2.0, 5.0  # MEMORY: the trade's rule of continuous feed
G_PER_KG = 1000.0
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


@law
@cites("STOICHIOMETRY", "electron balance")
@valid(dissolved_mg_l=[0, None])
def oxidant_demand_mg_l(
    dissolved_mg_l: Sequence[Number], oxidant_mg_mg: Sequence[Number]
) -> Number:
    """Oxidant that the water needs = sum of dissolved x oxidant of a milligram.

    Worked by hand: 2 mg/L that take 0.5 mg/mg and 1 mg/L that takes 1.5 mg/mg.

    >>> oxidant_demand_mg_l((2.0, 1.0), (0.5, 1.5))
    2.5
    """
    return sum(c * need for c, need in zip(dissolved_mg_l, oxidant_mg_mg, strict=True))


@law
@cites("STOICHIOMETRY", "acid released")
@valid(dissolved_mg_l=[0, None])
def alkalinity_used_mg_l_caco3(
    dissolved_mg_l: Sequence[Number], alkalinity_mg_mg: Sequence[Number]
) -> Number:
    """Alkalinity that the oxidation uses up = sum of dissolved x alkalinity of a milligram.

    Worked by hand: 2 mg/L that take 1.5 mg/mg and 1 mg/L that takes 2 mg/mg.

    >>> alkalinity_used_mg_l_caco3((2.0, 1.0), (1.5, 2.0))
    5.0
    """
    return sum(c * used for c, used in zip(dissolved_mg_l, alkalinity_mg_mg, strict=True))


@law
@cites("MEMORY", "continuous feed: 1 x Fe + 2 x Mn + 5 x H2S")
@valid(iron_mg_l=[0, None], manganese_mg_l=[0, None], h2s_mg_l=[0, None])
def permanganate_rule_mg_l(iron_mg_l: Number, manganese_mg_l: Number, h2s_mg_l: Number) -> Number:
    """Permanganate feed by the trade's rule = iron + 2 x manganese + 5 x hydrogen sulfide.

    Worked by hand: 1.5 mg/L iron, 0.25 mg/L manganese, 1 mg/L hydrogen sulfide.

    >>> permanganate_rule_mg_l(1.5, 0.25, 1.0)
    7.0
    """
    return iron_mg_l + RULE_MANGANESE * manganese_mg_l + RULE_SULFIDE * h2s_mg_l


@law
@valid(dose_g_l=[0, None], volume_l=[0, None])
def permanganate_g_per_regeneration(dose_g_l: Number, volume_l: Number) -> Number:
    """Permanganate of a regeneration = dose x medium.

    Worked by hand: 2 g/L on 150 L.

    >>> permanganate_g_per_regeneration(2.0, 150.0)
    300.0
    """
    return dose_g_l * volume_l


@law
def permanganate_kg_per_year(
    permanganate_g_per_regeneration: Number, regenerations_per_year: Number
) -> Number:
    """Permanganate of a year = grams of a regeneration x regenerations.

    Worked by hand: 300 g a hundred times.

    >>> permanganate_kg_per_year(300.0, 100.0)
    30.0
    """
    return permanganate_g_per_regeneration * regenerations_per_year / G_PER_KG


@law
@cites("STOICHIOMETRY", "electron balance")
@valid(regenerations_per_week=(0, None))
def permanganate_needed_g_per_regeneration(
    demand_mg_l: Number,
    feed_m3_d: Number,
    regenerations_per_week: Number,
    vessels: Number = 1.0,
) -> Number:
    """Permanganate that a regeneration must restore = demand x feed of a week / regenerations.

    Worked by hand: 2 mg/L in 40 m3/d, regenerated every day.

    >>> permanganate_needed_g_per_regeneration(2.0, 40.0, 7.0)
    80.0
    """
    return demand_mg_l * feed_m3_d * DAYS_PER_WEEK / (regenerations_per_week * vessels)


@law
@valid(demand_mg_l=[0, None], feed_m3_d=[0, None], days_per_year=[0, 366])
def oxidant_kg_per_year(demand_mg_l: Number, feed_m3_d: Number, days_per_year: Number) -> Number:
    """Oxidant fed in a year = demand x fresh feed of a day x days of operation.

    Worked by hand: 2 mg/L in 10 000 m3 of 250 days.

    >>> oxidant_kg_per_year(2.0, 40.0, 250.0)
    20.0
    """
    return demand_mg_l * feed_m3_d * days_per_year / G_PER_KG


@law
@valid(residual_mg_l=[0, None])
def oxidant_with_residual_kg_per_year(
    demand_mg_l: Number, residual_mg_l: Number, feed_m3_d: Number, days_per_year: Number
) -> Number:
    """Oxidant fed in a year = (demand + residual) x fresh feed of a day x days of operation.

    Worked by hand: 2 mg/L and 1 mg/L kept over the medium, in 10 000 m3 of 250 days.

    >>> oxidant_with_residual_kg_per_year(2.0, 1.0, 40.0, 250.0)
    30.0
    """
    return oxidant_kg_per_year(demand_mg_l + residual_mg_l, feed_m3_d, days_per_year)


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


@cites("STOICHIOMETRY", "chlorine fed as NaOCl gives two equivalents back for each Cl2")
def alkalinity_fed_per_mg(reduced: str, oxidant: str) -> float:
    """Return the alkalinity that a milligram uses up with the oxidant as it is fed.

    2 Fe2+ + OCl- + 5 H2O = 2 Fe(OH)3 + Cl- + 4 H+, Mn2+ + OCl- + H2O = MnO2 + Cl- + 2 H+;
    permanganate and air as in `alkalinity_per_mg`.

    Parameters
    ----------
    reduced : str
        "fe" or "mn". [-]
    oxidant : str
        "permanganate", "chlorine" (as hypochlorite) or "air". [-]

    Returns
    -------
    float
        Alkalinity, as CaCO3. [mg/mg]
    """
    used = alkalinity_per_mg(reduced, oxidant)
    if oxidant == "chlorine":
        used -= oxidant_per_mg(reduced, oxidant) * molar_mass("CaCO3") / molar_mass("Cl2")
    return used


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
