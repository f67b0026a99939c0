"""Several analyses of one site: what the train as designed makes of each."""

import math
from collections.abc import Callable, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.basis import Flag, Series
from pretreat.core.errors import PretreatError
from pretreat.core.results import Ledger
from pretreat.core.water import WaterAnalysis
from pretreat.lab.samples.ranges import severity
from pretreat.lab.water_figures import Composition, enter_water
from pretreat.membrane.feed import exchanged, feed_water
from pretreat.membrane.limits import MembranePoint, limits_from
from pretreat.membrane.recovery import Reach, reaches
from pretreat.plant.decide import flow_order
from pretreat.plant.train import added_alkalinity, run_stages
from pretreat.site.design import DesignBasis
from pretreat.stages.bed.arrangement import arrangement_of
from pretreat.stages.decision import Question
from pretreat.stages.stage import Stage
from pretreat.stages.stream import RawWater, Stream
from pretreat.stages.train import Entries, Train

MOST_RUN = 60  # samples led through the train; of more, the mildest and the severest
WARMER_C = 3.0  # a season worth a temperature of its own in the site file
RawOf = Callable[[WaterAnalysis, Composition, DesignBasis], RawWater]


BEYOND = ("iron_over_code",)  # flags of a stage that the water is too much for


class Standing(Struct, frozen=True):
    """The site that every sample is led through: choices, membranes, decisions, and raw water.

    ``raw_of`` makes the raw water of a sample.
    """

    design: DesignBasis
    point: MembranePoint
    question: Question
    raw_of: RawOf


class SampleRun(Struct, frozen=True):
    """What the train as designed makes of one sample; None where it cannot be said."""

    name: str
    date: str
    hardness_mg_l_caco3: float | None = None
    iron_manganese_mg_l: float | None = None
    tds_mg_l: float | None = None
    raw: Reach | None = None
    membranes: Reach | None = None
    softener_interval_d: float | None = None
    iron_filter_interval_d: float | None = None
    fault: str = ""


def enter_seasons(ledger: Ledger, waters: Sequence[WaterAnalysis], site: Standing) -> None:
    """Lead each sample through the train as designed; enter the range of what comes out.

    Parameters
    ----------
    ledger : Ledger
        With the train entered; its vessels and doses are kept for every sample. [-]
    waters : sequence of WaterAnalysis
        Repeated analyses of one site. [-]
    site : Standing
        The site they are led through. [-]
    """
    if len(waters) < 2:
        return
    chosen = _within_reason(ledger, waters)
    standing = replace(site, design=_as_standing(ledger, site.design))
    runs = [_run(ledger, water, standing) for water in chosen]
    _enter_runs(ledger, runs)
    _enter_extremes(ledger, runs)
    _flag_faults(ledger, runs)
    _flag_beyond_design(ledger, runs)
    _flag_temperatures(ledger, chosen, site.design)


def _within_reason(ledger: Ledger, waters: Sequence[WaterAnalysis]) -> list[WaterAnalysis]:
    if len(waters) <= MOST_RUN:
        return list(waters)
    scores = severity(waters)
    order = sorted(range(len(waters)), key=lambda n: scores[n])
    kept = {*order[: MOST_RUN // 2], *order[-MOST_RUN // 2 :]}
    ledger.flag(
        Flag(
            "samples_picked",
            "info",
            f"of {len(waters)} samples the {MOST_RUN // 2} mildest and the "
            f"{MOST_RUN // 2} severest are led through the train",
            "samples.count",
        )
    )
    return [water for n, water in enumerate(waters) if n in kept]


def _as_standing(ledger: Ledger, design: DesignBasis) -> DesignBasis:
    """Return the design with the vessels and doses of the study as installed."""
    softener, iron = design.softener, design.iron_filter
    if "softener.resin_filled_l" in ledger:
        softener = replace(
            softener,
            resin_volume_l=ledger.number("softener.resin_filled_l"),
            vessel_diameter_m=_one_wide(ledger, "softener"),
            salt_dose_g_l=ledger.number("softener.salt_dose_g_l"),
            salt_per_regeneration_kg=None,
            refill_minutes=None,
            refill_flow_l_min=None,
            **_vessels(ledger, "softener"),
        )
    if "iron_filter.media_volume_l" in ledger:
        iron = replace(
            iron,
            vessel_diameter_m=_one_wide(ledger, "iron_filter"),
            media_depth_m=ledger.number("iron_filter.depth_m"),
            media_volume_l=None,
            **_vessels(ledger, "iron_filter"),
        )
    bypass = design.bypass
    if "bypass.share" in ledger:
        bypass = replace(
            bypass, share=ledger.number("bypass.share"), target_hardness_mg_l_caco3=None
        )
    return design.with_stages(softener=softener, iron_filter=iron, bypass=bypass)


def _one_wide(ledger: Ledger, stage: str) -> float:
    """Return the diameter of one vessel."""
    return ledger.number(f"{stage}.vessel_diameter_m") or math.nan


def _vessels(ledger: Ledger, stage: str) -> dict[str, Any]:
    """Return number and arrangement of the vessels of a stage."""
    number = ledger.number(f"{stage}.vessels") or 1.0
    return {"vessels": int(number), "arrangement": arrangement_of(ledger, stage)}


def _run(ledger: Ledger, water: WaterAnalysis, site: Standing) -> SampleRun:
    from pretreat.plant.machine import enter_machine

    scratch, design = Ledger(), site.design
    enter_machine(scratch, design)
    run = SampleRun(water.sample, water.date)
    try:
        found = enter_water(scratch, water, design.water)
        raw = site.raw_of(water, found, design)
        run = replace(
            run,
            hardness_mg_l_caco3=scratch.number("water.hardness_mg_l_caco3"),
            iron_manganese_mg_l=raw.total("fe") + raw.total("mn"),
            tds_mg_l=scratch.number("water.tds_mg_l"),
            raw=_reach(None, raw, found, site),
        )
        stream, intervals = _through(ledger, scratch, raw, site)
        return replace(
            run,
            fault=_too_much(scratch),
            membranes=_reach(stream, raw, found, site),
            softener_interval_d=intervals[0],
            iron_filter_interval_d=intervals[1],
        )
    except PretreatError as problem:
        return replace(run, fault=problem.faults[0])


def _too_much(scratch: Ledger) -> str:
    """Return what the vessels as they stand do not take of a sample, empty where all is well."""
    return next((f.text for f in scratch.study().flags if f.code in BEYOND), "")


def _through(
    ledger: Ledger, scratch: Ledger, raw: RawWater, site: Standing
) -> tuple[Stream, tuple[float | None, float | None]]:
    """Return the water behind the stages of the train, and the two intervals."""
    again = [stage for stage in flow_order(site.question) if _stands(stage, ledger, site.question)]
    question = replace(site.question, raw=raw, mode="rate")
    train = Train(Entries(scratch), raw, site.design, "rate", question)
    stream = run_stages(train, again)
    return stream, (
        scratch.number("softener.interval_d"),
        scratch.number("iron_filter.interval_governing_d"),
    )


def _stands(stage: Stage, ledger: Ledger, question: Question) -> bool:
    """Tell whether a stage changes a sample as it stands: a bed with an interval, or no bed."""
    decision = question.ahead.get(stage.key)
    if not stage.treat or decision is None or not decision.included:
        return False
    if stage.medium is None:
        return stage.side == "feed"
    return bool(stage.medium.interval) and stage.medium.volume in ledger


def _reach(
    stream: Stream | None, raw: RawWater, found: Composition, site: Standing
) -> Reach | None:
    """Return how far a raw water goes, or what the train makes of it."""
    design, point = site.design, site.point
    if raw.ph is None or math.isnan(found.alkalinity_mg_l_caco3):
        return None
    feed = feed_water(
        found.scaling,
        found.alkalinity_mg_l_caco3,
        raw.ph,
        found.measured_temp_c,
        found.operating_temp_c,
    )
    if stream is not None:
        feed = exchanged(
            feed, stream.mg_l, stream.carbon_lost_mol_kg, added_alkalinity(raw, stream)
        )
    if not bool(feed.speciation.converged):
        return None
    limits = limits_from(design.limits, design.limits.inhibitor)
    (reach,) = reaches(feed, (limits,), point.passage, point.rho, point.wall_factor)
    return None if math.isnan(reach.maximum) else reach


def _enter_runs(ledger: Ledger, runs: Sequence[SampleRun]) -> None:
    def limit(reach: Reach | None) -> tuple[float | None, str]:
        return (None, "") if reach is None else (reach.maximum, reach.limited_by)

    columns = (
        "sample",
        "date",
        "hardness",
        "iron_manganese",
        "tds",
        "untreated_recovery_max",
        "untreated_limited_by",
        "recovery_max",
        "limited_by",
        "softener_interval",
        "iron_filter_interval",
        "remark",
    )
    units = ("-", "-", "mg/L as CaCO3", "mg/L", "mg/L", "-", "-", "-", "-", "d", "d", "-")
    headings = (
        "Sample",
        "Date",
        "Hardness",
        "Fe + Mn",
        "Dissolved solids",
        "Maximum recovery, raw water",
        "Limited by",
        "Maximum recovery, treated",
        "Limited by",
        "Softener interval",
        "Iron filter interval",
        "Remark",
    )
    ledger.table(
        Series(
            "samples.each",
            "Each analysis of this site through the train as designed",
            columns,
            units,
            tuple(
                (
                    r.name,
                    r.date,
                    r.hardness_mg_l_caco3,
                    r.iron_manganese_mg_l,
                    r.tds_mg_l,
                    *limit(r.raw),
                    *limit(r.membranes),
                    r.softener_interval_d,
                    r.iron_filter_interval_d,
                    r.fault,
                )
                for r in runs
            ),
            method="vessels, doses and temperature as designed, only the water changes",
            cites=("D3739", "D4692"),
            headings=headings,
        )
    )


def _spread(runs: Sequence[SampleRun]) -> list[tuple[str, str, str, list[tuple[float, str]]]]:
    """Return key, unit, label and the values with their sample, of all that is ranged."""
    raw = [(r.raw.maximum, r.name) for r in runs if r.raw is not None]
    feed = [(r.membranes.maximum, r.name) for r in runs if r.membranes is not None]
    soft = [(r.softener_interval_d, r.name) for r in runs if r.softener_interval_d is not None]
    iron = [(r.iron_filter_interval_d, r.name) for r in runs if r.iron_filter_interval_d]
    return [
        ("untreated_recovery_max", "-", "Maximum recovery, raw water", raw),
        ("recovery_max", "-", "Maximum recovery", feed),
        ("softener_interval", "d", "Softener interval", soft),
        ("iron_filter_interval", "d", "Iron filter interval", iron),
    ]


def _behind(ledger: Ledger, key: str) -> tuple[str, ...]:
    """Return the keys of the machine and of the vessels as standing that a range rests on."""
    flows = ("machine.feed_flow_m3_h", "machine.feed_m3_d")
    vessels = (
        "softener.resin_filled_l",
        "softener.salt_dose_g_l",
        "softener.reserve",
        "iron_filter.media_volume_l",
        "iron_filter.iron_left_mg_l",
        "iron_filter.manganese_left_mg_l",
    )
    named: tuple[str, ...] = ("water.operating_temperature_c", "machine.recycle_flow_m3_h")
    if key.endswith("interval"):
        named = (*flows, *vessels)
    elif key == "recovery_max":
        named += vessels
    return tuple(one for one in named if one in ledger)


def _enter_extremes(ledger: Ledger, runs: Sequence[SampleRun]) -> None:
    for key, unit, label, found in _spread(runs):
        if not found:
            continue
        suffix = "_d" if unit == "d" else ""
        for word, (value, name) in (("lowest", min(found)), ("highest", max(found))):
            stem, how = f"samples.{key}_{word}", "each sample through the train as designed"
            ledger.put(
                f"{stem}{suffix}", value, unit, f"{label}, {word} of the samples", method=how
            )
            ledger.put(f"{stem}_sample", name, "-", f"{label}: sample with the {word}", method=how)
            for one in (f"{stem}{suffix}", f"{stem}_sample"):
                ledger.rests(one, "samples.count", *_behind(ledger, key))


def _flag_faults(ledger: Ledger, runs: Sequence[SampleRun]) -> None:
    for run in runs:
        if run.fault:
            ledger.flag(
                Flag(
                    "sample_beyond_train",
                    "warning",
                    f"the train as designed does not do for sample '{run.name}': {run.fault}",
                    "samples.count",
                )
            )


def _flag_beyond_design(ledger: Ledger, runs: Sequence[SampleRun]) -> None:
    """Flag a recovery or a programme that some of the samples do not allow."""
    recovery = ledger.number("machine.recovery")
    over = [r.name for r in runs if r.membranes and recovery and r.membranes.maximum < recovery]
    if over and recovery:
        ledger.flag(
            Flag(
                "season_limits_recovery",
                "caution",
                f"the design recovery {recovery:g} is over the scaling limit of "
                f"{len(over)} of {len(runs)} samples ({_some(over)}); set the recovery "
                "for the worst season, or follow it",
                "samples.recovery_max_lowest",
            )
        )
    for stage, name in (("softener", "softener"), ("iron_filter", "iron filter")):
        setting = ledger.number(f"{stage}.programme_days")
        gaps = [(getattr(r, f"{stage}_interval_d"), r.name) for r in runs]
        short = [who for gap, who in gaps if setting and gap and gap < setting]
        if short:
            ledger.flag(
                Flag(
                    "season_limits_interval",
                    "caution",
                    f"the {name}'s programme of {setting:g} d is longer than the "
                    f"interval on {len(short)} of {len(runs)} samples ({_some(short)}): "
                    "program the shorter one in that season, or design for a severer "
                    "water",
                    f"samples.{stage}_interval_lowest_d",
                )
            )


def _some(names: Sequence[str]) -> str:
    shown = ", ".join(names[:3])
    return f"{shown} and {len(names) - 3} more" if len(names) > 3 else shown


def _flag_temperatures(
    ledger: Ledger, waters: Sequence[WaterAnalysis], design: DesignBasis
) -> None:
    known = [w.temperature_c for w in waters if w.temperature_c is not None]
    basis = design.water
    given = basis.coldest_temperature_c is not None and basis.warmest_temperature_c is not None
    if given or not known or max(known) - min(known) < WARMER_C:
        return
    ledger.flag(
        Flag(
            "season_temperature",
            "info",
            f"the samples were taken at {min(known):g} to {max(known):g} °C: give "
            "coldest_temperature_c and warmest_temperature_c, backwash and scaling "
            "depend on them",
            "water.operating_temperature_c",
        )
    )
