"""From an interval to a programme: setting, regenerations per week and per year."""

from pretreat.sizing.programme import (
    DAYS_PER_WEEK,
    LONGEST_GAP_WITH_IRON_D,
    LONGEST_METERED_D,
    calendar_setting_d,
    metered_gap_d,
    per_week_formula,
    setting_formula,
    settings_per_week,
)
from pretreat.study.train_entries import Train


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
    entries.calc(key, setting, "d", f"{label}: setting of the calendar timer",
                 setting_formula(f"{{{interval_key}}}", "{machine.hours_per_day}",
                                 f"{{{longest_key}}}"),
                 by=(calendar_setting_d,), evidence="common practice",
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
    entries.calc(key, LONGEST_GAP_WITH_IRON_D if iron else LONGEST_METERED_D, "d",
                 f"{label}: override in days", f"IF({{{longest_key}}}<=3,3,14)",
                 cites=("PRACTICE",), evidence="common practice",
                 method="three days with iron, else fourteen")  # fmt: skip
    if train.design.softener.control != "meter":
        return
    gap = metered_gap_d(entries.value(interval_key), iron_present=iron)
    entries.calc(f"{prefix}.regenerations_per_week", DAYS_PER_WEEK / gap, "1/week",
                 f"{label}: regenerations per week", f"7/MIN({{{interval_key}}},{{{key}}})",
                 by=(metered_gap_d,), method="metered: as the capacity is used up")  # fmt: skip


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
