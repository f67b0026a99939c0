"""The iron and manganese filter's section."""

from collections.abc import Callable
from typing import Any

import numpy as np
from msgspec.structs import replace

from pretreat.core.basis import Flag
from pretreat.core.errors import DesignError, OutOfRangeError
from pretreat.stages.bed.arrangement import numbers_to_try
from pretreat.stages.bed.depth import note_depth
from pretreat.stages.bed.figures import (
    Bed,
    enter_backwash,
    enter_depth_from_volume,
    enter_medium_of_all,
    enter_velocity,
    enter_vessel,
    installed_bed,
)
from pretreat.stages.bed.filling import filling_origin
from pretreat.stages.bed.media import Medium, iron_filter_medium
from pretreat.stages.bed.options import choose_bed
from pretreat.stages.bed.pressure_drop import enter_pressure_drop
from pretreat.stages.bed.programme_figures import enter_programme
from pretreat.stages.bed.supply_fit import choose_within_supply, washing_of
from pretreat.stages.bed.vessels import MOST_IN_PARALLEL
from pretreat.stages.carbonate import enter_ph, ph_behind
from pretreat.stages.filters import medium_of_depth_l
from pretreat.stages.iron_filter import laws as sizing
from pretreat.stages.iron_filter.oxidant_figures import (
    enter_filter_settings,
    enter_filter_waste,
    enter_oxidant,
)
from pretreat.stages.iron_filter.vessels import (
    FilterDuty,
    run_of,
    try_filter_vessel,
)
from pretreat.stages.oxidant_feed import alkalinity_left, alkalinity_used, without_metals
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train

P, USED = "iron_filter", "iron_filter.alkalinity_used_mg_l_caco3"
LABEL = "Iron filter"
WANTED_D = 1.0  # PRACTICE: daily backwash of small automatic filters
LONGEST_GAP_D = 3.0  # PRACTICE: iron compacts and ages in the bed


def treat(train: Train, stream: Stream) -> Stream:
    """Return the water behind the filter: iron and manganese as it leaves them.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water ahead. [-]

    Returns
    -------
    Stream
        The water behind it. [-]
    """
    enter_metals_left(train)
    left = {ion: f"{P}.{name}_left_mg_l" for ion, name in (("fe", "iron"), ("mn", "manganese"))}
    mg_l = {**stream.mg_l, **{ion: train.entries.value(key) for ion, key in left.items()}}
    oxidant = train.design.iron_filter.oxidant
    used = alkalinity_used(train, stream, oxidant, P)
    spent = alkalinity_left(train, stream, used, P)
    passed = replace(stream, mg_l=without_metals(stream), alkalinity_mg_l_caco3=spent)
    enter_ph(train, passed, P, "iron filter", *((USED,) if used else ()))
    _check(train, stream)
    return replace(
        stream,
        alkalinity_mg_l_caco3=spent,
        mg_l=mg_l,
        solid_mg_l={k: v for k, v in stream.solid_mg_l.items() if k not in left},
        holds={**stream.holds, **left},
        oxidant=oxidant,
        free_chlorine_mg_l=train.free_chlorine_mg_l,
        sulfide_mg_l=0.0,
    )


def _check(train: Train, stream: Stream) -> None:
    """Judge whether the medium can take the water as the stages ahead of it leave it."""
    choice = train.design.iron_filter
    medium, load = iron_filter_medium(choice.medium), filter_load(train)
    try:
        found = sizing.check_filter_water(
            load,
            ph_behind(train, replace(stream, passed=(*stream.passed, P))),
            medium,
            choice.oxidant,
            softener=train.has("softener"),
        )
    except OutOfRangeError as refused:
        found = (Flag("iron_manganese_high", "warning", str(refused)),)
    train.entries.ledger.flag(*found)


def enter_metals_left(train: Train) -> None:
    """Enter what the filter leaves, never above the feed.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    """
    entries, choice = train.entries, train.design.iron_filter
    for ion, name, value in (
        ("fe", "iron", choice.iron_left_mg_l),
        ("mn", "manganese", choice.manganese_left_mg_l),
    ):
        origin = train.design.origin(f"{P}.{name}_left_mg_l")
        entries.given(
            f"{P}.{name}_left_set_mg_l",
            value,
            "mg/L",
            f"{name.capitalize()} a filter leaves",
            origin=origin,
            cites=("PRACTICE",) if origin == "assumed" else (),
            method="a filter in good order; measure it",
        )
        total = entries.total(train.raw, ion)
        entries.law(
            f"{P}.{name}_left_mg_l",
            sizing.metal_left_mg_l,
            left_set_mg_l=f"{P}.{name}_left_set_mg_l",
            total_mg_l=total,
            label=f"{name.capitalize()} behind the filter",
            method="never above the feed",
        )


def filter_load(train: Train) -> sizing.FilterLoad:
    """Return what the filter holds back."""
    raw = train.raw
    return sizing.FilterLoad(
        raw.total("fe"),
        raw.total("mn"),
        raw.mg_l.get("fe", 0.0),
        raw.mg_l.get("mn", 0.0),
        raw.h2s_mg_l,
    )


def enter(train: Train, behind: tuple[str, ...]) -> None:
    """Enter the iron filter, sized or rated.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    behind : tuple of str
        Keys of the water that stages behind it regenerate with, mean per day. [-]
    """
    entries, choice = train.entries, train.design.iron_filter
    extra_m3_d = behind[0] if behind else None
    medium, load = iron_filter_medium(choice.medium), filter_load(train)
    entries.word(
        f"{P}.medium", medium.name, "Iron filter: medium", origin=train.design.origin(f"{P}.medium")
    )
    entries.word(
        f"{P}.regeneration",
        choice.regeneration,
        "Iron filter: regeneration",
        origin=train.design.origin(f"{P}.regeneration"),
    )
    _enter_load(train, load, medium)
    bed = _size(train, load, medium, extra_m3_d) if train.sizing else _rate(train, medium)
    enter_medium_of_all(train, bed, f"{P}.media_volume_l", f"{P}.media_bought_l")
    enter_velocity(train, bed)
    note_depth(train, bed)
    _enter_runs(train, load, medium)
    _enter_interval(train, extra_m3_d)
    enter_programme(train, P, LABEL, f"{P}.interval_governing_d", f"{P}.longest_gap_d", "calendar")
    enter_pressure_drop(train, bed)
    enter_backwash(train, bed)
    enter_oxidant(train, load)
    enter_filter_waste(train)
    enter_filter_settings(train)
    _note_set_interval(train)


def _enter_load(train: Train, load: sizing.FilterLoad, medium: Medium) -> None:
    entries, raw = train.entries, train.raw
    totals = {
        "iron_total_mg_l": entries.total(raw, "fe"),
        "manganese_total_mg_l": entries.total(raw, "mn"),
    }
    if load.h2s_mg_l:
        _enter_sulfide(train, load.h2s_mg_l)
        totals["h2s_mg_l"] = "train.h2s_mg_l"
    entries.law(
        f"{P}.solids_load_mg_l",
        sizing.solids_load_mg_l if load.h2s_mg_l else sizing.metal_solids_mg_l,
        **totals,
        label="Solids load: iron + 2 x manganese, total",
        method="counted as in the published limit; the sulfur of hydrogen sulfide where that is "
        "more",
    )
    limit = train.design.iron_filter.solids_limit_g_m2
    if limit is None:
        entries.medium(P, medium, "solids_limit_g_m2", "Solids the bed holds, as Fe + 2 Mn")
    else:
        entries.given(
            f"{P}.solids_limit_g_m2",
            limit,
            "g/m2",
            "Solids the bed holds, as Fe + 2 Mn",
            origin="chosen",
            cites=(),
        )


def _enter_sulfide(train: Train, h2s_mg_l: float) -> None:
    entries, key, label = train.entries, "train.h2s_mg_l", "Hydrogen sulfide"
    if entries.ledger.number("water.h2s_mg_l") == h2s_mg_l:
        entries.law(key, sizing.sulfide_mg_l, h2s_mg_l="water.h2s_mg_l", label=label)
    else:
        entries.ledger.put(key, h2s_mg_l, "mg/L", label)
        entries.ledger.rests(key)


def _depth_wanted_m(train: Train, medium: Medium) -> float:
    entries, choice = train.entries, train.design.iron_filter
    if choice.media_depth_m is not None:
        return entries.given(
            f"{P}.depth_m",
            choice.media_depth_m,
            "m",
            "Iron filter: bed depth",
            origin="chosen",
            cites=(),
        )
    return entries.given(
        f"{P}.depth_m",
        medium["depth_max_m"],
        "m",
        "Iron filter: bed depth",
        evidence="memory",
        cites=("MEMORY",),
        method="the full depth, 30 in",
    )


def _enter_volume_from_depth(train: Train) -> None:
    train.entries.law(
        f"{P}.media_volume_l",
        medium_of_depth_l,
        area_m2=f"{P}.area_m2",
        depth_m=f"{P}.depth_m",
        label="Iron filter: medium, one vessel",
        method="area times depth",
    )


def _size(train: Train, load: sizing.FilterLoad, medium: Medium, extra_key: str | None) -> Bed:
    entries, choice = train.entries, train.design.iron_filter
    given = choice.regenerate_every_days
    wanted = entries.given(
        f"{P}.wanted_interval_d",
        WANTED_D if given is None else given,
        "d",
        "Iron filter: interval wanted",
        origin="assumed" if given is None else "chosen",
        cites=("PRACTICE",) if given is None else (),
    )
    depth = _depth_wanted_m(train, medium)
    feed = entries.value("machine.feed_m3_d")
    extra = 0.0 if extra_key is None else entries.value(extra_key)
    run = wanted * entries.value("machine.hours_per_day") * (feed + extra) / feed
    duty = FilterDuty(
        load,
        entries.value("machine.feed_flow_m3_h"),
        run,
        depth,
        entries.value(f"{P}.solids_limit_g_m2"),
        choice.regeneration == "intermittent",
    )
    numbers = numbers_to_try(choice, P, MOST_IN_PARALLEL)
    options = choose_within_supply(
        train,
        lambda v, n: try_filter_vessel(duty, medium, v, n),
        numbers,
        washing_of(train, medium),
    )
    bed = choose_bed(
        train, (P, medium, LABEL), options, lambda v, n: try_filter_vessel(duty, medium, v, n)
    )
    enter_vessel(train, bed)
    _enter_volume_from_depth(train)
    return bed


def _rate(train: Train, medium: Medium) -> Bed:
    choice = train.design.iron_filter
    bed = installed_bed(train, P, medium, LABEL, choice.vessel_diameter_m or 0.0)
    enter_vessel(train, bed)
    if choice.media_volume_l is not None:
        train.entries.given(
            f"{P}.media_volume_l",
            choice.media_volume_l,
            "L",
            "Iron filter: medium, one vessel",
            origin=filling_origin(train, P, "media_volume_l"),
            cites=(),
        )
        enter_depth_from_volume(train, bed, f"{P}.media_volume_l")
        return bed
    if choice.media_depth_m is None:
        raise DesignError(
            '[iron_filter] media_depth is missing; write media_depth = "0.76 m" or media_volume'
        )
    _depth_wanted_m(train, medium)
    _enter_volume_from_depth(train)
    return bed


def _enter_runs(train: Train, load: sizing.FilterLoad, medium: Medium) -> None:
    """Enter the running hours until clogged and until exhausted."""
    entries, raw, choice = train.entries, train.raw, train.design.iron_filter
    intermittent = choice.regeneration == "intermittent"
    duty = FilterDuty(
        load,
        entries.value(f"{P}.flow_each_m3_h"),
        0.0,
        entries.value(f"{P}.depth_m"),
        entries.value(f"{P}.solids_limit_g_m2"),
        intermittent,
    )
    _, oxidation = run_of(duty, medium, entries.value(f"{P}.area_m2"))  # refuses what cannot be
    entries.law(
        f"{P}.solids_run_h",
        sizing.solids_run_h,
        solids_limit_g_m2=f"{P}.solids_limit_g_m2",
        area_m2=f"{P}.area_m2",
        flow_m3_h=f"{P}.flow_each_m3_h",
        solids_load_mg_l=f"{P}.solids_load_mg_l",
        label="Running time until clogged",
        method="solids limit over load",
    )
    if oxidation is None:
        return
    dissolved, capacities = [], []
    for ion, name in (("fe", "iron"), ("mn", "manganese")):
        entries.medium(P, medium, f"{name}_capacity_g_l", f"Capacity for {name}")
        if raw.mg_l.get(ion):
            dissolved.append(entries.dissolved(raw, ion))
            capacities.append(f"{P}.{name}_capacity_g_l")
    if raw.h2s_mg_l:
        entries.medium(P, medium, "sulfide_capacity_g_l", "Capacity for hydrogen sulfide")
        dissolved.append("train.h2s_mg_l")
        capacities.append(f"{P}.sulfide_capacity_g_l")
    entries.law(
        f"{P}.oxidation_load_l_m3",
        sizing.oxidation_load_l_m3,
        dissolved_mg_l=dissolved,
        capacities_g_l=capacities,
        label="Medium used up per cubic metre",
        method="dissolved iron, manganese, sulfide",
    )
    entries.law(
        f"{P}.oxidation_run_h",
        sizing.oxidation_run_h,
        volume_l=f"{P}.media_volume_l",
        flow_m3_h=f"{P}.flow_each_m3_h",
        oxidation_load_l_m3=f"{P}.oxidation_load_l_m3",
        label="Running time until exhausted",
        method="oxidation capacity over load",
    )


def _ends_run(value: Callable[[str], Any]) -> Any:
    """Return what ends a run, from the running times of the figures."""
    solids, oxidation = value(f"{P}.solids_run_h"), value(f"{P}.oxidation_run_h")
    if oxidation is None:
        return "solids"
    found = np.where(np.less_equal(solids, oxidation), "solids", "oxidation capacity")
    return found if found.ndim else str(found)


def _enter_interval(train: Train, extra_key: str | None) -> None:
    entries, solids = train.entries, f"{P}.solids_run_h"
    runs = {"run_h": solids}
    if f"{P}.oxidation_run_h" in entries.ledger:
        runs = {"solids_run_h": solids, "oxidation_run_h": f"{P}.oxidation_run_h"}
    entries.law(
        f"{P}.interval_d",
        sizing.interval_d if "run_h" in runs else sizing.shorter_interval_d,
        **runs,
        running_hours_per_day="machine.hours_per_day",
        label="Interval on the membrane feed alone",
        method="the shorter run",
    )
    ended = _ends_run(entries.ledger.number)
    entries.word(f"{P}.limited_by", ended, "What ends the filter's run", origin="calculated")
    entries.ledger.rests(f"{P}.limited_by", *runs.values(), again=_ends_run)
    entries.law(
        f"{P}.interval_all_water_d",
        sizing.interval_with_all_water_d,
        interval_d=f"{P}.interval_d",
        feed_m3_d="machine.feed_m3_d",
        extra_m3_d=0.0 if extra_key is None else extra_key,
        label="Interval with the softener's regeneration water",
        method="all water that passes the filter",
    )
    entries.law(
        f"{P}.interval_governing_d",
        sizing.governing_interval_d,
        interval_d=f"{P}.interval_d",
        interval_all_water_d=f"{P}.interval_all_water_d",
        label="Interval the programme obeys",
        method="the smaller",
    )
    entries.given(
        f"{P}.longest_gap_d",
        LONGEST_GAP_D,
        "d",
        "Iron filter: longest gap allowed",
        cites=("PRACTICE",),
        method="iron compacts in the bed",
    )


def _note_set_interval(train: Train) -> None:
    entries, given = train.entries, train.design.iron_filter.regenerate_every_days
    interval = entries.value(f"{P}.interval_governing_d")
    if train.sizing or given is None:
        return
    entries.given(
        f"{P}.set_interval_d",
        given,
        "d",
        "Iron filter: interval set at present",
        origin="chosen",
        cites=(),
    )
    if given > interval:
        entries.flag(
            "set_too_long",
            "warning",
            f"the iron filter is set to {given:g} d, it lasts {interval:.2f} d: iron goes "
            "on to the softener and the membranes",
            f"{P}.set_interval_d",
        )
