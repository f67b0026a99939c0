"""The contact tank behind an oxidant."""

from pretreat.stages.stage import Stage

CONTACT_TANK = Stage(
    key="contact_tank",
    name="contact tank",
    label="Contact tank",
    optional=True,
    decide="pretreat.stages.contact_tank.decide:decide",
    enter="pretreat.stages.contact_tank.figures:enter",
    site="pretreat.stages.contact_tank.keys:TABLE",
    main=(
        "contact_tank.contact_min",
        "contact_tank.volume_m3",
    ),
)
