"""The bypass of the softener."""

from pretreat.stages.stage import Setting, Stage

BYPASS = Stage(
    key="bypass",
    name="softener bypass",
    label="Softener bypass",
    optional=True,
    decide="pretreat.stages.bypass.decide:decide",
    prepare="pretreat.stages.bypass.figures:prepare",
    treat="pretreat.stages.bypass.figures:treat",
    site="pretreat.stages.bypass.keys:TABLE",
    card=(
        Setting("Bypass: share of the feed", "bypass.share"),
        Setting("Flow through the softener", "bypass.softened_m3_h"),
    ),
)
