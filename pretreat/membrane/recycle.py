"""Inorganic carbon of an array that recycles concentrate: CO2 passes, the rest is held back."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.chemistry.speciation import speciate
from pretreat.chemistry.species import LN10, Array
from pretreat.membrane.balance import (
    ALKALINITY,
    array_factor,
    by_component,
    carbon_passage,
    concentration_factor,
)
from pretreat.membrane.feed import FeedWater

ROUNDS = 40
CLOSED = 1e-11  # of the carbon balance, relative: where the search stops
SETTLED = 1e-7  # of the carbon balance, relative: what is accepted
WIDEST_STEP = 0.7  # pH
WIDEST_BRACKET = 8.0  # pH, from the fresh feed's, down and up


class ArrayCarbon(Struct, frozen=True):
    """Inorganic carbon and CO2 of the array feed, and the concentrate's carbon. [mol/kg].

    Where ``settled`` is False all three are NaN.
    """

    array_feed: Array
    co2: Array
    concentrate: Array
    settled: Any


def array_carbon(
    feed: FeedWater, recovery: Any, passage: Mapping[str, Any], rho: float
) -> ArrayCarbon:
    """Return the inorganic carbon of an array that sees its own concentrate again.

    The concentrate holds ``b = (m - c) F + c``, the array feed ``m = (1 - rho) f + rho b``, with
    ``f`` of the fresh feed, ``F`` the concentration factor of bicarbonate over the array and
    ``c`` the CO2 of the array feed. At the alkalinity of the array feed both ``m`` and ``c`` fall
    as its pH rises, so the balance ``m (1 - rho F) + c rho (F - 1) = f (1 - rho)`` has one root in
    pH; it is bracketed and closed by a guarded secant.

    Parameters
    ----------
    feed : FeedWater
        The fresh feed. [-]
    recovery : float or array
        Product / fresh feed. [-]
    passage : mapping of str to float or array
        Salt passage of every ion of the feed, and of bicarbonate. [-]
    rho : float
        Recycle / (fresh feed + recycle), above 0 and below 1. [-]

    Returns
    -------
    ArrayCarbon
        NaN where the balance did not settle; a water without carbonate has none. [mol/kg]
    """
    found = feed.speciation
    own = passage[ALKALINITY]
    factor = concentration_factor(recovery * (1.0 - rho), carbon_passage(passage))
    fresh, ph, alkalinity, factor = np.broadcast_arrays(
        found.inorganic_carbon_mol_kg,
        found.ph,
        found.alkalinity_eq_kg * array_factor(recovery, own, rho),
        factor,
    )
    mixing = {key: array_factor(recovery, share, rho) for key, share in passage.items()}
    totals = by_component(feed, mixing)
    todo = (fresh > 0) & np.isfinite(alkalinity)

    known = np.where(todo, alkalinity, np.nan)

    def at(guess: Array) -> tuple[Array, Array]:
        """Return how far the balance is from closing (logarithm), and CO2."""
        mixed = speciate(totals, temp_c=feed.temp_c, ph=guess, alkalinity_eq_kg=known)
        left = mixed.inorganic_carbon_mol_kg * (1.0 - rho * factor)
        left = left + mixed.co2_mol_kg * rho * (factor - 1.0)
        wanted = np.where(todo, fresh * (1.0 - rho), 1.0)
        sound = np.isfinite(left) & (left > 0)
        return np.log(np.where(sound, left, np.nan) / wanted), mixed.co2_mol_kg

    miss, co2 = _close(at, np.array(ph, float), todo)
    settled = ~todo | (np.abs(miss) < SETTLED)
    none = np.where(todo, np.nan, 0.0)
    c = np.where(todo & settled, co2, none)
    # From CO2 alone, so that carbon closes over the machine to the last digit.
    m = (fresh * (1.0 - rho) - c * rho * (factor - 1.0)) / (1.0 - rho * factor)
    m = np.where(todo & settled, m, none)
    return ArrayCarbon(m, c, (m - c) * factor + c, settled)


def _close(at: Any, start: Array, todo: Any) -> tuple[Array, Array]:
    """Find the pH of each water where the balance closes; return the miss and CO2 there.

    A pH at which the water cannot exist (more hydroxide than alkalinity) is too high a pH.
    """
    x = np.where(np.isfinite(start), start, 7.0)
    low, high = x - WIDEST_BRACKET, x + WIDEST_BRACKET
    slope = np.full(x.shape, -0.5 * LN10)
    before_x, before = x, np.full(x.shape, np.nan)
    best, best_co2 = np.full(x.shape, np.nan), np.full(x.shape, np.nan)
    for _ in range(ROUNDS):
        value, co2 = at(x)
        better = np.isfinite(value) & ~(np.abs(value) >= np.abs(best))
        best, best_co2 = np.where(better, value, best), np.where(better, co2, best_co2)
        if np.all((np.abs(best) < CLOSED) | ~todo):
            break
        too_low = value > 0
        low, high = np.where(too_low, x, low), np.where(too_low, high, x)
        run = x - before_x
        with np.errstate(invalid="ignore", divide="ignore"):
            rise = (value - before) / run
        slope = np.where(np.isfinite(rise) & (rise < 0), rise, slope)
        step = np.clip(-value / slope, -WIDEST_STEP, WIDEST_STEP)
        following = x + step
        inside = np.isfinite(following) & (following > low) & (following < high)
        following = np.where(inside, following, 0.5 * (low + high))
        # In a half-open bracket go a step down from a pH that cannot exist, not half the way.
        following = np.where(np.isnan(value), np.maximum(following, x - WIDEST_STEP), following)
        before_x, before = x, value
        x = following
    return best, best_co2
