"""The contact tank behind an oxidant, sized or compared with what is installed."""

from pretreat.stages.contact_tank.laws import contact_tank_m3
from pretreat.stages.limits import train_limits
from pretreat.stages.train import Train

P = "contact_tank"
BAFFLING = 0.5  # PRACTICE: a baffled tank; an open one 0.1 to 0.3


def enter(train: Train, _behind: tuple[str, ...]) -> None:
    """Enter contact time and volume, and judge the tank that is installed.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    _behind : tuple of str
        Keys of the water that stages behind it regenerate with. [-]
    """
    entries, choice = train.entries, train.design.contact_tank
    limit = train_limits()["detention"]
    own = choice.contact_min
    entries.given(
        f"{P}.contact_min",
        limit.value if own is None else own,
        "min",
        "Contact time behind the oxidant",
        origin="assumed" if own is None else "chosen",
        evidence=limit.evidence,
        cites=(limit.source,) if own is None else (),
        method=limit.where if own is None else "",
    )
    entries.given(
        f"{P}.baffling",
        BAFFLING if choice.baffling is None else choice.baffling,
        "-",
        "Share of the mean time that the fastest water stays",
        origin="assumed" if choice.baffling is None else "chosen",
        method="a baffled tank; an open one 0.1 to 0.3",
    )
    needed = entries.law(
        f"{P}.volume_m3",
        contact_tank_m3,
        flow_m3_h="machine.feed_flow_m3_h",
        contact_min=f"{P}.contact_min",
        baffling=f"{P}.baffling",
        label="Contact tank",
    )
    if choice.volume_m3 is None:
        return
    there = entries.given(
        f"{P}.installed_m3",
        choice.volume_m3,
        "m3",
        "Contact tank installed",
        origin="chosen",
        cites=(),
    )
    if there < needed:
        entries.flag(
            "contact_tank_small",
            "caution",
            f"the contact tank of {there:.3g} m3 is smaller than the {needed:.3g} m3 that "
            f"{entries.value(f'{P}.contact_min'):.3g} min take: enlarge or baffle it",
            f"{P}.installed_m3",
        )
