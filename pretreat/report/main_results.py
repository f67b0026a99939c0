"""The results that a reader looks for first; the summary and the terminal show these."""

from pretreat.stages import ORDER


def _of_stages() -> tuple[tuple[str, tuple[str, ...]], ...]:
    found: dict[str, tuple[str, ...]] = {}
    for stage in ORDER:
        if stage.main:
            heading = stage.main_heading or stage.label
            found[heading] = (*found.get(heading, ()), *stage.main)
    return tuple(found.items())


# Heading, then keys in order.
MAIN: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Verdict", ("verdict.probability", "verdict.measure_next")),
    (
        "Recovery and concentrate",
        (
            "concentrate.recovery",
            "machine.array_recovery",
            "recovery.max",
            "recovery.max_inhibited",
            "concentrate.tds_mg_l",
            "concentrate.ph",
            "scaling.lsi",
            "scaling.sdsi",
        ),
    ),
    (
        "Raw water, without pretreatment",
        (
            "untreated.recovery.max_bare",
            "untreated.recovery.max",
            "untreated.recovery.max_inhibited",
            "untreated.scaling.lsi",
            "untreated.scaling.sdsi",
            "water.hardness_mg_l_caco3",
            "water.fe_mg_l",
            "water.mn_mg_l",
            "water.tds_mg_l",
        ),
    ),
    (
        "Over the samples of this site",
        (
            "samples.count",
            "samples.recovery_max_lowest",
            "samples.recovery_max_lowest_sample",
            "samples.recovery_max_highest",
            "samples.softener_interval_lowest_d",
            "samples.softener_interval_lowest_sample",
            "samples.softener_interval_highest_d",
            "samples.iron_filter_interval_lowest_d",
            "samples.iron_filter_interval_lowest_sample",
            "samples.iron_filter_interval_highest_d",
        ),
    ),
    (
        "Machine",
        (
            "machine.feed_flow_m3_h",
            "machine.product_flow_m3_h",
            "machine.concentrate_flow_m3_h",
            "machine.hours_per_day",
            "machine.elements",
            "machine.flux_l_m2_h",
            "settings.known_pressure_bar",
            "machine.feed_pressure_bar",
            "machine.feed_pressure_coldest_bar",
            "machine.energy_kwh_m3",
        ),
    ),
    (
        "Product water",
        (
            "product.tds_mg_l",
            "product.ph",
            "delivered.tds_mg_l",
            "delivered.ph",
            "product.target",
            "remineralisation.filter_share",
            "remineralisation.hardness_mg_l_caco3",
            "remineralisation.ph",
            "remineralisation.lsi",
            "remineralisation.calcite_kg_per_year",
            "remineralisation.blend_share",
        ),
    ),
    *_of_stages(),
    (
        "Media life",
        tuple(
            f"media_life.{stage.key}_years_{end}"
            for stage in ORDER
            if stage.wash is not None and stage.medium is not None
            for end in ("low", "high")
        ),
    ),
    (
        "Record of readings",
        (
            "record.findings",
            "record.readings",
            "record.baseline",
            "record.baseline_flow_m3_h",
            "record.last_flow_m3_h",
            "record.baseline_salt_passage",
            "record.last_salt_passage",
        ),
    ),
    (
        "Elements, fitted to the readings",
        (
            "fit.last_reading",
            "fit.baseline_water_permeability_lmh_bar",
            "fit.last_water_permeability_lmh_bar",
            "fit.baseline_salt_permeability_lmh",
            "fit.last_salt_permeability_lmh",
            "fit.meaning",
        ),
    ),
    ("Cost", ("quote.cost_per_year", "quote.cost_per_m3", "quote.replacement_total")),
)

# The dozen that the front page shows, as many of them as the study has.
FRONT: tuple[str, ...] = (
    "machine.feed_flow_m3_h",
    "machine.product_flow_m3_h",
    "machine.concentrate_flow_m3_h",
    "machine.hours_per_day",
    "settings.known_pressure_bar",
    "machine.feed_pressure_bar",
    "water.tds_mg_l",
    "water.hardness_mg_l_caco3",
    "concentrate.tds_mg_l",
    "scaling.lsi",
    "scaling.sdsi",
    "iron_filter.interval_d",
    "softener.interval_d",
    "softener.salt_kg_per_year",
    "inhibitor.kg_per_year",
    "product.tds_mg_l",
    "quote.cost_per_year",
    "quote.cost_per_m3",
)
FRONT_MOST = 14
