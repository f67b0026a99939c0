"""Every conversion of units, bases and display systems, once.

Inside the program each quantity has one unit, written at the end of its name. Factors stand
here and nowhere else. Temperature is read by `temperature_c`, apart from the quantities, because
adding degrees and multiplying them are different things.
"""

from pretreat.core.units.concentration import (
    ConcentrationUnit,
    Ion,
    concentration_unit,
    conductivity_us_cm,
    hardness_mg_l_caco3,
    mg_l,
    mg_l_as_ion,
)
from pretreat.core.units.display import US_CUSTOMARY, unit_shown, us_customary
from pretreat.core.units.formulas import (
    CACO3_MG_PER_MEQ,
    CO3_PER_CACO3,
    G_L_PER_KGR_FT3,
    G_L_PER_LB_FT3,
    GRAM_PER_GRAIN,
    GRAM_PER_POUND,
    HCO3_LEFT_IN_RESIDUE,
    HCO3_PER_CACO3,
    KPA_PER_PSI,
    LITRE_PER_CUBIC_FOOT,
    LITRE_PER_US_GALLON,
    M_H_PER_GPM_FT2,
    METRE_PER_FOOT,
    MG_L_CACO3_PER_GPG,
    ZERO_C_IN_K,
    atoms,
    molar_mass,
)
from pretreat.core.units.quantities import USUAL_UNITS, quantity, split_quantity, temperature_c

__all__ = [
    "CACO3_MG_PER_MEQ",
    "CO3_PER_CACO3",
    "GRAM_PER_GRAIN",
    "GRAM_PER_POUND",
    "G_L_PER_KGR_FT3",
    "G_L_PER_LB_FT3",
    "HCO3_LEFT_IN_RESIDUE",
    "HCO3_PER_CACO3",
    "KPA_PER_PSI",
    "LITRE_PER_CUBIC_FOOT",
    "LITRE_PER_US_GALLON",
    "METRE_PER_FOOT",
    "MG_L_CACO3_PER_GPG",
    "M_H_PER_GPM_FT2",
    "USUAL_UNITS",
    "US_CUSTOMARY",
    "ZERO_C_IN_K",
    "ConcentrationUnit",
    "Ion",
    "atoms",
    "concentration_unit",
    "conductivity_us_cm",
    "hardness_mg_l_caco3",
    "mg_l",
    "mg_l_as_ion",
    "molar_mass",
    "quantity",
    "split_quantity",
    "temperature_c",
    "unit_shown",
    "us_customary",
]
