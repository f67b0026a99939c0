"""What a train does that nobody has measured: drawn, so that no verdict rests on it unseen.

The share that a weak acid exchange takes at the end of its run, what a degasser strips and what
a softener lets through come from memory or usual practice; each has a spread in
data/uncertainty.csv unless the site file states it.
"""

from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.chemistry.composition import meq_l
from pretreat.chemistry.species import Array
from pretreat.core.results import Ledger
from pretreat.core.units import CACO3_MG_PER_MEQ
from pretreat.membrane.feed import FeedWater
from pretreat.plant.uncertainty.water_draws import DrawnWater
from pretreat.stages.carbonate import CO2_MG_PER_MOL

HARDNESS = ("ca", "mg", "sr", "ba")
MEQ_PER_EQ = 1000.0
TINY = 1e-12
SHARE, STRIPPED, LEAKAGE = "weak_acid_share", "co2_removed", "softener_leakage"
LEAKS = "softener.leakage_ratio"  # there where the leakage is computed and not chosen
STRIPPERS = ("degasser", "aeration")


class Exchange(Struct, frozen=True):
    """A weak acid exchange as sized: what it takes [mg/L as CaCO3] of the water as analysed."""

    share: float
    taken: float

    def takes(self, water: DrawnWater) -> Array:
        """Return what it takes draw by draw: its share of the lesser of the two."""
        share = np.minimum(water.plant.get(SHARE, self.share), 1.0)
        lesser = np.minimum(hardness_mg_l_caco3(water), water.alkalinity_mg_l_caco3)
        first = max(float(lesser[0]), TINY)
        return np.asarray(self.taken * (share / self.share) * (lesser / first))

    def ratio(self, water: DrawnWater) -> Array:
        """Return the part of the hardness that it takes, over that of the water as analysed."""
        part = self.takes(water) / np.maximum(hardness_mg_l_caco3(water), TINY)
        return np.asarray(part / max(float(part[0]), TINY))


class Stripper(Struct, frozen=True):
    """What strips carbon dioxide, as sized: the part of the excess over air [mol/kg]."""

    removed: float
    co2_in: float
    air: float

    def more(self, removed: Any, co2_more: Any) -> Any:
        """Return the carbon that it takes beyond what it takes of the water as analysed."""
        excess = np.maximum(self.co2_in + co2_more - self.air, 0.0)
        return removed * excess - self.removed * max(self.co2_in - self.air, 0.0)


class TrainDraws(Struct, frozen=True):
    """The parts of a train whose working follows the draws; None where there is none."""

    exchange: Exchange | None = None
    stripper: Stripper | None = None

    def changes(
        self, before: FeedWater, water: DrawnWater, added: float, lost: float
    ) -> tuple[Any, Any]:
        """Return alkalinity added [mg/L as CaCO3] and carbon lost [mol/kg], draw by draw.

        ``before`` is the raw water in every season; ``added`` and ``lost`` are those of the
        water as analysed.
        """
        all_added: Any = added
        if self.exchange is not None:
            all_added = added - (self.exchange.takes(water) - self.exchange.taken)
        if self.stripper is None:
            return all_added, lost
        co2 = np.asarray(before.speciation.co2_mol_kg)
        acid = (added - all_added) / CACO3_MG_PER_MEQ / MEQ_PER_EQ  # it turns alkalinity to CO2
        removed = np.minimum(water.plant.get(STRIPPED, self.stripper.removed), 1.0)
        return all_added, lost + self.stripper.more(removed, co2 - co2[..., :1] + acid)


def hardness_mg_l_caco3(water: DrawnWater) -> Array:
    """Return the hardness of every draw.

    Parameters
    ----------
    water : DrawnWater
        A water and its draws. [-]

    Returns
    -------
    array, shape (n + 1,)
        Hardness of calcium, magnesium, strontium and barium. [mg/L as CaCO3]
    """
    found = [meq_l(k, water.mg_l[k]) for k in HARDNESS if k in water.mg_l]
    return np.asarray(sum(found, np.zeros_like(water.ph)) * CACO3_MG_PER_MEQ)


def train_draws(ledger: Ledger) -> TrainDraws:
    """Return the parts of a train whose working follows the draws.

    Parameters
    ----------
    ledger : Ledger
        With the train entered. [-]

    Returns
    -------
    TrainDraws
        Weak acid exchange and what strips ahead of the membranes, where they stand. [-]
    """
    exchange = stripper = None
    share, taken = (ledger.number(f"weak_acid.{k}") for k in ("share", "taken_mg_l_caco3"))
    if share and taken:
        exchange = Exchange(share, taken)
    for prefix in STRIPPERS:
        known = [
            ledger.number(f"{prefix}.{k}")
            for k in ("co2_removed", "co2_in_mg_l", "co2_of_air_mg_l")
        ]
        removed, co2, air = (k or 0.0 for k in known)
        if stripper is None and None not in known:
            stripper = Stripper(removed, co2 / CO2_MG_PER_MOL, air / CO2_MG_PER_MOL)
    return TrainDraws(exchange, stripper)


def uncertain_train(ledger: Ledger) -> dict[str, float]:
    """Return what of the train is drawn, by the keys of data/uncertainty.csv.

    Parameters
    ----------
    ledger : Ledger
        With the train entered. [-]

    Returns
    -------
    dict
        Shares as they are, the leakage as a factor of one; what was chosen is not drawn. [-]
    """
    found = {}
    strippers = (f"{prefix}.co2_removed" for prefix in STRIPPERS)
    for key, names in ((SHARE, ("weak_acid.share",)), (STRIPPED, tuple(strippers))):
        for name in names:
            figure = ledger.figure(name)
            if figure is not None and figure.origin == "assumed" and key not in found:
                found[key] = ledger.number(name) or 0.0
    if ledger.number(LEAKS) is not None:
        found[LEAKAGE] = 1.0
    return found
