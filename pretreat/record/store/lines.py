"""The lines of a record: a head that names the gauges, readings, and lines that strike readings.

Every line but a head ends with a check word over the text before it. A head may come again further
down, when gauges were added: it holds for the lines below it. A striking line withdraws the
readings of its date that stand above it; they stay in the file.
"""

import csv
import datetime
import io
import zlib
from collections.abc import Sequence
from dataclasses import dataclass

from pretreat.core.basis import cites
from pretreat.core.errors import PretreatError
from pretreat.record.readings import Reading, RecordError, gauges, note_text, reading

WHEN, NOTE, CHECK = "when", "note", "check"
STRIKE = "strike "
LONGEST_REASON = 400  # characters
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
    first, *rest = raw.removeprefix(_BOM).decode("utf-8", "replace").rstrip("\r\n").split(",")
    keys = rest[:-2]
    if first != WHEN or rest[-2:] != [NOTE, CHECK] or len(set(keys)) != len(keys):
        return None
    return Head(tuple(keys)) if all(key in gauges() for key in keys) else None


def _line(stamp: str, values: Sequence[str], note: str) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="").writerow([stamp, *values, note])
    body = text.getvalue() + ","
    return body + check_word(body)


def line_of(taken: Reading) -> str:
    """Return a reading as the line that stands in the file, without its end.

    Parameters
    ----------
    taken : Reading
        The reading. [-]

    Returns
    -------
    str
        The line with its check word. [-]
    """
    values = [f"{taken.values[k]:.10g}" if k in taken.values else "" for k in gauges()]
    return _line(taken.when.isoformat(sep=" ", timespec="seconds"), values, taken.note)


def strike_line(when: datetime.datetime, why: str) -> str:
    """Return the line that withdraws the readings of a moment, without its end.

    Parameters
    ----------
    when : datetime
        Date and time of the readings. [-]
    why : str
        Reason in words. [-]

    Returns
    -------
    str
        The line with its check word. [-]
    """
    stamp = STRIKE + when.isoformat(sep=" ", timespec="seconds")
    return _line(stamp, [""] * len(gauges()), note_text(why)[:LONGEST_REASON])


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
    try:
        text = raw.decode("utf-8").removesuffix("\r")
    except UnicodeDecodeError:
        return Damaged(number, "holds bytes that are not text", repr(raw))
    if not closed:
        return Damaged(number, "is cut off: it has no end of line", text)
    again = head_of(raw)
    if again is not None:
        return again
    body, comma, word = text.rpartition(",")
    if not comma or check_word(body + comma) != word:
        return Damaged(number, "does not fit its check word: cut off or changed by hand", text)
    try:
        return _said(next(csv.reader([body])), head, number)
    except (ValueError, PretreatError) as problem:
        return Damaged(number, f"cannot be read ({problem})", text)


def _said(cells: Sequence[str], head: Head, number: int) -> Reading | Strike:
    stamp, *values, note = cells
    if len(values) != len(head.keys):
        raise RecordError(f"it has {len(values)} gauges, the head above names {len(head.keys)}")
    when = datetime.datetime.fromisoformat(stamp.removeprefix(STRIKE))
    if stamp.startswith(STRIKE):
        return Strike(when, note, number)
    pairs = zip(head.keys, values, strict=True)
    return reading(when, {k: float(v) for k, v in pairs if v}, note, number)
