"""Weak acid exchange."""

from pretreat.stages.stage import Setting, Stage

WEAK_ACID = Stage(
    key="weak_acid",
    name="weak acid exchange",
    label="Weak acid exchange",
    optional=True,
    decide="pretreat.stages.weak_acid.decide:decide",
    treat="pretreat.stages.weak_acid.figures:treat",
    enter="pretreat.stages.weak_acid.figures:enter",
    site="pretreat.stages.weak_acid.keys:TABLE",
    card=(Setting("Regenerate every", "weak_acid.interval_d"),),
    main=(
        "weak_acid.resin_volume_l",
        "weak_acid.interval_d",
        "weak_acid.acid_kg_per_year",
    ),
    cautions=("acid_feed",),
)
