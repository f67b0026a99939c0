"""Iron sulfide: how far over saturation ferrous iron is beside sulfide, without any air."""

from typing import Any

import numpy as np

from pretreat.chemistry.activity import davies_pf, debye_huckel
from pretreat.chemistry.speciation import Speciation
from pretreat.chemistry.species import GAS_CONSTANT_KJ, KJ_PER_KCAL, LN10, Array
from pretreat.core.basis import cites
from pretreat.core.units import ZERO_C_IN_K

H2S_MG_MOL = 34_080.0  # IUPAC2021
LOG_K_FES = -3.915  # WATEQ4F: FeS(ppt) + H+ = Fe+2 + HS-, 25 °C
LOG_K1, DELTA_H1_KCAL = -6.994, 5.3  # WATEQ4F
LOG_FE_HS_2, LOG_FE_HS_3 = 8.95, 10.987  # WATEQ4F: Fe(HS)2 and Fe(HS)3-
STANDARD_K = 298.15


@cites("WATEQ4F", "FeS(ppt) -3.915; H2S = HS- + H+ -6.994, 5.3 kcal; Fe(HS)2 8.95, Fe(HS)3- 10.987")
def si_iron_sulfide(water: Speciation, h2s_mg_l: Any) -> Array:
    """Return the saturation index of fresh iron sulfide, FeS.

    Parameters
    ----------
    water : Speciation
        One water or many, with ferrous iron among its totals. [-]
    h2s_mg_l : float or array
        Sulfide of all forms. [mg/L as H2S]

    Returns
    -------
    array
        log10(IAP/K); NaN without iron. Constants of iron hold at 25 °C only. [-]
    """
    iron = np.asarray(water.totals_mol_kg.get("Fe", np.nan), float)
    log_free = np.asarray(water.ln_activity.get("Fe", np.nan), float) / LN10
    ph, kelvin = np.asarray(water.ph, float), np.asarray(water.temp_c, float) + ZERO_C_IN_K
    at_temperature, _ = debye_huckel(water.temp_c)
    log_gamma = -davies_pf(np.asarray(water.ionic_strength_mol_kg, float), at_temperature)
    slope = DELTA_H1_KCAL * KJ_PER_KCAL / (LN10 * GAS_CONSTANT_KJ)
    log_k1 = LOG_K1 - slope * (1.0 / kelvin - 1.0 / STANDARD_K)
    share = 1.0 / (1.0 + 10.0 ** (log_gamma - ph - log_k1))  # of HS-
    with np.errstate(divide="ignore", invalid="ignore"):
        log_hs = np.log10(np.asarray(h2s_mg_l, float) / H2S_MG_MOL * share) + log_gamma
        # The model knows no complex with sulfide: the free ion is shared with them here.
        bound = 10.0 ** (LOG_FE_HS_2 + 2.0 * log_hs)
        bound = bound + 10.0 ** (LOG_FE_HS_3 + 3.0 * log_hs - log_gamma)
        log_free = np.log10(iron / (iron / 10.0**log_free + bound))
    return np.asarray(log_free + log_hs + ph - LOG_K_FES)
