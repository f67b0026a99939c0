"""The iron and manganese filter."""

from pretreat.stages.stage import Consumable, Medium, Setting, Stage, Step, Wash

BATCH = "iron_filter.permanganate_g_per_regeneration"  # above zero where it is fed in batches

IRON_FILTER = Stage(
    key="iron_filter",
    name="iron filter",
    label="Iron filter",
    decide="pretreat.stages.iron_filter.decide:decide",
    treat="pretreat.stages.iron_filter.figures:treat",
    enter="pretreat.stages.iron_filter.figures:enter",
    site="pretreat.stages.iron_filter.keys:TABLE",
    wash=Wash(
        "iron_filter.waste_m3_per_regeneration_of_all",
        "iron_filter.regenerations_per_week",
        ("iron_filter.regeneration_min",),
        (
            Step("backwash", "iron_filter.backwash_min", "iron_filter.backwash_flow_m3_h"),
            Step("rinse", "iron_filter.rinse_min", "feed"),
        ),
    ),
    medium=Medium(
        "Iron filter medium",
        "iron_filter.media_bought_l",
        "iron_media_per_l",
        "iron filter medium",
        life_changes=("hours", "iron"),
        interval="iron_filter.interval_governing_d",
        interval_changes=("hours", "iron"),
    ),
    consumables=(
        Consumable(
            "permanganate",
            "Permanganate per year",
            "iron_filter.permanganate_g_per_regeneration_of_all",
            in_grams=True,
        ),
    ),
    card=(
        Setting("Timer: every", "iron_filter.programme_days"),
        Setting("Clock time", "iron_filter.clock_time"),
        Setting(
            "Permanganate each time", "iron_filter.permanganate_g_per_regeneration", with_=BATCH
        ),
        Setting(
            "Of it the water needs",
            "iron_filter.permanganate_needed_g_per_regeneration",
            with_=BATCH,
        ),
        Setting("Backwash", "iron_filter.backwash_set_min"),
        Setting("Permanganate draw", "iron_filter.draw_min", with_=BATCH),
        Setting("Rinse, until no pink", "iron_filter.rinse_set_min", with_=BATCH),
        Setting("Rinse, until clear", "iron_filter.rinse_set_min", without=BATCH),
        Setting(
            "Drain flow control", "iron_filter.drain_control_l_min", "iron_filter.drain_control_gpm"
        ),
        Setting("Its nominal size", "iron_filter.drain_control_gpm"),
        Setting(
            "Drain orifice or valve",
            "iron_filter.drain_valve_l_min",
            "iron_filter.drain_valve_gpm",
        ),
    ),
    sheet="Iron filter",
    sheet_title="Iron and manganese filter",
    main=(
        "iron_filter.vessels_in_service",
        "iron_filter.vessel_diameter_m",
        "iron_filter.media_bought_l",
        "iron_filter.interval_d",
        "iron_filter.programme_days",
        "iron_filter.permanganate_g_per_regeneration",
        "iron_filter.backwash_flow_m3_h",
    ),
)
