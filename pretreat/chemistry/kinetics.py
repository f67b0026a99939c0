"""How fast a scale grows and how long water stays in a small machine: information, no limit."""

from typing import Any

import numpy as np

from pretreat.core.basis import cites
from pretreat.core.units import ZERO_C_IN_K

GAS_J_MOL_K = 8.314462618  # CODATA 2018
BOLTZMANN_J_K = 1.380649e-23  # SI
AVOGADRO_PER_MOL = 6.02214076e23  # SI
BARITE_SI = (1.1, 2.1)  # VITAL2020: range of the law
BARITE_TEMP_C = (10.0, 70.0)
GYPSUM_RATIO = (11.06, 42.08)  # GYPSUM_INDUCTION: the outer two of its three points
FLUSH_VOLUMES = 3.0  # 1 - exp(-3): 95 % of a stirred loop is new water


@cites("VITAL2020", "abstract: growth law, 10 to 70 °C, SI 1.1 to 2.1")
def barite_growth_nm_h(si: Any, temp_c: Any) -> Any:
    """Return how fast seeded barite grows without an inhibitor.

    ``exp(13.59) exp(-35000/RT) (10^SI - 1)``; 34.9 nm/h at SI 1.78 and 25 °C.

    Parameters
    ----------
    si : float or array
        Saturation index of barite, 1.1 to 2.1. [-]
    temp_c : float or array
        Temperature, 10 to 70. [°C]

    Returns
    -------
    float or array
        Growth; NaN outside the range of the law. [nm/h]
    """
    si, temp = np.asarray(si, float), np.asarray(temp_c, float)
    rate = np.exp(13.59 - 35_000.0 / (GAS_J_MOL_K * (temp + ZERO_C_IN_K))) * (10.0**si - 1.0)
    inside = (si >= BARITE_SI[0]) & (si <= BARITE_SI[1])
    inside &= (temp >= BARITE_TEMP_C[0]) & (temp <= BARITE_TEMP_C[1])
    found = np.where(inside, rate, np.nan)
    return float(found) if found.ndim == 0 else found


@cites("GYPSUM_INDUCTION", "abstract: 217, 36 and 11 min at 11.06, 21.07 and 42.08; own fit")
def gypsum_induction_min(supersaturation: Any) -> Any:
    """Return how long gypsum takes to appear without an inhibitor.

    ``ln t = 0.368 + 29.11/(ln S)^2``, within 8 % of the three printed points; the ratio as
    defined there, presumably the ion product over the solubility product.

    Parameters
    ----------
    supersaturation : float or array
        Degree of supersaturation, 11.06 to 42.08. [-]

    Returns
    -------
    float or array
        Induction time; NaN outside, for three points bear no extrapolation. [min]
    """
    ratio = np.asarray(supersaturation, float)
    inside = (ratio >= GYPSUM_RATIO[0]) & (ratio <= GYPSUM_RATIO[1])
    time = np.exp(0.368 + 29.11 / np.log(np.where(inside, ratio, GYPSUM_RATIO[0])) ** 2)
    found = np.where(inside, time, np.nan)
    return float(found) if found.ndim == 0 else found


@cites("HE1995", "classical nucleation, interfacial tension of the mineral")
def nucleation_exponent(si: Any, temp_c: Any, tension_j_m2: float, molar_volume_cm3: float) -> Any:
    """Return the barrier of homogeneous nucleation over kT.

    ``16 pi g^3 v^2 / (3 (kT)^3 (ln S)^2)``; barite of 0.093 J/m2 at SI 1.78 and 25 °C 86.

    Parameters
    ----------
    si : float or array
        Saturation index, above 0. [-]
    temp_c : float or array
        Temperature. [°C]
    tension_j_m2 : float
        Interfacial tension. [J/m2]
    molar_volume_cm3 : float
        Molar volume of the solid. [cm3/mol]

    Returns
    -------
    float or array
        The exponent; on membranes and old scale nuclei form at a lower index. [-]
    """
    volume = molar_volume_cm3 * 1e-6 / AVOGADRO_PER_MOL
    energy = BOLTZMANN_J_K * (np.asarray(temp_c, float) + ZERO_C_IN_K)
    ln_s = np.log(10.0) * np.asarray(si, float)
    above = ln_s > 0
    square = np.where(above, ln_s, 1.0) ** 2
    barrier = 16.0 * np.pi * tension_j_m2**3 * volume**2 / (3.0 * energy**3 * square)
    found = np.where(above, barrier, np.inf)
    return float(found) if found.ndim == 0 else found


@cites("PRACTICE", "plug flow with even permeation, by mass balance")
def residence_s(volume_l: Any, feed_m3_h: Any, recovery: Any) -> Any:
    """Return how long water takes through the brine side of a machine without recycle.

    ``(V/Qf) ln(1/(1 - Y))/Y``; 1.848 V/Qf at a recovery of 0.75.

    Parameters
    ----------
    volume_l : float or array
        Brine volume of the elements. [L]
    feed_m3_h : float or array
        Feed of the array. [m3/h]
    recovery : float or array
        Array recovery, above 0 and below 1. [-]

    Returns
    -------
    float or array
        Time from inlet to drain. [s]
    """
    return volume_l / feed_m3_h * 3.6 * np.log(1.0 / (1.0 - recovery)) / recovery


@cites("PRACTICE", "stirred loop, by mass balance")
def loop_age_s(volume_l: Any, drain_m3_h: Any) -> Any:
    """Return the mean age of the concentrate in a machine that recycles most of it.

    ``V/Qc``; 144 s for 10 L and 0.25 m3/h. One litre in twenty is older than three of these.

    Parameters
    ----------
    volume_l : float or array
        Volume of the loop. [L]
    drain_m3_h : float or array
        Drain. [m3/h]

    Returns
    -------
    float or array
        Mean age. [s]
    """
    return volume_l / drain_m3_h * 3.6
