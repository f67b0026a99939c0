"""Weak acid exchange."""

from pretreat.stages.stage import Consumable, Setting, Stage

WEAK_ACID = Stage(
    key="weak_acid",
    name="weak acid exchange",
    label="Weak acid exchange",
    optional=True,
    decide="pretreat.stages.weak_acid.decide:decide",
    treat="pretreat.stages.weak_acid.figures:treat",
    enter="pretreat.stages.weak_acid.figures:enter",
    site="pretreat.stages.weak_acid.keys:TABLE",
    consumables=(
        Consumable(
            "acid",
            "Acid of the weak acid exchange per year",
            "weak_acid.acid_kg_per_year",
            each="year",
        ),
    ),
    card=(Setting("Regenerate every", "weak_acid.interval_d"),),
    main=(
        "weak_acid.resin_volume_l",
        "weak_acid.interval_d",
        "weak_acid.acid_kg_per_year",
    ),
    cautions=("acid_feed",),
)
