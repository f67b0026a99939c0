"""The feed of alkali into the product."""

from pretreat.stages.stage import Consumable, Stage, feed_settings

PRODUCT_ALKALI = Stage(
    key="product_alkali",
    name="alkali feed into the product",
    label="Alkali feed into the product",
    side="product",
    optional=True,
    decide="pretreat.stages.product_alkali.decide:decide",
    deliver="pretreat.stages.product_alkali.figures:deliver",
    site="pretreat.stages.product_alkali.keys:TABLE",
    consumables=(
        Consumable(
            "alkali", "Alkali into the product per year", "product_alkali.kg_per_year", each="year"
        ),
    ),
    card=feed_settings("product_alkali"),
    main=(
        "product_alkali.dose_mg_l",
        "product_alkali.kg_per_year",
        "product_alkali.day_tank_l",
        "product_alkali.pump_l_h",
    ),
    cautions=("alkali",),
)
