"""The water behind the membranes: what each stage on the product side takes and hands on."""

from collections.abc import Mapping

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.core.water import nothing
from pretreat.membrane.elements.product import Water
from pretreat.stages.train import Train


class Delivered(Struct, frozen=True):
    """The water between two stages behind the membranes.

    ``co2`` is the key of the figure that holds its carbon dioxide, None where that is not known;
    ``water`` its composition, None where pH or alkalinity is not known or a train is only tried.
    ``beside`` and ``beside_mg_l`` are the water ahead of the membranes, which a blend takes.
    ``raw_share`` is the share of it so far; ``flow`` and ``day`` are keys of the flow [m3/h] and
    of a day's water [m3/d].
    """

    co2: str | None = None
    water: Water | None = None
    beside: Water | None = None
    beside_mg_l: Mapping[str, float] = field(default_factory=nothing)
    raw_share: float = 0.0
    flow: str = "machine.product_flow_m3_h"
    day: str = "machine.product_m3_d"


def handed_on(
    train: Train, before: Delivered, behind: Water | None, prefix: str, label: str, *moved: str
) -> Delivered:
    """Enter pH and carbon dioxide behind a stage of the product side; return the water there.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    before : Delivered
        The water ahead of the stage. [-]
    behind : Water or None
        The water behind it, None where it is not known. [-]
    prefix, label : str
        Key of the stage, and its name. [-]
    *moved : str
        Keys of what it changes, on which they rest. [-]

    Returns
    -------
    Delivered
        The water behind it; its carbon dioxide is the figure of the stage where one is. [-]
    """
    ledger, key = train.entries.ledger, f"{prefix}.co2_mg_l"
    if behind is not None and before.co2 is not None:
        rests = tuple(k for k in (before.co2, *moved) if k is not None and k in ledger)
        for name, value, unit, text in (
            (f"{prefix}.ph", behind.ph, "-", f"pH of the product behind the {label}"),
            (key, behind.co2_mg_l, "mg/L", f"Carbon dioxide of the product behind the {label}"),
        ):
            number = float(np.squeeze(value))
            if name not in ledger and np.isfinite(number):
                train.entries.computed(
                    name,
                    number,
                    unit,
                    text,
                    inputs=rests,
                    method="speciation with the alkalinity and carbon there",
                    cites=("WATEQ4F", "PB82"),
                )
    known = key if ledger.number(key) is not None else None
    return replace(before, water=behind, co2=known)
