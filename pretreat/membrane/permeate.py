"""The permeate by mass balance, and its pH from its own alkalinity and inorganic carbon."""

from collections.abc import Mapping
from typing import Any

from msgspec import Struct

from pretreat.chemistry.speciation import Speciation, speciate
from pretreat.core.basis import cites
from pretreat.membrane.balance import (
    ALKALINITY,
    Passage,
    array_factor,
    by_component,
    carbon_passage,
    neutral_passage,
)
from pretreat.membrane.checks import checked_machine
from pretreat.membrane.concentrate import Concentrate
from pretreat.membrane.feed import FeedWater


class Permeate(Struct, frozen=True):
    """The product of the machine; arrays of the shape of the recovery."""

    mg_l: Mapping[str, Any]
    alkalinity_mg_l_caco3: Any
    speciation: Speciation


@cites("D4582", "mass balance of the membrane")
def permeate(feed: FeedWater, brine: Concentrate, passage: Passage, rho: float = 0.0) -> Permeate:
    """Return the permeate that belongs to a concentrate.

    Parameters
    ----------
    feed : FeedWater
        The fresh feed. [-]
    brine : Concentrate
        Its concentrate, in bulk. [-]
    passage : mapping of str to float or array
        Salt passage by analyte key, as given to the concentrate. [-]
    rho : float
        Recycle / (fresh feed + recycle). [-]

    Returns
    -------
    Permeate
        Composition and speciation, electroneutral as far as the passage differs between
        ions; CO2 passes the membrane freely. [-]
    """
    checked_machine(brine.recovery, passage, rho)
    own = neutral_passage(feed, brine.recovery, passage, rho)
    share = {k: v * array_factor(brine.recovery, v, rho) for k, v in own.items()}
    mg_l = {k: v * share[k] for k, v in feed.mg_l.items()}
    totals = by_component(feed, share)
    co2, carbon = brine.array_feed_co2_mol_kg, brine.array_feed_carbon_mol_kg
    found = speciate(
        totals,
        temp_c=feed.temp_c,
        alkalinity_eq_kg=feed.speciation.alkalinity_eq_kg * share[ALKALINITY],
        inorganic_carbon_mol_kg=carbon_passage(own) * (carbon - co2) + co2,
    )
    return Permeate(mg_l, feed.alkalinity_mg_l_caco3 * share[ALKALINITY], found)
