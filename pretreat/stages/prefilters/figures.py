"""Multimedia and cartridge filters."""

from pretreat.stages.bed.figures import (
    enter_backwash,
    enter_pressure_drop,
    enter_velocity,
    enter_vessel,
)
from pretreat.stages.bed.media import media
from pretreat.stages.bed.options import choose_bed
from pretreat.stages.prefilters import laws as sizing
from pretreat.stages.prefilters.laws import choose_multimedia_vessel, try_multimedia_vessel
from pretreat.stages.train import Train

C = "cartridge"
M = "multimedia"


def enter_cartridge(train: Train) -> None:
    """Enter the number of cartridges ahead of the membranes and how often they are changed.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    """
    entries = train.entries
    each = entries.given(f"{C}.flow_each_m3_h", sizing.CARTRIDGE_FLOW_M3_H, "m3/h",
                         "Flow of a 10 in cartridge, 5 µm", method="3 to 5 gpm, the low end",
    )  # fmt: skip
    flow = entries.value("machine.feed_flow_m3_h")
    entries.calc(f"{C}.number", float(sizing.cartridges_needed(flow, each)), "-",
                 "Cartridges of 10 in",
                 f"-INT(-({{machine.feed_flow_m3_h}}/{{{C}.flow_each_m3_h}}))",
                 by=(sizing.cartridges_needed,), method="flow over flow of one, rounded up",
    )  # fmt: skip
    entries.given(f"{C}.change_every_months", sizing.CARTRIDGE_LIFE_MONTHS, "month",
                  "Cartridges changed after, at the latest", method="or at +0.7 to 1.0 bar",
    )  # fmt: skip


def enter_multimedia(train: Train) -> None:
    """Enter the multimedia filter.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    """
    entries, medium = train.entries, media()["multimedia"]
    flow = entries.value("machine.feed_flow_m3_h")
    options = choose_multimedia_vessel(flow)
    bed = choose_bed(train, (M, medium, "Multimedia filter"), options,
                     lambda v, n: try_multimedia_vessel(flow, v, n))  # fmt: skip
    enter_vessel(train, bed)
    entries.given(f"{M}.depth_m", options[0].depth_m, "m", "Multimedia filter: bed depth",
                  evidence="printed", cites=("DAVIS2010",), method="Table 11-10, middle of the "
                  "layers")  # fmt: skip
    entries.calc(f"{M}.media_volume_l", bed.area_m2 * options[0].depth_m * 1000.0, "L",
                 "Multimedia filter: medium", f"{{{M}.area_m2}}*{{{M}.depth_m}}*1000")  # fmt: skip
    enter_velocity(train, bed)
    enter_pressure_drop(train, bed)
    enter_backwash(train, bed)
    entries.medium(M, medium, "backwash_code_high_m_h",
                   "Multimedia filter: published backwash, highest")  # fmt: skip
    for name, minutes in (
        ("backwash", sizing.MULTIMEDIA_BACKWASH_MIN),
        ("rinse", sizing.MULTIMEDIA_RINSE_MIN),
    ):
        entries.given(f"{M}.{name}_min", minutes, "min", f"Multimedia filter: {name}",
                      evidence="printed" if name == "backwash" else "common practice",
                      cites=("DAVIS2010",) if name == "backwash" else ("PRACTICE",))  # fmt: skip
    every = entries.given(f"{M}.backwash_every_d", 1.0, "d", "Multimedia filter: days between "
                          "backwashes", method="runs of 24 to 48 h")  # fmt: skip
    wash, feed = entries.value(f"{M}.backwash_flow_m3_h"), entries.value("machine.feed_flow_m3_h")
    waste = bed.number * wash * sizing.MULTIMEDIA_BACKWASH_MIN / 60.0
    waste += feed * sizing.MULTIMEDIA_RINSE_MIN / 60.0
    entries.calc(f"{M}.waste_m3_per_backwash", waste,
                 "m3", "Multimedia filter: waste per backwash",
                 f"{{{M}.vessels_in_service}}*{{{M}.backwash_flow_m3_h}}*{{{M}.backwash_min}}/60"
                 f"+{{machine.feed_flow_m3_h}}*{{{M}.rinse_min}}/60")  # fmt: skip
    entries.calc(f"{M}.backwashes_per_week", 7.0 / every, "1/week",
                 "Multimedia filter: backwashes per week", f"7/{{{M}.backwash_every_d}}",
    )  # fmt: skip
