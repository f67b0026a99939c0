"""The record of a site as a file: plain CSV, one line per reading, only ever added to.

Every line ends with a check word over the text before it and with a line end. A line that was
cut off by a crash, or changed by hand, does not fit its check word: it is reported by its number,
kept as it is and not used. A writer holds a lock, adds whole lines in one write at the end of the
file and waits until they are on the disk. A wrong reading is withdrawn by a line that strikes it.
"""

import datetime
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from pretreat.core.doors.way_in import Kind, check_regular, file_bytes
from pretreat.record.readings import Reading, RecordError, gauges
from pretreat.record.store.lines import (
    Damaged,
    Head,
    Strike,
    check_word,
    head_line,
    head_of,
    line_of,
    number_of,
    parsed,
    strike_line,
)
from pretreat.record.store.lock import locked

__all__ = [
    "Book",
    "Damaged",
    "Struck",
    "add_readings",
    "check_word",
    "line_of",
    "read_book",
    "strike_readings",
]


@dataclass(frozen=True, slots=True)
class Struck:
    """A reading that was withdrawn, and why."""

    taken: Reading
    why: str


@dataclass(frozen=True, slots=True)
class Book:
    """A record as read: readings in the order of their dates, damaged and struck lines.

    ``missing`` are places where lines were taken out: the line behind them, and how many;
    ``doubled`` are lines that say again what an earlier one says.
    """

    readings: tuple[Reading, ...]
    damaged: tuple[Damaged, ...]
    struck: tuple[Struck, ...] = ()
    missing: tuple[tuple[int, int], ...] = ()
    doubled: tuple[int, ...] = ()


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


def _add(path: Path, lines: Sequence[Callable[[int], str]]) -> None:
    """Add lines, each made with its number in the file."""
    if path.exists():
        check_regular(path, RECORD)
    try:
        with locked(path):
            now = _start(path)
            heads = [] if now.keys == tuple(gauges()) else [head_line()]
            first = len(path.read_bytes().removesuffix(b"\n").split(b"\n")) + 1 + len(heads)
            made = [line(number) for number, line in enumerate(lines, start=first)]
            _append(path, "".join(f"{line}\n" for line in [*heads, *made]).encode("utf-8"))
    except OSError as problem:
        raise RecordError(f"{path}: cannot be written ({problem.strerror or problem})") from None


def _start(path: Path) -> Head:
    """Return the head that holds at the end of the file; make the file if it is not there."""
    if path.exists() and path.stat().st_size > 0:
        first, *rest = _bytes_of(path).split(b"\n")
        now = _first_head(path, first)
        for raw in rest:
            if raw.startswith(b"when"):
                now = head_of(raw) or now
        return now
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
    return Head(tuple(gauges()))


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
    found = _Found()
    for number, raw in enumerate(lines[1:], start=2):
        last = number == len(lines)
        if last and not raw:
            break
        one = parsed(number, raw, head, closed=not last)
        if isinstance(one, Head):
            head = one
        elif isinstance(one, Damaged):
            found.damaged.append(one)
        else:
            found.count(number, number_of(raw))
            found.take(one)
    return found.book()


@dataclass(slots=True)
class _Found:
    """What was read so far."""

    by_when: dict[datetime.datetime, list[Reading]] = field(default_factory=dict)
    damaged: list[Damaged] = field(default_factory=list)
    struck: list[Struck] = field(default_factory=list)
    missing: list[tuple[int, int]] = field(default_factory=list)
    doubled: list[int] = field(default_factory=list)
    gone: int = 0  # lines taken out so far

    def count(self, number: int, written: int | None) -> None:
        """Compare the number of a line with the one it had when it was written."""
        if written is None:
            return
        if written - number > self.gone:
            self.missing.append((number, written - number - self.gone))
        self.gone = written - number

    def take(self, one: Reading | Strike) -> None:
        """Add a reading, once, or withdraw those of a moment."""
        if isinstance(one, Strike):
            self.struck += [Struck(r, one.why) for r in self.by_when.pop(one.when, ())]
            return
        same = self.by_when.setdefault(one.when, [])
        if any(r.values == one.values and r.note == one.note for r in same):
            self.doubled.append(one.line)
        else:
            same.append(one)

    def book(self) -> Book:
        """Return the record, its readings by date."""
        ordered = [r for when in sorted(self.by_when) for r in self.by_when[when]]
        return Book(
            tuple(ordered),
            tuple(self.damaged),
            tuple(self.struck),
            tuple(self.missing),
            tuple(self.doubled),
        )


RECORD = Kind("the record", "no such record; add a first reading to make it", 64, RecordError)


def _bytes_of(path: Path) -> bytes:
    return file_bytes(path, RECORD)
