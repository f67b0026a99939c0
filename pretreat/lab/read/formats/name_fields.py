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
FEWEST_SHARE = 0.25  # of the rows, for a column of numbers
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
    if not rows or len(rows) > MOST_ROWS:
        return list(rows), ()
    found = {
        **_headings(name, rows, lines),
        **_results(rows),
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


def _is_number(cell: str) -> bool:
    return bool(cell) and printed_number(cell).kind in _NUMBERS


def _results(rows: Sequence[Row]) -> dict[int, tuple[Row, str]]:
    """Return the rows of results whose name takes several fields, joined, with the name."""
    table = _table(rows)
    if table is None or not table.numbers:
        return {}
    found = {}
    for n, row in enumerate(rows):
        if _fits(row, table):
            continue
        ways = (_joined(row, table, more) for more in range(1, MOST_FIELDS))
        one = next((way for way in ways if way is not None), None)
        if one is not None:
            found[n] = one
    return found


def _joined(row: Row, table: _Table, more: int) -> tuple[Row, str] | None:
    """Return a row with so many fields more in its name, where it fits its table then."""
    last = table.names + more
    parts = row[table.names : last + 1]
    if len(parts) <= more or not all(parts):
        return None
    if any(_is_number(part) or is_unit(part, strict=True) for part in parts[1:]):
        return None
    whole = ", ".join(parts)
    joined = (*row[: table.names], whole, *row[last + 1 :])
    held = max((n + 1 for n, cell in enumerate(joined) if cell), default=0)
    fits = held <= table.width and _fits(joined, table)
    return (joined, whole) if fits and named_analyte(whole).key else None


def _fits(row: Row, table: _Table) -> bool:
    """Tell a row with numbers where the others of its table have them, and nowhere else."""
    here = {n for n, cell in enumerate(row) if n > table.names and _is_number(cell)}
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
        (row, n)
        for row in rows
        for n, cell in enumerate(row[:2])
        if cell and named_analyte(cell).key and any(map(_is_number, row[n + 1 :]))
    ]
    named = [(row, n) for row, n in named if not _says_more(row, n)] or named
    if not named:
        return None
    sizes = [(len(row), n) for row, n in named]
    width, names = headed or max(set(sizes), key=sizes.count)
    own = [row for row, n in named if n == names and len(row) <= width]
    counts = [sum(n < len(row) and _is_number(row[n]) for row in own) for n in range(width)]
    least = FEWEST_SHARE * max(counts, default=0)
    numbers = {n for n, count in enumerate(counts) if n > names and count and count >= least}
    return _Table(width, names, numbers)


def _says_more(row: Row, names: int) -> bool:
    """Tell a row whose second field may be a word of its name."""
    cell = row[names + 1] if names + 1 < len(row) else ""
    if not cell or _is_number(cell) or is_unit(cell, strict=True):
        return False
    return bool(named_analyte(f"{row[names]}, {cell}").key)


def _headings(name: str, rows: Sequence[Row], lines: Sequence[int]) -> dict[int, tuple[Row, str]]:
    """Return the headings across the top whose names take several fields, joined."""
    for n, row in enumerate(rows[:-1]):
        named = sum(bool(cell) and bool(named_analyte(cell).key) for cell in row)
        if named < FEWEST_NAMED or any(map(_is_number, row)):
            continue
        below = [other for other in rows[n + 1 :] if sum(map(_is_number, other)) >= FEWEST_NAMED]
        more = len(row) - max((len(other) for other in below), default=len(row))
        at = _own_words(row)
        if len(at) < more:
            at = _own_words(row, of_names=True)
        if (
            more <= 0
            or not at
            or not any(_is_number(o[k]) for o in below for k in at if k < len(o))
        ):
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


def _own_words(row: Row, *, of_names: bool = False) -> frozenset[int]:
    """Return the headings that only say of the one before them its form, basis or unit.

    ``of_names`` takes the bicarbonate of "Alkalinity, bicarbonate" for such a word as well.
    """
    at: set[int] = set()
    whole = ""
    for n, cell in enumerate(row):
        more = f"{whole}, {cell}"
        known, both = (named_analyte(text).key if whole else "" for text in (whole, more))
        own = named_analyte(cell).key
        same = both == known and not own
        if cell and known and not _is_number(cell) and (same or (of_names and own and both)):
            at.add(n)
            whole = more
        else:
            whole = cell
    return frozenset(at)
