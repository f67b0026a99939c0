"""From an interval to a programme: setting, regenerations per week and per year."""

from pretreat.core.basis import cites
from pretreat.stages.bed.arrangement import arrangement_of
from pretreat.stages.bed.programme import (
    DAYS_PER_WEEK,
    HALF_DAY_H,
    SETTINGS,
    calendar_setting_d,
    delayed_setting_m3,
    half_day_need_d,
    metered_per_week,
    override_d,
    settings_per_week,
    year_of_weeks_per_year,
)
from pretreat.stages.train import Train

STOPPED = "with a contact of the valve that stops the machine, since it passes raw water meanwhile"
JUST_SHORT = 0.12  # PRACTICE: a bed filled up or trimmed by so much is no other vessel


def enter_programme(
    train: Train, prefix: str, label: str, interval_key: str, longest_key: str, control: str
) -> None:
    """Enter the timer's setting and the regenerations per week and per year.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    prefix, label : str
        Prefix of the keys and name of the stage. [-]
    interval_key, longest_key : str
        Keys of the interval and of the longest gap allowed. [-]
    control : str
        "calendar" or "meter". [-]
    """
    entries = train.entries
    interval, longest = entries.value(interval_key), entries.value(longest_key)
    setting: float | None = calendar_setting_d(
        interval, entries.value("machine.hours_per_day"), longest
    )
    key = f"{prefix}.programme_days"
    timer = "setting of the calendar timer"
    if control == "meter":
        timer = "setting of a calendar timer, if it had one"
    entries.law(
        key,
        calendar_setting_d,
        interval_d=interval_key,
        running_hours_per_day="machine.hours_per_day",
        longest_gap_d=longest_key,
        label=f"{label}: {timer}",
        evidence="common practice",
        flags=("no_setting",) if setting is None else (),
        method="longest setting that does not exceed the interval",
    )
    if control == "calendar":
        _remark_just_short(train, prefix, label, (interval, longest, setting))
    if setting is None:
        _flag_no_setting(train, label, key, interval, metered=control == "meter")
    if prefix == "softener":
        _enter_metered(train, prefix, label, interval_key)
    if control == "calendar":
        entries.law(
            f"{prefix}.regenerations_per_week",
            settings_per_week,
            programme_d=key,
            label=f"{label}: regenerations per week",
            method="settings per week",
        )
    _enter_per_year(train, prefix, label)


@cites("PRACTICE", "the next setting of the timer within reach")
def _remark_just_short(
    train: Train, prefix: str, label: str, found: tuple[float, float, float | None]
) -> None:
    """Say what would lift an interval that falls just under the next setting of the timer."""
    interval, longest, now = found
    longer = [(gap, week) for gap, week in SETTINGS if gap > (now or 0.0) and gap <= longest]
    if not longer:
        return
    gap, per_week = min(longer)
    short = gap / interval - 1.0
    if not 0.0 < short <= JUST_SHORT:
        return
    entries = train.entries
    medium = "resin" if prefix == "softener" else "medium"
    every = "twice a day" if gap < 1.0 else "every day" if gap == 1.0 else f"every {gap:g} days"
    text = (
        f"{label}: the interval of {interval:.3g} d falls {short:.0%} short of a setting "
        f"{every}: {short:.0%} more {medium}, or so much less water or load, would lift it"
    )
    if now is not None:
        before = float(settings_per_week(now))
        text += f"; regenerations fall from {before:.2g} to {per_week:.2g} a week"
        if prefix == "softener":
            kept = (1.0 + short) * per_week / before
            text += f", and salt to {kept:.0%} of what it is"
    entries.flag("interval_just_short", "info", text, f"{prefix}.programme_days")


def _flag_no_setting(train: Train, label: str, key: str, interval: float, *, metered: bool) -> None:
    hours = train.entries.value("machine.hours_per_day")
    short = (
        f"{label}: the interval of {interval:.3g} d of operation is shorter than any setting of a "
        f"timer: twice a day asks for {half_day_need_d(hours):.2g} d, 12 hours at a stretch of "
        f"{hours:g} h/d"
        if hours > HALF_DAY_H
        else f"{label}: the interval of {interval:.3g} d of operation is shorter than any setting "
        f"of a timer: the {hours:g} h of a day may fall in one stretch between two regenerations"
    )
    if metered:
        train.entries.flag("no_setting", "info", f"{short}; the meter does without one", key)
        return
    many = arrangement_of(train.entries.ledger, "softener") != "single"
    remedy = "a meter instead of the timer" if many else "a duplex on a meter"
    more = "more salt or resin"
    if label != "Softener":
        remedy, more = "another vessel beside it", "more medium"
    train.entries.flag(
        "no_setting",
        "warning",
        f"{short}: a larger vessel, {more}, less water, or {remedy}",
        key,
    )


def _enter_metered(train: Train, prefix: str, label: str, interval_key: str) -> None:
    entries = train.entries
    longest_key, key = f"{prefix}.longest_gap_d", f"{prefix}.day_override_d"
    override = entries.law(
        key,
        override_d,
        interval_d=interval_key,
        longest_gap_d=longest_key,
        label=f"{label}: override in days",
        evidence="common practice",
        method="next whole day above the interval, at most fourteen, three with iron",
    )
    metered = train.design.softener.control == "meter"
    if arrangement_of(entries.ledger, prefix) == "single":
        _enter_delayed(train, prefix, metered=metered)
    if not metered:
        return
    per_week = entries.law(
        f"{prefix}.regenerations_per_week",
        metered_per_week,
        interval_d=interval_key,
        override_d=key,
        label=f"{label}: regenerations per week",
        method="metered: as the capacity is used up",
    )
    gap = DAYS_PER_WEEK / per_week
    setting = entries.value(f"{prefix}.meter_setting_m3")
    entries.word(
        f"{prefix}.programme_in_words",
        f"by meter every {setting:.4g} m3 (about {gap:.2f} d), at the latest after "
        f"{override:g} d; no fixed days",
        f"{label}: programme of the meter",
        origin="calculated",
    )
    setting_key = f"{prefix}.meter_setting_m3"
    entries.ledger.rests(f"{prefix}.programme_in_words", setting_key, interval_key, key)


def _enter_delayed(train: Train, prefix: str, *, metered: bool) -> None:
    """Enter the setting of a meter that waits for the night, where a day leaves any."""
    entries, key = train.entries, f"{prefix}.meter_setting_delayed_m3"
    day = entries.value(train.water_of(prefix)[1])
    at_once = entries.value(f"{prefix}.meter_setting_m3")
    once = f"{prefix}.meter_setting_m3"
    reserve = entries.value(f"{prefix}.reserve")
    delayed: float | None = delayed_setting_m3(at_once, reserve, day)
    if delayed is None:
        entries.flag(
            "meter_must_not_wait",
            "caution" if metered else "info",
            f"a day takes {day:.4g} m3, more than the clean bed softens: a meter that "
            f"waits for the night lets hard water through; set {at_once:.4g} m3 on a "
            f"valve that regenerates at once, {STOPPED}",
            key,
        )
    entries.law(
        key,
        delayed_setting_m3,
        at_once_m3=once,
        reserve=f"{prefix}.reserve",
        day_m3_d=train.water_of(prefix)[1],
        label="Meter setting of a valve that waits for the night",
        by=(override_d,),
        evidence="common practice",
        method="clean capacity less a day's water, which may pass before the night",
        flags=("meter_must_not_wait",) if delayed is None else (),
    )
    if delayed is None:
        return
    nightly = " (it then regenerates every night)" if delayed < day else ""
    if metered:
        entries.flag(
            "two_meter_settings",
            "caution",
            f"set the meter to {delayed:.4g} m3 if the valve waits for the night{nightly}, to "
            f"{at_once:.4g} m3 if it regenerates at once, {STOPPED}",
            once,
        )


def _enter_per_year(train: Train, prefix: str, label: str) -> None:
    train.entries.law(
        f"{prefix}.regenerations_per_year",
        year_of_weeks_per_year,
        per_week=f"{prefix}.regenerations_per_week",
        days_per_year="machine.days_per_year",
        label=f"{label}: regenerations per year",
        method="days of operation",
    )
