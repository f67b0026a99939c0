"""Osmotic pressure from the activity of water."""

from typing import Any

import numpy as np

from pretreat.chemistry.activity import water_density_kg_l
from pretreat.core.basis import cites
from pretreat.core.units import ZERO_C_IN_K, molar_mass

GAS_CONSTANT_J = 8.314462618  # CODATA 2018, J/(mol K)


@cites("ROBINSON59", "pi = -(RT/Vw) ln a(H2O)")
def osmotic_pressure_kpa(water_activity: Any, temp_c: Any) -> Any:
    """Return the osmotic pressure of a water from the activity of its water.

    Parameters
    ----------
    water_activity : float or array
        Activity of water, pure water 1. [-]
    temp_c : float or array
        Temperature, 0 to 100. [°C]

    Returns
    -------
    float or array
        Osmotic pressure against pure water, molar volume of pure water at 1 atm. [kPa]
    """
    molar_volume_cm3 = molar_mass("H2O") / water_density_kg_l(temp_c)
    # J per cm3 is MPa; a thousand kPa.
    return (
        -GAS_CONSTANT_J * (temp_c + ZERO_C_IN_K) * np.log(water_activity) / molar_volume_cm3 * 1e3
    )
