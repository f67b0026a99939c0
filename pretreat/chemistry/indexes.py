"""Indexes of the trade for calcium carbonate: Langelier, Stiff and Davis, Ryznar, Puckorius."""

from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.chemistry.carbonate import (
    bicarbonate_mol_l,
    ph_from_alkalinity_and_co2,
    ph_saturation,
)
from pretreat.core.basis import cites
from pretreat.core.units import CACO3_MG_PER_MEQ, ZERO_C_IN_K, molar_mass
from pretreat.site.design import KChart

LSI_TDS_LIMIT_MG_L = 10_000.0  # D3739, D4582: above this TDS of the concentrate, S&DSI
SDSI_STRENGTH = (0.02, 2.5)  # fit of SDK_PITZER, mol/kg
SDSI_TEMPERATURE_C = (5.0, 45.0)
LSI_STRENGTH = 1.0  # mol/kg: twice where DAVIES62 is usually trusted; beyond it no LSI is shown
MG_PER_G = 1e3


class TradeWater(Struct, frozen=True):
    """What the indexes of the trade need of a water; floats or arrays."""

    calcium_mg_l: Any
    alkalinity_mg_l_caco3: Any
    tds_mg_l: Any
    ionic_strength_mol_kg: Any
    temp_c: Any

    @property
    def calcium_mol_l(self) -> Any:
        """Total calcium. [mol/L]."""
        return self.calcium_mg_l / (molar_mass("Ca") * MG_PER_G)

    @property
    def alkalinity_eq_l(self) -> Any:
        """Total alkalinity. [eq/L]."""
        return self.alkalinity_mg_l_caco3 / (CACO3_MG_PER_MEQ * MG_PER_G)


def ph_d3739(water: TradeWater, feed_co2_mol_l: Any) -> Any:
    """Return the pH of a concentrate by the D3739 route: its alkalinity, the feed's CO2.

    Parameters
    ----------
    water : TradeWater
        The concentrate. [-]
    feed_co2_mol_l : float or array
        CO2(aq) of the feed, taken as passing the membrane freely. [mol/L]

    Returns
    -------
    float or array
        pH. [-]
    """
    return ph_from_alkalinity_and_co2(
        water.alkalinity_eq_l, feed_co2_mol_l, water.ionic_strength_mol_kg, water.temp_c
    )


@cites("D3739", "pHs with the constants of PB82")
def langelier_phs(water: TradeWater, ph: Any) -> Any:
    """Return pHs of a water with the constants of Plummer and Busenberg.

    Parameters
    ----------
    water : TradeWater
        The water. [-]
    ph : float or array
        Its pH, which sets the share of bicarbonate. [-]

    Returns
    -------
    float or array
        pH of saturation; NaN without calcium or alkalinity. [-]
    """
    strength, temp = water.ionic_strength_mol_kg, water.temp_c
    hco3 = bicarbonate_mol_l(water.alkalinity_eq_l, ph, strength, temp)
    return ph_saturation(water.calcium_mol_l, hco3, strength, temp)


@cites("UFC13FN", "form pHs = 9.30 + A + B - (C + D); closed forms of A to D from memory")
def hand_phs(water: TradeWater) -> Any:
    """Return pHs by the closed hand formula.

    Parameters
    ----------
    water : TradeWater
        The water. [-]

    Returns
    -------
    float or array
        9.3 + A + B - C - D; NaN without calcium or alkalinity. [-]
    """
    a = (_log10(water.tds_mg_l) - 1.0) / 10.0
    b = -13.12 * np.log10(water.temp_c + ZERO_C_IN_K) + 34.55
    calcium_caco3 = water.calcium_mg_l * molar_mass("CaCO3") / molar_mass("Ca")
    c = _log10(calcium_caco3) - 0.4
    return 9.3 + a + b - c - _log10(water.alkalinity_mg_l_caco3)


def _log10(value: Any) -> Any:
    return np.log10(np.where(np.asarray(value) > 0, value, np.nan))


@cites("SDK_PITZER", "K as a function of temperature and ionic strength")
def stiff_davis_k(ionic_strength_mol_kg: Any, temp_c: Any) -> Any:
    """Return the thermodynamic K of the Stiff and Davis index.

    Parameters
    ----------
    ionic_strength_mol_kg : float or array
        Ionic strength; fitted from 0.02 to 2.5. [mol/kg]
    temp_c : float or array
        Temperature; fitted from 5 to 45. [°C]

    Returns
    -------
    float or array
        K = pHs - pCa - pAlk. [-]
    """
    i, d = ionic_strength_mol_kg, temp_c - 25.0
    s = np.sqrt(i)
    return (
        1.9766
        - 0.016417 * d
        + 4.41e-5 * d**2
        + 1.9185 * s / (1.0 + s)
        - 0.15183 * i
        + 0.00129 * d * s
        - 0.01471 * i**2
    )


def chart_k(chart: KChart, ionic_strength_mol_kg: Any, temp_c: Any) -> Any:
    """Return K of the user's own chart, linear between its points.

    Parameters
    ----------
    chart : KChart
        The chart. [-]
    ionic_strength_mol_kg : float or array
        Ionic strength. [mol/kg]
    temp_c : float or array
        Temperature. [°C]

    Returns
    -------
    float or array
        K; the thermodynamic K outside the chart. [-]
    """
    table = np.array(chart.k)
    i, x, inside_i = _between(np.array(chart.ionic_strength_mol_kg), ionic_strength_mol_kg)
    j, y, inside_t = _between(np.array(chart.temp_c), temp_c)
    low = (1.0 - y) * table[i, j] + y * table[i, j + 1]
    high = (1.0 - y) * table[i + 1, j] + y * table[i + 1, j + 1]
    own = (1.0 - x) * low + x * high
    return np.where(inside_i & inside_t, own, stiff_davis_k(ionic_strength_mol_kg, temp_c))


def outside_chart(chart: KChart, ionic_strength_mol_kg: Any, temp_c: Any) -> Any:
    """Tell where the user's own chart does not reach.

    Parameters
    ----------
    chart : KChart
        The chart. [-]
    ionic_strength_mol_kg : float or array
        Ionic strength. [mol/kg]
    temp_c : float or array
        Temperature. [°C]

    Returns
    -------
    bool or array
        True outside. [-]
    """
    inside_i = _between(np.array(chart.ionic_strength_mol_kg), ionic_strength_mol_kg)[2]
    return ~(inside_i & _between(np.array(chart.temp_c), temp_c)[2])


def _between(grid: Any, value: Any) -> tuple[Any, Any, Any]:
    """Return the lower neighbour, the share of the way to the next, and whether inside."""
    at = np.asarray(value, float)
    left = np.clip(np.searchsorted(grid, at, side="right") - 1, 0, len(grid) - 2)
    share = (at - grid[left]) / (grid[left + 1] - grid[left])
    return left, share, (at >= grid[0]) & (at <= grid[-1])


@cites("D4582", "S&DSI = pH - pCa - pAlk - K")
def stiff_davis(water: TradeWater, ph: Any, k: Any = None) -> Any:
    """Return the Stiff and Davis stability index.

    Parameters
    ----------
    water : TradeWater
        The water. [-]
    ph : float or array
        Its pH. [-]
    k : float or array, optional
        K of the user's own chart; the thermodynamic K if omitted. [-]

    Returns
    -------
    float or array
        S&DSI; NaN without calcium or alkalinity. [-]
    """
    if k is None:
        k = stiff_davis_k(water.ionic_strength_mol_kg, water.temp_c)
    return ph + _log10(water.calcium_mol_l) + _log10(water.alkalinity_eq_l) - k


@cites("RYZNAR44", "2 pHs - pH")
def ryznar(phs: Any, ph: Any) -> Any:
    """Return the Ryznar stability index.

    Parameters
    ----------
    phs, ph : float or array
        pH of saturation and pH. [-]

    Returns
    -------
    float or array
        Index; below about 6 scaling, above about 7 corrosive. [-]
    """
    return 2.0 * phs - ph


@cites("PUCKORIUS91", "pHeq = 1.465 log Alk + 4.54")
def puckorius(phs: Any, alkalinity_mg_l_caco3: Any) -> Any:
    """Return the Puckorius (practical) scaling index.

    Parameters
    ----------
    phs : float or array
        pH of saturation. [-]
    alkalinity_mg_l_caco3 : float or array
        Total alkalinity. [mg/L as CaCO3]

    Returns
    -------
    float or array
        2 pHs - pHeq; below 6 scaling. [-]
    """
    return 2.0 * phs - (1.465 * _log10(alkalinity_mg_l_caco3) + 4.54)


def outside_stiff_davis_fit(ionic_strength_mol_kg: Any, temp_c: Any) -> Any:
    """Tell where the thermodynamic K is extrapolated.

    Parameters
    ----------
    ionic_strength_mol_kg : float or array
        Ionic strength. [mol/kg]
    temp_c : float or array
        Temperature. [°C]

    Returns
    -------
    bool or array
        True outside the fit. [-]
    """
    low, high = SDSI_STRENGTH
    cold, warm = SDSI_TEMPERATURE_C
    inside = (ionic_strength_mol_kg >= low) & (ionic_strength_mol_kg <= high)
    return np.logical_not(inside & (temp_c >= cold) & (temp_c <= warm))
