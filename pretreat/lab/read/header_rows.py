"""Which rows of a grid head its columns, above a column of names or below its first rows."""

from msgspec.structs import replace

from pretreat.core.text import lazy
from pretreat.lab.read.headings import heading_role
from pretreat.lab.read.layout import group_heading, looks_numeric
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.report import Grid
from pretreat.lab.read.unit_words import is_unit
from pretreat.lab.read.wording import column_role

HEADED_ROWS = 60  # looked through for a row of headings
FEWEST_ROLES = 2
_TELLING = frozenset({"value", "name", "unit", "limit", "limit2"})


def headed_row(grid: Grid, first: int, names: int) -> int | None:
    """Return the row that heads the names, as "Parameter" does, at or above the first result.

    Where no word for the names is known, a row with other known headings serves.
    """
    for row in range(min(first, len(grid.rows) - 1), -1, -1):
        if column_role(group_heading(grid, row, names)) == "name":
            return row
    for row in range(min(first, len(grid.rows)) - 1, max(first - HEADED_ROWS, -1), -1):
        if _has_roles(grid, row) and not named_analyte(grid.cell(row, names)).key:
            return row
    return None


def _has_roles(grid: Grid, row: int) -> bool:
    cells = [cell for cell in grid.rows[row] if cell]
    if len(cells) < FEWEST_ROLES or any(looks_numeric(cell) for cell in cells):
        return False
    roles = {role for cell in cells if (role := heading_role(cell))}
    return "value" in roles and len(roles) >= FEWEST_ROLES


def headed_below(grid: Grid, first: int, names: int) -> int | None:
    """Return a row that heads the columns further down, where nothing heads those above it."""
    for row in range(first + 1, min(len(grid.rows), first + HEADED_ROWS)):
        roles = [heading_role(cell) for cell in grid.rows[row] if cell]
        known = {"value", "name"} & set(roles) and len([r for r in roles if r]) > 1
        if known and not any(looks_numeric(cell) for cell in grid.rows[row] if cell):
            return None if named_analyte(grid.cell(row, names)).key else row
    return None


def under_heading(
    grid: Grid, headed: int, at: tuple[int, int], limits: tuple[int, int]
) -> tuple[list[int], int]:
    """Return the rows of headings, those above and those below, and the first row of data.

    ``at`` is the column of names and the first row of data without them, ``limits`` the columns
    of the block.
    """
    names, first = at
    last = headed
    while last + 1 < first and (
        _only_headings(grid, last + 1, names) or _names_columns(grid, last + 1, headed)
    ):
        last += 1
    top = headed
    while top > max(headed - MOST_ABOVE, 0) and _stands_above(grid, top - 1, headed, (at, limits)):
        top -= 1
    return list(range(top, last + 1)), last + 1


MOST_ABOVE = 3  # rows that name the samples above the row of headings


def _stands_above(
    grid: Grid, row: int, headed: int, block: tuple[tuple[int, int], tuple[int, int]]
) -> bool:
    """Tell a row that names samples above the headings of their columns, and nothing else."""
    (names, _), (left, right) = block
    own = False
    for column in range(left, right):
        text = group_heading(grid, row, column)
        below = group_heading(grid, headed, column)
        if not text or text == below:
            continue
        if column == names or _covers(grid, row, column, names):
            return False
        if heading_role(below) not in _OVER or named_analyte(text).key:
            return False
        own = True
    return own


_OVER = frozenset({"", "value", "sample", "site", "date", "summary", "previous"})


def _covers(grid: Grid, row: int, column: int, names: int) -> bool:
    return any(
        at == row and first <= column <= last and first <= names <= last
        for at, first, last in grid.spans
    )


def _only_headings(grid: Grid, row: int, names: int) -> bool:
    """Tell a row of headings below another: units, of one column or of several, or known words."""
    cells = [cell for cell in grid.rows[row] if cell]
    if _only_units(grid, row, names):
        return True
    return (
        len(cells) > 1
        and any(column_role(c) or is_unit(c, strict=True) for c in cells)
        and not any(looks_numeric(cell) for cell in cells)
    )


def _only_units(grid: Grid, row: int, names: int) -> bool:
    """Tell a row that gives but the units of the columns below it, if only of one."""
    cells = [cell for cell in grid.rows[row] if cell]
    return bool(cells) and not grid.cell(row, names) and all(is_unit(c, strict=True) for c in cells)


def _names_columns(grid: Grid, row: int, headed: int) -> bool:
    """Tell a row that names the columns under a heading merged over several of them."""
    spans = [(first, last) for at, first, last in grid.spans if at == headed and last > first]
    filled = [i for i, cell in enumerate(grid.rows[row]) if cell]
    return bool(filled) and all(any(a <= i <= b for a, b in spans) for i in filled)


def header_rows(grid: Grid, first: int, names: int) -> list[int]:
    """Return the rows of headings above the first result, top first; rows of data are passed."""
    found: list[int] = []
    passed = 0
    for row in range(first - 1, max(first - HEADED_ROWS, -1), -1):
        if not found and _is_result_row(grid, row):
            continue
        passed += 1
        if passed > MOST_PASSED:
            break
        filled = sum(bool(cell) for cell in grid.rows[row])
        few = filled < 2 and not _only_units(grid, row, names)
        if few and not found:
            continue
        if few or len(found) == MOST_ABOVE or _ends(grid, row, names, found):
            break
        found.insert(0, row)
        if column_role(grid.cell(row, names)) == "name":
            break
    return found


def _ends(grid: Grid, row: int, names: int, found: list[int]) -> bool:
    """Tell a row above which no headings follow: a result, or one apart from those found."""
    apart = bool(found) and grid.lines[found[0]] - grid.lines[row] > 1
    return apart or _is_result_row(grid, row) or bool(named_analyte(grid.cell(row, names)).key)


MOST_PASSED = 6


def _is_result_row(grid: Grid, row: int) -> bool:
    """Tell a row with a number and its unit, which is a result whatever its name."""
    cells = [cell for cell in grid.rows[row] if cell]
    units = [c for c in cells if c != "-" and is_unit(c, strict=True)]
    return bool(units) and any(looks_numeric(cell) for cell in cells)


_SLASH = lazy(r"\s+/\s+")


def without_shared_limits(grid: Grid) -> Grid:
    """Return a grid with the results alone where a column "Result / Limit" holds both."""
    rows = list(grid.rows)
    for n, cells in enumerate(grid.rows[:HEADED_ROWS]):
        shared = [c for c, cell in enumerate(cells) if _heads_result_and_limit(cell)]
        for column in shared:
            for below in range(n, len(rows)):
                if column < len(rows[below]):
                    kept = list(rows[below])
                    kept[column] = _SLASH.split(kept[column])[0].strip()
                    rows[below] = tuple(kept)
    return grid if rows == list(grid.rows) else replace(grid, rows=tuple(rows))


def _heads_result_and_limit(cell: str) -> bool:
    parts = _SLASH.split(cell) if " / " in cell and len(cell) < LONGEST_HEADING else []
    return len(parts) == 2 and [heading_role(part) for part in parts] == ["value", "ignore"]


LONGEST_HEADING = 60
