"""From an interval to the setting of a timer."""

from math import ceil

from pretreat.core.basis import cites

# Settings of a calendar timer: longest gap [d] and settings per week [1/week]. Twice a week
# on fixed weekdays leaves gaps of three and four days.
SETTINGS: tuple[tuple[float, float], ...] = (
    (7.0, 1.0), (4.0, 2.0), (3.0, 7.0 / 3.0), (2.0, 3.5), (1.0, 7.0), (0.5, 14.0),
)  # fmt: skip
LONGEST_GAP_D = 7.0  # the longest setting of a seven-day timer
LONGEST_GAP_WITH_IRON_D = 3.0  # PRACTICE: iron ages on the resin
LONGEST_METERED_D = 14.0  # PRACTICE: 7 to 14 d, against compaction and bacterial growth
HALF_DAY_H = 12.0
DAYS_PER_WEEK = 7.0


@cites("PRACTICE", "settings of a calendar timer, three days with iron")
def calendar_setting_d(
    interval_d: float, hours_per_day: float, longest_gap_d: float = LONGEST_GAP_D
) -> float | None:
    """Return the longest setting that does not exceed an interval, None where there is none.

    Twice a day is offered only where the capacity covers the longest run within 12 hours.

    Parameters
    ----------
    interval_d : float
        Days of operation until the capacity is used up. [d]
    hours_per_day : float
        Running time. [h/d]
    longest_gap_d : float
        The longest gap allowed. [d]

    Returns
    -------
    float or None
        The longest gap between two regenerations. [d]
    """
    allowed = min(interval_d, longest_gap_d)
    for gap_d, _ in SETTINGS[:-1]:
        if gap_d <= allowed:
            return gap_d
    return SETTINGS[-1][0] if allowed >= half_day_need_d(hours_per_day) else None


@cites("PRACTICE", "longest run within 12 hours")
def half_day_need_d(hours_per_day: float) -> float:
    """Return the interval needed for a regeneration every 12 hours.

    Parameters
    ----------
    hours_per_day : float
        Running time. [h/d]

    Returns
    -------
    float
        The longest run within 12 hours, in days of operation. [d]
    """
    return min(HALF_DAY_H, hours_per_day) / hours_per_day


def setting_formula(interval: str, hours: str, longest: str) -> str:
    """Return the setting as a formula of the workbook; an empty text where there is none.

    Parameters
    ----------
    interval, hours, longest : str
        Keys of the interval, the running time and the longest gap, in braces. [-]

    Returns
    -------
    str
        Nested IF over the settings. [-]
    """
    allowed = f"MIN({interval},{longest})"
    formula = f'IF({allowed}>=MIN({HALF_DAY_H!r},{hours})/{hours},0.5,"")'
    for gap_d, _ in reversed(SETTINGS[:-1]):
        formula = f"IF({allowed}>={gap_d!r},{gap_d!r},{formula})"
    return formula


@cites("PRACTICE", "settings of a calendar timer")
def settings_per_week(programme_d: float) -> float:
    """Return how often a setting regenerates in a week.

    Parameters
    ----------
    programme_d : float
        A setting of the timer. [d]

    Returns
    -------
    float
        Regenerations. [1/week]
    """
    return dict(SETTINGS)[programme_d]


def per_week_formula(programme: str) -> str:
    """Return the regenerations per week as a formula of the workbook.

    Parameters
    ----------
    programme : str
        Key of the setting, in braces. [-]

    Returns
    -------
    str
        Nested IF over the settings; an empty text where there is no setting. [-]
    """
    formula = "14"
    for gap_d, per_week in reversed(SETTINGS[:-1]):
        formula = f"IF({programme}>={gap_d!r},{per_week!r},{formula})"
    return f'IF({programme}="","",{formula})'


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
    return float(min(ceil(interval_d), longest))


def delayed_meter_m3(clean_m3: float, at_once_m3: float, day_m3: float) -> float:
    """Return the meter setting of a valve that waits for the night.

    Parameters
    ----------
    clean_m3 : float
        Water that the whole capacity softens, no reserve kept. [m³]
    at_once_m3 : float
        Setting of a valve that regenerates at once; it is never exceeded. [m³]
    day_m3 : float
        Water of a day, which may still pass before the night. [m³]

    Returns
    -------
    float
        Setting; zero or less where a day takes all. [m³]
    """
    return min(clean_m3 - day_m3, at_once_m3)


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
