"""The feed of alkali."""

from pretreat.stages.stage import Consumable, Stage, feed_settings

ALKALI = Stage(
    key="alkali",
    name="alkali feed",
    label="Alkali feed",
    optional=True,
    decide="pretreat.stages.alkali.decide:decide",
    treat="pretreat.stages.alkali.figures:treat",
    enter="pretreat.stages.alkali.figures:enter",
    site="pretreat.stages.alkali.keys:TABLE",
    consumables=(Consumable("alkali", "Alkali per year", "alkali.kg_per_year", each="year"),),
    card=feed_settings("alkali"),
    main=(
        "alkali.dose_mg_l",
        "alkali.kg_per_year",
        "alkali.day_tank_l",
        "alkali.pump_l_h",
    ),
    cautions=("alkali",),
)
