"""The share that may pass beside a softener: the largest that the recovery bears, and a margin."""

import numpy as np

from pretreat.core.equivalents import (
    HARDNESS_IONS,
    caco3_per_mg,
    equivalent_hardness_mg_l_caco3,
)
from pretreat.membrane.concentrate import Concentrate, concentrate
from pretreat.membrane.feed import exchanged, mapped_feed
from pretreat.membrane.limits import limits_from
from pretreat.membrane.recovery import Limits, excesses
from pretreat.stages.carbonate import water_here
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train

LEAK_MG_L_CACO3 = 5.0  # PRACTICE: of a softener, ahead of its own figures
SHARES = 41  # of raw water beside the softener, looked at
SHARE_KEPT = 0.7  # PRACTICE: of the largest share, so that a margin is left
CAUTIOUS, USUAL = "the cautious limits", "the usual limits"


def share_that_keeps(train: Train) -> tuple[float, str] | None:
    """Return the share beside a softener for the recovery wanted, and the limits it keeps.

    The cautious limits where any share keeps them, else the usual ones.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]

    Returns
    -------
    tuple or None
        Share, 0 where even soft water does not reach the recovery, and which limits; None where
        pH or alkalinity is not known.
    """
    raw = train.raw
    feed = water_here(train, Stream(raw.mg_l, raw.alkalinity_mg_l_caco3))
    if feed is None:
        return None
    shares = np.linspace(0.0, 1.0, SHARES)
    wide = mapped_feed(feed, lambda v: np.broadcast_to(v, shares.shape))
    soft = _softened(train)
    ions = {ion: shares * raw.mg_l.get(ion, 0.0) + (1.0 - shares) * v for ion, v in soft.items()}
    blends = exchanged(wide, ions)
    brine = concentrate(blends, train.design.machine.recovery, *train.membrane)
    choices = train.design.limits
    for column, words in (("low", CAUTIOUS), ("likely", USUAL)):
        limits = limits_from(choices, choices.inhibitor, column)  # type: ignore[arg-type]
        share = _largest(brine, shares, limits)
        if share > 0:
            return share, words
    return 0.0, USUAL


def _softened(train: Train) -> dict[str, float]:
    """Return the water behind a softener: hardness that leaks, sodium for the rest [mg/L]."""
    mg_l, own = dict(train.raw.mg_l), train.design.softener.leakage_mg_l_caco3
    hardness = equivalent_hardness_mg_l_caco3(mg_l, HARDNESS_IONS)
    leak = min(LEAK_MG_L_CACO3 if own is None else own, hardness)
    for ion in HARDNESS_IONS if hardness > 0 else ():
        if ion in mg_l:
            mg_l[ion] *= leak / hardness
    mg_l["na"] = mg_l.get("na", 0.0) + (hardness - leak) / caco3_per_mg("na")
    return mg_l


def _largest(brine: Concentrate, shares: np.ndarray, limits: Limits) -> float:
    """Return the share that is kept of the largest within the limits."""
    rows = [np.broadcast_to(v, shares.shape) for v in excesses(brine, limits).values()]
    over = np.where(np.isfinite(rows), rows, -np.inf).max(axis=0) > 0
    if over[0]:
        return 0.0
    most = float(shares[np.argmax(over) - 1]) if over.any() else 1.0
    return SHARE_KEPT * most
