"""The degasser behind acid or weak acid exchange."""

from pretreat.stages.stage import Setting, Stage

DEGASSER = Stage(
    key="degasser",
    name="degasser",
    label="Degasser",
    optional=True,
    decide="pretreat.stages.degasser.decide:decide",
    treat="pretreat.stages.degasser.figures:treat",
    site="pretreat.stages.degasser.keys:TABLE",
    card=(Setting("Air to water, by volume", "degasser.air_to_water"),),
    cautions=("vented_gas",),
)
