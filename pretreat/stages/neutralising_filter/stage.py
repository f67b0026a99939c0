"""The calcite neutralising filter, behind the membranes."""

from pretreat.stages.stage import Medium, OwnLife, Setting, Stage

NEUTRALISING_FILTER = Stage(
    key="neutralising_filter",
    name="neutralising filter",
    label="Neutralising filter",
    side="product",
    decide="pretreat.stages.neutralising_filter.decide:decide",
    deliver="pretreat.stages.neutralising_filter.figures:deliver",
    site="pretreat.stages.neutralising_filter.keys:TABLE",
    medium=Medium(
        "Calcite",
        "neutralising_filter.media_volume_l",
        "calcite_per_l",
        "calcite",
        life=OwnLife(
            "dissolution",
            "pretreat.stages.neutralising_filter.laws:consumed_years",
            (
                ("charge_kg", "neutralising_filter.charge_kg"),
                ("dissolved_kg_per_year", "neutralising_filter.dissolved_kg_per_year"),
                ("share", "[calcite_share]"),
            ),
            "calcite dissolved by the carbon dioxide of the product",
        ),
    ),
    card=(Setting("Top up calcite after", "neutralising_filter.top_up_d"),),
    sheet="Neutralising filter",
    sheet_title="Calcite neutralising filter",
    main=(
        "neutralising_filter.media_volume_l",
        "neutralising_filter.contact_min",
        "neutralising_filter.ph_out",
        "neutralising_filter.top_up_d",
    ),
    cautions=("calcite",),
)
