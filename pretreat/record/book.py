"""The record of a site as a file: plain CSV, one line per reading, only ever added to.

Every line ends with a check word over the text before it and with a line end. A line that was
cut off by a crash, or changed by hand, does not fit its check word: it is reported by its number,
kept as it is and not used. A writer holds a lock, adds whole lines in one write at the end of the
file and waits until they are on the disk.
"""

import csv
import datetime
import io
import os
import zlib
from dataclasses import dataclass
from pathlib import Path

from pretreat.basis import cites
from pretreat.errors import PretreatError
from pretreat.record.lock import locked
from pretreat.record.readings import Reading, RecordError, gauges, reading

WHEN, NOTE, CHECK = "when", "note", "check"
LARGEST_BYTES = 64 * 1024 * 1024  # a reading every ten minutes for twenty years is less
_BOM = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True)
class Damaged:
    """A line that is kept but not used: its number, why, and its text."""

    line: int
    why: str
    text: str


@dataclass(frozen=True, slots=True)
class Book:
    """A record as read: readings in the order of their dates, and the damaged lines."""

    readings: tuple[Reading, ...]
    damaged: tuple[Damaged, ...]


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


def _header() -> str:
    return ",".join([WHEN, *gauges(), NOTE, CHECK])


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
    text = io.StringIO()
    stamp = taken.when.isoformat(sep=" ", timespec="seconds")
    csv.writer(text, lineterminator="").writerow([stamp, *values, taken.note])
    body = text.getvalue() + ","
    return body + check_word(body)


def add_readings(path: str | Path, *taken: Reading) -> None:
    """Add readings at the end of a record; on return they are on the disk.

    Parameters
    ----------
    path : str or Path
        The record; it is made if it is not there. [-]
    *taken : Reading
        Readings to add. [-]

    Raises
    ------
    RecordError
        If the file cannot be written, is not such a record, or is locked for too long.
    """
    path = Path(path)
    try:
        with locked(path):
            _start(path)
            _append(path, "".join(line_of(one) + "\n" for one in taken).encode("utf-8"))
    except OSError as problem:
        raise RecordError(f"{path}: cannot be written ({problem.strerror or problem})") from None


def _start(path: Path) -> None:
    """Make the file with its header, in one step; refuse a file that is something else."""
    if path.exists() and path.stat().st_size > 0:
        with path.open("rb") as file:
            _check_header(path, file.readline(LARGEST_BYTES))
        return
    fresh = path.with_name(path.name + ".new")
    with fresh.open("wb") as file:
        file.write((_header() + "\n").encode("utf-8"))
        file.flush()
        os.fsync(file.fileno())
    fresh.replace(path)
    _settle(path.parent)


def _settle(folder: Path) -> None:
    """Put the folder's entry on the disk, where the system lets a program do so."""
    if hasattr(os, "O_DIRECTORY"):
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _append(path: Path, data: bytes) -> None:
    """Write at the end; a line that a crash left open is closed first, and so stays apart."""
    handle = os.open(path, os.O_RDWR | os.O_APPEND | getattr(os, "O_BINARY", 0))
    try:
        size = os.lseek(handle, 0, os.SEEK_END)
        os.lseek(handle, size - 1, os.SEEK_SET)
        if os.read(handle, 1) != b"\n":
            data = b"\n" + data
        view = memoryview(data)
        while view:
            view = view[os.write(handle, view) :]
        os.fsync(handle)
    finally:
        os.close(handle)


def _check_header(path: Path, first: bytes) -> None:
    text = first.removeprefix(_BOM).decode("utf-8", "replace").rstrip("\r\n")
    if text != _header():
        raise RecordError(
            f"{path}: not a record of this program (its first line is '{text[:60]}'): choose "
            "another file, or move this one away"
        )


def read_book(path: str | Path) -> Book:
    """Read a record; damaged lines are reported and left in the file.

    Parameters
    ----------
    path : str or Path
        The record. [-]

    Returns
    -------
    Book
        Readings by date, and damaged lines by number. [-]

    Raises
    ------
    RecordError
        If the file cannot be read or is not such a record.
    """
    path = Path(path)
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise RecordError(f"{path}: larger than {LARGEST_BYTES} bytes: not a record")
        data = path.read_bytes()
    except FileNotFoundError:
        raise RecordError(f"{path}: no such record; add a first reading to make it") from None
    except OSError as problem:
        raise RecordError(f"{path}: cannot be read ({problem.strerror})") from None
    lines = data.split(b"\n")
    _check_header(path, lines[0])
    found: list[Reading] = []
    damaged: list[Damaged] = []
    for number, raw in enumerate(lines[1:], start=2):
        last = number == len(lines)
        if last and not raw:
            break
        one = _line(number, raw, closed=not last)
        if isinstance(one, Reading):
            found.append(one)
        else:
            damaged.append(one)
    return Book(tuple(sorted(found, key=lambda r: r.when)), tuple(damaged))


def _line(number: int, raw: bytes, *, closed: bool) -> Reading | Damaged:
    try:
        text = raw.decode("utf-8").removesuffix("\r")
    except UnicodeDecodeError:
        return Damaged(number, "holds bytes that are not text", repr(raw))
    body, comma, word = text.rpartition(",")
    if not closed:
        return Damaged(number, "is cut off: it has no end of line", text)
    if not comma or check_word(body + comma) != word:
        return Damaged(number, "does not fit its check word: cut off or changed by hand", text)
    try:
        cells = next(csv.reader([body]))
        stamp, *values, note = cells
        pairs = zip(gauges(), values, strict=True)
        when = datetime.datetime.fromisoformat(stamp)
        return reading(when, {k: float(v) for k, v in pairs if v}, note, number)
    except (ValueError, PretreatError) as problem:
        return Damaged(number, f"cannot be read ({problem})", text)
