"""Lines that a spreadsheet spelled anew: other separators, decimal commas, other dates.

The check word tells: a spelling counts as read only if the line that this program would have
written fits its check word. So a date like 4/5/2031 is never guessed.
"""

import csv
import datetime
import re
from collections.abc import Iterator, Sequence
from contextlib import suppress

SEPARATORS = (";", "\t", ",")
_DATE = re.compile(
    r"(\d{1,4})[./-](\d{1,2})[./-](\d{1,4})[ T]+(\d{1,2}):(\d{2})(?::(\d{2}))?\s*([AaPp][Mm])?$"
)
_ORDERS = ((0, 1, 2), (2, 1, 0), (2, 0, 1))  # year, month, day among the three numbers
_NOON = 12


def separator_of(text: str) -> str:
    """Return what separates the cells of a line.

    Parameters
    ----------
    text : str
        The line. [-]

    Returns
    -------
    str
        One character. [-]
    """
    return max(SEPARATORS, key=text.count)


def cells_of(text: str) -> list[str]:
    """Return the cells of a line, without empty ones that a spreadsheet added at its end.

    Parameters
    ----------
    text : str
        The line. [-]

    Returns
    -------
    list of str
        Cells. [-]
    """
    cells = next(csv.reader([text], delimiter=separator_of(text)), [])
    while cells and not cells[-1].strip():
        cells.pop()
    return cells


def spellings(cells: Sequence[str], strike: str) -> Iterator[tuple[str, list[str], str]]:
    """Yield what may have been written: stamp, values and note.

    Parameters
    ----------
    cells : sequence of str
        Cells of the line without the check word. [-]
    strike : str
        What stands before the date of a line that strikes a reading. [-]

    Yields
    ------
    tuple
        Stamp, values, note. [-]
    """
    if len(cells) < 2:
        return
    stamp, *values, note = cells
    try:
        written = [f"{float(v.replace(',', '.')):.10g}" if v.strip() else "" for v in values]
    except ValueError:
        return
    before = strike if stamp.startswith(strike) else ""
    for when in _moments(stamp.removeprefix(strike)):
        yield before + when.isoformat(sep=" ", timespec="seconds"), written, note


def _moments(text: str) -> Iterator[datetime.datetime]:
    found = _DATE.match(text.strip())
    if found is None:
        return
    numbers = [int(found[i]) for i in (1, 2, 3)]
    hour, minute = int(found[4]), int(found[5])
    if found[7]:
        hour = hour % _NOON + (_NOON if found[7].lower() == "pm" else 0)
    seconds = [int(found[6])] if found[6] else range(60)
    for order in _ORDERS:
        year, month, day = (numbers[i] for i in order)
        year += 2000 if year < 100 else 0
        for second in seconds:
            with suppress(ValueError):
                yield datetime.datetime(year, month, day, hour, minute, second)
