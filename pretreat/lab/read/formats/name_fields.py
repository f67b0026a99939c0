"""Names with a comma that nobody quoted: "Iron, total" in two fields of a comma-separated line."""

from collections.abc import Sequence

from msgspec import Struct, field

from pretreat.core.errors import AnalysisError
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.numbers import printed_number
from pretreat.lab.read.report import Guess, one_line
from pretreat.lab.read.unit_words import is_unit
from pretreat.lab.read.wording import column_role

MOST_ROWS = 2000
MOST_FIELDS = 4  # of one name
FEWEST_NAMED = 3  # analytes across the top, for headings of a table
SHOWN = 6
_NUMBERS = frozenset({"value", "below", "above"})
Row = tuple[str, ...]


class _Table(Struct):
    """What the rows of the usual width say: where names stand, and where numbers."""

    width: int
    names: int = 0
    numbers: set[int] = field(default_factory=set)


def joined_names(
    name: str, rows: Sequence[Row], lines: Sequence[int]
) -> tuple[list[Row], tuple[Guess, ...]]:
    """Join the fields of a name that was typed with a comma and without quotes.

    A row of results is joined where it is wider than its table by the fields of the name, and
    has its numbers where the others have them then, and not before. Headings across the top are
    joined where the forms and units among them are as many as the rows below are narrower.

    Parameters
    ----------
    name : str
        Name of the file, for messages. [-]
    rows : sequence of tuple of str
        The fields of each line. [-]
    lines : sequence of int
        Numbers of the lines. [-]

    Returns
    -------
    tuple of list and tuple of Guess
        The rows, and one caution that names what was joined. [-]

    Raises
    ------
    AnalysisError
        If headings across the top are wider than every row below and cannot be joined to fit.
    """
    kept = [_trimmed(row) for row in rows]
    if not kept or len(kept) > MOST_ROWS:
        return list(rows), ()
    found = {
        **_headings(name, kept, lines),
        **_results(kept),
    }
    if not found:
        return list(rows), ()
    told = [f"line {lines[n]} '{one_line(text)}'" for n, (_, text) in sorted(found.items())]
    more = f" and {len(told) - SHOWN} more" if len(told) > SHOWN else ""
    text = (
        "a comma stands without quotes in the name, and parts it from its own words; read as one "
        f"name: {'; '.join(told[:SHOWN])}{more}: check them against the report"
    )
    return [found[n][0] if n in found else row for n, row in enumerate(rows)], (("caution", text),)


def _trimmed(row: Row) -> Row:
    end = len(row)
    while end and not row[end - 1]:
        end -= 1
    return row[:end]


def _is_number(cell: str) -> bool:
    return bool(cell) and printed_number(cell).kind in _NUMBERS


def _results(rows: Sequence[Row]) -> dict[int, tuple[Row, str]]:
    """Return the rows of results whose name takes several fields, joined, with the name."""
    table = _table(rows)
    if table is None or not table.numbers:
        return {}
    found = {}
    for n, row in enumerate(rows):
        more = len(row) - table.width
        if not 0 < more < MOST_FIELDS:
            continue
        first, last = table.names, table.names + more
        parts = row[first : last + 1]
        whole = ", ".join(parts)
        if not all(parts) or any(_is_number(p) or is_unit(p, strict=True) for p in parts[1:]):
            continue
        joined = (*row[:first], whole, *row[last + 1 :])
        if named_analyte(whole).key and _fits(joined, table) and not _fits(row, table):
            found[n] = (joined, whole)
    return found


def _fits(row: Row, table: _Table) -> bool:
    """Tell a row with numbers where the others of its table have them, and nowhere else."""
    here = {n for n, cell in enumerate(row) if _is_number(cell)}
    return bool(here) and here <= table.numbers


def _table(rows: Sequence[Row]) -> _Table | None:
    """Return the table with names down a column; None where the file holds none."""
    headed = None
    for row in rows:
        roles = [column_role(cell) if cell else "" for cell in row]
        if "name" in roles and {"value", "unit"} & set(roles):
            headed = (len(row), roles.index("name"))
            break
    named = [
        (len(row), n)
        for row in rows
        for n, cell in enumerate(row[:2])
        if cell and named_analyte(cell).key and any(map(_is_number, row[n + 1 :]))
    ]
    if not named:
        return None
    width, names = headed or max(set(named), key=named.count)
    table = _Table(width, names)
    for row in rows:
        of_table = len(row) <= width and names < len(row) and named_analyte(row[names]).key
        if of_table:
            table.numbers |= {n for n, cell in enumerate(row) if n > names and _is_number(cell)}
    return table


def _headings(
    name: str, rows: Sequence[Row], lines: Sequence[int]
) -> dict[int, tuple[Row, str]]:
    """Return the headings across the top whose names take several fields, joined."""
    for n, row in enumerate(rows[:-1]):
        named = sum(bool(cell) and bool(named_analyte(cell).key) for cell in row)
        if named < FEWEST_NAMED or any(map(_is_number, row)):
            continue
        below = [other for other in rows[n + 1 :] if sum(map(_is_number, other)) >= FEWEST_NAMED]
        more = len(row) - max((len(other) for other in below), default=len(row))
        at = _own_words(row)
        if more <= 0 or not at or not any(_is_number(o[k]) for o in below for k in at if k < len(o)):
            return {}
        if len(at) != more:
            raise AnalysisError(
                f"{name}, line {lines[n]}: {len(row)} headings over rows of {len(row) - more} "
                "cells, as when a name or a unit behind a comma is not in quotes; put such names "
                'in quotes, as "Iron, total", or save the table with semicolons'
            )
        joined: list[str] = []
        for k, cell in enumerate(row):
            if k in at:
                joined[-1] = f"{joined[-1]}, {cell}"
            else:
                joined.append(cell)
        whole = "; ".join(cell for cell in joined if cell not in row)
        return {n: (tuple(joined), whole)}
    return {}


def _own_words(row: Row) -> frozenset[int]:
    """Return the headings that only say of the one before them its form, basis or unit."""
    at: set[int] = set()
    whole = ""
    for n, cell in enumerate(row):
        more = f"{whole}, {cell}"
        alone = not cell or named_analyte(cell).key or _is_number(cell) or not whole
        known = named_analyte(whole).key if whole else ""
        if not alone and known and named_analyte(more).key == known:
            at.add(n)
            whole = more
        else:
            whole = cell
    return frozenset(at)
