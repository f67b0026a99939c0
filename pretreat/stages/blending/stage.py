"""Blending of treated raw water into the product."""

from pretreat.stages.stage import Setting, Stage

BLENDING = Stage(
    key="blending",
    name="blending into the product",
    label="Blending into the product",
    side="product",
    optional=True,
    decide="pretreat.stages.blending.decide:decide",
    deliver="pretreat.stages.blending.figures:deliver",
    site="pretreat.stages.blending.keys:TABLE",
    card=(Setting("Flow past the membranes", "blending.flow_m3_h"),),
    cautions=("potable",),
)
