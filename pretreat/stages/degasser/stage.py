"""The degasser behind acid or weak acid exchange."""

from pretreat.stages.stage import Stage

DEGASSER = Stage(
    key="degasser",
    name="degasser",
    label="Degasser",
    optional=True,
    decide="pretreat.stages.degasser.decide:decide",
    treat="pretreat.stages.degasser.figures:treat",
    site="pretreat.stages.degasser.keys:TABLE",
    cautions=("vented_gas",),
)
