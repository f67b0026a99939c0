"""The product behind calcite: saturation, what passes the bed, and the alkali for the rest."""

from collections.abc import Callable
from typing import Any

import numpy as np

from pretreat.chemistry.indexes import TradeWater, langelier_phs
from pretreat.chemistry.speciation import molal_totals
from pretreat.membrane.elements.product import Water, solved
from pretreat.membrane.elements.remineralisation import with_alkali
from pretreat.membrane.permeate import Permeate
from pretreat.stages.neutralising_filter.calcite import with_dissolved

HALVINGS = 40
MOST_ALKALI_MMOL_L = 10.0  # PRACTICE: a product that needs more was not degassed


def product_of(made: Permeate) -> Water:
    """Return the product as a water of its own: its mg/L, and the carbon dioxide that passed.

    The balance of the membranes counts by the feed's kilogram of water; of a salty feed that
    is 0.3 % of the product's alkalinity, which counts where a tenth of the gas is left.

    Parameters
    ----------
    made : Permeate
        The product; a single one. [-]

    Returns
    -------
    Water
        The same. [-]
    """
    known = made.speciation
    own = molal_totals(made.mg_l, made.alkalinity_mg_l_caco3).alkalinity_eq_kg
    carbon = known.inorganic_carbon_mol_kg - (known.alkalinity_eq_kg - np.asarray(own))
    return solved(made.mg_l, known.temp_c, made.alkalinity_mg_l_caco3, carbon, {})


def langelier(water: Water) -> float:
    """Return the Langelier index of a product at its own pH.

    Parameters
    ----------
    water : Water
        A single water. [-]

    Returns
    -------
    float
        pH - pHs; NaN without calcium or alkalinity. [-]
    """
    w = water.water
    trade = TradeWater(
        np.asarray(w.mg_l.get("ca", np.nan), float),
        np.asarray(w.alkalinity_mg_l_caco3, float),
        w.tds_mg_l,
        w.speciation.ionic_strength_mol_kg,
        w.temp_c,
    )
    return float(np.asarray(water.ph - langelier_phs(trade, water.ph)))


def share_for_index(product: Water, dissolved_mg_l: float, wanted: float) -> float | None:
    """Return the share of a product that must pass calcite for a Langelier index.

    Parameters
    ----------
    product : Water
        The product; a single water. [-]
    dissolved_mg_l : float
        What the part that passes the calcite takes up. [mg/L as CaCO3]
    wanted : float
        Langelier index wanted. [-]

    Returns
    -------
    float or None
        Share, 0 to 1; None where all of it is not enough. [-]
    """
    return _least(
        lambda share: langelier(with_dissolved(product, share * dissolved_mg_l)), wanted, 1.0
    )


def alkali_for_index_mmol_l(water: Water, wanted: float) -> float | None:
    """Return the caustic soda that brings a water to a Langelier index.

    Parameters
    ----------
    water : Water
        A single water. [-]
    wanted : float
        Langelier index wanted. [-]

    Returns
    -------
    float or None
        Caustic soda; None where 10 mmol/L are not enough. [mmol/L]
    """
    return _least(lambda dose: langelier(with_alkali(water, dose)), wanted, MOST_ALKALI_MMOL_L)


def _least(index: Callable[[float], float], wanted: float, most: float) -> float | None:
    """Return the least value, from 0 to the most, at which a rising index is reached."""

    def reached(value: Any) -> bool:
        return index(value) >= wanted

    if reached(0.0):
        return 0.0
    if not reached(most):
        return None
    low, high = 0.0, most
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        low, high = (low, middle) if reached(middle) else (middle, high)
    return high
