"""The degasser behind the membranes."""

from pretreat.stages.stage import Setting, Stage

PRODUCT_DEGASSER = Stage(
    key="product_degasser",
    name="degasser of the product",
    label="Degasser of the product",
    side="product",
    optional=True,
    decide="pretreat.stages.product_degasser.decide:decide",
    deliver="pretreat.stages.product_degasser.figures:deliver",
    site="pretreat.stages.degasser.keys:TABLE",
    card=(Setting("Air to water, by volume", "product_degasser.air_to_water"),),
    cautions=("vented_gas",),
)
