"""Which figures, tables and charts stand on which sheet, in which order.

Only names stand here. A figure goes to the block with the longest prefix that fits its key,
so a new figure of a known family finds its sheet without a change here.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Block:
    """One part of a sheet: figures by key prefix, then tables, then a chart."""

    heading: str
    figures: tuple[str, ...] = ()
    series: tuple[str, ...] = ()
    chart: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of the workbook, in trade words; ``note`` stands under its title."""

    name: str
    title: str
    blocks: tuple[Block, ...]
    note: str = ""


SUMMARY = "Summary"
CAUTIONS = "Cautions"
BASIS = "Basis and sources"
REST = "More results"

# Words that the summary prints at its head; they need no row of their own elsewhere.
HEAD_PREFIXES = ("site.", "study.", "summary.", "train.")

_VALUES_ONLY = (
    "Chemistry is calculated by the program and stands here as values: after a change of water, "
    "recovery or temperature, run the program again."
)
_LIVE = (
    "Cells marked 'input' may be changed; results that carry a formula follow. "
    "'input, new run': the chemistry does not follow, run the program again."
)

_IONS = ("ca", "mg", "na", "k", "sr", "ba", "fe", "mn", "nh4", "hco3", "co3", "so4", "cl", "f",
         "no3", "sio2", "b", "po4")  # fmt: skip


def _each(prefix: str, names: tuple[str, ...], suffix: str) -> tuple[str, ...]:
    return tuple(f"{prefix}{name}{suffix}" for name in names)


def _under(stage: str, *names: str) -> tuple[str, ...]:
    return tuple(f"{stage}.{name}" for name in names)


def _bed(stage: str) -> tuple[Block, ...]:
    """Return the blocks of a vessel with a bed, in the order in which it is thought through."""

    def block(heading: str, *names: str, series: tuple[str, ...] = ()) -> Block:
        return Block(heading, _under(stage, *names), _under(stage, *series))

    return (
        block("Water and load", "medium", "regeneration", "iron_", "manganese_", "hardness_in",
              "hardness_load", "load", "solids_load", "free_chlorine", "chloramine",
              "oxidant_demand", "alkalinity_used"),
        block("Bed and capacity", "", "iron_capacity", "manganese_capacity"),
        block("Vessel and service", "vessel", "vessels", "area", "depth", "velocity", "service",
              "contact_time", "ebct", "pressure_drop", series=("options",)),
        block("Interval and programme", "wanted_interval", "interval", "limited_by", "longest_gap",
              "programme", "meter", "regenerations", "backwashes", "backwash_every", "life",
              "longest_life"),
        block("Consumption", "salt", "permanganate", "chlorine_kg", "refill",
              series=("dose_options",)),
        block("Regeneration or backwash, step by step", "backwash_min", "brine_", "slow_rinse",
              "fast_rinse", "rinse", "draw", "regeneration_min", "waste", series=("settings",)),
        block("Backwash flow and expansion", "backwash_", "expansion", "freeboard"),
        block("Water behind the vessel", "leakage", "out_", "sodium_added", "resin_hardness",
              "selectivity", "total_", series=("",)),
        Block("", chart=stage),
    )  # fmt: skip


SHEETS: tuple[Sheet, ...] = (
    Sheet(
        "Water analysis",
        "Water as analysed",
        (
            Block("Sample", ("water.sample", "water.date", "water.file", "water.ph",
                             "water.temperature_c", "water.operating_temperature",
                             "water.ec_us_cm")),
            Block("Constituents", (*_each("water.", _IONS, "_"), "water."),
                  ("water.composition", "water.")),
            Block("Hardness, alkalinity and dissolved solids",
                  ("water.hardness", "water.alkalinity", "water.co2", "water.tds_",
                   "water.ionic_strength")),
            Block("Quality of the analysis",
                  ("water.cations", "water.anions", "water.ion_balance", "water.balance",
                   "quality.", "check."), ("quality.",)),
            Block("What to ask of the laboratory", ("water.ask",), ("water.ask",)),
        ),
        "",
    ),
    Sheet(
        "Concentrate",
        "Concentrate of the reverse-osmosis machine",
        (
            Block("Concentrate of the water that enters the membranes",
                  ("concentrate.recovery", "concentrate.array", "concentrate.factor",
                   "concentrate.ph", "concentrate.tds", "concentrate.alkalinity",
                   "concentrate.ionic_strength", "concentrate.osmotic")),
            Block("Ions in the concentrate",
                  (*_each("concentrate.", _IONS, "_mg_l"), "concentrate."),
                  ("concentrate.composition", "concentrate.")),
            Block("", chart="composition"),
            Block("Water that enters the membranes", ("membrane_feed.", "feed."), ("feed.",)),
            Block("Raw water without pretreatment", ("untreated.concentrate.",),
                  ("untreated.concentrate.",)),
        ),
        _VALUES_ONLY,
    ),
    Sheet(
        "Scaling",
        "Scaling of the concentrate",
        (
            Block("How far recovery can go", ("recovery.",), ("recovery.",)),
            Block("Indexes", ("scaling.lsi", "scaling.sdsi", "scaling.", "scaling.si_"),
                  ("scaling.limits", "scaling.")),
            Block("", chart="scaling"),
            Block("Percent saturation and indexes against recovery", (), ("scaling.sweep",)),
            Block("", chart="lsi"),
            Block("Second opinion", ("second_opinion.",), ("second_opinion.",)),
            Block("Raw water without pretreatment",
                  ("untreated.recovery.", "untreated.scaling.", "untreated."),
                  ("untreated.scaling.limits", "untreated.")),
            Block("", chart="untreated_scaling"),
            Block("", (), ("untreated.scaling.sweep",)),
        ),
        _VALUES_ONLY + " Percent saturation is 100 x 10^SI.",
    ),
    Sheet("Iron filter", "Iron and manganese filter", _bed("iron_filter"), _LIVE),
    Sheet("Softener", "Softener", _bed("softener"), _LIVE),
    Sheet("Carbon", "Activated carbon", _bed("carbon"), _LIVE),
    Sheet("Prefilters", "Sediment and cartridge filters",
          (Block("Filters", ("prefilters.", "prefilter.", "multimedia.", "cartridge."),
                 ("prefilters.", "prefilter.", "multimedia.", "cartridge.")),), _LIVE),
    Sheet("Dosing", "Chemical dosing",
          (Block("Dosing", ("dosing.", "acid.", "chlorine.", "antiscalant.", "inhibitor."),
                 ("dosing.", "acid.", "chlorine.", "antiscalant.", "inhibitor.")),), _LIVE),
    Sheet("Programme", "Programme of the week",
          (Block("Programme", ("programme.",), ("programme.week", "programme.")),
           Block("", chart="week")), _LIVE),
    Sheet("Supply", "Water balance, pumps and tanks",
          (Block("Water balance", ("water_balance.", "balance.", "supply."),
                 ("water_balance.", "balance.", "supply.")),
           Block("Pumps and tanks", ("pump.", "pumps.", "tank.", "tanks.", "storage.", "energy."),
                 ("pump.", "pumps.", "tank.", "tanks.", "storage.", "energy.")),
           Block("", chart="tanks")), _LIVE),
    Sheet("Media life", "Life of the media",
          (Block("Life of the media", ("media_life.", "media."), ("media_life.", "media.")),),
          _LIVE),
    Sheet("Quote", "Consumables, replacement and cost",
          (Block("Prices", ("prices.", "price."), ("prices.", "price.")),
           Block("Consumption and cost", ("quote.", "cost.", "costs.", "consumption."),
                 ("quote.", "cost.", "costs.", "consumption.")),
           Block("", chart="cost")), _LIVE),
    Sheet("Settings", "Machine and operating settings",
          (Block("Machine", ("machine.",), ("machine.",)),
           Block("Limits and alarms", ("limits.", "alarms.", "settings.", "operating."),
                 ("limits.", "alarms.", "settings.", "operating.")),
           Block("Train", ("train.",), ("train.",)),
           Block("Sensitivity", ("sensitivity.",), ("sensitivity.",)),
           Block("", chart="sensitivity")), _LIVE),
    Sheet("Reading trail", "How the laboratory report was read",
          (Block("Reading trail", ("trail.", "lab."), ("water.trail", "trail.", "lab.")),)),
    Sheet("Record", "Record of readings",
          (Block("Record", ("record.",), ("record.",)),)),
    Sheet(REST, "Further results", (Block("Results", ("",), ("",)),)),
)  # fmt: skip

# The results a reader looks for first: heading, then keys in order. The summary and the
# terminal show these.
MAIN: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Recovery", ("concentrate.recovery", "machine.array_recovery",
                  "recovery.max", "recovery.limited_by", "recovery.max_inhibited",
                  "recovery.limited_by_inhibited")),
    ("Recovery of the raw water, without pretreatment",
     ("untreated.recovery.max", "untreated.recovery.limited_by",
      "untreated.recovery.max_inhibited", "untreated.scaling.lsi")),
    ("Raw water", ("water.hardness_mg_l_caco3", "water.fe_mg_l", "water.mn_mg_l",
                   "water.tds_mg_l")),
    ("Concentrate", ("concentrate.tds_mg_l", "concentrate.ph", "scaling.lsi")),
    ("Machine", ("machine.feed_flow_m3_h", "machine.product_flow_m3_h",
                 "machine.concentrate_flow_m3_h", "machine.hours_per_day")),
    ("Iron filter", ("iron_filter.vessels_in_service", "iron_filter.vessel_diameter_m",
                     "iron_filter.media_volume_l", "iron_filter.interval_d",
                     "iron_filter.programme_days",
                     "iron_filter.permanganate_g_per_regeneration",
                     "iron_filter.backwash_flow_m3_h")),
    ("Softener", ("softener.vessels_in_service", "softener.vessel_diameter_m",
                  "softener.resin_volume_l",
                  "softener.resin_filled_l", "softener.interval_d", "softener.programme_days",
                  "softener.meter_setting_m3", "softener.salt_kg_per_regeneration",
                  "softener.salt_kg_per_year", "softener.leakage_mg_l_caco3",
                  "softener.waste_m3_per_regeneration")),
    ("Carbon", ("carbon.vessel_diameter_m", "carbon.media_volume_l", "carbon.ebct_min",
                "carbon.backwash_flow_m3_h", "carbon.life_years")),
    ("Cartridge filter", ("cartridge.number", "cartridge.change_every_months")),
    ("Media life", ("media_life.softener_years_low", "media_life.softener_years_high",
                    "media_life.iron_filter_years_low", "media_life.iron_filter_years_high",
                    "media_life.carbon_years_low", "media_life.carbon_years_high")),
    ("Cost", ("quote.total_per_year", "quote.cost_per_year", "quote.cost_per_m3",
              "cost.total_per_year")),
)  # fmt: skip
