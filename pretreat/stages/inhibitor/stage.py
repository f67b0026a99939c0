"""The dosing of a scale inhibitor."""

from pretreat.stages.stage import Stage, feed_settings

INHIBITOR = Stage(
    key="inhibitor",
    name="inhibitor dosing",
    label="Inhibitor dosing",
    decide="pretreat.stages.inhibitor.decide:decide",
    enter="pretreat.stages.inhibitor.figures:enter",
    site="pretreat.stages.inhibitor.keys:TABLE",
    card=feed_settings("inhibitor"),
    main=(
        "inhibitor.dose_mg_l",
        "inhibitor.kg_per_year",
        "dosing.inhibitor_kg_per_year",
        "inhibitor.day_tank_l",
        "inhibitor.pump_l_h",
    ),
    sheet="Dosing",
    sheet_title="Chemical dosing",
    shows=("dosing.", "acid.", "chlorine."),
)
