"""Dates whose day and month nobody can tell apart: how they are read is told."""

from collections.abc import Iterable

from pretreat.core.basis import Flag
from pretreat.core.text import lazy

MONTHS = 12
# A date with points is day first everywhere; strokes and hyphens are either.
_EITHER = lazy(r"(?<![\d/-])(\d{1,2})([/-])(\d{1,2})\2((?:19|20)?\d\d)(?![\d/-])")
_NAMES = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
Day = tuple[int, int, int]  # year, month, day


def both_days(text: str) -> tuple[Day, Day] | None:
    """Return a date read day first and month first, where both make one and they differ.

    Parameters
    ----------
    text : str
        Such as "03/11/2031". [-]

    Returns
    -------
    tuple of two, or None
        Year, month and day of each. [-]
    """
    found = _EITHER.search(text)
    if found is None:
        return None
    first, second, year = int(found[1]), int(found[3]), int(found[4])
    year += 0 if len(found[4]) > 2 else 2000
    if first == second or not (0 < first <= MONTHS and 0 < second <= MONTHS):
        return None
    return (year, second, first), (year, first, second)


def date_flags(date: str, notes: Iterable[str]) -> tuple[Flag, ...]:
    """Return a flag that says how a date was read that can be read in two ways.

    Parameters
    ----------
    date : str
        Date of sampling as printed. [-]
    notes : iterable of str
        Lines of the report beside the table: their dates may tell the order. [-]

    Returns
    -------
    tuple of Flag
        `date_order`, or nothing. [-]
    """
    days = both_days(date)
    if days is None:
        return ()
    order = _order_of(notes)
    if order == "day":
        return ()
    read, other = (_words(day) for day in days)
    text = f"the date of sampling {date} is read day first, {read}; month first it is {other}"
    if order == "month":
        text += ", and another date of the report is month first"
    year, month, day = days[0]
    text += f": give it as {year}-{month:02d}-{day:02d}, or the other"
    return (Flag("date_order", "caution", text, "water.date"),)


def _order_of(notes: Iterable[str]) -> str:
    """Return "day" or "month" where other dates can only be read so; empty where none tells."""
    told = set()
    for note in notes:
        for found in _EITHER.finditer(note):
            first, second = int(found[1]), int(found[3])
            if first > MONTHS >= second:
                told.add("day")
            if second > MONTHS >= first:
                told.add("month")
    return told.pop() if len(told) == 1 else ""


def _words(day: Day) -> str:
    year, month, number = day
    return f"{number} {_NAMES[month - 1]} {year}"
