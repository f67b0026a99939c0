"""From an interval to a programme: setting, regenerations per week and per year."""

from pretreat.stages.bed.programme import (
    DAYS_PER_WEEK,
    LONGEST_GAP_WITH_IRON_D,
    LONGEST_METERED_D,
    calendar_setting_d,
    day_override_d,
    delayed_meter_m3,
    metered_gap_d,
    per_week_formula,
    setting_formula,
    settings_per_week,
)
from pretreat.stages.train import Train


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
    hours = entries.value("machine.hours_per_day")
    interval, longest = entries.value(interval_key), entries.value(longest_key)
    setting = calendar_setting_d(interval, hours, longest)
    key = f"{prefix}.programme_days"
    timer = "setting of the calendar timer"
    if control == "meter":
        timer = "setting of a calendar timer, if it had one"
    entries.calc(key, setting, "d", f"{label}: {timer}",
                 setting_formula(f"{{{interval_key}}}", "{machine.hours_per_day}",
                                 f"{{{longest_key}}}"),
                 by=(calendar_setting_d,), evidence="common practice",
                 flags=("no_setting",) if setting is None else (),
                 method="longest setting that does not exceed the interval")  # fmt: skip
    if setting is None:
        _flag_no_setting(train, label, key, interval, metered=control == "meter")
    if prefix == "softener":
        _enter_metered(train, prefix, label, interval_key)
    if control == "calendar":
        per_week = None if setting is None else settings_per_week(setting)
        entries.calc(f"{prefix}.regenerations_per_week", per_week, "1/week",
                     f"{label}: regenerations per week", per_week_formula(f"{{{key}}}"),
                     by=(settings_per_week,), method="settings per week")  # fmt: skip
    _enter_per_year(train, prefix, label)


def _flag_no_setting(train: Train, label: str, key: str, interval: float, *, metered: bool) -> None:
    short = f"{label}: the interval of {interval:.3g} d is shorter than any setting of a timer"
    if metered:
        train.entries.flag("no_setting", "info", f"{short}; the meter does without one", key)
        return
    many = label == "Softener" and train.design.softener.arrangement != "simplex"
    remedy = "a meter instead of the timer" if many else "a duplex on a meter"
    if label != "Softener":
        remedy = "another vessel beside it"
    train.entries.flag("no_setting", "warning",
                       f"{short}: a larger vessel, more salt or medium, less water, or {remedy}",
                       key)  # fmt: skip


def _enter_metered(train: Train, prefix: str, label: str, interval_key: str) -> None:
    entries = train.entries
    longest_key, key = f"{prefix}.longest_gap_d", f"{prefix}.day_override_d"
    iron = entries.value(longest_key) <= LONGEST_GAP_WITH_IRON_D
    interval = entries.value(interval_key)
    override = entries.calc(
        key, day_override_d(interval, iron_present=iron), "d", f"{label}: override in days",
        f"MIN(-INT(-{{{interval_key}}}),IF({{{longest_key}}}<=3,3,{LONGEST_METERED_D!r}))",
        by=(day_override_d,), evidence="common practice",
        method="next whole day above the interval, at most fourteen, three with iron",
    )  # fmt: skip
    metered = train.design.softener.control == "meter"
    if train.design.softener.arrangement == "simplex":
        _enter_delayed(train, prefix, metered=metered)
    if not metered:
        return
    gap = metered_gap_d(interval, iron_present=iron)
    entries.calc(f"{prefix}.regenerations_per_week", DAYS_PER_WEEK / gap, "1/week",
                 f"{label}: regenerations per week", f"7/MIN({{{interval_key}}},{{{key}}})",
                 by=(metered_gap_d,), method="metered: as the capacity is used up")  # fmt: skip
    setting = entries.value(f"{prefix}.meter_setting_m3")
    entries.word(f"{prefix}.programme_in_words",
                 f"by meter every {setting:.4g} m3 (about {gap:.2f} d), at the latest after "
                 f"{override:g} d; no fixed days", f"{label}: programme of the meter",
                 origin="calculated")  # fmt: skip


def _enter_delayed(train: Train, prefix: str, *, metered: bool) -> None:
    """Enter the setting of a meter that waits for the night, where a day leaves any."""
    entries, key = train.entries, f"{prefix}.meter_setting_delayed_m3"
    reserve, day = entries.value(f"{prefix}.reserve"), entries.value("machine.feed_m3_d")
    at_once = entries.value(f"{prefix}.meter_setting_m3")
    delayed = delayed_meter_m3(at_once / (1.0 - reserve), at_once, day)
    once = f"{prefix}.meter_setting_m3"
    if delayed <= 0:
        if metered:
            entries.flag("meter_must_not_wait", "caution",
                         f"a day takes {day:.4g} m3, more than the clean bed softens: a meter that "
                         f"waits for the night lets hard water through; set {at_once:.4g} m3 on a "
                         "valve that regenerates at once", once)  # fmt: skip
        return
    entries.calc(key, delayed, "m3", "Meter setting of a valve that waits for the night",
                 f"MIN({{{once}}}/(1-{{{prefix}.reserve}})-{{machine.feed_m3_d}},{{{once}}})",
                 by=(day_override_d,), evidence="common practice",
                 method="clean capacity less a day's water, which may pass before the night",
    )  # fmt: skip
    nightly = " (it then regenerates every night)" if delayed < day else ""
    if metered:
        entries.flag("two_meter_settings", "caution",
                     f"set the meter to {at_once:.4g} m3 if the valve regenerates at once, to "
                     f"{delayed:.4g} m3 if it waits for the night{nightly}", once)  # fmt: skip


def _enter_per_year(train: Train, prefix: str, label: str) -> None:
    entries = train.entries
    per_week = entries.ledger.number(f"{prefix}.regenerations_per_week")
    days = entries.value("machine.days_per_year")
    entries.calc(f"{prefix}.regenerations_per_year",
                 None if per_week is None else per_week * days / DAYS_PER_WEEK, "1/year",
                 f"{label}: regenerations per year",
                 f'IF({{{prefix}.regenerations_per_week}}="","",'
                 f"{{{prefix}.regenerations_per_week}}*{{machine.days_per_year}}/7)",
                 method="days of operation")  # fmt: skip
