"""The softener."""

from pretreat.stages.stage import Consumable, Medium, Setting, Stage, Step, Wash

SOFTENER = Stage(
    key="softener",
    name="softener",
    label="Softener",
    decide="pretreat.stages.softener.decide:decide",
    treat="pretreat.stages.softener.figures:treat",
    enter="pretreat.stages.softener.figures:enter",
    site="pretreat.stages.softener.keys:TABLE",
    wash=Wash(
        "softener.waste_m3_per_regeneration",
        "softener.regenerations_per_week",
        ("softener.regeneration_min",),
        (
            Step("backwash", "softener.backwash_min", "softener.backwash_flow_m3_h"),
            Step(
                "fast rinse",
                "pretreat.stages.softener.figures:fast_rinse_min",
                "pretreat.stages.softener.figures:fast_rinse_m3_h",
            ),
        ),
        metered=True,
        treated=True,
        in_turn=True,
    ),
    medium=Medium(
        "Softening resin",
        "softener.resin_bought_l",
        "resin_per_l",
        "softening resin",
        duty="pretreat.life.duties:softener",
        turns="softener.vessels_per_duty",
        life_changes=("hours", "hardness", "iron", "chlorine"),
        interval="softener.interval_d",
        interval_changes=("hours", "hardness", "iron"),
    ),
    consumables=(Consumable("salt", "Salt per year", "softener.salt_kg_per_regeneration"),),
    card=(
        Setting("Timer: every", "softener.programme_days"),
        Setting("Or meter: after", "softener.meter_setting_m3"),
        Setting("If it waits for night", "softener.meter_setting_delayed_m3"),
        Setting("Meter: at the latest", "softener.day_override_d"),
        Setting("Salt each time", "softener.salt_kg_per_regeneration"),
        Setting("Refill", "softener.refill_l", "settings.refill_us_gal"),
    ),
    sheet="Softener",
    sheet_title="Softener",
    cautions=("brine", "sodium"),
)
