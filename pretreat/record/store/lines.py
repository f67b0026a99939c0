"""The lines of a record: a head that names the gauges, readings, and lines that strike readings.

Every line but a head ends with a check word over the text before it and its number in the file, so
that a line taken out or written twice shows. A head may come again further
down, when gauges were added: it holds for the lines below it. A striking line withdraws the
readings of its date that stand above it; they stay in the file.
"""

import csv
import datetime
import io
import re
import zlib
from collections.abc import Sequence
from dataclasses import dataclass

from pretreat.core.basis import cites
from pretreat.core.errors import PretreatError
from pretreat.record.readings import Reading, RecordError, gauges, note_text, reading
from pretreat.record.store.respelled import cells_of, separator_of, spellings

WHEN, NOTE, CHECK = "when", "note", "check"
STRIKE = "strike "
LONGEST_REASON = 400  # characters
_NUMBER = re.compile(rb"x[0-9a-f]{8}-(\d+)$")
_BOM = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True)
class Damaged:
    """A line that is kept but not used: its number, why, and its text."""

    line: int
    why: str
    text: str


@dataclass(frozen=True, slots=True)
class Strike:
    """A line that withdraws the readings of a moment written above it, and why."""

    when: datetime.datetime
    why: str
    line: int


@dataclass(frozen=True, slots=True)
class Head:
    """A line that names the gauges of the lines below it."""

    keys: tuple[str, ...]


@cites("CRC32", "polynomial of zlib, eight hexadecimal digits")
def check_word(text: str) -> str:
    """Return the check word of the text of a line.

    Parameters
    ----------
    text : str
        The line up to and with the comma before the check word. [-]

    Returns
    -------
    str
        Eight hexadecimal digits behind an "x", so that a spreadsheet leaves them alone. [-]
    """
    return f"x{zlib.crc32(text.encode('utf-8')):08x}"


def head_line() -> str:
    """Return the head of a record with every gauge, without its end."""
    return ",".join([WHEN, *gauges(), NOTE, CHECK])


def head_of(raw: bytes) -> Head | None:
    """Return a line as a head, None where it is none or names a gauge that is not known.

    Parameters
    ----------
    raw : bytes
        The line. [-]

    Returns
    -------
    Head or None
        The gauges it names. [-]
    """
    text = raw.removeprefix(_BOM).decode("utf-8", "replace").rstrip("\r\n")
    first, *rest = text.rstrip(separator_of(text)).split(separator_of(text))
    keys = rest[:-2]
    if first != WHEN or rest[-2:] != [NOTE, CHECK] or len(set(keys)) != len(keys):
        return None
    return Head(tuple(keys)) if all(key in gauges() for key in keys) else None


def _body(stamp: str, values: Sequence[str], note: str) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="").writerow([stamp, *values, note])
    return text.getvalue() + ","


def _line(stamp: str, values: Sequence[str], note: str, number: int | None) -> str:
    body = _body(stamp, values, note)
    return body + _word(body, "" if number is None else str(number))


def _word(body: str, number: str) -> str:
    """Return the check word of a line with its number, as in lines written today, or without."""
    return f"{check_word(body + number)}-{number}" if number else check_word(body)


def _fits(body: str, word: str) -> bool:
    return _word(body, word.partition("-")[2]) == word


def number_of(raw: bytes) -> int | None:
    """Return the number that a line had when it was written, None for one without.

    Parameters
    ----------
    raw : bytes
        A line that fits its check word. [-]

    Returns
    -------
    int or None
        Its number in the file. [-]
    """
    found = _NUMBER.search(raw.rstrip(b"\r\n;, \t"))
    return None if found is None else int(found[1])


def line_of(taken: Reading, number: int | None = None) -> str:
    """Return a reading as the line that stands in the file, without its end.

    Parameters
    ----------
    taken : Reading
        The reading. [-]
    number : int, optional
        Number of the line in the file. [-]

    Returns
    -------
    str
        The line with its check word. [-]
    """
    values = [f"{taken.values[k]:.10g}" if k in taken.values else "" for k in gauges()]
    return _line(taken.when.isoformat(sep=" ", timespec="seconds"), values, taken.note, number)


def strike_line(when: datetime.datetime, why: str, number: int | None = None) -> str:
    """Return the line that withdraws the readings of a moment, without its end.

    Parameters
    ----------
    when : datetime
        Date and time of the readings. [-]
    why : str
        Reason in words. [-]
    number : int, optional
        Number of the line in the file. [-]

    Returns
    -------
    str
        The line with its check word. [-]
    """
    stamp = STRIKE + when.isoformat(sep=" ", timespec="seconds")
    return _line(stamp, [""] * len(gauges()), note_text(why)[:LONGEST_REASON], number)


def parsed(
    number: int, raw: bytes, head: Head, *, closed: bool
) -> Reading | Strike | Head | Damaged:
    """Return what a line says.

    Parameters
    ----------
    number : int
        Its number in the file. [-]
    raw : bytes
        The line without its end. [-]
    head : Head
        The head above it. [-]
    closed : bool
        True where its end of line is there. [-]

    Returns
    -------
    Reading, Strike, Head or Damaged
        A damaged line says why it cannot be used. [-]
    """
    why, shown = "does not fit its check word: cut off or changed by hand", ""
    try:
        text = raw.decode("utf-8").removesuffix("\r")
    except UnicodeDecodeError:  # some spreadsheets save in the letters of Windows
        text = raw.decode("cp1252", "replace").removesuffix("\r")
        why, shown = "holds bytes that are not text", repr(raw)
    if not closed:
        return Damaged(number, "is cut off: it has no end of line", text)
    again = head_of(raw)
    if again is not None:
        return again
    body, comma, word = text.rpartition(",")
    if not comma or not _fits(body + comma, word):
        anew = _as_written(text)
        if anew is None:
            return Damaged(number, why, shown or text)
        body = anew
    try:
        return _said(next(csv.reader([body])), head, number)
    except (ValueError, PretreatError) as problem:
        return Damaged(number, f"cannot be read ({problem})", text)


def _as_written(text: str) -> str | None:
    """Return the body of a line that a spreadsheet spelled anew, None where none fits."""
    cells = cells_of(text)
    if not cells or not cells[-1].startswith("x"):
        return None
    for stamp, values, note in spellings(cells[:-1], STRIKE):
        body = _body(stamp, values, note)
        if _fits(body, cells[-1]):
            return body.removesuffix(",")
    return None


def _said(cells: Sequence[str], head: Head, number: int) -> Reading | Strike:
    stamp, *values, note = cells
    if len(values) != len(head.keys):
        raise RecordError(f"it has {len(values)} gauges, the head above names {len(head.keys)}")
    when = datetime.datetime.fromisoformat(stamp.removeprefix(STRIKE))
    if stamp.startswith(STRIKE):
        return Strike(when, note, number)
    pairs = zip(head.keys, values, strict=True)
    return reading(when, {k: float(v) for k, v in pairs if v}, note, number)
