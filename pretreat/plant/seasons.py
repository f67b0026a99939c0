"""Several analyses of one site: what the train as designed makes of each."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from pretreat.core.basis import Flag, Series
from pretreat.core.errors import PretreatError
from pretreat.core.results import Ledger
from pretreat.core.water import WaterAnalysis
from pretreat.lab.samples.ranges import severity
from pretreat.lab.water_figures import Composition, enter_water
from pretreat.membrane.feed import feed_water
from pretreat.membrane.limits import MembranePoint, limits_from
from pretreat.membrane.recovery import Reach, reaches
from pretreat.site.design import DesignBasis
from pretreat.stages.stream import RawWater

MOST_RUN = 60  # samples led through the train; of more, the mildest and the severest
WARMER_C = 3.0  # a season worth a temperature of its own in the site file
RawOf = Callable[[WaterAnalysis, Composition, DesignBasis], RawWater]


@dataclass(frozen=True, slots=True)
class SampleRun:
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


def enter_seasons(
    ledger: Ledger,
    waters: Sequence[WaterAnalysis],
    design: DesignBasis,
    point: MembranePoint,
    raw_of: RawOf,
) -> None:
    """Lead each sample through the train as designed; enter the range of what comes out.

    Parameters
    ----------
    ledger : Ledger
        With the train entered; its vessels and doses are kept for every sample. [-]
    waters : sequence of WaterAnalysis
        Repeated analyses of one site. [-]
    design : DesignBasis
        The engineer's choices. [-]
    point : MembranePoint
        The design point of the membranes. [-]
    raw_of : callable
        Makes the raw water of a sample. [-]
    """
    if len(waters) < 2:
        return
    chosen = _within_reason(ledger, waters)
    standing = _as_standing(ledger, design)
    runs = [_run(ledger, water, standing, point, raw_of) for water in chosen]
    _enter_runs(ledger, runs)
    _enter_extremes(ledger, runs)
    _flag_faults(ledger, runs)
    _flag_beyond_design(ledger, runs)
    _flag_temperatures(ledger, chosen, design)


def _within_reason(ledger: Ledger, waters: Sequence[WaterAnalysis]) -> list[WaterAnalysis]:
    if len(waters) <= MOST_RUN:
        return list(waters)
    scores = severity(waters)
    order = sorted(range(len(waters)), key=lambda n: scores[n])
    kept = {*order[: MOST_RUN // 2], *order[-MOST_RUN // 2 :]}
    ledger.flag(Flag("samples_picked", "info",
                     f"of {len(waters)} samples the {MOST_RUN // 2} mildest and the "
                     f"{MOST_RUN // 2} severest are led through the train",
                     "samples.count"))  # fmt: skip
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
            arrangement="simplex",
        )
    if "iron_filter.media_volume_l" in ledger:
        iron = replace(
            iron,
            vessel_diameter_m=_one_wide(ledger, "iron_filter"),
            media_depth_m=ledger.number("iron_filter.depth_m"),
            media_volume_l=None,
        )
    return replace(design, softener=softener, iron_filter=iron)


def _one_wide(ledger: Ledger, stage: str) -> float:
    """Return the diameter of one vessel with the area of all those in service."""
    area = ledger.number(f"{stage}.area_m2") or math.nan
    return math.sqrt(4.0 * area / math.pi)


def _run(
    ledger: Ledger, water: WaterAnalysis, design: DesignBasis, point: MembranePoint, raw_of: RawOf
) -> SampleRun:
    from pretreat.plant.machine import enter_machine

    scratch = Ledger()
    enter_machine(scratch, design)
    run = SampleRun(water.sample, water.date)
    try:
        found = enter_water(scratch, water, design.water)
        raw = raw_of(water, found, design)
        run = replace(
            run,
            hardness_mg_l_caco3=scratch.number("water.hardness_mg_l_caco3"),
            iron_manganese_mg_l=raw.total("fe") + raw.total("mn"),
            tds_mg_l=scratch.number("water.tds_mg_l"),
            raw=_reach(found.scaling, raw, found, design, point),
        )
        mg_l, intervals = _through(ledger, scratch, raw, design)
        return replace(
            run,
            membranes=_reach(mg_l, raw, found, design, point),
            softener_interval_d=intervals[0],
            iron_filter_interval_d=intervals[1],
        )
    except PretreatError as problem:
        return replace(run, fault=problem.faults[0])


def _through(
    ledger: Ledger, scratch: Ledger, raw: RawWater, design: DesignBasis
) -> tuple[Mapping[str, float], tuple[float | None, float | None]]:
    """Return the ions behind the stages of the train, and the two intervals."""
    from pretreat.plant.supply import enter_softener_water_per_day
    from pretreat.stages.iron_filter.figures import enter_iron_filter, enter_metals_left
    from pretreat.stages.softener.figures import enter_softener, water_behind_softener
    from pretreat.stages.train import Entries, Train

    train = Train(Entries(scratch), raw, design, "rate")
    mg_l: Mapping[str, float] = raw.mg_l
    filtered = "iron_filter.media_volume_l" in ledger
    keys = [train.entries.total(raw, "fe"), train.entries.total(raw, "mn")]
    if filtered:
        enter_metals_left(train)
        keys = ["iron_filter.iron_left_mg_l", "iron_filter.manganese_left_mg_l"]
        left = zip(("fe", "mn"), map(train.entries.value, keys), strict=True)
        mg_l = {**mg_l, **dict(left)}
    extra = None
    if "softener.resin_filled_l" in ledger:
        enter_softener(train, keys[0], keys[1])
        mg_l = water_behind_softener(train, mg_l)
        extra = enter_softener_water_per_day(train) if filtered else None
    if filtered:
        enter_iron_filter(train, extra)
    return mg_l, (
        scratch.number("softener.interval_d"),
        scratch.number("iron_filter.interval_governing_d"),
    )


def _reach(
    mg_l: Mapping[str, float],
    raw: RawWater,
    found: Composition,
    design: DesignBasis,
    point: MembranePoint,
) -> Reach | None:
    if raw.ph is None or math.isnan(found.alkalinity_mg_l_caco3):
        return None
    feed = feed_water(
        mg_l, found.alkalinity_mg_l_caco3, raw.ph, found.measured_temp_c, found.operating_temp_c
    )
    if not bool(feed.speciation.converged):
        return None
    limits = limits_from(design.limits, design.limits.inhibitor)
    (reach,) = reaches(feed, (limits,), point.passage, point.rho, point.wall_factor)
    return None if math.isnan(reach.maximum) else reach


def _enter_runs(ledger: Ledger, runs: Sequence[SampleRun]) -> None:
    def limit(reach: Reach | None) -> tuple[float | None, str]:
        return (None, "") if reach is None else (reach.maximum, reach.limited_by)

    columns = ("sample", "date", "hardness", "iron_manganese", "tds", "untreated_recovery_max",
               "untreated_limited_by", "recovery_max", "limited_by", "softener_interval",
               "iron_filter_interval", "remark")  # fmt: skip
    units = ("-", "-", "mg/L as CaCO3", "mg/L", "mg/L", "-", "-", "-", "-", "d", "d", "-")
    headings = ("Sample", "Date", "Hardness", "Fe + Mn", "Dissolved solids",
                "Largest recovery, raw water", "Limited by", "Largest recovery, treated",
                "Limited by", "Softener interval", "Iron filter interval", "Remark")  # fmt: skip
    ledger.table(
        Series(
            "samples.each",
            "Each analysis of this site through the train as designed",
            columns,
            units,
            tuple(
                (r.name, r.date, r.hardness_mg_l_caco3, r.iron_manganese_mg_l, r.tds_mg_l,
                 *limit(r.raw), *limit(r.membranes), r.softener_interval_d,
                 r.iron_filter_interval_d, r.fault)
                for r in runs
            ),
            method="vessels, doses and temperature as designed, only the water changes",
            cites=("D3739", "D4692"),
            headings=headings,
        )
    )  # fmt: skip


def _spread(runs: Sequence[SampleRun]) -> list[tuple[str, str, str, list[tuple[float, str]]]]:
    """Return key, unit, label and the values with their sample, of all that is ranged."""
    raw = [(r.raw.maximum, r.name) for r in runs if r.raw is not None]
    feed = [(r.membranes.maximum, r.name) for r in runs if r.membranes is not None]
    soft = [(r.softener_interval_d, r.name) for r in runs if r.softener_interval_d is not None]
    iron = [(r.iron_filter_interval_d, r.name) for r in runs if r.iron_filter_interval_d]
    return [
        ("untreated_recovery_max", "-", "Largest recovery, raw water", raw),
        ("recovery_max", "-", "Largest recovery", feed),
        ("softener_interval", "d", "Softener interval", soft),
        ("iron_filter_interval", "d", "Iron filter interval", iron),
    ]


def _enter_extremes(ledger: Ledger, runs: Sequence[SampleRun]) -> None:
    for key, unit, label, found in _spread(runs):
        if not found:
            continue
        suffix = "_d" if unit == "d" else ""
        for word, (value, name) in (("lowest", min(found)), ("highest", max(found))):
            stem = f"samples.{key}_{word}"
            ledger.put(f"{stem}{suffix}", value, unit, f"{label}, {word} of the samples",
                       method="each sample through the train as designed")  # fmt: skip
            ledger.put(f"{stem}_sample", name, "-", f"{label}: sample with the {word}",
                       method="each sample through the train as designed")  # fmt: skip


def _flag_faults(ledger: Ledger, runs: Sequence[SampleRun]) -> None:
    for run in runs:
        if run.fault:
            ledger.flag(Flag("sample_beyond_train", "warning",
                             f"the train as designed does not do for sample '{run.name}': "
                             f"{run.fault}", "samples.count"))  # fmt: skip


def _flag_beyond_design(ledger: Ledger, runs: Sequence[SampleRun]) -> None:
    """Flag a recovery or a programme that some of the samples do not allow."""
    recovery = ledger.number("machine.recovery")
    over = [r.name for r in runs if r.membranes and recovery and r.membranes.maximum < recovery]
    if over and recovery:
        ledger.flag(Flag("season_limits_recovery", "caution",
                         f"the design recovery {recovery:g} is over the scaling limit of "
                         f"{len(over)} of {len(runs)} samples ({_some(over)}); set the recovery "
                         "for the worst season, or follow it", "samples.recovery_max_lowest",
                         ))  # fmt: skip
    for stage, name in (("softener", "softener"), ("iron_filter", "iron filter")):
        setting = ledger.number(f"{stage}.programme_days")
        gaps = [(getattr(r, f"{stage}_interval_d"), r.name) for r in runs]
        short = [who for gap, who in gaps if setting and gap and gap < setting]
        if short:
            ledger.flag(Flag("season_limits_interval", "caution",
                             f"the {name}'s programme of {setting:g} d is longer than the "
                             f"interval on {len(short)} of {len(runs)} samples ({_some(short)}): "
                             "program the shorter one in that season, or design for a severer "
                             "water", f"samples.{stage}_interval_lowest_d"))  # fmt: skip


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
    ledger.flag(Flag("season_temperature", "info",
                     f"the samples were taken at {min(known):g} to {max(known):g} °C: give "
                     "coldest_temperature_c and warmest_temperature_c, backwash and scaling "
                     "depend on them", "water.operating_temperature_c"))  # fmt: skip
