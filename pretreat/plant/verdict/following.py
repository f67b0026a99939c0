"""The train as it treats each draw of a water: what it takes, and what a softener lets through."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from msgspec.structs import replace

from pretreat.chemistry.composition import meq_l
from pretreat.chemistry.species import Array
from pretreat.core.results import Ledger
from pretreat.plant.uncertainty.water_draws import DrawnWater
from pretreat.plant.verdict.train_draws import HARDNESS, LEAKAGE, Exchange, hardness_mg_l_caco3
from pretreat.stages.softener.resin import equilibrium_leakage_mg_l_caco3, equilibrium_ratio

CATIONS = (*HARDNESS, "na", "k", "nh4")
KNOWN = ("resin_hardness_left", "selectivity", "total_capacity_eq_l", "leakage_share")
MEQ_PER_EQ = 1000.0
Leakage = Callable[[DrawnWater], Array]


def leakage_of(ledger: Ledger) -> Leakage | None:
    """Return the hardness that leaks from the softener as a function of the drawn water.

    Parameters
    ----------
    ledger : Ledger
        With the train entered. [-]

    Returns
    -------
    callable or None
        Share of the hardness that leaks, draw by draw; None where no softener stands or its
        leakage was chosen. [-]
    """
    known = [ledger.number(f"softener.{name}") for name in KNOWN]
    if any(one is None for one in known):
        return None
    left, selectivity, capacity, share = (one or 0.0 for one in known)

    def leaks(water: DrawnWater) -> Array:
        cations = _sum(water, CATIONS) / MEQ_PER_EQ
        hardness = hardness_mg_l_caco3(water)
        positive = np.maximum(hardness, np.finfo(float).tiny)
        ratio = equilibrium_ratio(left, np.maximum(cations, 1e-12), selectivity, capacity)
        leak = equilibrium_leakage_mg_l_caco3(share, ratio, cations, hardness)
        return np.asarray(leak * water.plant.get(LEAKAGE, 1.0) / positive)

    return leaks


def _sum(water: DrawnWater, keys: tuple[str, ...]) -> Any:
    found = [meq_l(k, water.mg_l[k]) for k in keys if k in water.mg_l]
    total: Any = sum(found, np.zeros_like(water.ph))
    return total


def following(
    raw: Mapping[str, float],
    left: Mapping[str, float],
    leaks: Leakage | None = None,
    exchange: Exchange | None = None,
) -> Callable[[DrawnWater], DrawnWater]:
    """Return the train as it treats each draw: the shares taken as of the water as analysed.

    What an exchanger takes in equivalents comes back as sodium; a hardness ion that was not
    measured is taken like those that were; leakage of a softener is solved draw by draw.

    Parameters
    ----------
    raw, left : mapping of str to float
        The water ahead of the train and behind it. [mg/L]
    leaks : callable, optional
        From `leakage_of`. [-]
    exchange : Exchange, optional
        A weak acid exchange, which takes more or less draw by draw. [-]

    Returns
    -------
    callable
        From drawn raw water to drawn water at the membranes. [-]
    """
    before, after = (sum(meq_l(k, v[k]) for k in HARDNESS if k in v) for v in (raw, left))
    share = after / before if before > 0.0 else 1.0
    given = {k: left[k] - raw.get(k, 0.0) for k in left if left[k] > raw.get(k, 0.0)}
    taken_meq = before - after

    def treat(water: DrawnWater) -> DrawnWater:
        mg_l, released = {}, np.zeros_like(water.ph)
        more = np.ones_like(water.ph)
        takes = exchange.ratio(water) if exchange is not None and leaks is None else None
        if leaks is not None and taken_meq > 0.0:
            found = leaks(water)
            more = np.where(found[0] > 0.0, found / max(float(found[0]), 1e-12), 1.0)
        for key, drawn in water.mg_l.items():
            amount = raw.get(key, 0.0)
            kept = share if key in HARDNESS else 1.0
            if amount > 0.0 and key in left and left[key] <= amount:
                kept = left[key] / amount
            kept_now = np.minimum(kept * more, 1.0) if key in HARDNESS else kept
            if key in HARDNESS and takes is not None:
                kept_now = np.clip(1.0 - (1.0 - kept_now) * takes, 0.0, 1.0)
            mg_l[key] = drawn * kept_now
            if key in HARDNESS:
                released = released + meq_l(key, drawn - mg_l[key])
        for key, extra in given.items():
            scale = released / taken_meq if key == "na" and taken_meq > 0.0 else 1.0
            mg_l[key] = mg_l.get(key, np.zeros_like(water.ph)) + extra * scale
        return replace(water, mg_l=mg_l)

    return treat
