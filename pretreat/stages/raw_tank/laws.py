"""What a vented raw water tank does: it loses carbon dioxide and takes up oxygen."""

from math import log10

from pretreat.core.basis import cites
from pretreat.core.errors import check_range
from pretreat.core.units import ZERO_C_IN_K

CO2_IN_AIR_ATM = 4.2e-4  # MEMORY: about 420 ppm by volume, dry air at sea level
CO2_MG_PER_MOL = 44_009.0  # IUPAC2021
HENRY_RANGE_C = (0.0, 90.0)  # PB82, abstract


@cites("PB82", "Henry's constant of CO2, from memory")
def co2_of_air_mg_l(temp_c: float) -> float:
    """Return the carbon dioxide that water keeps in equilibrium with air.

    Parameters
    ----------
    temp_c : float
        Water temperature, 0 to 90. [°C]

    Returns
    -------
    float
        Dissolved carbon dioxide. [mg/L]

    Raises
    ------
    OutOfRangeError
        If the temperature is outside the fit.
    """
    check_range("water temperature", temp_c, HENRY_RANGE_C, "°C", "PB82")
    t = temp_c + ZERO_C_IN_K
    log_kh = 108.3865 + 0.01985076 * t - 6919.53 / t - 40.45154 * log10(t) + 669_365.0 / t**2
    return float(10.0**log_kh * CO2_IN_AIR_ATM * CO2_MG_PER_MOL)


def co2_left_mg_l(co2_mg_l: float, co2_of_air: float, stripped: float) -> float:
    """Return the carbon dioxide left when part of the excess over air is stripped.

    Parameters
    ----------
    co2_mg_l : float
        Carbon dioxide of the raw water. [mg/L]
    co2_of_air : float
        Carbon dioxide in equilibrium with air. [mg/L]
    stripped : float
        Part of the excess that escapes, 0 to 1. [-]

    Returns
    -------
    float
        Carbon dioxide. [mg/L]
    """
    return co2_mg_l - stripped * max(co2_mg_l - co2_of_air, 0.0)
