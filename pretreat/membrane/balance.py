"""Salt over the membrane: concentration factors, and the passage that leaves the product neutral.

Arrays broadcast: waters on the leading axes, recoveries on the last. With recovery ``Y`` =
product / fresh feed and ``rho`` = recycle / (fresh feed + recycle), the array sees the feed
mixed with recycled concentrate; without recycle everything reduces to the familiar form.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np

from pretreat.chemistry.composition import CARBONATES, CHARGE_BESIDE_ALKALINITY
from pretreat.core.basis import cites
from pretreat.core.tables import analytes
from pretreat.core.units import CACO3_MG_PER_MEQ, molar_mass
from pretreat.membrane.feed import FeedWater

Passage = Mapping[str, Any]
NO_PASSAGE: Passage = {}
ALKALINITY = "hco3"  # the key whose passage the alkalinity has
ROUNDS = 60
NEUTRAL = 1e-12  # logarithm of cations / anions of the product
WIDEST = 3.0  # |ln s|: beyond a factor of 20 the analysis lacks a main ion


@cites("D4582", "eq. 7.1 and 7.2; with recycle by mass balance")
def concentration_factor(recovery: Any, passage: Any = 0.0, rho: float = 0.0) -> Any:
    """Return concentrate / fresh feed of an ion.

    Parameters
    ----------
    recovery : float or array
        Product / fresh feed, 0 to below 1. [-]
    passage : float or array
        Permeate / array feed concentration of the ion. [-]
    rho : float
        Recycle / (fresh feed + recycle). [-]

    Returns
    -------
    float or array
        Concentration factor. [-]
    """
    passed = recovery * passage
    return (1.0 - passed * (1.0 - rho)) / (1.0 - recovery + passed * rho)


def array_factor(recovery: Any, passage: Any = 0.0, rho: float = 0.0) -> Any:
    """Return array feed / fresh feed of an ion: fresh feed mixed with recycled concentrate.

    Parameters
    ----------
    recovery, passage, rho : float or array
        As of `concentration_factor`. [-]

    Returns
    -------
    float or array
        1 without recycle. [-]
    """
    return (1.0 - rho) + rho * concentration_factor(recovery, passage, rho)


def passage_of(passage: Passage, key: str) -> Any:
    """Return the salt passage of an ion, or the default of the table.

    Parameters
    ----------
    passage : mapping of str to float or array
        Salt passage by analyte key, with "default" for the rest. [-]
    key : str
        Key of data/analytes.csv. [-]

    Returns
    -------
    float or array
        Salt passage, 0 where nothing is given. [-]
    """
    return passage.get(key, passage.get("default", 0.0))


@cites("PRACTICE", "cations times s, anions over s, s from the charge of the product")
def neutral_passage(
    feed: FeedWater, recovery: Any, passage: Passage, rho: float = 0.0
) -> dict[str, Any]:
    """Return the salt passage of every ion of a feed at which the product is neutral.

    Passages by class of ion leave more of one charge in the product than of the other, which
    no water can hold. Cations are multiplied by ``s``, anions and alkalinity divided by it,
    what has no charge is left alone; ``s`` follows from the product, recycle included. One
    passage for all ions is left as it is: its product is as neutral as the analysis. A product
    without cations or without anions, and a water of unknown alkalinity, have no ``s``.

    Parameters
    ----------
    feed : FeedWater
        The fresh feed. [-]
    recovery : float or array
        Product / fresh feed. [-]
    passage : mapping of str to float
        Salt passage by analyte key, as given. [-]
    rho : float
        Recycle / (fresh feed + recycle). [-]

    Returns
    -------
    dict of str to float or array
        Salt passage by analyte key, bicarbonate included. [-]
    """
    given = {k: np.asarray(passage_of(passage, k), float) for k in (*feed.mg_l, ALKALINITY)}
    if all(np.ndim(v) == 0 and v == given[ALKALINITY] for v in given.values()):
        return given
    cations, anions = _equivalents(feed)
    ln_s = np.zeros(np.broadcast_shapes(np.shape(recovery), *map(np.shape, feed.mg_l.values())))
    for _ in range(ROUNDS):
        more, less = (
            _product_eq(cations, given, recovery, rho, ln_s),
            _product_eq(anions, given, recovery, rho, -ln_s),
        )
        sound = (more > 0) & (less > 0)
        ratio = np.where(sound, less, 1.0) / np.where(sound, more, 1.0)
        step = 0.5 * np.log(ratio)
        ln_s = np.clip(ln_s + step, -WIDEST, WIDEST)
        if np.all(np.abs(step) < NEUTRAL):
            break
    return {k: _scaled(v, _sign(k) * ln_s) for k, v in given.items()}


def by_component(feed: FeedWater, factors: Mapping[str, Any]) -> dict[str, Any]:
    """Return the totals of a feed times a factor per ion, carbonate left out.

    Parameters
    ----------
    feed : FeedWater
        The feed. [-]
    factors : mapping of str to float or array
        Factor by analyte key; an ion without one is left out. [-]

    Returns
    -------
    dict of str to float or array
        Totals by component. [mol/kg of water]
    """
    own = {analytes()[key].component: factor for key, factor in factors.items()}
    totals = feed.speciation.totals_mol_kg
    return {n: v * own[n] for n, v in totals.items() if n in own and n != "CO3"}


def _sign(key: str) -> int:
    charge = -1 if key == ALKALINITY else analytes()[key].charge
    return int(np.sign(charge))


def _scaled(passage: Any, ln_factor: Any) -> Any:
    """No ion passes better than water: 1 is the most, unless more was given."""
    return np.minimum(passage * np.exp(ln_factor), np.maximum(passage, 1.0))


def _equivalents(feed: FeedWater) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return cations and anions of a feed by key, the alkalinity as bicarbonate. [meq/L]."""
    cations: dict[str, Any] = {}
    anions: dict[str, Any] = {
        ALKALINITY: np.asarray(feed.alkalinity_mg_l_caco3, float) / CACO3_MG_PER_MEQ
    }
    for key, amount in feed.mg_l.items():
        ion = analytes()[key]
        charge = CHARGE_BESIDE_ALKALINITY.get(key, ion.charge)
        if key not in CARBONATES and charge:
            group = cations if charge > 0 else anions
            group[key] = np.asarray(amount, float) * abs(charge) / molar_mass(ion.formula)
    return cations, anions


def _product_eq(
    group: Mapping[str, Any], passage: Passage, recovery: Any, rho: float, ln_factor: Any
) -> Any:
    total: Any = 0.0
    for key, amount in group.items():
        own = _scaled(passage[key], ln_factor)
        total = total + amount * own * array_factor(recovery, own, rho)
    return total
