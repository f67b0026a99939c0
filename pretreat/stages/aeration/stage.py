"""Aeration that strips gas and gives oxygen."""

from pretreat.stages.stage import Setting, Stage

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
    card=(Setting("Air to water, by volume", "aeration.air_to_water"),),
    cautions=("vented_gas",),
)
