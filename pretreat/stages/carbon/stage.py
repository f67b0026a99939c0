"""The activated carbon bed."""

from pretreat.stages.stage import Medium, Setting, Stage, Step, Wash

CARBON = Stage(
    key="carbon",
    name="carbon",
    label="Carbon",
    decide="pretreat.stages.carbon.decide:decide",
    treat="pretreat.stages.carbon.figures:treat",
    enter="pretreat.stages.carbon.figures:enter",
    site="pretreat.stages.carbon.keys:TABLE",
    wash=Wash(
        "carbon.waste_m3_per_backwash_of_all",
        "carbon.backwashes_per_week",
        ("carbon.backwash_min", "carbon.rinse_min"),
        (
            Step("backwash", "carbon.backwash_min", "carbon.backwash_flow_m3_h"),
            Step("rinse", "carbon.rinse_min", "feed"),
        ),
    ),
    medium=Medium(
        "Activated carbon",
        "carbon.media_bought_l",
        "carbon_per_l",
        "activated carbon",
        life_changes=("hours", "iron", "chlorine"),
    ),
    card=(
        Setting("Timer: every", "carbon.backwash_every_d"),
        Setting("Clock time", "carbon.clock_time"),
        Setting("Backwash", "carbon.backwash_min"),
        Setting("Rinse", "carbon.rinse_min"),
        Setting("Drain flow control", "carbon.drain_control_l_min", "carbon.drain_control_gpm"),
        Setting("Its nominal size", "carbon.drain_control_gpm"),
        Setting("Drain orifice or valve", "carbon.drain_valve_l_min", "carbon.drain_valve_gpm"),
    ),
    sheet="Carbon",
    sheet_title="Activated carbon",
    main=(
        "carbon.vessel_diameter_m",
        "carbon.media_bought_l",
        "carbon.ebct_min",
        "carbon.backwash_flow_m3_h",
        "carbon.life_years",
    ),
    main_heading="Carbon and cartridges",
)
