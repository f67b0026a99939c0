"""Dates and times as people and spreadsheets write them; never guessed where two are meant."""

import datetime
import re
from typing import Literal

from pretreat.core.text import lazy
from pretreat.record.readings import RecordError

Order = Literal["day first", "month first"]
CENTURY = 2000  # of a year in two digits: no record of this program is older
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_TIME = lazy(
    r"^(?:at\s+|,\s*)?(\d{1,2})(?:[:h](\d{2}))?(?::(\d{2})(?:\.\d+)?)?\s*([ap])?\.?(?:m\.?)?$",
    re.IGNORECASE,
)
_YEAR_FIRST = lazy(r"^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[\sT]+(.*))?$")
_NUMBERS = lazy(r"^(\d{1,2})\s?[-/.]\s?(\d{1,2})\s?[-/.]\s?(\d{4}|\d{2})(?:,?\s+(.*))?$")
_NAMED = (
    lazy(r"^(?P<d>\d{1,2})(?:st|nd|rd|th)?[\s.-]+(?P<m>[a-z]{3,9})\.?[\s,-]+(?P<y>\d{4}|\d{2})"
               r"(?:,?\s+(?P<t>.*))?$", re.IGNORECASE),
    lazy(r"^(?P<m>[a-z]{3,9})\.?\s+(?P<d>\d{1,2})(?:st|nd|rd|th)?,?\s+(?P<y>\d{4})"
               r"(?:,?\s+(?P<t>.*))?$", re.IGNORECASE),
)  # fmt: skip
NOON = 12


def moments(text: str) -> tuple[datetime.datetime, ...]:
    """Return the moments that a text may mean.

    Parameters
    ----------
    text : str
        Such as "2031-05-14 09:30", "14.5.2031 9:30", "5/14/31 9:30 PM" or "14 May 2031". [-]

    Returns
    -------
    tuple of datetime
        None where it is no date, two where day and month may stand either way. [-]
    """
    clean = " ".join(text.split())
    found = _iso(clean)
    if found is not None:
        return (found,)
    first = _YEAR_FIRST.match(clean)
    if first:
        year, month, day, time = first.groups()
        return _some((year, month, day, time))
    numbers = _NUMBERS.match(clean)
    if numbers:
        one, two, year, time = numbers.groups()
        return _some((year, two, one, time), (year, one, two, time))
    for pattern in _NAMED:
        named = pattern.match(clean)
        if named and named["m"][:3].casefold() in _MONTHS:
            month = str(_MONTHS.index(named["m"][:3].casefold()) + 1)
            return _some((named["y"], month, named["d"], named["t"]))
    return ()


def _iso(text: str) -> datetime.datetime | None:
    two_digits = re.sub(r"(?<![\d.])(\d)(?!\d)", r"0\1", text)
    if not re.match(r"^\d{4}-?\d{2}-?\d{2}", two_digits):
        return None
    try:
        return datetime.datetime.fromisoformat(two_digits)
    except ValueError:
        return None


def _some(*dates: tuple[str, str, str, str | None]) -> tuple[datetime.datetime, ...]:
    """Return the dates that exist, each once: year, month, day and time as written."""
    found: list[datetime.datetime] = []
    for year, month, day, time in dates:
        clock = _clock(time)
        if clock is None:
            return ()
        whole = int(year) + (CENTURY if len(year) == 2 else 0)
        try:
            moment = datetime.datetime.combine(datetime.date(whole, int(month), int(day)), clock)
        except ValueError:
            continue
        if moment not in found:
            found.append(moment)
    return tuple(found)


def _clock(text: str | None) -> datetime.time | None:
    """Return a time of day, midnight where none is written, None where it is none."""
    if not text or not text.strip():
        return datetime.time()
    found = _TIME.match(text.strip())
    if found is None or (found[2] is None and found[4] is None):
        return None
    hour = int(found[1])
    if found[4]:
        hour = hour % NOON + (NOON if found[4].casefold() == "p" else 0)
    try:
        return datetime.time(hour, int(found[2] or 0), int(found[3] or 0))
    except ValueError:
        return None


def moment(text: str, order: Order | None = None) -> datetime.datetime:
    """Read a date, with or without a time of day.

    Parameters
    ----------
    text : str
        As in `moments`. [-]
    order : str, optional
        "day first" or "month first": what is meant where both are possible. [-]

    Returns
    -------
    datetime
        The moment. [-]

    Raises
    ------
    RecordError
        If it is no date, or two dates may be meant and no order is given.
    """
    found = moments(text)
    if not found:
        raise RecordError(f"'{text}' is not a date; write 2031-05-14 09:30")
    if len(found) == 1:
        return found[0]
    if order is not None:
        return found[0 if order == "day first" else 1]
    one, two = (f"{m:%Y-%m-%d}" for m in found)
    raise RecordError(
        f"'{text}' can be {one} or {two}: write it so, or say once in the site file, under "
        '[record], dates = "day first" or "month first"'
    )
