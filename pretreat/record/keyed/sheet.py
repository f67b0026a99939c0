"""The record sheet read back: a column for each date, filled in in a spreadsheet or typed off."""

import datetime
from collections.abc import Mapping, Sequence
from pathlib import Path

from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.core.errors import PretreatError
from pretreat.core.sheets import CellValue, Sheet, read_sheets
from pretreat.record.entry import gauge_of
from pretreat.record.keyed.dates import Order, moment
from pretreat.record.keyed.values import Typing, faults_of, typed
from pretreat.record.readings import Gauge, Reading, RecordError, gauges, reading
from pretreat.record.store.book import Book

TITLE = "Record sheet"
_HEADS = {"gauge": "gauge", "unit": "unit"}
_EXPECTED = ("expected", "when new")
_NOT_READ = ("-", "–", "—", "n/a", "na", "not read", "x")
_CLOSE = 1e-6  # of a value: the digits that a record keeps


class _Column(Struct):
    """A column of the sheet: date, time, values and remarks, as found so far."""

    place: str
    when: CellValue = ""
    time: CellValue = ""
    values: dict[str, float] = field(default_factory=dict)
    below: dict[str, float] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    said: list[str] = field(default_factory=list)

    @property
    def filled(self) -> bool:
        """Whether anything but a date was written."""
        return bool(self.values or self.notes)


class SheetReading(Struct, frozen=True):
    """A reading of the sheet, where it stands, and how some values were read."""

    taken: Reading
    place: str
    said: tuple[str, ...] = ()


def read_record_sheet(
    path: Path, typing: Typing | None = None, order: Order | None = None
) -> tuple[SheetReading, ...]:
    """Read a filled record sheet; a value without a unit has that of its line.

    Parameters
    ----------
    path : Path
        The workbook that holds it, saved back, or a CSV of the sheet. [-]
    typing : Typing, optional
        Choices of the site. [-]
    order : str, optional
        Order of day and month where both are possible. [-]

    Returns
    -------
    tuple of SheetReading
        A reading for each column that is filled in. [-]

    Raises
    ------
    RecordError
        With one line for each cell that cannot be used; then no column is.
    """
    found = [
        (sheet, head) for sheet in read_sheets(path, (TITLE,)) if (head := _head(sheet)) is not None
    ]
    if not found:
        raise RecordError(
            f"{path.name}: no record sheet in it (a line with the words Gauge and Unit); print or "
            f"save the sheet '{TITLE}' of the workbook"
        )
    readings: list[SheetReading] = []
    faults: list[str] = []
    for sheet, head in found:
        readings += _readings(sheet, head, typing or Typing(), order, faults)
    if faults:
        raise RecordError(*(f"{path.name}: {fault}" for fault in faults))
    return tuple(readings)


def _head(sheet: Sheet) -> tuple[int, Mapping[str, int]] | None:
    """Return the row of the headings and the columns of gauge and unit, None where none is."""
    for row, cells in sheet.rows().items():
        words = {str(value).strip().casefold(): column for column, value in cells.items()}
        if set(_HEADS) <= set(words):
            expected = [words[word] for word in _EXPECTED if word in words]
            return row, {**words, "last": max([words["unit"], *expected])}
    return None


def _readings(
    sheet: Sheet,
    head: tuple[int, Mapping[str, int]],
    typing: Typing,
    order: Order | None,
    faults: list[str],
) -> list[SheetReading]:
    """Return the readings of one sheet; add what is wrong to the faults."""
    top, columns = head
    filled: dict[int, _Column] = {}
    for row, cells in sheet.rows().items():
        label = sheet.text(row, columns["gauge"])
        if row <= top or not label:
            continue
        for column, value in cells.items():
            if column > columns["last"] and str(value).strip():
                place = sheet.place(row, column)
                one = filled.setdefault(column, _Column(place))
                unit = sheet.text(row, columns["unit"])
                faults += _take(one, (label, unit, place), value, typing)
    found = []
    for one in filled.values():
        try:
            taken = _reading(one, order)
        except PretreatError as problem:
            faults += faults_of(one.place, problem)
            continue
        if taken is not None:
            found.append(SheetReading(taken, one.place, tuple(one.said)))
    return found


def _take(
    one: _Column, line: tuple[str, str, str], value: CellValue, typing: Typing
) -> tuple[str, ...]:
    """Take one cell: a date, a value or a remark; return what is wrong with it."""
    label, unit, place = line
    word = label.casefold().removeprefix("* ").strip()
    gauge = gauge_of(label) or _within(word)
    text = f"{value:.10g}" if isinstance(value, float) else str(value).strip()
    if word.startswith("date") or word == "when":
        one.when, one.place = value, place
    elif word == "time":
        one.time = value
    elif gauge is None:
        one.notes.append(text)
    elif text.casefold() not in _NOT_READ:
        return _take_value(one, gauge, (text, unit, place), value, typing)
    return ()


def _take_value(
    one: _Column, gauge: Gauge, line: tuple[str, str, str], value: CellValue, typing: Typing
) -> tuple[str, ...]:
    """Take the value of a gauge; return what is wrong with it."""
    text, unit, place = line
    if isinstance(value, datetime.date | datetime.time):
        return (f"{place}: {gauge.label} is a date; type the value anew",)
    bare = {**typing.units, gauge.key: unit} if unit else typing.units
    try:
        found = typed(gauge, text, replace(typing, units=bare))
        reading(datetime.datetime.min, {gauge.key: found.value})
    except PretreatError as problem:
        return faults_of(f"{place} ({gauge.label})", problem)
    one.values[gauge.key] = found.value
    if found.below is not None:
        one.below[gauge.key] = found.below
    one.said += [f"{gauge.label}: {found.said}"] if found.said else []
    return ()


def _within(word: str) -> Gauge | None:
    """Return the gauge whose label stands in a line of the sheet with other words beside it."""
    holding = [g for g in gauges().values() if g.label.casefold() in word]
    return max(holding, key=lambda g: len(g.label), default=None)


def _reading(one: _Column, order: Order | None) -> Reading | None:
    """Return the reading of a column, None where nothing but a date is written."""
    if not one.filled:
        return None
    if not str(one.when).strip():
        raise RecordError("no date; write when it was read, as in 2031-05-14 09:30")
    if isinstance(one.when, datetime.datetime):
        when = one.when.replace(microsecond=0)
    elif isinstance(one.when, datetime.date):
        when = datetime.datetime.combine(one.when, datetime.time())
    else:
        when = moment(f"{one.when} {_time(one.time)}".strip(), order)
    if isinstance(one.time, datetime.time) and not when.time():
        when = datetime.datetime.combine(when.date(), one.time)
    return reading(when, one.values, ". ".join(one.notes), 0, one.below)


def _time(value: CellValue) -> str:
    return f"{value:%H:%M}" if isinstance(value, datetime.time) else str(value)


def new_ones(
    found: Sequence[SheetReading], book: Book
) -> tuple[list[SheetReading], list[str], list[str]]:
    """Tell what of a sheet is not in the record yet.

    Parameters
    ----------
    found : sequence of SheetReading
        Readings of the sheet. [-]
    book : Book
        The record. [-]

    Returns
    -------
    tuple of list
        Readings to add, lines about those that are there already, and faults: values that differ
        from what the record says of the same moment. [-]
    """
    fresh: list[SheetReading] = []
    known: list[str] = []
    faults: list[str] = []
    struck = [one.taken for one in book.struck]
    for one in found:
        when = one.taken.when
        there = [r for r in book.readings if when in {r.when, r.when.replace(second=0)}]
        if any(_agree(one.taken, r) for r in struck if r.when.replace(second=0) == when):
            known.append(f"{one.place}: the reading of {when} was struck, and stays out")
            continue
        odd = [r for r in there if not _agree(one.taken, r)]
        if odd:
            faults.append(
                f"{one.place}: the record has other values of {when}; if the sheet is right, "
                f"strike them first: --strike '{when}'"
            )
            continue
        read = {key for r in there for key in r.values}
        values = {k: v for k, v in one.taken.values.items() if k not in read}
        if there and not values:
            known.append(f"{one.place}: the reading of {when} is in the record already")
            continue
        below = {k: v for k, v in one.taken.below.items() if k in values}
        more = replace(one.taken, values=values, below=below, note="")
        fresh.append(replace(one, taken=more) if there else one)
    return fresh, known, faults


def _agree(one: Reading, other: Reading) -> bool:
    """Tell whether two readings say the same where both say something."""
    both = set(one.values) & set(other.values)
    return all(abs(one.values[k] - other.values[k]) <= _CLOSE * abs(other.values[k]) for k in both)
