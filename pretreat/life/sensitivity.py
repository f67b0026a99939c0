"""What intervals and lives do when hours, hardness, iron or chlorine change, vessels unchanged."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from pretreat.core.basis import Series
from pretreat.core.equivalents import caco3_per_mg
from pretreat.life import lives, loads
from pretreat.life.duties import TURNS, Duties
from pretreat.life.lives import CarbonDuty, FilterDuty, SoftenerDuty
from pretreat.stages.bed.media import iron_filter_medium
from pretreat.stages.bed.programme import (
    DAYS_PER_WEEK,
    LONGEST_GAP_WITH_IRON_D,
    calendar_setting_d,
    metered_gap_d,
    settings_per_week,
)
from pretreat.stages.limits import train_limits
from pretreat.stages.train import Train

FACTORS = (0.5, 0.75, 1.0, 1.25, 1.5, 2.0)  # common practice: a quarter, a half, double
DAY_H = 24.0


@dataclass(frozen=True, slots=True)
class Change:
    """Factors on running hours, hardness, raw iron and free chlorine."""

    hours: float = 1.0
    hardness: float = 1.0
    iron: float = 1.0
    chlorine: float = 1.0


CHANGES: dict[str, Callable[[float], Change]] = {
    "hours": lambda factor: Change(hours=factor),
    "hardness": lambda factor: Change(hardness=factor),
    "iron": lambda factor: Change(iron=factor),
    "chlorine": lambda factor: Change(chlorine=factor),
}
LIFE_CHANGES = {
    "softener": ("hours", "hardness", "iron", "chlorine"),
    "iron_filter": ("hours", "iron"),
    "carbon": ("hours", "iron", "chlorine"),
}
INTERVAL_CHANGES = {"softener": ("hours", "hardness", "iron"), "iron_filter": ("hours", "iron")}
NAMES = {"softener": "Softener", "iron_filter": "Iron filter", "carbon": "Carbon"}


def enter_sensitivity(train: Train, duties: Duties) -> None:
    """Enter one table of intervals and one of lives against the factor of change.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    duties : Duties
        What wears the media as designed. [-]
    """
    columns = [
        (s, c)
        for s, changes in INTERVAL_CHANGES.items()
        for c in changes
        if f"{s}.interval_d" in train.entries.ledger
    ]
    if columns:
        _enter(
            train,
            "sensitivity.interval",
            "Interval when the water or the hours change",
            "d",
            [
                (s, c, lambda f, s=s, c=c: interval_d(train, s, CHANGES[c](f)))  # type: ignore[misc]
                for s, c in columns
            ],
        )
    present = {"softener": duties.softener, "carbon": duties.carbon, **duties.filters}
    changes = [c for c in CHANGES if c != "chlorine" or _chlorinated(duties)]
    lives = [
        (s, c)
        for s, matter in LIFE_CHANGES.items()
        for c in matter
        if present.get(s) is not None and c in changes
    ]
    if lives:
        _enter(
            train,
            "sensitivity.life",
            "Likely life when the water or the hours change",
            "year",
            [
                (s, c, lambda f, s=s, c=c: life_years(train, duties, s, CHANGES[c](f)))  # type: ignore[misc]
                for s, c in lives
            ],
        )


def _chlorinated(duties: Duties) -> bool:
    softener, carbon = duties.softener, duties.carbon
    return bool((softener and softener.chlorine_mg_l) or (carbon and carbon.chlorine_mg_l))


def _enter(
    train: Train,
    key: str,
    label: str,
    unit: str,
    columns: list[tuple[str, str, Callable[[float], float | None]]],
) -> None:
    found = [(s, c, [at(factor) for factor in FACTORS]) for s, c, at in columns]
    found = [(s, c, values) for s, c, values in found if _moves(values)]
    if not found:
        return
    hours = train.entries.value("machine.hours_per_day")
    rows = tuple(
        (factor, *(values[i] for _, _, values in found), _why_blank(factor, hours, i, found))
        for i, factor in enumerate(FACTORS)
    )
    train.entries.ledger.table(
        Series(
            key,
            label,
            ("factor", *(f"{s}_{c}" for s, c, _ in found), "blank"),
            ("-", *(unit for _ in found), "-"),
            rows,
            cites=("PRACTICE",),
            headings=(
                "Times as now",
                *(f"{NAMES[s]}: {c}" for s, c, _ in found),
                "Where it is blank",
            ),
            method="one thing changes at a time, vessels and dose stay, what does not move is "
            "left out; a life by regenerations moves in steps, as the settings of a timer do "
            "(0.5, 1, 2, 3, 4, 7 days); estimates",
        )
    )


def _moves(values: list[float | None]) -> bool:
    known = [value for value in values if value is not None]
    return bool(known) and max(known) > min(known)


def _why_blank(
    factor: float, hours: float, row: int, found: list[tuple[str, str, list[float | None]]]
) -> str:
    """Say why a row has blanks."""
    changes = dict.fromkeys(c for _, c, values in found if values[row] is None)
    words = [
        f"hours: over {DAY_H:g} h a day"
        if c == "hours" and hours * factor > DAY_H
        else f"{c}: over a limit of iron"
        for c in changes
    ]
    return "; ".join(words)


def _metals(train: Train, change: Change) -> tuple[float, float] | None:
    """Return iron and manganese behind the iron filter, or as they are without one.

    None where a limit of the codes or of the medium forbids the water.
    """
    raw, entries, limits = train.raw, train.entries, train_limits()
    iron, manganese = raw.total("fe") * change.iron, raw.total("mn")
    if "iron_filter.media_volume_l" in entries.ledger:
        if iron > limits["filter_iron_refuse"].value:
            return None
        return (
            min(entries.value("iron_filter.iron_left_set_mg_l"), iron),
            entries.value("iron_filter.manganese_left_mg_l"),
        )
    resin = "softener.resin_filled_l" in entries.ledger
    if resin and iron + manganese >= limits["softener_iron_refuse"].value:
        return None
    return iron, manganese


def interval_d(train: Train, stage: str, change: Change) -> float | None:
    """Return the interval of a stage after a change; None where it cannot be.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stage : str
        "softener" or "iron_filter". [-]
    change : Change
        Factors. [-]

    Returns
    -------
    float or None
        Interval. [d]
    """
    metals = _metals(train, change)
    hours = train.entries.value("machine.hours_per_day") * change.hours
    if metals is None or hours > DAY_H:
        return None
    if stage == "softener":
        return _softener_interval(train, change, metals)
    return _filter_interval(train, change)


def _softener_interval(train: Train, change: Change, metals: tuple[float, float]) -> float:
    entries = train.entries
    now = entries.value("softener.hardness_load_mg_l_caco3")
    per_iron, per_manganese = caco3_per_mg("fe"), caco3_per_mg("mn")
    allowance = entries.ledger.number("softener.iron_allowance_mg_l_caco3") or 0.0
    before = (entries.value("softener.iron_in_mg_l"), entries.value("softener.manganese_in_mg_l"))
    part = [
        fe * (per_iron + allowance) + mn * (per_manganese + allowance)
        for fe, mn in (before, metals)
    ]
    after = (now - part[0]) * change.hardness + part[1]
    return entries.value("softener.interval_d") * now / after / change.hours


def _filter_interval(train: Train, change: Change) -> float:
    """Return the interval on the membrane feed and the softener's regeneration water."""
    entries, raw, choice = train.entries, train.raw, train.design.iron_filter
    load = entries.value("iron_filter.solids_load_mg_l")
    more = (change.iron - 1.0) * raw.total("fe")
    run = entries.value("iron_filter.solids_run_h") * load / (load + more)
    used = entries.ledger.number("iron_filter.oxidation_load_l_m3")
    if used:
        medium = iron_filter_medium(choice.medium)
        extra = (change.iron - 1.0) * raw.mg_l.get("fe", 0.0) / medium["iron_capacity_g_l"]
        exhausted = entries.value("iron_filter.oxidation_run_h")
        run = min(run, exhausted * used / (used + extra) if used + extra > 0 else math.inf)
    hours = entries.value("machine.hours_per_day") * change.hours
    return run / hours * _share_of_feed(train)


def _share_of_feed(train: Train) -> float:
    """Return what the softener's regenerations leave of the interval, as designed."""
    entries = train.entries
    feed_alone = entries.value("iron_filter.interval_d")
    return entries.value("iron_filter.interval_governing_d") / feed_alone


def cycles_per_year(
    train: Train, stage: str, interval: float, hours: float, metals: float
) -> float:
    """Return the regenerations of a year that an interval asks for.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stage : str
        "softener" or "iron_filter". [-]
    interval : float
        Interval. [d]
    hours : float
        Running time. [h/d]
    metals : float
        Iron and manganese onto the resin, which shorten the longest gap. [mg/L]

    Returns
    -------
    float
        Regenerations. [1/year]
    """
    days = train.entries.value("machine.days_per_year")
    iron = stage == "softener" and metals > train_limits()["iron_present"].value
    if stage == "softener" and train.design.softener.control == "meter":
        return days / metered_gap_d(interval, iron_present=iron)
    longest = train.entries.value(f"{stage}.longest_gap_d")
    if iron:
        longest = min(longest, LONGEST_GAP_WITH_IRON_D)
    setting = calendar_setting_d(interval, hours, longest)
    if setting is None:
        return float(loads.cycles_without_setting_per_year(days, interval))
    found: float = settings_per_week(setting) * days / DAYS_PER_WEEK
    return found


def life_years(train: Train, duties: Duties, stage: str, change: Change) -> float | None:
    """Return the likely life of a medium after a change; None where it cannot be.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    duties : Duties
        What wears the media as designed. [-]
    stage : str
        "softener", "iron_filter" or "carbon". [-]
    change : Change
        Factors. [-]

    Returns
    -------
    float or None
        Life. [year]
    """
    metals = _metals(train, change)
    hours = train.entries.value("machine.hours_per_day") * change.hours
    if metals is None or hours > DAY_H:
        return None
    if stage == "carbon" and duties.carbon is not None:
        return _shortest(lives.carbon_lives(_carbon(duties.carbon, change, sum(metals))))
    gap = interval_d(train, stage, change)
    if gap is None:
        return None
    cycles = cycles_per_year(train, stage, gap, hours, sum(metals))
    if stage == "softener" and duties.softener is not None:
        each = cycles / train.entries.value(TURNS)
        return _shortest(lives.softener_lives(_resin(duties.softener, change, each, sum(metals))))
    bed = replace(
        duties.filters[stage],
        backwashes_per_year=cycles,
        water_m3_year=duties.filters[stage].water_m3_year * change.hours,
        solids_mg_l=_solids(train, duties.filters[stage], change),
    )
    return _shortest(lives.filter_lives(bed))


def _shortest(lives: lives.Lives) -> float:
    return min(lives.values())


def _resin(duty: SoftenerDuty, change: Change, cycles: float, metals: float) -> SoftenerDuty:
    return replace(
        duty,
        cycles_per_year=cycles,
        metals_mg_l=metals,
        water_m3_year=duty.water_m3_year * change.hours,
        running_share=duty.running_share * change.hours,
        chlorine_mg_l=duty.chlorine_mg_l * change.chlorine,
    )


def _carbon(duty: CarbonDuty, change: Change, metals: float) -> CarbonDuty:
    return replace(
        duty,
        metals_mg_l=metals,
        water_m3_year=duty.water_m3_year * change.hours,
        chlorine_mg_l=duty.chlorine_mg_l * change.chlorine,
    )


def _solids(train: Train, duty: FilterDuty, change: Change) -> float:
    return duty.solids_mg_l + (change.iron - 1.0) * train.raw.total("fe")
