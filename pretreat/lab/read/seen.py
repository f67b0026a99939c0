"""Columns, lines and numbers of a report that were seen and not taken for results, and why."""

import re
from collections.abc import Iterable, Sequence
from types import MappingProxyType

from msgspec.structs import replace

from pretreat.core.tables import analytes
from pretreat.core.text import lazy
from pretreat.lab.read.formats.line_items import side_by_side
from pretreat.lab.read.formats.pasted import pasted_cells
from pretreat.lab.read.headings import (
    heading_role,
    holds_unknown,
    names_a_sample,
    role_by_words,
)
from pretreat.lab.read.layout import UNUSED_KEYS, Layout, group_heading
from pretreat.lab.read.names import NO_NAMES, named_analyte
from pretreat.lab.read.numbers import printed_number
from pretreat.lab.read.report import (
    Grid,
    Guess,
    PrintedResult,
    SeenColumn,
    column_letters,
    one_line,
)
from pretreat.lab.read.water_words import kind_of_water
from pretreat.lab.read.wording import column_role, folded

MOST_ROWS, MOST_COLUMNS, SHOWN_NUMBERS = 2000, 60, 3
FEWEST_NUMBERS = 2  # in a column, to be worth a word
LONGEST_LINE = 120  # of a result; longer lines are prose
HEADING_ROWS = 4  # above the first result
MOST_LISTED = 6
_NUMBERS = frozenset({"value", "below", "above"})
_WHY = MappingProxyType(
    {
        "previous": "earlier results",
        "limit": "limits of detection",
        "limit2": "limits of detection",
        "ignore": "limits",
        "summary": "statistics",
        "uncertainty": "uncertainties",
        "value": "results by its heading",
        "other": "no results by its heading",
    }
)
_DOUBTFUL = frozenset({"", "other"})  # roles by words that a heading in another language may miss
_LOOKED_FOR = frozenset({"ph", "ec", "temperature", "alkalinity", "hardness"})
_BY_HEADING, _NO_HEADING = "no results by its heading", "no heading says that it holds results"


def seen_columns(grid: Grid, layout: Layout) -> tuple[SeenColumn, ...]:
    """List the columns with numbers beside those of the results, each with the reason.

    Parameters
    ----------
    grid : Grid
        The cells that were read. [-]
    layout : Layout
        What was found in them. [-]

    Returns
    -------
    tuple of SeenColumn
        From left to right; none for other layouts than names down a column. [-]
    """
    rows = _rows_read(grid, layout)
    if not rows or len(grid.rows) > MOST_ROWS:
        return ()
    taken = {r.column.split(" ")[0] for _, r in rows}
    first = min(row for row, _ in rows)
    found = []
    for index in range(min(max(len(row) for row in grid.rows), MOST_COLUMNS)):
        letters = column_letters(index)
        if letters in taken:
            continue
        here = {row: cell for row, _ in rows if (cell := grid.cell(row, index))}
        kinds = {row: printed_number(cell).kind for row, cell in here.items()}
        numbers = {row for row, kind in kinds.items() if kind in _NUMBERS}
        words = sum(kind not in {*_NUMBERS, "missing"} for kind in kinds.values())
        if len(numbers) < FEWEST_NUMBERS or len(numbers) < words:
            continue
        heading = _heading(grid, index, first)
        role = role_by_words(heading)
        why = _WHY.get(role) or (_BY_HEADING if heading_role(heading) else _NO_HEADING)
        own = dict(reversed(rows))
        would_be = tuple(
            replace(own[row], text=here[row], place=grid.place(row, index), doubt="")
            for row in sorted(numbers)
        )
        name = f"{letters} '{heading}'" if heading else letters
        found.append(
            SeenColumn(
                name,
                why,
                would_be,
                compared=role != "uncertainty",
                doubtful=_doubtful(heading, role),
                a_sample=not (role or column_role(heading)) and names_a_sample(heading),
            )
        )
    return tuple(found)


def _doubtful(heading: str, role: str) -> bool:
    """Tell a heading whose words are not all known, and that names no water but the raw one."""
    known = column_role(heading) or role not in _DOUBTFUL or not holds_unknown(heading)
    return not known and kind_of_water(heading) in {"", "raw"}


def _rows_read(grid: Grid, layout: Layout) -> list[tuple[int, PrintedResult]]:
    """Return the rows of the results of a table with names down a column."""
    if layout.name != "vertical":
        return []
    by_place: dict[tuple[str, str], int] = {}
    for row in range(min(len(grid.rows), MOST_ROWS)):
        for index in range(min(len(grid.rows[row]), MOST_COLUMNS)):
            by_place.setdefault((grid.place(row, index), column_letters(index)), row)
    found = []
    for result in layout.results:
        at = by_place.get((result.place, result.column.split(" ")[0]))
        if at is not None and not result.header:
            found.append((at, result))
    return found


def _heading(grid: Grid, index: int, first: int) -> str:
    rows = range(first - 1, max(first - 1 - HEADING_ROWS, -1), -1)
    heads = (group_heading(grid, row, index) for row in rows)
    named = (h for h in heads if re.search(r"[^\W\d_]|±", h) or (h and names_a_sample(h)))
    return next((" ".join(h.split())[:40] for h in named), "")


Unread = tuple[str, str]  # key of an analyte, empty where it may be another; and its line


def unread_lines(grid: Grid, layout: Layout) -> tuple[Unread, ...]:
    """Find lines with the name of an analyte and a number that nothing was made of.

    Parameters
    ----------
    grid : Grid
        The cells that were read. [-]
    layout : Layout
        What was found in them. [-]

    Returns
    -------
    tuple of Unread
        None where every analyte that is listed was read somewhere. [-]
    """
    if layout.name != "vertical" or len(grid.rows) > MOST_ROWS:
        return ()
    places = {r.place for r in layout.results}
    held = {named_analyte(r.name).key for r in layout.results}
    left = [
        (_key_before_a_mark(r.name, key), f"{r.place} '{r.line[:60]}'")
        for r in layout.results
        if (key := _begins_as_another(r, held))
    ]
    for row, cells in enumerate(grid.rows):
        if any(grid.place(row, index) in places for index in range(len(cells))):
            continue
        key = _unread(grid.texts[row] if grid.texts else "", cells, held)
        if key:
            left.append((key, f"{grid.place(row, 0)} '{grid.line(row)[:60]}'"))
    return tuple(left or _not_parted(grid, layout))


def lines_not_read(unread: Sequence[Unread], layout: Layout) -> tuple[Guess, ...]:
    """Tell of the lines that were not read.

    Parameters
    ----------
    unread : sequence of Unread
        The lines. [-]
    layout : Layout
        What was found in the file. [-]

    Returns
    -------
    tuple of Guess
        One, where there are any. [-]
    """
    if not unread:
        return ()
    left, read = [line for _, line in unread], len({r.place for r in layout.results})
    more = f" and {len(left) - MOST_LISTED} more" if len(left) > MOST_LISTED else ""
    text = (
        f"{len(left)} of {len(left) + read} lines with an analyte and a number are not "
        f"read: {'; '.join(left[:MOST_LISTED])}{more}; compare the report, or name the column of "
        "results with --column"
    )
    return (("warning" if len(left) > read else "caution", text),)


def _not_parted(grid: Grid, layout: Layout) -> list[Unread]:
    """Return lines whose columns were not parted, where they are more than those that were."""
    read = {r.place for r in layout.results if r.text}
    left = []
    for row, cells in enumerate(grid.rows):
        if cells and grid.place(row, 0) not in read and any(map(side_by_side, cells[1:])):
            key = named_analyte(cells[0]).key
            left += [(key, f"{grid.place(row, 0)} '{grid.line(row)[:60]}'")] * bool(key)
    return left if grid.from_text and len(left) > len(read) else []


def _begins_as_another(result: PrintedResult, held: Iterable[str]) -> str:
    """Return the analyte that a name which is not known begins with, and that is missing."""
    if named_analyte(result.name).key or printed_number(result.text).kind not in _NUMBERS:
        return ""
    parts = result.name.split()
    if any(folded(part.strip(" .:,;()")) in NO_NAMES for part in parts):
        return ""
    names = (" ".join(parts[:n]).strip(" .:,;(") for n in range(1, len(parts)))
    wanted = _LOOKED_FOR | set(analytes())
    keys = (named_analyte(name).key for name in names)
    return next((key for key in keys if key in wanted and key not in held), "")


def _key_before_a_mark(name: str, key: str) -> str:
    """Return the key of a name that goes on behind a comma or a bracket: its form, no other word.

    "Iron, extractable" is iron; "Potassium permanganate" is no potassium.
    """
    first = _MARK.split(name, maxsplit=1)[0].strip(" .")
    return key if first != name and named_analyte(first).key == key else ""


_MARK = lazy(r"[,;:(\[]")


def _unread(line: str, cells: Sequence[str], held: Iterable[str]) -> str:
    """Return the analyte that a line gives a number for, and that was not read."""
    filled = [cell for cell in cells if cell]
    if len(filled) == 1 or line:
        text = line or filled[0]
        if len(text) > LONGEST_LINE:
            return ""
        filled = list(pasted_cells(" ".join(text.split())))
    for name, *behind in (filled[n:] for n in range(min(len(filled), 2))):
        key = named_analyte(name).key if len(name) < LONGEST_LINE else ""
        if key and key not in UNUSED_KEYS and key not in held:
            numbers = any(printed_number(cell).kind in _NUMBERS for cell in behind)
            return key if numbers else ""
    return ""


def unused_numbers(grid: Grid, results: Iterable[PrintedResult]) -> tuple[str, ...]:
    """List the printed numbers that are no result, by column.

    Parameters
    ----------
    grid : Grid
        The cells that were read. [-]
    results : iterable of PrintedResult
        What was taken from them. [-]

    Returns
    -------
    tuple of str
        One line per column, with its heading and its first numbers. [-]
    """
    if len(grid.rows) > MOST_ROWS or max((len(row) for row in grid.rows), default=0) > MOST_COLUMNS:
        return ()
    found = list(results)
    used = {(r.place, r.column.split(" ")[0]) for r in found}
    places = {place for place, _ in used}
    first = min((n for n in range(len(grid.rows)) if _row_used(grid, n, places)), default=0)
    columns: dict[int, list[str]] = {}
    for row in range(first, len(grid.rows)):
        for index, cell in enumerate(grid.rows[row]):
            if (grid.place(row, index), column_letters(index)) in used:
                continue
            if cell and len(cell) < 40 and printed_number(cell).kind in {"value", "below", "above"}:
                columns.setdefault(index, []).append(cell)
    return tuple(_listed(grid, index, first, cells) for index, cells in sorted(columns.items()))


def _row_used(grid: Grid, row: int, places: set[str]) -> bool:
    return any(grid.place(row, index) in places for index in range(len(grid.rows[row])))


def _listed(grid: Grid, index: int, first: int, cells: list[str]) -> str:
    heads = (grid.cell(row, index) for row in range(first - 1, max(first - 4, -1), -1))
    head = next((h for h in heads if re.search(r"[^\W\d_]", h)), "")
    numbers = ", ".join(one_line(cell, 20) for cell in cells[:SHOWN_NUMBERS])
    more = " ..." if len(cells) > SHOWN_NUMBERS else ""
    title = f" '{one_line(head, 40)}'" if head else ""
    return f"column {column_letters(index)}{title}: {numbers}{more} ({len(cells)})"
