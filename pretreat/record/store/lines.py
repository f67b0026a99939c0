"""The lines of a record: a head that names the gauges, readings, and lines that strike readings.

Every line but a head ends with a check word over the text before it, and behind a hyphen the check
word of the line before, so that a line taken out is missed. A head may come again further down,
when gauges were added: it holds for the lines below it. A striking line withdraws the readings of
its date that stand above it; they stay in the file. A line that a spreadsheet has saved anew, with
semicolons, decimal commas or other dates, is put back as it was written, and then fits its check
word.
"""

import csv
import datetime
import io
import re
import zlib
from collections.abc import Iterator, Sequence

from msgspec import Struct

from pretreat.core.basis import cites
from pretreat.core.errors import PretreatError
from pretreat.core.text import lazy
from pretreat.record.keyed.dates import moments
from pretreat.record.readings import Reading, RecordError, gauges, note_text, reading

SECONDS = 60
WHEN, NOTE, CHECK = "when", "note", "check"
STRIKE = "strike "
LONGEST_REASON = 400  # characters
FIRST = "0" * 8  # stands for the line before the first
DIGITS, PLACES = 8, 9  # of a value, and behind its point: no spreadsheet shortens them
_WORD = lazy(r"x([0-9a-f]{8})(?:-([0-9a-f]{8}))?")
_BOM = b"\xef\xbb\xbf"


class Damaged(Struct, frozen=True):
    """A line that is kept but not used: its number, why, and its text."""

    line: int
    why: str
    text: str


class Strike(Struct, frozen=True):
    """A line that withdraws the readings of a moment written above it, and why."""

    when: datetime.datetime
    why: str
    line: int


class Head(Struct, frozen=True):
    """A line that names the gauges of the lines below it."""

    keys: tuple[str, ...]


class Parsed(Struct, frozen=True):
    """What a line says, the check words of itself and the line before, if it was saved anew."""

    said: "Reading | Strike | Head | Damaged"
    own: str = ""
    before: str = ""
    respelt: bool = False


@cites("CRC32", "polynomial of zlib, eight hexadecimal digits")
def check_word(text: str, before: str = "") -> str:
    """Return the check word of the text of a line.

    Parameters
    ----------
    text : str
        The line up to and with the comma before the check word. [-]
    before : str
        Digits of the line before, for which this word vouches too; empty for a lone line. [-]

    Returns
    -------
    str
        Eight hexadecimal digits behind an "x", so that a spreadsheet leaves them alone. [-]
    """
    link = f"-{before}" if before else ""
    return f"x{zlib.crc32((text + link).encode('utf-8')):08x}{link}"


def own_digits(raw: bytes) -> str:
    """Return the digits of the check word of a line, empty where it has none.

    Parameters
    ----------
    raw : bytes
        The line, in whatever separators. [-]

    Returns
    -------
    str
        Eight hexadecimal digits. [-]
    """
    last = re.split(r"[,;\t]", raw.decode("utf-8", "replace").rstrip("\r\n,;\t "))[-1].strip('"')
    found = _WORD.fullmatch(last)
    return found[1] if found else ""


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
    text = raw.removeprefix(_BOM).decode("utf-8", "replace").rstrip("\r\n,;\t ")
    words = re.split(r"[,;\t]", text)
    first, *rest = (word.strip('"') for word in words)
    keys = rest[:-2]
    if first != WHEN or rest[-2:] != [NOTE, CHECK] or len(set(keys)) != len(keys):
        return None
    return Head(tuple(keys)) if all(key in gauges() for key in keys) else None


def _body(stamp: str, values: Sequence[str], note: str) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="").writerow([stamp, *values, note])
    return text.getvalue() + ","


def _line(stamp: str, values: Sequence[str], note: str, before: str) -> str:
    body = _body(stamp, values, note)
    return body + check_word(body, before)


def _cell(taken: Reading, key: str) -> str:
    if key in taken.below:
        return f"<{round(taken.below[key], PLACES):.{DIGITS}g}"
    return f"{round(taken.values[key], PLACES):.{DIGITS}g}" if key in taken.values else ""


def line_of(taken: Reading, before: str = "") -> str:
    """Return a reading as the line that stands in the file, without its end.

    Parameters
    ----------
    taken : Reading
        The reading. [-]
    before : str
        Digits of the check word of the line before. [-]

    Returns
    -------
    str
        The line with its check word. [-]
    """
    values = [_cell(taken, key) for key in gauges()]
    return _line(taken.when.isoformat(sep=" ", timespec="seconds"), values, taken.note, before)


def strike_line(when: datetime.datetime, why: str, before: str = "") -> str:
    """Return the line that withdraws the readings of a moment, without its end.

    Parameters
    ----------
    when : datetime
        Date and time of the readings. [-]
    why : str
        Reason in words. [-]
    before : str
        Digits of the check word of the line before. [-]

    Returns
    -------
    str
        The line with its check word. [-]
    """
    stamp = STRIKE + when.isoformat(sep=" ", timespec="seconds")
    return _line(stamp, [""] * len(gauges()), note_text(why)[:LONGEST_REASON], before)


def parsed(number: int, raw: bytes, head: Head, *, closed: bool) -> Parsed:
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
    Parsed
        A reading, a strike, a head or a damaged line, which says why it cannot be used. [-]
    """
    own = own_digits(raw)
    try:
        text = raw.decode("utf-8").removesuffix("\r")
    except UnicodeDecodeError:
        text = raw.decode("cp1252", "replace").removesuffix("\r")
        again = _respelt(text, head, number) if closed else None
        return again or Parsed(Damaged(number, "holds bytes that are not text", repr(raw)), own)
    if not closed:
        return Parsed(Damaged(number, "is cut off: it has no end of line", text), "")
    names = head_of(raw)
    if names is not None:
        return Parsed(names)
    body, comma, word = text.rpartition(",")
    found = _WORD.fullmatch(word)
    link = (found[2] or "") if found else ""
    if not comma or check_word(body + comma, link) != word:
        anew = _respelt(text, head, number)
        why = "does not fit its check word: cut off or changed by hand"
        return anew or Parsed(Damaged(number, why, text), own)
    try:
        return Parsed(_said(next(csv.reader([body])), head, number), own, link)
    except (ValueError, PretreatError) as problem:
        return Parsed(Damaged(number, f"cannot be read ({problem})", text), own, link)


def _respelt(text: str, head: Head, number: int) -> Parsed | None:
    """Return a line that a spreadsheet has saved anew, None where none fits its check word."""
    for delimiter in ";\t,":
        try:
            cells = next(csv.reader([text], delimiter=delimiter), [])
        except csv.Error:
            continue
        cells = cells[: len(head.keys) + 3]
        found = _WORD.fullmatch(cells[-1].strip()) if cells else None
        if len(cells) != len(head.keys) + 3 or found is None:
            continue
        stamp, *values, note, word = (cell.strip() for cell in cells)
        for when in _stamps(stamp):
            for numbers in _numbers(values):
                body = _body(when, numbers, note)
                if check_word(body, found[2] or "") == word:
                    said = _said(next(csv.reader([body[:-1]])), head, number)
                    return Parsed(said, found[1], found[2] or "", respelt=True)
    return None


def _stamps(text: str) -> Iterator[str]:
    """Yield what a date was before a spreadsheet wrote it its own way, seconds cut off or not."""
    struck = text.startswith(STRIKE)
    for when in moments(text.removeprefix(STRIKE)):
        for second in range(SECONDS if when.second == 0 else 1):
            moment = when.replace(second=second) if when.second == 0 else when
            yield (STRIKE if struck else "") + moment.isoformat(sep=" ", timespec="seconds")


def _numbers(values: Sequence[str]) -> Iterator[list[str]]:
    """Yield values with points for commas, in the digits that are written, or were once."""
    plain = [value.replace(",", ".").replace(" ", "") for value in values]
    yield plain
    for shown in (f".{DIGITS}g", ".10g"):
        try:
            yield [
                v and f"{'<' if v[0] == '<' else ''}{float(v.lstrip('<')):{shown}}" for v in plain
            ]
        except ValueError:
            return


def _said(cells: Sequence[str], head: Head, number: int) -> Reading | Strike:
    stamp, *values, note = cells
    if len(values) != len(head.keys):
        raise RecordError(f"it has {len(values)} gauges, the head above names {len(head.keys)}")
    when = datetime.datetime.fromisoformat(stamp.removeprefix(STRIKE))
    if stamp.startswith(STRIKE):
        return Strike(when, note, number)
    pairs = {k: v for k, v in zip(head.keys, values, strict=True) if v}
    below = {k: float(v[1:]) for k, v in pairs.items() if v[0] == "<"}
    found = {k: 0.0 if k in below else float(v) for k, v in pairs.items()}
    return reading(when, found, note, number, below)
