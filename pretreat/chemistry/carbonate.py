"""Carbonate constants and the two ways from carbonate to pH that need no ion pairs.

Concentrations here are mol/L or eq/L as the indexes of the trade use them; activity
coefficients are Davies with 0.3 I. Arguments may be floats or arrays that broadcast.
"""

from typing import Any

import numpy as np

from pretreat.chemistry.activity import davies_pf
from pretreat.core.basis import cites
from pretreat.core.units import ZERO_C_IN_K

NEWTON_STEPS = 60
PH_SETTLED = 1e-12
# About 15 bar of CO2 over the water (PB82, K0); no well delivers it: pH and alkalinity that ask
# for more do not belong to one water.
MOST_CO2_MOL_KG = 0.5


@cites("PB82", "abstract, log K1")
def log10_k1(temp_c: Any) -> Any:
    """Return log10 of the first dissociation constant of carbonic acid.

    Parameters
    ----------
    temp_c : float or array
        Temperature, 0 to 90. [°C]

    Returns
    -------
    float or array
        log10 K1, CO2(aq) + H2O = H+ + HCO3-. [-]
    """
    t = np.asarray(temp_c, float) + ZERO_C_IN_K
    return -356.3094 - 0.06091964 * t + 21834.37 / t + 126.8339 * np.log10(t) - 1684915.0 / t**2


@cites("PB82", "abstract, log K2")
def log10_k2(temp_c: Any) -> Any:
    """Return log10 of the second dissociation constant of carbonic acid.

    Parameters
    ----------
    temp_c : float or array
        Temperature, 0 to 90. [°C]

    Returns
    -------
    float or array
        log10 K2, HCO3- = H+ + CO3--. [-]
    """
    t = np.asarray(temp_c, float) + ZERO_C_IN_K
    return -107.8871 - 0.03252849 * t + 5151.79 / t + 38.92561 * np.log10(t) - 563713.9 / t**2


@cites("PB82", "abstract, log K calcite")
def log10_ksp_calcite(temp_c: Any) -> Any:
    """Return log10 of the solubility product of calcite at 1 atm.

    Parameters
    ----------
    temp_c : float or array
        Temperature, 0 to 90. [°C]

    Returns
    -------
    float or array
        log10 of the ion activity product, molal scale. [-]
    """
    t = np.asarray(temp_c, float) + ZERO_C_IN_K
    return -171.9065 - 0.077993 * t + 2839.319 / t + 71.595 * np.log10(t)


@cites("SM2330", "pKw, from memory")
def pkw(temp_c: Any) -> Any:
    """Return -log10 of the ion product of water.

    Parameters
    ----------
    temp_c : float or array
        Temperature, 0 to 60. [°C]

    Returns
    -------
    float or array
        pKw. [-]
    """
    t = np.asarray(temp_c, float) + ZERO_C_IN_K
    return 4471.0 / t + 0.01706 * t - 6.0875


@cites("SM2330", "Debye-Hückel A, from memory")
def slope_sm2330(temp_c: Any) -> Any:
    """Return the Debye-Hückel slope of Standard Methods 2330.

    Parameters
    ----------
    temp_c : float or array
        Temperature, 0 to 60. [°C]

    Returns
    -------
    float or array
        A. [L^0.5/mol^0.5]
    """
    t = np.asarray(temp_c, float) + ZERO_C_IN_K
    dielectric = 60954.0 / (t + 116.0) - 68.937
    return 1.82e6 * (dielectric * t) ** -1.5


def monovalent_pf(ionic_strength: Any, temp_c: Any) -> Any:
    """Return -log10 of a monovalent ion's activity coefficient, Davies with A of SM 2330.

    Parameters
    ----------
    ionic_strength : float or array
        Ionic strength, up to about 0.5. [mol/L]
    temp_c : float or array
        Temperature, 0 to 60. [°C]

    Returns
    -------
    float or array
        pf; four times as much for a divalent ion. [-]
    """
    return davies_pf(ionic_strength, slope_sm2330(temp_c))


def bicarbonate_mol_l(alkalinity_eq_l: Any, ph: Any, ionic_strength: Any, temp_c: Any) -> Any:
    """Return bicarbonate from alkalinity and pH, carbonate alkalinity only.

    Parameters
    ----------
    alkalinity_eq_l : float or array
        Alkalinity. [eq/L]
    ph : float or array
        pH. [-]
    ionic_strength : float or array
        Ionic strength. [mol/L]
    temp_c : float or array
        Temperature. [°C]

    Returns
    -------
    float or array
        HCO3-; NaN where hydroxide alone exceeds the alkalinity. [mol/L]
    """
    pf = monovalent_pf(ionic_strength, temp_c)
    h = 10.0 ** (pf - ph)
    oh = 10.0 ** (ph + pf - pkw(temp_c))
    left = alkalinity_eq_l - oh + h
    found = left / (1.0 + 2.0 * 10.0 ** (ph + log10_k2(temp_c) + 3.0 * pf))
    return np.where(left > 0, found, np.nan)


@cites("D3739", "pH of the concentrate from its alkalinity and the feed's CO2")
def ph_from_alkalinity_and_co2(
    alkalinity_eq_l: Any, co2_mol_l: Any, ionic_strength: Any, temp_c: Any
) -> Any:
    """Return the pH at which an alkalinity is in balance with a dissolved CO2.

    Parameters
    ----------
    alkalinity_eq_l : float or array
        Alkalinity. [eq/L]
    co2_mol_l : float or array
        CO2(aq). [mol/L]
    ionic_strength : float or array
        Ionic strength. [mol/L]
    temp_c : float or array
        Temperature. [°C]

    Returns
    -------
    float or array
        pH; NaN where alkalinity or CO2 is not positive. [-]
    """
    alk, co2, strength, temp = np.broadcast_arrays(
        *(np.asarray(v, float) for v in (alkalinity_eq_l, co2_mol_l, ionic_strength, temp_c))
    )
    sound = (alk > 0) & (co2 > 0) & np.isfinite(strength)
    alk, co2 = np.where(sound, alk, 1e-3), np.where(sound, co2, 1e-4)
    strength = np.where(sound, strength, 0.01)
    pf = monovalent_pf(strength, temp)
    k1 = 10.0 ** (log10_k1(temp) + 2.0 * pf)  # concentrations, H+ included
    k2 = 10.0 ** (log10_k2(temp) + 4.0 * pf)
    kw = 10.0 ** (2.0 * pf - pkw(temp))
    h = k1 * co2 / alk
    for _ in range(NEWTON_STEPS):
        hco3 = k1 * co2 / h
        co3 = k2 * hco3 / h
        miss = hco3 + 2.0 * co3 + kw / h - h - alk
        slope = hco3 + 4.0 * co3 + kw / h + h  # -d/d ln h
        step = np.clip(miss / slope, -2.0, 2.0)
        h = h * np.exp(step)
        if np.all(np.abs(step) < PH_SETTLED):
            break
    found = np.where(sound, pf - np.log10(h), np.nan)
    return float(found) if found.ndim == 0 else found


@cites("SM2330", "pH of saturation with CaCO3, P&B constants")
def ph_saturation(calcium_mol_l: Any, bicarbonate: Any, ionic_strength: Any, temp_c: Any) -> Any:
    """Return pHs from total calcium and bicarbonate.

    Parameters
    ----------
    calcium_mol_l : float or array
        Total calcium. [mol/L]
    bicarbonate : float or array
        HCO3-. [mol/L]
    ionic_strength : float or array
        Ionic strength. [mol/L]
    temp_c : float or array
        Temperature. [°C]

    Returns
    -------
    float or array
        pHs = pK2 - pKs + p[Ca] + p[HCO3] + 5 pf. [-]
    """
    pf = monovalent_pf(ionic_strength, temp_c)
    ca = np.where(np.asarray(calcium_mol_l) > 0, calcium_mol_l, np.nan)
    hco3 = np.where(np.asarray(bicarbonate) > 0, bicarbonate, np.nan)
    return -log10_k2(temp_c) + log10_ksp_calcite(temp_c) - np.log10(ca) - np.log10(hco3) + 5.0 * pf
