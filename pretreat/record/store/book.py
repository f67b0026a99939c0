"""The record of a site as a file: plain CSV, one line per reading, only ever added to.

Every line ends with a check word over the text before it and with a line end. A line that was
cut off by a crash, or changed by hand, does not fit its check word: it is reported by its number,
kept as it is and not used. A writer holds a lock, adds whole lines in one write at the end of the
file and waits until they are on the disk. A wrong reading is withdrawn by a line that strikes it.
Each line also names the check word of the one before, and the lock beside the file that of the
last, so that lines taken out are missed.
"""

import datetime
import os
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path

from msgspec import Struct

from pretreat.core.doors.way_in import Kind, check_regular, file_bytes
from pretreat.record.readings import Reading, RecordError, gauges
from pretreat.record.store.lines import (
    FIRST,
    Damaged,
    Head,
    Parsed,
    Strike,
    check_word,
    head_line,
    head_of,
    line_of,
    own_digits,
    parsed,
    strike_line,
)
from pretreat.record.store.lock import locked, noted_word

__all__ = [
    "Book",
    "Damaged",
    "Doubled",
    "Struck",
    "add_readings",
    "check_word",
    "line_of",
    "read_book",
    "strike_readings",
]


class Struck(Struct, frozen=True):
    """A reading that was withdrawn, and why."""

    taken: Reading
    why: str


class Doubled(Struct, frozen=True):
    """A reading that stands in the file a second time, and the line where it stands first."""

    taken: Reading
    first: int


class Book(Struct, frozen=True):
    """A record as read: readings in the order of their dates, damaged and struck lines.

    ``doubled`` are readings that stand twice and are used once. ``missing`` are the numbers of
    lines before which lines were taken out, one more than the last where they are missing at the
    end. ``respelt`` are the numbers of lines that a spreadsheet saved anew.
    """

    readings: tuple[Reading, ...]
    damaged: tuple[Damaged, ...]
    struck: tuple[Struck, ...] = ()
    doubled: tuple[Doubled, ...] = ()
    missing: tuple[int, ...] = ()
    respelt: tuple[int, ...] = ()


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
    _add(Path(path), [partial(line_of, one) for one in taken])


def strike_readings(
    path: str | Path, when: datetime.datetime, why: str = ""
) -> tuple[Reading, ...]:
    """Withdraw the readings of a moment by a line at the end; they stay in the file.

    Parameters
    ----------
    path : str or Path
        The record. [-]
    when : datetime
        Date and time of the reading, to the second, or to the minute where that is enough. [-]
    why : str
        Reason in words. [-]

    Returns
    -------
    tuple of Reading
        The readings withdrawn. [-]

    Raises
    ------
    RecordError
        If no reading has that time, several have it to the minute, or the file cannot be used.
    """
    readings = read_book(path).readings
    found = tuple(r for r in readings if r.when == when)
    if not found:
        found = tuple(r for r in readings if r.when.replace(second=0) == when)
    times = sorted({r.when for r in found})
    if not times:
        near = sorted(readings, key=lambda r: abs(r.when - when))[:1]
        hint = f"; the nearest is {near[0].when}" if near else ""
        raise RecordError(f"no reading of {when} stands in the record{hint}")
    if len(times) > 1:
        raise RecordError(f"several readings: name one of {', '.join(map(str, times))}")
    _add(Path(path), [partial(strike_line, times[0], why)])
    return found


def _add(path: Path, lines: Sequence[Callable[[str], str]]) -> None:
    """Add lines, each made with the check word of the line before."""
    if path.exists():
        check_regular(path, RECORD)
    try:
        with locked(path) as memo:
            now, last = _start(path, memo.read())
            texts = [] if now.keys == tuple(gauges()) else [head_line()]
            for line in lines:
                texts.append(line(last))
                last = own_digits(texts[-1].encode("utf-8"))
            _append(path, "".join(f"{text}\n" for text in texts).encode("utf-8"))
            memo.write(last)
    except OSError as problem:
        raise RecordError(f"{path}: cannot be written ({problem.strerror or problem})") from None


def _start(path: Path, noted: str) -> tuple[Head, str]:
    """Return the head that holds at the end of the file, and the digits of its last check word.

    The file is made if it is not there. Where the last line that was ever written is gone, its
    digits are returned all the same, so that the gap stays to be seen.
    """
    if path.exists() and path.stat().st_size > 0:
        first, *rest = _bytes_of(path).split(b"\n")
        now, last, known = _first_head(path, first), FIRST, {FIRST}
        for raw in rest:
            if raw.startswith(b"when"):
                now = head_of(raw) or now
            last = own_digits(raw) or last
            known.add(last)
        return now, noted if noted and noted not in known else last
    fresh = path.with_name(path.name + ".new")
    try:
        with fresh.open("wb") as file:
            file.write((head_line() + "\n").encode("utf-8"))
            file.flush()
            os.fsync(file.fileno())
        fresh.replace(path)
    finally:
        fresh.unlink(missing_ok=True)
    _settle(path.parent)
    return Head(tuple(gauges())), FIRST


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


def _first_head(path: Path, first: bytes) -> Head:
    found = head_of(first)
    if found is None:
        text = first.decode("utf-8", "replace")
        raise RecordError(
            f"{path}: not a record of this program (its first line is '{text[:60]}'): choose "
            "another file, or move this one away"
        )
    return found


def read_book(path: str | Path) -> Book:
    """Read a record; damaged lines are reported and left in the file.

    Parameters
    ----------
    path : str or Path
        The record. [-]

    Returns
    -------
    Book
        Readings by date, damaged lines by number, and readings that were struck. [-]

    Raises
    ------
    RecordError
        If the file cannot be read or is not such a record.
    """
    lines = _bytes_of(Path(path)).split(b"\n")
    head = _first_head(Path(path), lines[0])
    every: dict[int, Parsed] = {}
    for number, raw in enumerate(lines[1:], start=2):
        last = number == len(lines)
        if not raw.strip(b"\r,;\t "):
            continue
        one = parsed(number, raw, head, closed=not last)
        head = one.said if isinstance(one.said, Head) else head
        every[number] = one
    noted = noted_word(Path(path))
    return _book(every, noted)


def _book(every: Mapping[int, Parsed], noted: str) -> Book:
    """Sort what the lines say into readings, and what is wrong with the file."""
    found: dict[tuple[object, ...], Reading] = {}
    damaged: list[Damaged] = []
    struck: list[Struck] = []
    doubled: list[Doubled] = []
    for one in every.values():
        if isinstance(one.said, Reading):
            first = found.setdefault(_what(one.said), one.said)
            if first is not one.said:
                doubled.append(Doubled(one.said, first.line))
        elif isinstance(one.said, Damaged):
            damaged.append(one.said)
        elif isinstance(one.said, Strike):
            when, why = one.said.when, one.said.why
            struck += [Struck(r, why) for r in found.values() if r.when == when]
            found = {what: r for what, r in found.items() if r.when != when}
    ordered = sorted(found.values(), key=lambda r: r.when)
    respelt = tuple(number for number, one in every.items() if one.respelt)
    return Book(
        tuple(ordered), tuple(damaged), tuple(struck), tuple(doubled), _gaps(every, noted), respelt
    )


def _what(taken: Reading) -> tuple[object, ...]:
    """Return what a reading says: date, values and note."""
    return taken.when, frozenset(taken.values.items()), frozenset(taken.below.items()), taken.note


def _gaps(every: Mapping[int, Parsed], noted: str) -> tuple[int, ...]:
    """Return the numbers of lines before which lines are missing.

    A line names the one before it. Lines that were only put in another order are all there. A
    damaged line without a check word may be the one that is looked for.
    """
    known = {FIRST, "", *(one.own for one in every.values())}
    gaps = []
    lost = 0  # damaged lines without a check word that may still account for a line
    for number, one in every.items():
        if isinstance(one.said, Damaged) and not one.own:
            lost += 1
        elif one.before not in known:
            known.add(one.before)
            if lost:
                lost -= 1
            else:
                gaps.append(number)
    if noted not in known and not lost:
        gaps.append(max(every, default=1) + 1)
    return tuple(gaps)


RECORD = Kind("the record", "no such record; add a first reading to make it", 64, RecordError)


def _bytes_of(path: Path) -> bytes:
    return file_bytes(path, RECORD)
