"""The feed of acid."""

from pretreat.stages.stage import Stage, feed_settings

ACID = Stage(
    key="acid",
    name="acid feed",
    label="Acid feed",
    optional=True,
    decide="pretreat.stages.acid.decide:decide",
    treat="pretreat.stages.acid.figures:treat",
    enter="pretreat.stages.acid.figures:enter",
    site="pretreat.stages.acid.keys:TABLE",
    card=feed_settings("acid"),
    main=(
        "acid.dose_mg_l",
        "dosing.acid_kg_per_year",
        "acid.day_tank_l",
        "acid.pump_l_h",
    ),
    cautions=("acid_feed",),
)
