"""The continuous feed of permanganate."""

from pretreat.stages.stage import Consumable, Stage, feed_settings

PERMANGANATE = Stage(
    key="permanganate",
    name="permanganate feed",
    label="Permanganate feed",
    optional=True,
    decide="pretreat.stages.permanganate.decide:decide",
    treat="pretreat.stages.permanganate.figures:treat",
    enter="pretreat.stages.permanganate.figures:enter",
    site="pretreat.stages.permanganate.keys:TABLE",
    consumables=(
        Consumable(
            "permanganate", "Permanganate per year", "permanganate.kg_per_year", each="year"
        ),
    ),
    card=feed_settings("permanganate"),
    main=(
        "permanganate.dose_mg_l",
        "permanganate.kg_per_year",
        "permanganate.day_tank_l",
        "permanganate.pump_l_h",
    ),
    cautions=("permanganate", "membrane_oxidant"),
)
