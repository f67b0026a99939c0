"""Calcite that a water dissolves in a closed bed, and the water behind it."""

from typing import Any

import numpy as np

from pretreat.chemistry.ccpp import calcite_equilibrium
from pretreat.core.units import molar_mass
from pretreat.membrane.elements.product import Water, solved

MG_PER_MOL = 1000.0 * molar_mass("CaCO3")
CO2_MG_PER_MOL = 1000.0 * molar_mass("CO2")
TRACE_MG_L = 0.1  # NUMERICAL: a water without any calcium has no saturation index


def saturated(water: Water) -> tuple[float, float]:
    """Return what a water dissolves of calcite up to saturation, closed to the air, and its pH.

    Parameters
    ----------
    water : Water
        A single water. [-]

    Returns
    -------
    tuple of float
        Calcite [mg/L as CaCO3], not below 0, and pH [-].
    """
    lacking = max(TRACE_MG_L - _calcium(water) * molar_mass("CaCO3") / molar_mass("Ca"), 0.0)
    found = calcite_equilibrium(with_dissolved(water, lacking).water.speciation)
    dissolved = lacking - float(np.squeeze(found.precipitates_mol_kg)) * MG_PER_MOL
    return max(dissolved, 0.0), float(np.squeeze(found.ph))


def with_dissolved(water: Water, calcite_mg_l: float) -> Water:
    """Return a water after so much calcite: calcium, alkalinity and carbon rise.

    Parameters
    ----------
    water : Water
        A single water. [-]
    calcite_mg_l : float
        Calcite dissolved. [mg/L as CaCO3]

    Returns
    -------
    Water
        With its own pH. [-]
    """
    w, moles = water.water, calcite_mg_l / MG_PER_MOL
    return solved(
        {**w.mg_l, "ca": _calcium(water) + moles * molar_mass("Ca") * 1000.0},
        w.temp_c,
        np.asarray(w.alkalinity_mg_l_caco3, float) + calcite_mg_l,
        w.speciation.inorganic_carbon_mol_kg + moles,
        water.traces,
    )


def with_gas(water: Water, co2_mg_l: float, temperature_c: float) -> Water:
    """Return a water with as much more carbon as its carbon dioxide is changed by.

    Parameters
    ----------
    water : Water
        A single water. [-]
    co2_mg_l : float
        Carbon dioxide gained, below 0 lost. [mg/L]
    temperature_c : float
        Temperature. [°C]

    Returns
    -------
    Water
        With its own pH. [-]
    """
    w = water.water
    carbon = w.speciation.inorganic_carbon_mol_kg + co2_mg_l / CO2_MG_PER_MOL
    return solved(w.mg_l, temperature_c, w.alkalinity_mg_l_caco3, carbon, water.traces)


def _calcium(water: Water) -> float:
    found: Any = water.water.mg_l.get("ca", 0.0)
    return float(np.nan_to_num(np.squeeze(found)))
