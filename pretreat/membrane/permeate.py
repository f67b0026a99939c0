"""The permeate by mass balance, and its pH from its own alkalinity and inorganic carbon."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pretreat.chemistry.speciation import Speciation, speciate
from pretreat.core.basis import cites
from pretreat.core.tables import analytes
from pretreat.membrane.concentrate import Concentrate, Passage, concentration_factor, passage_of
from pretreat.membrane.feed import FeedWater


@dataclass(frozen=True, slots=True)
class Permeate:
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
    passage : mapping of str to float
        Salt passage by analyte key. [-]
    rho : float
        Recycle / (fresh feed + recycle). [-]

    Returns
    -------
    Permeate
        Composition and speciation; CO2 passes the membrane freely. [-]
    """

    def share(key: str) -> Any:
        own = passage_of(passage, key)
        mixed = (1.0 - rho) + rho * concentration_factor(brine.recovery, own, rho)
        return own * mixed

    mg_l = {k: v * share(k) for k, v in feed.mg_l.items()}
    by_component = {analytes()[k].component: share(k) for k in feed.mg_l}
    totals = {
        n: v * by_component[n]
        for n, v in feed.speciation.totals_mol_kg.items()
        if n in by_component and n != "CO3"
    }
    co2, carbon = brine.array_feed_co2_mol_kg, brine.array_feed_carbon_mol_kg
    found = speciate(
        totals,
        temp_c=feed.temp_c,
        alkalinity_eq_kg=feed.speciation.alkalinity_eq_kg * share("hco3"),
        inorganic_carbon_mol_kg=passage_of(passage, "hco3") * (carbon - co2) + co2,
    )
    return Permeate(mg_l, feed.alkalinity_mg_l_caco3 * share("hco3"), found)
