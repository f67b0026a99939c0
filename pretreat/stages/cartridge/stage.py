"""The cartridge filter."""

from pretreat.stages.stage import Medium, Stage

CARTRIDGE = Stage(
    key="cartridge",
    name="cartridge filter",
    label="Cartridge filter",
    decide="pretreat.stages.cartridge.decide:decide",
    enter="pretreat.stages.cartridge.figures:enter",
    sheet="Prefilters",
    sheet_title="Sediment and cartridge filters",
    main=(
        "cartridge.number",
        "cartridge.change_every_months",
    ),
    main_heading="Carbon and cartridges",
    medium=Medium("Cartridges", "", "cartridge_each"),
)
