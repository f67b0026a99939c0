"""The feed of bisulfite."""

from pretreat.stages.stage import Consumable, Stage, feed_settings

BISULFITE = Stage(
    key="bisulfite",
    name="bisulfite feed",
    label="Bisulfite feed",
    optional=True,
    decide="pretreat.stages.bisulfite.decide:decide",
    treat="pretreat.stages.bisulfite.figures:treat",
    enter="pretreat.stages.bisulfite.figures:enter",
    site="pretreat.stages.bisulfite.keys:TABLE",
    consumables=(
        Consumable("bisulfite", "Bisulfite per year", "bisulfite.kg_per_year", each="year"),
    ),
    card=feed_settings("bisulfite"),
    main=(
        "bisulfite.dose_mg_l",
        "bisulfite.kg_per_year",
        "bisulfite.day_tank_l",
        "bisulfite.pump_l_h",
    ),
    cautions=("bisulfite",),
)
