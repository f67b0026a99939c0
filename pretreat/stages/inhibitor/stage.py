"""The dosing of a scale inhibitor."""

from pretreat.stages.stage import Stage

INHIBITOR = Stage(
    key="inhibitor",
    name="inhibitor dosing",
    label="Inhibitor dosing",
    decide="pretreat.stages.inhibitor.decide:decide",
    enter="pretreat.stages.inhibitor.figures:enter",
    site="pretreat.stages.inhibitor.keys:TABLE",
    sheet="Dosing",
    sheet_title="Chemical dosing",
    shows=("dosing.", "acid.", "chlorine."),
)
