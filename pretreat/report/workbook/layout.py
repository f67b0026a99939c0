"""Which figures, tables and charts stand on which sheet, in which order.

Only names stand here. A figure goes to the block with the longest prefix that fits its key,
so a new figure of a known family finds its sheet without a change here.
"""

from msgspec import Struct

from pretreat.stages import ORDER


class Block(Struct, frozen=True):
    """One part of a sheet: figures by key prefix, then tables, then a chart."""

    heading: str
    figures: tuple[str, ...] = ()
    series: tuple[str, ...] = ()
    chart: str = ""
    cases: bool = False  # low, likely and high stand side by side
    screen: bool = False  # stays on the screen, below what prints


class Sheet(Struct, frozen=True):
    """One sheet of the workbook, in trade words; ``note`` stands under its title."""

    name: str
    title: str
    blocks: tuple[Block, ...]
    note: str = ""


SUMMARY = "Summary"
RESULTS = "Main results"
QUOTE = "Quote"
ESTIMATE = "Estimate"
COSTS = "Costs"
CAUTIONS = "Cautions"
VERDICT = "Verdict"
BASIS, SOURCES = "Basis", "Sources"
REST = "More results"

# Words that the summary prints at its head; they need no row of their own elsewhere.
HEAD_PREFIXES = (
    "site.",
    "study.",
    "summary.",
    "media_words.",
    "compare.conclusion",
    "verdict.answer",
    "verdict.reasons",
)
# Words that a table, or the page made of it, shows as well.
SHOWN_WITH = {"train.stages": "train.", "quote.lines": "quote.", "quote.offer": "offer."}
# Tables that stand on the page of the quote alone.
ON_QUOTE = (
    "quote.words",
    "quote.offer",
    "quote.visits",
    "quote.visit_goods",
    "quote.over_limits",
    "quote.conditions",
    "quote.against",
    "quote.deliveries",
)

_VALUES_ONLY = (
    "Chemistry is calculated by the program and stands here as values: after a change of water, "
    "recovery or temperature, run the program again."
)
_LIVE = (
    "Cells marked 'input' may be changed; results that carry a formula follow. "
    "'input, new run': the chemistry does not follow, run the program again."
)

_IONS = (
    "ca",
    "mg",
    "na",
    "k",
    "sr",
    "ba",
    "fe",
    "mn",
    "nh4",
    "hco3",
    "co3",
    "so4",
    "cl",
    "f",
    "no3",
    "sio2",
    "b",
    "po4",
)


_WEARING = tuple(stage.key for stage in ORDER if stage.medium is not None)


def _each(prefix: str, names: tuple[str, ...], suffix: str) -> tuple[str, ...]:
    return tuple(f"{prefix}{name}{suffix}" for name in names)


def _under(stage: str, *names: str) -> tuple[str, ...]:
    return tuple(f"{stage}.{name}" for name in names)


def _bed(stage: str) -> tuple[Block, ...]:
    """Return the blocks of a vessel with a bed, in the order in which it is thought through."""

    def block(
        heading: str, *names: str, series: tuple[str, ...] = (), screen: bool = False
    ) -> Block:
        return Block(heading, _under(stage, *names), _under(stage, *series), screen=screen)

    return (
        block(
            "Water and load",
            "medium",
            "regeneration",
            "iron_",
            "manganese_",
            "hardness_in",
            "hardness_load",
            "load",
            "solids_load",
            "free_chlorine",
            "chloramine",
            "oxidant_demand",
            "alkalinity_used",
        ),
        block("Bed and capacity", "", "iron_capacity", "manganese_capacity"),
        block(
            "Vessel and service",
            "vessel",
            "vessels",
            "area",
            "depth",
            "velocity",
            "service",
            "contact_time",
            "ebct",
            "pressure_drop",
            series=("options",),
        ),
        block(
            "Interval and programme",
            "wanted_interval",
            "interval",
            "limited_by",
            "longest_gap",
            "programme",
            "meter",
            "regenerations",
            "backwashes",
            "backwash_every",
            "life",
            "longest_life",
            series=("improvements",),
        ),
        block(
            "Consumption", "salt", "permanganate", "chlorine_kg", "refill", series=("dose_options",)
        ),
        block(
            "Regeneration or backwash, step by step",
            "backwash_min",
            "brine_",
            "slow_rinse",
            "fast_rinse",
            "rinse",
            "draw",
            "regeneration_min",
            "waste",
            "drain_control",
            "drain_valve",
            "clock_time",
            series=("settings",),
            screen=True,
        ),
        block("Backwash flow and expansion", "backwash_", "expansion", "freeboard"),
        block(
            "Water behind the vessel",
            "leakage",
            "out_",
            "sodium_added",
            "resin_hardness",
            "selectivity",
            "total_",
            series=("",),
            screen=True,
        ),
        Block("", chart=stage),
    )


def _beds() -> tuple[Sheet, ...]:
    """Return the sheets of the vessels with a bed."""
    return tuple(
        Sheet(stage.sheet, stage.sheet_title or stage.sheet, _bed(stage.key), _LIVE)
        for stage in ORDER
        if stage.sheet and stage.wash is not None
    )


def _without_bed() -> tuple[Block, ...]:
    """Return the blocks of the stages without a bed: feeds, tanks, cartridges."""
    return tuple(
        Block(stage.label, tuple(prefixes), tuple(prefixes), screen=not stage.sheet)
        for stage in ORDER
        if stage.wash is None
        for prefixes in [(f"{stage.key}.", *stage.shows)]
    )


SHEETS: tuple[Sheet, ...] = (
    Sheet(
        "Choice of train",
        "Trains considered for this water, and why the first",
        (
            Block("", ("train.chosen", "train.runner_up", "train.cheaper"), ("train.choices",)),
            Block("", (), ("train.flips",)),
            Block("What the costs are made of", ("choices.",), ("choices.lines",), screen=True),
            Block("", (), ("train.recovery_cost",)),
            Block("What goes to the drain", ("discharge.",), ("train.discharge",), screen=True),
        ),
        _VALUES_ONLY,
    ),
    Sheet(
        "Water analysis",
        "Water as analysed",
        (
            Block(
                "Sample",
                (
                    "water.sample",
                    "water.date",
                    "water.file",
                    "water.ph",
                    "water.temperature_c",
                    "water.operating_temperature",
                    "water.ec_us_cm",
                ),
            ),
            Block(
                "Constituents",
                (*_each("water.", _IONS, "_"), "water."),
                ("water.composition", "water."),
            ),
            Block(
                "Hardness, alkalinity and dissolved solids",
                (
                    "water.hardness",
                    "water.alkalinity",
                    "water.co2",
                    "water.tds_",
                    "water.ionic_strength",
                ),
            ),
            Block(
                "Quality of the analysis",
                (
                    "water.cations",
                    "water.anions",
                    "water.ion_balance",
                    "water.balance",
                    "quality.",
                    "check.",
                ),
                ("quality.",),
            ),
            Block(
                "Several analyses of this site",
                (
                    "samples.count",
                    "samples.recovery_max_",
                    "samples.untreated_recovery_max_",
                    "samples.softener_interval_",
                    "samples.iron_filter_interval_",
                ),
                ("samples.ranges",),
            ),
            Block("What to ask of the laboratory", ("water.ask",), ("water.ask",)),
            Block(
                "How the report was read",
                ("trail.", "lab."),
                ("water.trail", "trail.", "lab."),
                screen=True,
            ),
        ),
        "",
    ),
    Sheet(
        "Samples",
        "The analyses of this site, one by one",
        (
            Block("", (), ("samples.each", "samples.")),
            Block("Range of each analyte", ("samples.percentile", "samples.")),
        ),
        _VALUES_ONLY,
    ),
    Sheet(
        "Verdict",
        "What the verdict rests on",
        (
            Block("", ("verdict.",), ("verdict.decides", "verdict.drivers")),
            Block("", (), ("verdict.why", "verdict."), screen=True),
        ),
        _VALUES_ONLY,
    ),
    Sheet(
        "Concentrate",
        "Concentrate of the reverse-osmosis machine",
        (
            Block(
                "Concentrate of the water that enters the membranes",
                (
                    "concentrate.recovery",
                    "concentrate.array",
                    "concentrate.factor",
                    "concentrate.ph",
                    "concentrate.tds",
                    "concentrate.alkalinity",
                    "concentrate.ionic_strength",
                    "concentrate.osmotic",
                ),
            ),
            Block(
                "Ions in the concentrate",
                (*_each("concentrate.", _IONS, "_mg_l"), "concentrate."),
                screen=True,
            ),
            Block("", (), ("concentrate.composition", "concentrate.")),
            Block("", chart="composition", screen=True),
            Block("Water that enters the membranes", ("membrane_feed.", "feed."), ("feed.",)),
            Block("Product water", ("product.",), ("product.",)),
            Block("Delivered water", ("delivered.",), ("delivered.",)),
            Block(
                "Product made fit for pipes",
                ("remineralisation.",),
                ("remineralisation.",),
                screen=True,
            ),
            Block(
                "Raw water without pretreatment",
                ("untreated.concentrate.",),
                ("untreated.concentrate.",),
                screen=True,
            ),
        ),
        _VALUES_ONLY,
    ),
    Sheet(
        "Scaling",
        "Scaling of the concentrate",
        (
            Block("How far recovery can go", ("recovery.",), ("recovery.",)),
            Block("Softener, inhibitor or acid", ("compare.",), ("compare.",)),
            Block("", (), ("scaling.limits", "scaling.envelope")),
            Block(
                "Indexes", ("scaling.lsi", "scaling.sdsi", "scaling.", "scaling.si_"), ("scaling.",)
            ),
            Block("", chart="lsi", screen=True),
            Block("", chart="scaling"),
            Block("Percent saturation and indexes against recovery", (), ("scaling.sweep",)),
            Block("Second opinion", ("second_opinion.",), ("second_opinion.",)),
            Block(
                "Raw water without pretreatment",
                ("untreated.recovery.", "untreated.scaling.", "untreated."),
                ("untreated.scaling.limits", "untreated.recovery.levers", "untreated."),
                screen=True,
            ),
            Block("", chart="untreated_scaling", screen=True),
            Block("", (), ("untreated.scaling.sweep",)),
        ),
        _VALUES_ONLY + " Percent saturation is 100 x 10^SI.",
    ),
    Sheet(
        "Train",
        "Stages of the train and what decides them",
        (
            Block("", (), ("train.stages", "train.membrane_checks")),
            Block(
                "Limits and water behind the decisions",
                ("train.",),
                ("train.disagreements", "train."),
                screen=True,
            ),
            *_without_bed(),
        ),
        _LIVE,
    ),
    *_beds(),
    Sheet(
        "Programme",
        "Programme of the week, water balance, pumps and tanks",
        (
            Block("Programme", ("programme.",), ("programme.week", "programme.")),
            Block("", chart="week", screen=True),
            Block(
                "Water balance",
                ("water_balance", "balance.", "supply."),
                ("water_balance", "balance.", "supply."),
            ),
            Block(
                "Pumps and tanks",
                ("pump.", "pumps.", "tank.", "tanks.", "storage.", "energy."),
                ("pump.", "pumps.", "tank.", "tanks.", "storage.", "energy."),
            ),
            Block("One year, step by step", ("tanks.year_",), screen=True),
            Block("", chart="tanks", screen=True),
            Block("", (), ("tanks.levels",), screen=True),
        ),
        _LIVE,
    ),
    Sheet(
        "Media life",
        "Life of the media",
        (
            Block(
                "Life of the media: estimates",
                tuple(f"media_life.{stage}_years_" for stage in _WEARING),
                cases=True,
            ),
            Block(
                "What ends each life",
                tuple(f"media_life.{stage}_governs" for stage in _WEARING),
                ("media_life.", "media."),
            ),
            Block(
                "If the water or the hours change",
                ("sensitivity.",),
                ("sensitivity.interval",),
                screen=True,
            ),
            Block("", (), ("sensitivity.",), screen=True),
            Block("", chart="sensitivity", screen=True),
            Block("What the lives follow from", ("media_life.", "media."), screen=True),
            Block("Wear", ("media_life.wear_",), cases=True, screen=True),
        ),
        _LIVE,
    ),
    Sheet(
        COSTS,
        "Prices, consumption and estimated cost",
        (
            Block("Estimate", ("quote.",), ("quote.lines", "quote.")),
            Block("", chart="cost", screen=True),
            Block("Prices", ("prices.", "price."), ("prices.", "price."), screen=True),
            Block(
                "Consumption",
                ("consumables.", "consumption."),
                ("consumables.", "consumption."),
                screen=True,
            ),
            Block("Quantities and amounts", ("costs.", "cost."), ("costs.", "cost."), screen=True),
            Block("As it is sold", ("offer.",), screen=True),
            Block("Year by year", ("costs.year_",), screen=True),
        ),
        _LIVE,
    ),
    Sheet(
        "Settings",
        "Machine and operating settings",
        (
            Block("Machine", ("machine.",), ("machine.",)),
            Block(
                "Limits and alarms",
                ("limits.", "alarms.", "settings.", "operating."),
                ("limits.", "alarms.", "settings.", "operating."),
                screen=True,
            ),
        ),
        _LIVE,
    ),
    Sheet(
        "Record",
        "Record of readings",
        (
            Block(
                "Findings",
                ("record.findings", "record.readings", "record.damaged"),
                ("record.findings",),
            ),
            Block("A new analysis", ("record.analysis",), ("record.new_analysis",)),
            Block("Against the baseline", ("record.",)),
            Block("Elements, fitted to the readings", ("fit.",), ("fit.",)),
            Block("Regenerations", ("record.regeneration", "record.treated", "record.salt_kg")),
            Block("", chart="trend_membranes"),
            Block("", chart="trend_drops"),
            Block("", chart="trend_pretreatment"),
            Block("Readings", (), ("record.last",)),
            Block("", (), ("record.trend_membranes",)),
            Block("", (), ("record.trend_drops",)),
            Block("", (), ("record.trend_each_drop",)),
            Block("", (), ("record.trend_pretreatment", "record.")),
            Block("The baseline, gauge by gauge", ("record.new_",)),
        ),
    ),
    Sheet(REST, "Further results", (Block("Results", ("",), ("",)),)),
)
