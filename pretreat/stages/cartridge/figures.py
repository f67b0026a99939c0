"""The cartridges ahead of the membranes."""

from pretreat.stages.cartridge.laws import (
    CARTRIDGE_FLOW_M3_H,
    CARTRIDGE_LIFE_MONTHS,
    cartridges_needed,
)
from pretreat.stages.train import Train

P = "cartridge"


def enter(train: Train, _behind: tuple[str, ...]) -> None:
    """Enter the number of cartridges ahead of the membranes and how often they are changed.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    _behind : tuple of str
        Keys of the water that stages behind it regenerate with. [-]
    """
    entries = train.entries
    entries.given(
        f"{P}.flow_each_m3_h",
        CARTRIDGE_FLOW_M3_H,
        "m3/h",
        "Flow of a 10 in cartridge, 5 µm",
        method="3 to 5 gpm, the low end",
    )
    entries.law(
        f"{P}.number",
        cartridges_needed,
        flow_m3_h="machine.feed_flow_m3_h",
        flow_each_m3_h=f"{P}.flow_each_m3_h",
        label="Cartridges of 10 in",
        method="flow over flow of one, rounded up",
    )
    entries.given(
        f"{P}.change_every_months",
        CARTRIDGE_LIFE_MONTHS,
        "month",
        "Cartridges changed after, at the latest",
        method="or at +0.7 to 1.0 bar",
    )
