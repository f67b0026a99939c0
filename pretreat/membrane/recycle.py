"""Inorganic carbon of an array that recycles concentrate: CO2 passes, the rest is held back."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.chemistry.speciation import speciate
from pretreat.chemistry.species import Array
from pretreat.membrane.balance import (
    ALKALINITY,
    array_factor,
    by_component,
    carbon_passage,
    concentration_factor,
)
from pretreat.membrane.feed import FeedWater

SHIFTS = (0.0, 0.5, 2.0, -1.0)  # pH from the fresh feed's, where the search starts again


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
    ``c`` the CO2 of the array feed. So ``(m - c) (1 - rho F) + c (1 - rho) = f (1 - rho)``: the
    array feed is speciated from its alkalinity and a carbon in which CO2 counts more than once.

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
    there = (fresh > 0) & np.isfinite(alkalinity)
    held = 1.0 - rho * factor  # of the array feed's carbon, what does not come back as itself
    totals = by_component(feed, mixing)
    c, settled = np.where(there, np.nan, 0.0), ~there
    for shift in SHIFTS:
        mixed = speciate(
            totals,
            temp_c=feed.temp_c,
            alkalinity_eq_kg=np.where(settled, np.nan, alkalinity),
            inorganic_carbon_mol_kg=np.where(settled, np.nan, fresh * (1.0 - rho) / held),
            co2_counts=(1.0 - rho) / held,
            ph_guess=ph + shift,
        )
        c = np.where(mixed.converged, mixed.co2_mol_kg, c)
        settled = settled | mixed.converged
        if settled.all():
            break
    # From CO2 alone, so that carbon closes over the machine to the last digit.
    m = (fresh * (1.0 - rho) - c * rho * (factor - 1.0)) / held
    m = np.where(there, m, 0.0)
    return ArrayCarbon(m, c, (m - c) * factor + c, settled)
