"""The raw water tank."""

from pretreat.stages.stage import Stage

RAW_TANK = Stage(
    key="raw_tank",
    name="raw water storage",
    label="Raw water storage",
    decide="pretreat.stages.raw_tank.decide:decide",
    treat="pretreat.stages.raw_tank.figures:treat",
)
