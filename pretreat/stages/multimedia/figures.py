"""The multimedia filter's section."""

from msgspec.structs import replace

from pretreat.stages.bed.figures import (
    enter_backwash,
    enter_medium_of_all,
    enter_round,
    enter_velocity,
    enter_vessel,
)
from pretreat.stages.bed.media import media
from pretreat.stages.bed.options import choose_bed
from pretreat.stages.bed.pressure_drop import enter_pressure_drop
from pretreat.stages.bed.supply_fit import choose_within_supply, washing_of
from pretreat.stages.bed.vessels import ANY_NUMBER
from pretreat.stages.filters import backwash_waste_m3, backwashes_per_week, medium_of_depth_l
from pretreat.stages.multimedia.laws import (
    BACKWASH_EVERY_D,
    BACKWASH_MIN,
    RINSE_MIN,
    try_multimedia_vessel,
)
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train

P = "multimedia"
METALS = ("fe", "mn")
LABEL = "Multimedia filter"


def treat(train: Train, stream: Stream) -> Stream:
    """Return the water behind the bed: what is dissolved goes on to the resin.

    How well a bed holds the rest is for a test to say, so what is undissolved stays in the
    stream for the check of the membrane feed.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water ahead. [-]

    Returns
    -------
    Stream
        The water behind it. [-]
    """
    rust = [ion for ion in METALS if stream.solid_mg_l.get(ion) and ion not in stream.holds]
    held = {ion: train.entries.dissolved(train.raw, ion) for ion in rust}
    return replace(stream, holds={**stream.holds, **held})


def enter(train: Train, _behind: tuple[str, ...]) -> None:
    """Enter the multimedia filter.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    _behind : tuple of str
        Keys of the water that stages behind it regenerate with. [-]
    """
    entries, medium = train.entries, media()["multimedia"]
    flow = entries.value("machine.feed_flow_m3_h")
    options = choose_within_supply(
        train,
        lambda vessel, number: try_multimedia_vessel(flow, vessel, number),
        ANY_NUMBER,
        washing_of(train, medium),
    )
    bed = choose_bed(
        train,
        (P, medium, LABEL),
        options,
        lambda vessel, number: try_multimedia_vessel(flow, vessel, number),
    )
    enter_vessel(train, bed)
    entries.given(
        f"{P}.depth_m",
        options[0].depth_m,
        "m",
        f"{LABEL}: bed depth",
        evidence="printed",
        cites=("DAVIS2010",),
        method="Table 11-10, middle of the layers",
    )
    entries.law(
        f"{P}.media_volume_l",
        medium_of_depth_l,
        area_m2=f"{P}.area_m2",
        depth_m=f"{P}.depth_m",
        label=f"{LABEL}: medium",
    )
    enter_medium_of_all(train, bed, f"{P}.media_volume_l", f"{P}.media_bought_l")
    enter_velocity(train, bed)
    enter_pressure_drop(train, bed)
    enter_backwash(train, bed)
    entries.medium(P, medium, "backwash_code_high_m_h", f"{LABEL}: published backwash, highest")
    _enter_backwash_water(train)


def _enter_backwash_water(train: Train) -> None:
    entries = train.entries
    entries.given(
        f"{P}.backwash_min",
        BACKWASH_MIN,
        "min",
        f"{LABEL}: backwash",
        evidence="printed",
        cites=("DAVIS2010",),
    )
    entries.given(f"{P}.rinse_min", RINSE_MIN, "min", f"{LABEL}: rinse")
    entries.given(
        f"{P}.backwash_every_d",
        BACKWASH_EVERY_D,
        "d",
        f"{LABEL}: days between backwashes",
        method="runs of 24 to 48 h",
    )
    entries.law(
        f"{P}.waste_m3_per_backwash",
        backwash_waste_m3,
        backwash_flow_m3_h=f"{P}.backwash_flow_m3_h",
        backwash_min=f"{P}.backwash_min",
        rinse_flow_m3_h=f"{P}.flow_each_m3_h",
        rinse_min=f"{P}.rinse_min",
        label=f"{LABEL}: waste per backwash",
    )
    enter_round(train, P, "waste_m3_per_backwash", "m3", f"{LABEL}: waste per backwash")
    entries.law(
        f"{P}.backwashes_per_week",
        backwashes_per_week,
        backwash_every_d=f"{P}.backwash_every_d",
        label=f"{LABEL}: backwashes per week",
    )
