"""The multimedia filter."""

from pretreat.stages.stage import Medium, Setting, Stage, Step, Wash

MULTIMEDIA = Stage(
    key="multimedia",
    name="multimedia filter",
    label="Multimedia filter",
    decide="pretreat.stages.multimedia.decide:decide",
    treat="pretreat.stages.multimedia.figures:treat",
    enter="pretreat.stages.multimedia.figures:enter",
    wash=Wash(
        "multimedia.waste_m3_per_backwash_of_all",
        "multimedia.backwashes_per_week",
        ("multimedia.backwash_min", "multimedia.rinse_min"),
        (
            Step("backwash", "multimedia.backwash_min", "multimedia.backwash_flow_m3_h"),
            Step("rinse", "multimedia.rinse_min", "feed"),
        ),
    ),
    medium=Medium(
        "Multimedia",
        "multimedia.media_bought_l",
        "multimedia_per_l",
        "multimedia",
    ),
    card=(
        Setting("Backwash every", "multimedia.backwash_every_d"),
        Setting("Backwash", "multimedia.backwash_min"),
        Setting("Rinse", "multimedia.rinse_min"),
        Setting(
            "Drain flow control", "multimedia.drain_control_l_min", "multimedia.drain_control_gpm"
        ),
        Setting(
            "Drain orifice or valve", "multimedia.drain_valve_l_min", "multimedia.drain_valve_gpm"
        ),
    ),
    sheet="Prefilters",
    sheet_title="Sediment and cartridge filters",
)
