"""Calcite equilibrium of a closed water, and its precipitation potential."""

from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.chemistry.ends import Ends
from pretreat.chemistry.speciation import Speciation, speciate
from pretreat.chemistry.species import Array
from pretreat.core.basis import cites
from pretreat.core.units import molar_mass

ROUNDS = 60
SETTLED_SI = 1e-7
MG_PER_MOL = 1e3  # per gram per mol
WIDEST_DISSOLUTION_MOL_KG = 0.02  # 2 g/L of calcite, beyond any closed well water


class CalciteEquilibrium(Struct, frozen=True):
    """What a closed water does until calcite neither forms nor dissolves.

    ``precipitates_mol_kg`` is negative where calcite dissolves; ``ph`` is the pH afterwards.
    """

    precipitates_mol_kg: Array
    ph: Array


def ccpp_mg_l(water: Speciation) -> Array:
    """Return the calcium carbonate that a closed water can precipitate.

    Parameters
    ----------
    water : Speciation
        A speciated water, or many. [-]

    Returns
    -------
    float or array
        CaCO3; positive where it can precipitate, negative where it dissolves; NaN without
        calcium or carbonate. [mg/kg of water]
    """
    found = calcite_equilibrium(water).precipitates_mol_kg
    return found * molar_mass("CaCO3") * MG_PER_MOL


@cites("SM2330", "closed system: Ca - x, CT - x, Alk - 2x at calcite saturation")
def calcite_equilibrium(water: Speciation) -> CalciteEquilibrium:
    """Bring a closed water to calcite equilibrium.

    Parameters
    ----------
    water : Speciation
        A speciated water, or many. [-]

    Returns
    -------
    CalciteEquilibrium
        Calcite formed and the pH afterwards; NaN without calcium or carbonate, or where more
        than 2 g/kg would have to dissolve. [mol/kg and -]
    """
    si = np.atleast_1d(np.asarray(water.si("calcite"), float))
    shape = np.shape(water.ph)
    usable = np.isfinite(si)
    ca = np.atleast_1d(np.nan_to_num(water.totals_mol_kg.get("Ca", np.zeros(shape))))
    ct = np.atleast_1d(np.nan_to_num(water.inorganic_carbon_mol_kg))
    high = np.where(usable, np.minimum(ca, ct) * (1 - 1e-9), 0.0)
    low = np.where(usable, -WIDEST_DISSOLUTION_MOL_KG, 0.0)
    low, high = np.where(si > 0, 0.0, low), np.where(si > 0, high, 0.0)
    ends = Ends(low, high, np.where(si > 0, si, 10.0), np.where(si > 0, -10.0, si))
    ph = np.atleast_1d(np.asarray(water.ph, float))
    for turn in range(ROUNDS):
        x = ends.between()
        x = x if turn else _first_guess(si, np.minimum(ca, ct), low, high, x)
        after = _after(water, x, ph)
        ph = np.atleast_1d(after.ph)
        found = after.si("calcite")
        found = np.where(np.isfinite(found), found, np.where(x > 0, -10.0, 10.0))
        ends = ends.drawn(x, found)
        if np.all((np.abs(found) < SETTLED_SI) | ~usable):
            break
    closed = usable & (np.abs(found) < 100.0 * SETTLED_SI)
    formed, ph = np.where(closed, x, np.nan), np.where(closed, ph, np.nan)
    return CalciteEquilibrium(formed.reshape(shape), ph.reshape(shape))


def _first_guess(si: Array, least: Array, low: Array, high: Array, otherwise: Array) -> Array:
    """Calcium and carbonate share the way to saturation, buffered by bicarbonate."""
    first = 0.5 * least * (1.0 - 10.0 ** (-si / 2.0))
    return np.where((first > low) & (first < high), first, otherwise)


def _after(water: Speciation, removed: Any, ph_guess: Any) -> Speciation:
    """Return a closed water after removing CaCO3 [mol/kg] from a closed water."""
    totals = {k: np.atleast_1d(v) for k, v in water.totals_mol_kg.items() if k != "CO3"}
    totals["Ca"] = totals["Ca"] - removed
    return speciate(
        totals,
        temp_c=np.atleast_1d(water.temp_c),
        alkalinity_eq_kg=np.atleast_1d(water.alkalinity_eq_kg) - 2.0 * removed,
        inorganic_carbon_mol_kg=np.atleast_1d(water.inorganic_carbon_mol_kg) - removed,
        ph_guess=ph_guess,
    )
