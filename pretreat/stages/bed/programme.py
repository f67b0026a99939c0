"""From an interval to the setting of a timer."""

from collections.abc import Sequence
from functools import partial

from pretreat.core.basis import cites
from pretreat.core.law import BLANK, Number, at_least, at_most, law, least, valid, when, whole_up

# Settings of a calendar timer: longest gap [d] and settings per week [1/week]. Twice a week
# on fixed weekdays leaves gaps of three and four days.
SETTINGS: tuple[tuple[float, float], ...] = (
    (7.0, 1.0),
    (4.0, 2.0),
    (3.0, 7.0 / 3.0),
    (2.0, 3.5),
    (1.0, 7.0),
    (0.5, 14.0),
)
LONGEST_GAP_D = 7.0  # the longest setting of a seven-day timer
LONGEST_GAP_WITH_IRON_D = 3.0  # PRACTICE: iron ages on the resin
LONGEST_METERED_D = 14.0  # PRACTICE: 7 to 14 d, against compaction and bacterial growth
HALF_DAY_H = 12.0
DAYS_PER_WEEK = 7.0


@law
@cites("PRACTICE", "longest run within 12 hours")
@valid(running_hours_per_day="(0, 24]")
def half_day_need_d(running_hours_per_day: Number) -> Number:
    """Interval needed for a regeneration every 12 hours = the longest run within 12 hours.

    In days of operation. Worked by hand: 16 hours a day run 12 at a stretch at the most, 8 run 8.

    >>> half_day_need_d(16.0)
    0.75
    >>> half_day_need_d(8.0)
    1.0
    """
    return least(HALF_DAY_H, running_hours_per_day) / running_hours_per_day


@law
@cites("PRACTICE", "settings of a calendar timer, three days with iron")
@valid(running_hours_per_day="(0, 24]")
def calendar_setting_d(
    interval_d: Number, running_hours_per_day: Number, longest_gap_d: Number = LONGEST_GAP_D
) -> Number:
    """Setting of a timer = the longest of 7, 4, 3, 2, 1 d that does not exceed the interval.

    Nor the longest gap allowed. Twice a day is offered only where the capacity covers the
    longest run within 12 hours; else no setting holds and the result is blank.

    >>> calendar_setting_d(3.9, 20.0, 7.0)
    3.0
    >>> calendar_setting_d(0.7, 16.0) is None
    True
    """
    allowed = least(interval_d, longest_gap_d)
    setting = when(
        at_least(allowed, half_day_need_d(running_hours_per_day)),
        lambda: SETTINGS[-1][0],
        lambda: BLANK,
    )
    return _by_rung(allowed, [(gap_d, gap_d) for gap_d, _ in SETTINGS[:-1]], setting)


@law
@cites("PRACTICE", "settings of a calendar timer")
def settings_per_week(programme_d: Number) -> Number:
    """Regenerations per week of a setting; twice a week leaves gaps of three and four days.

    >>> settings_per_week(4.0)
    2.0
    >>> settings_per_week(0.5)
    14.0
    """
    return _by_rung(programme_d, SETTINGS[:-1], SETTINGS[-1][1])


def _by_rung(value: Number, rungs: Sequence[tuple[float, float]], below: Number) -> Number:
    """Return what stands beside the highest rung that a value reaches."""
    found = below
    for rung, beside in reversed(rungs):
        found = when(at_least(value, rung), partial(_is, beside), partial(_is, found))
    return found


def _is(value: Number) -> Number:
    return value


@law
@cites("PRACTICE", "the next whole day, at most 14, with iron 3")
def override_d(interval_d: Number, longest_gap_d: Number) -> Number:
    """Override of a meter in days = the next whole day above the interval, at most 14, 3 with iron.

    Iron shows in the longest gap allowed, which it brings to three days.

    >>> override_d(1.2, 7.0)
    2.0
    >>> override_d(5.0, 3.0)
    3.0
    """
    longest = when(
        at_most(longest_gap_d, LONGEST_GAP_WITH_IRON_D),
        lambda: LONGEST_GAP_WITH_IRON_D,
        lambda: LONGEST_METERED_D,
    )
    return least(whole_up(interval_d), longest)


@law
@cites("PRACTICE", "metered control, at most 14 days")
@valid(interval_d=(0, None), override_d=(0, None))
def metered_per_week(interval_d: Number, override_d: Number) -> Number:
    """Regenerations per week of a meter = 7 / the shorter of interval and override.

    >>> metered_per_week(3.5, 4.0)
    2.0
    """
    return DAYS_PER_WEEK / least(interval_d, override_d)


@law
@valid(reserve="[0, 1)")
def delayed_setting_m3(at_once_m3: Number, reserve: Number, day_m3_d: Number) -> Number:
    """Meter of a valve that waits for the night = clean capacity - water of a day.

    Never above the setting of a valve that regenerates at once; blank where a day leaves nothing.
    Worked by hand: 35.2 m3 with a fifth in reserve are 44 clean; less 30 for the day that may
    still pass.

    >>> round(delayed_setting_m3(35.2, 0.2, 30.0), 9)
    14.0
    >>> delayed_setting_m3(35.2, 0.2, 50.0) is None
    True
    """
    found = least(at_once_m3 / (1.0 - reserve) - day_m3_d, at_once_m3)
    return when(at_most(found, 0.0), lambda: BLANK, lambda: found)


@law
def year_of_weeks_per_year(per_week: Number, days_per_year: Number) -> Number:
    """Regenerations per year = per week x days of operation / 7.

    >>> year_of_weeks_per_year(3.5, 300.0)
    150.0
    """
    return per_week * days_per_year / DAYS_PER_WEEK


@cites("PRACTICE", "the next whole day, at most 14, with iron 3")
def day_override_d(interval_d: float, *, iron_present: bool) -> float:
    """Return the days after which a metered vessel regenerates whatever its meter says.

    Parameters
    ----------
    interval_d : float
        Days of operation until the capacity is used up. [d]
    iron_present : bool
        Whether iron reaches the resin. [-]

    Returns
    -------
    float
        The next whole day above the interval, at most 14, with iron 3. [d]
    """
    longest = LONGEST_GAP_WITH_IRON_D if iron_present else LONGEST_METERED_D
    found: float = override_d(interval_d, longest)
    return found


@cites("PRACTICE", "metered control, at most 14 days")
def metered_gap_d(interval_d: float, *, iron_present: bool) -> float:
    """Return the mean gap of a metered vessel, with its override in days.

    Parameters
    ----------
    interval_d : float
        Days of operation until the capacity is used up. [d]
    iron_present : bool
        Whether iron reaches the resin, which shortens the override. [-]

    Returns
    -------
    float
        Mean gap between two regenerations. [d]
    """
    longest = LONGEST_GAP_WITH_IRON_D if iron_present else LONGEST_METERED_D
    return min(interval_d, longest)
