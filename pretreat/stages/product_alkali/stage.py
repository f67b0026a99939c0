"""The feed of alkali into the product."""

from pretreat.stages.stage import Stage

PRODUCT_ALKALI = Stage(
    key="product_alkali",
    name="alkali feed into the product",
    label="Alkali feed into the product",
    side="product",
    optional=True,
    decide="pretreat.stages.product_alkali.decide:decide",
    enter="pretreat.stages.product_alkali.figures:enter",
    site="pretreat.stages.product_alkali.keys:TABLE",
    cautions=("alkali",),
)
