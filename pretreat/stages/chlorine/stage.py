"""The feed of chlorine."""

from pretreat.stages.stage import Consumable, Stage, feed_settings

CHLORINE = Stage(
    key="chlorine",
    name="chlorine feed",
    label="Chlorine feed",
    optional=True,
    decide="pretreat.stages.chlorine.decide:decide",
    treat="pretreat.stages.chlorine.figures:treat",
    enter="pretreat.stages.chlorine.figures:enter",
    site="pretreat.stages.chlorine.keys:TABLE",
    consumables=(Consumable("chlorine", "Chlorine per year", "chlorine.kg_per_year", each="year"),),
    card=feed_settings("chlorine"),
    main=(
        "chlorine.dose_mg_l",
        "chlorine.kg_per_year",
        "chlorine.day_tank_l",
        "chlorine.pump_l_h",
    ),
    cautions=("chlorine", "membrane_oxidant"),
)
