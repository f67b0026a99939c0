"""The iron and manganese filter's section."""

from pretreat.core.errors import DesignError
from pretreat.stages.bed.figures import (
    Bed,
    enter_backwash,
    enter_depth_from_volume,
    enter_pressure_drop,
    enter_velocity,
    enter_vessel,
    installed_bed,
    note_depth,
)
from pretreat.stages.bed.media import Medium, iron_filter_medium
from pretreat.stages.bed.options import choose_bed
from pretreat.stages.bed.programme_figures import enter_programme
from pretreat.stages.iron_filter import laws as sizing
from pretreat.stages.iron_filter.oxidant_figures import (
    enter_filter_settings,
    enter_filter_waste,
    enter_oxidant,
)
from pretreat.stages.iron_filter.vessels import (
    FilterDuty,
    choose_filter_vessel,
    run_of,
    try_filter_vessel,
)
from pretreat.stages.train import Train

P = "iron_filter"
LABEL = "Iron filter"
WANTED_D = 1.0  # PRACTICE: daily backwash of small automatic filters
LONGEST_GAP_D = 3.0  # PRACTICE: iron compacts and ages in the bed


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
        entries.given(f"{P}.{name}_left_set_mg_l", value, "mg/L",
                      f"{name.capitalize()} a filter leaves", origin=origin,
                      cites=("PRACTICE",) if origin == "assumed" else (),
                      method="a filter in good order; measure it")  # fmt: skip
        total = entries.total(train.raw, ion)
        entries.calc(f"{P}.{name}_left_mg_l", min(value, train.raw.total(ion)), "mg/L",
                     f"{name.capitalize()} behind the filter",
                     f"MIN({{{P}.{name}_left_set_mg_l}},{{{total}}})",
                     method="never above the feed")  # fmt: skip


def filter_load(train: Train) -> sizing.FilterLoad:
    """Return what the filter holds back."""
    raw = train.raw
    return sizing.FilterLoad(raw.total("fe"), raw.total("mn"), raw.mg_l.get("fe", 0.0),
                             raw.mg_l.get("mn", 0.0), raw.h2s_mg_l)  # fmt: skip


def enter_iron_filter(train: Train, extra_m3_d: str | None) -> None:
    """Enter the iron filter, sized or rated.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    extra_m3_d : str or None
        Key of the water for the softener's regenerations, mean per day. [-]
    """
    entries, choice = train.entries, train.design.iron_filter
    medium, load = iron_filter_medium(choice.medium), filter_load(train)
    entries.word(f"{P}.medium", medium.name, "Iron filter: medium",
                 origin=train.design.origin(f"{P}.medium"))  # fmt: skip
    entries.word(f"{P}.regeneration", choice.regeneration, "Iron filter: regeneration",
                 origin=train.design.origin(f"{P}.regeneration"))  # fmt: skip
    entries.ledger.flag(*sizing.check_filter_water(load, train.raw.ph, medium, choice.oxidant))
    _enter_load(train, load, medium)
    bed = _size(train, load, medium, extra_m3_d) if train.sizing else _rate(train, medium)
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
    iron, manganese = entries.total(raw, "fe"), entries.total(raw, "mn")
    formula = f"{{{iron}}}+2*{{{manganese}}}"
    if raw.h2s_mg_l:
        known = entries.ledger.number("water.h2s_mg_l") == raw.h2s_mg_l
        entries.calc("train.h2s_mg_l", raw.h2s_mg_l, "mg/L", "Hydrogen sulfide",
                     "{water.h2s_mg_l}" if known else None)  # fmt: skip
        formula = f"MAX({formula},{{train.h2s_mg_l}}*{sizing.SULFUR_PER_H2S!r})"
    entries.calc(f"{P}.solids_load_mg_l", sizing.solids_load_mg_l(load), "mg/L",
                 "Solids load: iron + 2 x manganese, total", formula,
                 by=(sizing.solids_load_mg_l,), method="counted as in the published limit; the "
                 "sulfur of hydrogen sulfide where that is more")  # fmt: skip
    limit = train.design.iron_filter.solids_limit_g_m2
    if limit is None:
        entries.medium(P, medium, "solids_limit_g_m2", "Solids the bed holds, as Fe + 2 Mn")
    else:
        entries.given(f"{P}.solids_limit_g_m2", limit, "g/m2",
                      "Solids the bed holds, as Fe + 2 Mn", origin="chosen", cites=())  # fmt: skip


def _depth_wanted_m(train: Train, medium: Medium) -> float:
    entries, choice = train.entries, train.design.iron_filter
    if choice.media_depth_m is not None:
        return entries.given(f"{P}.depth_m", choice.media_depth_m, "m", "Iron filter: bed depth",
                             origin="chosen", cites=())  # fmt: skip
    return entries.given(f"{P}.depth_m", medium["depth_max_m"], "m", "Iron filter: bed depth",
                         evidence="memory", cites=("MEMORY",), method="the full depth, 30 in",
    )  # fmt: skip


def _enter_volume_from_depth(train: Train, bed: Bed) -> None:
    depth = train.entries.value(f"{P}.depth_m")
    train.entries.calc(f"{P}.media_volume_l", bed.area_m2 * depth * 1000.0, "L",
                       "Iron filter: medium", f"{{{P}.area_m2}}*{{{P}.depth_m}}*1000",
                       method="area times depth")  # fmt: skip


def _size(train: Train, load: sizing.FilterLoad, medium: Medium, extra_key: str | None) -> Bed:
    entries, choice = train.entries, train.design.iron_filter
    given = choice.regenerate_every_days
    wanted = entries.given(f"{P}.wanted_interval_d", WANTED_D if given is None else given, "d",
                           "Iron filter: interval wanted",
                           origin="assumed" if given is None else "chosen",
                           cites=("PRACTICE",) if given is None else ())  # fmt: skip
    depth = _depth_wanted_m(train, medium)
    feed = entries.value("machine.feed_m3_d")
    extra = 0.0 if extra_key is None else entries.value(extra_key)
    run = wanted * entries.value("machine.hours_per_day") * (feed + extra) / feed
    duty = FilterDuty(load, entries.value("machine.feed_flow_m3_h"), run, depth,
                      entries.value(f"{P}.solids_limit_g_m2"),
                      choice.regeneration == "intermittent")  # fmt: skip
    options = choose_filter_vessel(duty, medium)
    bed = choose_bed(train, (P, medium, LABEL), options,
                     lambda v, n: try_filter_vessel(duty, medium, v, n))  # fmt: skip
    enter_vessel(train, bed)
    _enter_volume_from_depth(train, bed)
    return bed


def _rate(train: Train, medium: Medium) -> Bed:
    choice = train.design.iron_filter
    bed = installed_bed(train, P, medium, LABEL, choice.vessel_diameter_m or 0.0)
    enter_vessel(train, bed)
    if choice.media_volume_l is not None:
        train.entries.given(f"{P}.media_volume_l", choice.media_volume_l, "L",
                            "Iron filter: medium", origin="chosen", cites=())  # fmt: skip
        enter_depth_from_volume(train, bed, f"{P}.media_volume_l")
        return bed
    if choice.media_depth_m is None:
        raise DesignError(
            '[iron_filter] media_depth is missing; write media_depth = "0.76 m" or media_volume'
        )
    _depth_wanted_m(train, medium)
    _enter_volume_from_depth(train, bed)
    return bed


def _enter_runs(train: Train, load: sizing.FilterLoad, medium: Medium) -> None:
    """Enter the running hours until clogged and until exhausted."""
    entries, raw, choice = train.entries, train.raw, train.design.iron_filter
    intermittent = choice.regeneration == "intermittent"
    duty = FilterDuty(load, entries.value("machine.feed_flow_m3_h"), 0.0,
                      entries.value(f"{P}.depth_m"), entries.value(f"{P}.solids_limit_g_m2"),
                      intermittent)  # fmt: skip
    solids, oxidation = run_of(duty, medium, entries.value(f"{P}.area_m2"))
    entries.calc(f"{P}.solids_run_h", solids, "h", "Running time until clogged",
                 f"{{{P}.solids_limit_g_m2}}*{{{P}.area_m2}}"
                 f"/({{machine.feed_flow_m3_h}}*{{{P}.solids_load_mg_l}})",
                 by=(sizing.solids_run_h,), method="solids limit over load")  # fmt: skip
    if oxidation is None:
        return
    terms = []
    for ion, name in (("fe", "iron"), ("mn", "manganese")):
        entries.medium(P, medium, f"{name}_capacity_g_l", f"Capacity for {name}")
        if raw.mg_l.get(ion):
            terms.append(f"{{{entries.dissolved(raw, ion)}}}/{{{P}.{name}_capacity_g_l}}")
    if raw.h2s_mg_l:
        entries.medium(P, medium, "sulfide_capacity_g_l", "Capacity for hydrogen sulfide")
        terms.append(f"{{train.h2s_mg_l}}/{{{P}.sulfide_capacity_g_l}}")
    entries.calc(f"{P}.oxidation_load_l_m3", sizing.oxidation_load_l_m3(load, medium), "L/m3",
                 "Medium used up per cubic metre", "+".join(terms),
                 by=(sizing.oxidation_load_l_m3,), method="dissolved iron, manganese, sulfide",
    )  # fmt: skip
    entries.calc(f"{P}.oxidation_run_h", oxidation, "h", "Running time until exhausted",
                 f"{{{P}.media_volume_l}}"
                 f"/({{machine.feed_flow_m3_h}}*{{{P}.oxidation_load_l_m3}})",
                 by=(sizing.oxidation_run_h,), method="oxidation capacity over load")  # fmt: skip


def _enter_interval(train: Train, extra_key: str | None) -> None:
    entries = train.entries
    solids = entries.value(f"{P}.solids_run_h")
    oxidation = entries.ledger.number(f"{P}.oxidation_run_h")
    hours = entries.value("machine.hours_per_day")
    run = solids if oxidation is None else min(solids, oxidation)
    inner = f"{{{P}.solids_run_h}}" if oxidation is None else (
        f"MIN({{{P}.solids_run_h}},{{{P}.oxidation_run_h}})")  # fmt: skip
    interval = entries.calc(f"{P}.interval_d", run / hours, "d",
                            "Interval on the membrane feed alone",
                            f"{inner}/{{machine.hours_per_day}}",
                            method="the shorter run")  # fmt: skip
    entries.word(f"{P}.limited_by", "solids" if run == solids else "oxidation capacity",
                 "What ends the filter's run", origin="calculated")  # fmt: skip
    extra = 0.0 if extra_key is None else entries.value(extra_key)
    feed = entries.value("machine.feed_m3_d")
    more = "" if extra_key is None else f"+{{{extra_key}}}"
    everything = entries.calc(
        f"{P}.interval_all_water_d", sizing.interval_with_all_water_d(interval, feed, extra), "d",
        "Interval with the softener's regeneration water",
        f"{{{P}.interval_d}}*{{machine.feed_m3_d}}/({{machine.feed_m3_d}}{more})",
        method="all water that passes the filter",
    )  # fmt: skip
    entries.calc(f"{P}.interval_governing_d", min(interval, everything), "d",
                 "Interval the programme obeys",
                 f"MIN({{{P}.interval_d}},{{{P}.interval_all_water_d}})",
                 method="the smaller")  # fmt: skip
    entries.given(f"{P}.longest_gap_d", LONGEST_GAP_D, "d", "Iron filter: longest gap allowed",
                  cites=("PRACTICE",), method="iron compacts in the bed")  # fmt: skip


def _note_set_interval(train: Train) -> None:
    entries, given = train.entries, train.design.iron_filter.regenerate_every_days
    interval = entries.value(f"{P}.interval_governing_d")
    if train.sizing or given is None:
        return
    entries.given(f"{P}.set_interval_d", given, "d", "Iron filter: interval set at present",
                  origin="chosen", cites=())  # fmt: skip
    if given > interval:
        entries.flag("set_too_long", "warning",
                     f"the iron filter is set to {given:g} d, it lasts {interval:.2f} d: iron goes "
                     "on to the softener and the membranes", f"{P}.set_interval_d")  # fmt: skip
