"""Ferric hydroxide: how far over saturation the iron is once air or an oxidant has reached it.

The main model holds iron as ferrous, which is how a well delivers it. Here all of it is taken
as ferric at the same pH, and shared over its hydroxide, sulfate, fluoride and chloride complexes;
phosphate complexes are left out, and count only below pH 5.
"""

from functools import lru_cache
from typing import Any

import numpy as np

from pretreat.chemistry.activity import davies_pf, debye_huckel
from pretreat.chemistry.speciation import Speciation
from pretreat.chemistry.species import (
    LN10,
    Array,
    activity_rule,
    charge_number,
    log_k_basis,
    log_k_coefficients,
    reaction_terms,
)
from pretreat.core.basis import cites
from pretreat.core.tables import Row, rows
from pretreat.core.units import ZERO_C_IN_K

LIGANDS = {"SO4-2": "SO4", "F-": "F", "Cl-": "Cl"}  # species of the table, component of the model


@cites("WATEQ4F", "PHASES, Fe(OH)3(a): Fe(OH)3 + 3 H+ = Fe+3 + 3 H2O, log K 4.891 at 25 °C")
def si_ferric_hydroxide(water: Speciation) -> Array:
    """Return the saturation index of amorphous ferric hydroxide, all iron taken as oxidised.

    Parameters
    ----------
    water : Speciation
        One water or many, with dissolved iron among its totals. [-]

    Returns
    -------
    array
        log10(IAP/K); NaN without iron. The constant holds at 25 °C only. [-]
    """
    iron = np.asarray(water.totals_mol_kg.get("Fe", np.nan), float)
    log_h = np.asarray(water.ln_activity["H"]) / LN10
    log_w = np.log10(water.water_activity)
    per_free = sum(_per_free_ion(row, water, log_h, log_w) for row in rows("ferric.csv"))
    with np.errstate(divide="ignore", invalid="ignore"):
        free = np.log10(np.where(iron > 0, iron, np.nan) / per_free)
    return np.asarray(free - 3.0 * log_h + 3.0 * log_w - 4.891)


def _per_free_ion(row: Row, water: Speciation, log_h: Array, log_w: Array) -> Array:
    """Return the molality of a ferric species per unit activity of the free ion."""
    left, right, coefficients = _reaction(row["species"])
    log_k = np.tensordot(coefficients, log_k_basis(np.asarray(water.temp_c) + ZERO_C_IN_K), axes=1)
    total = log_k - log_gamma(row, water)
    for count, name in left[1:]:
        total = total + count * _log_activity(name, water, log_h, log_w)
    for count, name in right[1:]:
        total = total - count * _log_activity(name, water, log_h, log_w)
    return np.asarray(10.0**total)


@lru_cache(maxsize=32)
def _reaction(species: str) -> tuple[Any, Any, Array]:
    row = next(r for r in rows("ferric.csv") if r["species"] == species)
    left, right = row["reaction"].split(" = ")
    return reaction_terms(left), reaction_terms(right), log_k_coefficients(row)


def _log_activity(name: str, water: Speciation, log_h: Array, log_w: Array) -> Array:
    if name == "H2O":
        return log_w
    if name == "H+":
        return log_h
    found = water.ln_activity.get(LIGANDS[name])
    if found is None:
        return np.asarray(-np.inf)
    return np.where(np.isnan(found), -np.inf, np.asarray(found) / LN10)


@cites("TJ74", "extended Debye-Hückel equation with b term")
def log_gamma(row: Row, water: Speciation) -> Array:
    """Return log10 of the activity coefficient of a species of a table.

    Parameters
    ----------
    row : mapping of str to str
        Row with species, gamma_a and gamma_b. [-]
    water : Speciation
        Temperature and ionic strength. [-]

    Returns
    -------
    array
        log10 gamma. [-]
    """
    charge = charge_number(row["species"])
    size, slope = activity_rule(row, charge)
    strength = np.asarray(water.ionic_strength_mol_kg)
    root = np.sqrt(strength)
    a, b = debye_huckel(water.temp_c)
    if charge == 0:
        return np.asarray(slope * strength)
    if size == 0:
        return np.asarray(-(charge**2) * davies_pf(strength, a))
    return np.asarray(-a * charge**2 * root / (1.0 + b * size * root) + slope * strength)
