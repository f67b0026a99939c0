"""The iron filter's oxidant, its regeneration steps and its waste."""

from collections.abc import Mapping
from typing import Any

from pretreat.core.basis import Series
from pretreat.core.errors import DesignError
from pretreat.core.law import Law
from pretreat.stages.bed.figures import enter_round
from pretreat.stages.bed.programme import DAYS_PER_WEEK
from pretreat.stages.bed.valve_figures import enter_keyed
from pretreat.stages.iron_filter import laws as sizing
from pretreat.stages.limits import train_limits
from pretreat.stages.oxidation import (
    oxidant_demand_mg_l,
    oxidant_kg_per_year,
    oxidant_per_mg,
    oxidant_with_residual_kg_per_year,
    permanganate_g_per_regeneration,
    permanganate_kg_per_year,
    permanganate_needed_g_per_regeneration,
    permanganate_rule_mg_l,
)
from pretreat.stages.train import Train

P = "iron_filter"
MUCH_IRON_MG_L = 1.0  # PRACTICE: 1 to 3 mg/L, the low end


def enter_oxidant(train: Train, load: sizing.FilterLoad) -> None:
    """Enter the oxidant: per regeneration for an intermittent filter, else as a feed."""
    entries, choice = train.entries, train.design.iron_filter
    metals = {ion: entries.dissolved(train.raw, ion) for ion in ("fe", "mn")}
    taking = {**metals, "h2s": "train.h2s_mg_l"} if load.h2s_mg_l else metals
    entries.law(
        f"{P}.oxidant_demand_mg_l",
        oxidant_demand_mg_l,
        dissolved_mg_l=list(taking.values()),
        oxidant_mg_mg=[oxidant_per_mg(reduced, choice.oxidant) for reduced in taking],
        label=f"Oxidant the water needs ({choice.oxidant})",
        method="electron balance, sulfide to sulfur",
    )
    if choice.regeneration == "intermittent" and choice.oxidant == "permanganate":
        _enter_permanganate(train)
        _note_continuous(train, load)
    elif choice.regeneration == "intermittent":
        raise DesignError(
            f'[iron_filter] oxidant = "{choice.oxidant}" with regeneration = "intermittent": only '
            'permanganate restores the medium in place; write regeneration = "continuous"'
        )
    else:
        _enter_feed(train, metals)


def _enter_permanganate(train: Train) -> None:
    entries, choice = train.entries, train.design.iron_filter
    origin = train.design.origin(f"{P}.permanganate_dose_g_l")
    entries.given(
        f"{P}.permanganate_dose_g_l",
        choice.permanganate_dose_g_l,
        "g/L",
        "Permanganate per litre of medium",
        origin=origin,
        evidence="memory",
        cites=("MEMORY",) if origin == "assumed" else (),
        method="1.5 to 2 oz per ft3",
    )
    grams = entries.law(
        f"{P}.permanganate_g_per_regeneration",
        permanganate_g_per_regeneration,
        dose_g_l=f"{P}.permanganate_dose_g_l",
        volume_l=f"{P}.media_volume_l",
        label="Permanganate per regeneration, one vessel",
        method="dose times medium",
    )
    enter_round(train, P, "permanganate_g_per_regeneration", "g", "Permanganate per regeneration")
    entries.law(
        f"{P}.permanganate_kg_per_year",
        permanganate_kg_per_year,
        permanganate_g_per_regeneration=f"{P}.permanganate_g_per_regeneration_of_all",
        regenerations_per_year=f"{P}.regenerations_per_year",
        label="Permanganate per year",
        method="regenerations times grams",
    )
    if entries.ledger.number(f"{P}.regenerations_per_year") is None:
        return
    week = entries.value(f"{P}.regenerations_per_week")
    need = entries.law(
        f"{P}.permanganate_needed_g_per_regeneration",
        permanganate_needed_g_per_regeneration,
        demand_mg_l=f"{P}.oxidant_demand_mg_l",
        feed_m3_d="machine.feed_m3_d",
        regenerations_per_week=f"{P}.regenerations_per_week",
        vessels=f"{P}.vessels_side_by_side",
        label="Permanganate needed per regeneration, stoichiometric",
        method="demand of the water of a mean run",
    )
    if grams > sizing.MUCH_PERMANGANATE * need:
        entries.flag(
            "permanganate_high",
            "info" if origin == "assumed" else "caution",
            f"{grams:.0f} g of permanganate per regeneration is {grams / need:.0f} times "
            f"the {need:.0f} g the water needs{_spared(train, week)}; "
            f"{_saving(train, grams, need)}; rinse until no pink shows",
            f"{P}.permanganate_g_per_regeneration",
        )
    elif grams < need:
        entries.flag(
            "permanganate_low",
            "warning",
            f"{grams:.0f} g of permanganate per regeneration is below the {need:.0f} g "
            "the water needs: raise the dose or regenerate oftener",
            f"{P}.permanganate_g_per_regeneration",
        )


def _saving(train: Train, grams: float, need: float) -> str:
    """Return what a dose of three times the need would save in a year, as part of a sentence."""
    enough = sizing.MUCH_PERMANGANATE * need
    rounds = train.entries.value(f"{P}.regenerations_per_year") / 1000.0
    saved = (grams - enough) * rounds * train.entries.value(f"{P}.vessels_side_by_side")
    litres = train.entries.value(f"{P}.media_volume_l")
    return (
        f"three times the need is {enough:.0f} g ({enough / litres:.2g} g/L of medium) and saves "
        f"{saved:.0f} kg a year"
    )


def _note_continuous(train: Train, load: sizing.FilterLoad) -> None:
    """Say where a continuous feed usually suits better than regenerating in place."""
    if load.iron_dissolved_mg_l <= MUCH_IRON_MG_L:
        return
    train.entries.flag(
        "continuous_feed",
        "info",
        f"dissolved iron is {load.iron_dissolved_mg_l:.2g} mg/L; above about 1 to 3 "
        "mg/L oxidant is usually fed continuously ahead of the filter (common "
        'practice): [iron_filter] regeneration = "continuous" shows it',
        f"{P}.regeneration",
    )


def _spared(train: Train, per_week: float) -> str:
    """Return how often the permanganate would do, as part of a sentence."""
    run = train.entries.ledger.number(f"{P}.oxidation_run_h")
    every = 0
    if run is not None:
        days = run / train.entries.value("machine.hours_per_day")
        every = int(days * per_week / DAYS_PER_WEEK)
    if every < 2:
        return ": use less"
    return (
        f": the solids ask for the backwash, the medium itself lasts {every} of them; use less, or "
        f"draw permanganate at every {ordinal(every)} backwash only"
    )


def ordinal(number: int) -> str:
    """Return a whole number above 1 as the word that counts, such as 2nd or 4th."""
    endings = {1: "st", 2: "nd", 3: "rd"}
    teens = number % 100 in range(11, 14)
    return f"{number}{'th' if teens else endings.get(number % 10, 'th')}"


def _enter_feed(train: Train, metals: Mapping[str, str]) -> None:
    entries, choice = train.entries, train.design.iron_filter
    if choice.oxidant == "permanganate":
        entries.law(
            f"{P}.permanganate_rule_mg_l",
            permanganate_rule_mg_l,
            iron_mg_l=metals["fe"],
            manganese_mg_l=metals["mn"],
            h2s_mg_l="train.h2s_mg_l" if "train.h2s_mg_l" in entries.ledger else 0.0,
            label="Permanganate by the trade's rule Fe + 2 Mn + 5 H2S",
            evidence="memory",
        )
    fed = {"demand_mg_l": f"{P}.oxidant_demand_mg_l"}
    if choice.oxidant == "chlorine":
        _enter_residual(train)
        fed["residual_mg_l"] = f"{P}.oxidant_residual_mg_l"
    kept = "residual_mg_l" in fed
    entries.law(
        f"{P}.oxidant_kg_per_year",
        oxidant_with_residual_kg_per_year if kept else oxidant_kg_per_year,
        **fed,
        feed_m3_d="machine.feed_m3_d",
        days_per_year="machine.days_per_year",
        label=f"Oxidant fed per year ({choice.oxidant})",
        method="demand and residual" if kept else "stoichiometric; a residual comes on top",
    )
    _enter_detention(train)


def _enter_residual(train: Train) -> None:
    """Enter the free chlorine kept over the medium, which is fed on top of the demand."""
    kept = train.free_chlorine_mg_l
    chosen = train.design.carbon.free_chlorine_mg_l is not None
    train.entries.given(
        f"{P}.oxidant_residual_mg_l",
        max(kept - train.raw.free_chlorine_mg_l, 0.0),
        "mg/L",
        "Chlorine fed on top, for the residual over the medium",
        origin="chosen" if chosen else "assumed",
        cites=() if chosen else ("OPFLOW2021",),
        method="0.5 to 1.0 mg/L kept over the medium, less what the raw water brings",
    )


def _enter_detention(train: Train) -> None:
    """Enter the time and volume between the feed of the oxidant and the filter."""
    entries, limit = train.entries, train_limits()["detention"]
    minutes = entries.given(
        f"{P}.detention_min",
        limit.value,
        limit.unit,
        "Detention between oxidant and filter",
        evidence=limit.evidence,
        cites=(limit.source,),
        method=f"{limit.where}: {limit.meaning}",
    )
    volume = entries.law(
        f"{P}.detention_m3",
        sizing.detention_m3,
        flow_m3_h="machine.feed_flow_m3_h",
        detention_min=f"{P}.detention_min",
        label="Tank for the detention",
        method="feed flow times detention",
    )
    if train.has("contact_tank"):  # sized, or judged, as a stage of its own
        return
    tank = train.design.supply.raw_tank_volume_m3
    if tank is None or tank < volume:
        entries.flag(
            "detention_short",
            "caution",
            f"iron filter: {minutes:g} min of detention behind the oxidant take "
            f"{volume:.2f} m3 (municipal code, unless a pilot shows less); "
            + ("no tank is described" if tank is None else f"the raw tank holds {tank:g}")
            + ": dose ahead of a tank, or pilot",
            f"{P}.detention_m3",
        )


def enter_filter_waste(train: Train) -> None:
    """Enter steps and waste of a regeneration of the iron filter."""
    entries = train.entries
    intermittent = train.design.iron_filter.regeneration == "intermittent"
    entries.given(
        f"{P}.backwash_min",
        sizing.BACKWASH_MIN,
        "min",
        "Iron filter: backwash",
        evidence="memory",
        cites=("MEMORY",),
        method="10 to 15 min",
    )
    rinse = sizing.RINSE_MIN if intermittent else sizing.SHORT_RINSE_MIN
    usual = "rinse_usual_min" if intermittent else "rinse_min"
    entries.given(
        f"{P}.{usual}",
        rinse,
        "min",
        "Iron filter: usual rinse" if intermittent else "Iron filter: rinse at the service flow",
        evidence="memory",
        cites=("MEMORY",),
        method="15 to 30 min, until no pink shows" if intermittent else "",
    )
    if intermittent:
        _enter_rinse(train)
    draw_min, draw_bv = (sizing.DRAW_MIN, sizing.DRAW_BV) if intermittent else (0.0, 0.0)
    entries.given(
        f"{P}.draw_min",
        draw_min,
        "min",
        "Permanganate draw and displacement",
        evidence="memory",
        cites=("MEMORY",),
    )
    entries.given(f"{P}.draw_bv", draw_bv, "BV", "Water of draw and displacement")
    entries.law(
        f"{P}.regeneration_min",
        sizing.regeneration_min,
        backwash_min=f"{P}.backwash_min",
        draw_min=f"{P}.draw_min",
        rinse_min=f"{P}.rinse_min",
        label="Iron filter: out of service",
        method="sum of the steps",
    )
    entries.law(
        f"{P}.waste_m3_per_regeneration",
        sizing.regeneration_waste_m3,
        backwash_flow_m3_h=f"{P}.backwash_flow_m3_h",
        backwash_min=f"{P}.backwash_min",
        rinse_flow_m3_h=f"{P}.flow_each_m3_h",
        rinse_min=f"{P}.rinse_min",
        volume_l=f"{P}.media_volume_l",
        draw_bv=f"{P}.draw_bv",
        label="Iron filter: waste per regeneration, one vessel",
        method="backwash, rinse and draw",
    )
    words = "Iron filter: waste per regeneration"
    enter_round(train, P, "waste_m3_per_regeneration", "m3", words)


def _enter_rinse(train: Train) -> None:
    """Enter the rinse of permanganate: usual time, bed volumes and vessel volume, the longest."""
    entries = train.entries
    entries.given(
        f"{P}.rinse_least_bv",
        sizing.RINSE_LEAST_BV,
        "BV",
        "Iron filter: least rinse",
        cites=("PRACTICE",),
    )
    volume: dict[str, str] = {"volume_l": f"{P}.media_volume_l"}
    if f"{P}.vessel_height_m" in entries.ledger:
        law: Law[..., Any] = sizing.vessel_volume_l
        volume = {"area_m2": f"{P}.area_m2", "vessel_height_m": f"{P}.vessel_height_m"}
    else:
        law = sizing.vessel_volume_of_medium_l
    entries.law(
        f"{P}.vessel_volume_l",
        law,
        **volume,
        label="Iron filter: volume of one vessel",
        method="outside size" if "area_m2" in volume else "the medium fills half of it",
    )
    entries.law(
        f"{P}.rinse_min",
        sizing.rinse_min,
        usual_min=f"{P}.rinse_usual_min",
        least_bv=f"{P}.rinse_least_bv",
        volume_l=f"{P}.media_volume_l",
        vessel_volume_l=f"{P}.vessel_volume_l",
        flow_m3_h=f"{P}.flow_each_m3_h",
        label="Iron filter: rinse at the service flow",
        evidence="common practice",
        method="usual time, bed volumes or vessel volume, whichever is longest; until no pink "
        "shows",
    )


def enter_filter_settings(train: Train) -> None:
    """Enter what a technician keys in, for one vessel."""
    entries = train.entries
    for step, words in (("backwash", "backwash"), ("rinse", "rinse until no pink shows")):
        label = f"Iron filter: {words}, minutes keyed in"
        enter_keyed(train, f"{P}.{step}_set_min", f"{P}.{step}_min", label, up=True)
    wash, rinse = entries.value(f"{P}.backwash_flow_m3_h"), entries.value(f"{P}.flow_each_m3_h")
    draw_min = entries.value(f"{P}.draw_min")
    draw_l = entries.value(f"{P}.media_volume_l") * entries.value(f"{P}.draw_bv")
    steps = [("backwash", entries.value(f"{P}.backwash_min"), wash * 1000.0 / 60.0)]
    if draw_min:
        steps.append(("permanganate draw and displacement", draw_min, draw_l / draw_min))
    steps.append(
        (
            "rinse until no pink shows",
            entries.value(f"{P}.rinse_set_min"),
            rinse * 1000.0 / 60.0,
        )
    )
    entries.ledger.table(
        Series(
            f"{P}.settings",
            "Settings of the iron filter's valve, one vessel",
            ("step", "set_min", "flow_l_min", "volume_l"),
            ("-", "min", "L/min", "L"),
            tuple((name, m, flow, m * flow) for name, m, flow in steps),
            headings=("Step", "Set", "Flow", "Volume"),
            cites=("MEMORY",),
            method="membranes stopped or fed from storage meanwhile",
        )
    )
