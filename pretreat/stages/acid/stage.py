"""The feed of acid."""

from pretreat.stages.stage import Stage

ACID = Stage(
    key="acid",
    name="acid feed",
    label="Acid feed",
    optional=True,
    decide="pretreat.stages.acid.decide:decide",
    treat="pretreat.stages.acid.figures:treat",
    enter="pretreat.stages.acid.figures:enter",
    site="pretreat.stages.acid.keys:TABLE",
    cautions=("acid_feed",),
)
