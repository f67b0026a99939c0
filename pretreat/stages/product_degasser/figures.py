"""The degasser of the product: carbon dioxide and hydrogen sulfide that passed the membranes."""

import numpy as np

from pretreat.membrane.elements.product import Water
from pretreat.membrane.elements.remineralisation import degassed
from pretreat.stages.delivered import Delivered, handed_on
from pretreat.stages.product_gas import gas_of_feed, held_as_ion, ph_of_feed
from pretreat.stages.stripped import strip_gas
from pretreat.stages.train import Train

P, NAME = "product_degasser", "degasser of the product"


def deliver(train: Train, before: Delivered) -> Delivered:
    """Enter what it strips of the water that reaches it; return the water behind.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    before : Delivered
        The water ahead of it. [-]

    Returns
    -------
    Delivered
        The water behind it. [-]
    """
    entries, co2 = train.entries, before.co2
    if co2 is None:
        entries.flag(
            "gas_not_judged",
            "caution",
            "degasser of the product: pH or alkalinity is not known, so what it strips is not",
        )
        return before
    strip_gas(train, P, NAME, co2)
    sulfide = train.raw.h2s_mg_l
    below = train.raw.h2s_below_mg_l
    if below is not None:
        entries.flag(
            "sulfide_in_product",
            "info",
            f"hydrogen sulfide was not detected (below {below:g} mg/L): at most so much passes the "
            "membranes as a gas, and the degasser strips most of it; smell the product",
            f"{P}.co2_removed",
        )
    elif held_as_ion(train) and not train.has("iron_filter"):
        entries.flag(
            "sulfide_in_product",
            "info",
            f"hydrogen sulfide of {sulfide:.2g} mg/L is an ion at pH {ph_of_feed(train):.1f}, "
            f"which the membranes hold back like any other: {gas_of_feed(train):.2g} mg/L of it is "
            "a gas and passes; for it no degasser is needed",
            f"{P}.co2_removed",
        )
    elif sulfide > 0 and not train.has("iron_filter"):
        gas, ph = gas_of_feed(train), ph_of_feed(train)
        share = "" if ph is None else f" ({gas / sulfide:.0%} of {sulfide:.2g} mg/L, pH {ph:.1f})"
        entries.flag(
            "sulfide_in_product",
            "warning",
            f"hydrogen sulfide of {gas:.2g} mg/L{share.replace('%', ' %')} passes the membranes as "
            "a gas: strip it from the product, outdoors, and polish behind it (carbon or a little "
            "chlorine); it is a deadly gas, and smell is no warning",
            f"{P}.co2_removed",
        )
    left = f"{P}.co2_mg_l"
    behind = None if before.water is None else stripped(before.water, entries.value(left))
    return handed_on(train, before, behind, P, NAME, left)


def stripped(water: Water, left_mg_l: float) -> Water:
    """Return a water with so much carbon dioxide left once its bicarbonate has followed.

    Parameters
    ----------
    water : Water
        A single water. [-]
    left_mg_l : float
        Carbon dioxide left. [mg/L]

    Returns
    -------
    Water
        With its own pH; alkalinity stays. [-]
    """
    first = degassed(water, left_mg_l)
    moved = float(np.squeeze(first.co2_mg_l)) - left_mg_l
    if not moved > 0.0:
        return first
    return degassed(water, max(left_mg_l - moved, 0.0))
