"""Phosphate that was not measured: how much of it would make calcium phosphate the limit."""

import math
from functools import lru_cache

import numpy as np

from pretreat.chemistry.speciation import molal_totals, speciate
from pretreat.core.tables import rows
from pretreat.membrane.bands import Limits
from pretreat.membrane.concentrate import NO_PASSAGE, Passage, concentrate
from pretreat.membrane.feed import FeedWater

TRACE_MG_L = 1e-4  # so little that it changes nothing else
PER_PHOSPHATE = 2.0  # two phosphates in the ion product


@lru_cache(maxsize=1)
def most_phosphate_mg_l() -> float:
    """Return the phosphate that well waters stay below.

    Returns
    -------
    float
        Phosphate. [mg/L as PO4]
    """
    table = {row["key"]: float(row["value"]) for row in rows("indicative_limits.csv")}
    return table["phosphate_mg_l"]


def phosphate_that_limits_mg_l(
    feed: FeedWater,
    recovery: float,
    limits: Limits,
    membrane: tuple[Passage, float, float] = (NO_PASSAGE, 0.0, 1.0),
) -> float:
    """Return the phosphate of the feed at which calcium phosphate meets its limit.

    A trace stands for the phosphate, and the ion product grows with its square. Holds while
    phosphate is small beside alkalinity and calcium.

    Parameters
    ----------
    feed : FeedWater
        A single water, its phosphate not measured. [-]
    recovery : float
        Product / fresh feed. [-]
    limits : Limits
        Limits in force. [-]
    membrane : tuple of mapping and two floats
        Salt passage by analyte key, recycle / (fresh feed + recycle), and concentration
        polarisation, 1 for bulk. [-]

    Returns
    -------
    float
        Phosphate; NaN without calcium. [mg/L as PO4]
    """
    mg_l = {**feed.mg_l, "po4": np.asarray(TRACE_MG_L)}
    water = feed.speciation
    known = bool(np.isfinite(feed.alkalinity_mg_l_caco3))
    found = speciate(
        molal_totals(mg_l, np.nan_to_num(feed.alkalinity_mg_l_caco3)).mol_kg,
        temp_c=feed.temp_c,
        ph=np.nan if known else water.ph,
        alkalinity_eq_kg=water.alkalinity_eq_kg if known else np.nan,
        inorganic_carbon_mol_kg=water.inorganic_carbon_mol_kg,
        ph_guess=water.ph,
    )
    traced = FeedWater(mg_l, feed.alkalinity_mg_l_caco3, feed.temp_c, found)
    brine = concentrate(traced, recovery, *membrane)
    si = float(np.asarray(brine.speciation.si("calcium_phosphate")))
    if math.isnan(si):
        return math.nan
    room = float(limits.si["calcium_phosphate"]) - si
    return float(TRACE_MG_L * 10.0 ** (room / PER_PHOSPHATE))
