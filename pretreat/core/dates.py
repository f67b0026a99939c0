"""Dates after a date: whole months keep the day, as far as the month has it."""

import calendar
import datetime

FRIDAY, WEEKEND = 4, 3  # as `weekday` counts, Monday is 0; days from Friday to Monday
MONTHS_OF_YEAR = 12


def after_days(start: datetime.date, days: float) -> datetime.date:
    """Return the date some days later.

    Parameters
    ----------
    start : date
        The first day. [-]
    days : float
        Days, rounded to whole ones. [d]

    Returns
    -------
    date
        The last date that there is where it would be beyond. [-]
    """
    try:
        return start + datetime.timedelta(days=round(days))
    except OverflowError:
        return datetime.date.max


def after_months(start: datetime.date, months: int) -> datetime.date:
    """Return the date some months later, the last day of a month that lacks the day.

    Parameters
    ----------
    start : date
        The first day. [-]
    months : int
        Months. [month]

    Returns
    -------
    date
        31 January and a month make 28 or 29 February. [-]
    """
    count = start.year * MONTHS_OF_YEAR + start.month - 1 + months
    year, month = divmod(count, MONTHS_OF_YEAR)
    if year > datetime.MAXYEAR:
        return datetime.date.max
    day = min(start.day, calendar.monthrange(year, month + 1)[1])
    return datetime.date(year, month + 1, day)


def visit_date(start: datetime.date, months: float, days: float) -> datetime.date:
    """Return the date of a visit: by whole months where it falls on one, else by days.

    Parameters
    ----------
    start : date
        Date of the quote. [-]
    months, days : float
        Time after it, said in both. [month, d]

    Returns
    -------
    date
        The visit, from Monday to Friday. [-]
    """
    whole = round(months)
    if abs(months - whole) < 1e-9:
        return on_weekday(after_months(start, whole))
    return on_weekday(after_days(start, days))


def on_weekday(day: datetime.date) -> datetime.date:
    """Return a day of the working week: the day itself, or the nearest to a weekend in its month.

    Parameters
    ----------
    day : date
        A day. [-]

    Returns
    -------
    date
        Monday to Friday. [-]
    """
    late = day.weekday() - FRIDAY
    if late <= 0:
        return day
    before = day - datetime.timedelta(days=late)
    if day > datetime.date.max - datetime.timedelta(days=WEEKEND):
        return before
    after = before + datetime.timedelta(days=WEEKEND)
    near, far = (before, after) if late == 1 else (after, before)
    return near if near.month == day.month else far
