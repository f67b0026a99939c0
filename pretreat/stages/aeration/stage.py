"""Aeration that strips gas and gives oxygen."""

from pretreat.stages.stage import Stage

AERATION = Stage(
    key="aeration",
    name="aeration",
    label="Aeration",
    optional=True,
    decide="pretreat.stages.aeration.decide:decide",
    treat="pretreat.stages.aeration.figures:treat",
    site="pretreat.stages.aeration.keys:TABLE",
    main=(
        "aeration.ph",
        "aeration.co2_mg_l",
        "aeration.sulfide_left_mg_l",
    ),
    cautions=("vented_gas",),
)
