"""Results down the rows: one analyte per row, one or several samples or fractions beside it."""

from dataclasses import dataclass, field, replace

from pretreat.lab.layout import Layout, group_heading, label_pairs, looks_numeric
from pretreat.lab.names import column_role, folded, is_unit, named_analyte, words
from pretreat.lab.report import Grid, PrintedResult

_SCANNED_ROWS = 3000
UNITS_SHARE = 0.6  # of the cells of a column, for a column of units
_TEXT_ROLES = ("sample", "site", "activity", "date", "fraction", "basis", "qualifier", "condition",
    "limit_unit", "limit_type", "code", "detail")  # fmt: skip


@dataclass(slots=True)
class Column:
    """A column with its role and what its headings say."""

    index: int
    role: str = ""
    heading: str = ""
    unit: str = ""
    fraction: str = ""
    measured_in: str = ""


@dataclass(slots=True)
class Table:
    """One block of a grid: a column of names and the columns that go with it."""

    names: int
    first_row: int
    top: int = 0  # where its headings begin; what stands above are remarks
    columns: list[Column] = field(default_factory=list)

    def role(self, role: str) -> list[Column]:
        """Return the columns of one role."""
        return [column for column in self.columns if column.role == role]


def down(grid: Grid) -> Layout:
    """Read a grid with the analytes in a column.

    Parameters
    ----------
    grid : Grid
        The cells. [-]

    Returns
    -------
    Layout
        Results found; empty where no column holds names. [-]
    """
    results: list[PrintedResult] = []
    notes: list[str] = []
    blocks = _name_columns(grid)
    for position, names in enumerate(blocks):
        end = blocks[position + 1] if position + 1 < len(blocks) else _width(grid)
        table = _table(grid, names, (0 if position == 0 else names, end))
        if table is None:
            continue
        found, remarks = _read(grid, table)
        notes += [" ".join(c for c in row if c) for row in grid.rows[: table.top]]
        results += found
        notes += remarks
    return Layout("vertical", tuple(results), tuple(notes))


def _width(grid: Grid) -> int:
    return max(len(row) for row in grid.rows)


def _name_columns(grid: Grid) -> list[int]:
    """Return the columns that hold names of analytes, one per block of the page."""
    headed = _headed_name_column(grid)
    if headed is not None:
        return [headed]
    counts: dict[int, int] = {}
    for row in grid.rows[:_SCANNED_ROWS]:
        for column, cell in enumerate(row[:60]):
            if cell and len(cell) < 120 and not is_unit(cell) and named_analyte(cell).key:
                counts[column] = counts.get(column, 0) + 1
    if not counts:
        return []
    best = max(counts, key=lambda column: (counts[column], -column))
    columns = [c for c in sorted(counts) if counts[c] >= max(2, counts[best] // 3)] or [best]
    return [c for c in columns if c == best or not _repeats(grid, c, best)]


def _headed_name_column(grid: Grid) -> int | None:
    """Return the column headed as names in a table that is headed throughout."""
    for row in grid.rows[:3]:
        roles = [column_role(cell) if cell else "" for cell in row]
        if roles.count("name") == 1 and "value" in roles and len(roles) > 12:
            return roles.index("name")
    return None


def _repeats(grid: Grid, column: int, best: int) -> bool:
    """Tell whether a column only repeats the analytes of another, as symbols do."""
    same = other = 0
    for row in grid.rows[:_SCANNED_ROWS]:
        if max(column, best) >= len(row) or not row[column] or not row[best]:
            continue
        one, two = named_analyte(row[column]).key, named_analyte(row[best]).key
        same += bool(one) and one == two
        other += bool(one) and bool(two) and one != two
    return same > other or other == 0


def _table(grid: Grid, names: int, limits: tuple[int, int]) -> Table | None:
    first = next((r for r in range(len(grid.rows)) if _is_data(grid, r, names)), None)
    if first is None:
        return None
    headed = _headed_row(grid, first, names)
    if headed is None:
        headers = _header_rows(grid, first, names)
    else:
        headers, first = _under_heading(grid, headed, first)
    table = Table(names, first, min([*headers, first]))
    for index in range(limits[0], limits[1]):
        if index != names:
            table.columns.append(_column(grid, headers, index))
    _by_content(grid, table)
    return table if table.role("value") else None


def _headed_row(grid: Grid, first: int, names: int) -> int | None:
    """Return the row that heads the names, as "Parameter" does, at or above the first result."""
    for row in range(min(first, len(grid.rows) - 1), -1, -1):
        if column_role(group_heading(grid, row, names)) == "name":
            return row
    return None


def _under_heading(grid: Grid, headed: int, first: int) -> tuple[list[int], int]:
    """Return the rows of headings, one above and those below, and the first row of data."""
    last = headed
    while last + 1 < first and (
        _only_headings(grid, last + 1) or _names_columns(grid, last + 1, headed)
    ):
        last += 1
    above = headed > 0 and any(row == headed - 1 for row, _, _ in grid.spans)
    return list(range(headed - above, last + 1)), last + 1


def _only_headings(grid: Grid, row: int) -> bool:
    cells = [cell for cell in grid.rows[row] if cell]
    return (
        len(cells) > 1
        and any(column_role(c) or is_unit(c, strict=True) for c in cells)
        and not any(looks_numeric(cell) for cell in cells)
    )


def _names_columns(grid: Grid, row: int, headed: int) -> bool:
    """Tell a row that names the columns under a heading merged over several of them."""
    spans = [(first, last) for at, first, last in grid.spans if at == headed and last > first]
    filled = [i for i, cell in enumerate(grid.rows[row]) if cell]
    return bool(filled) and all(any(a <= i <= b for a, b in spans) for i in filled)


def _is_data(grid: Grid, row: int, names: int) -> bool:
    key = named_analyte(grid.cell(row, names)).key
    cells = [cell for i, cell in enumerate(grid.rows[row]) if i != names and cell]
    return bool(key) and any(looks_numeric(cell) for cell in cells)


def _header_rows(grid: Grid, first: int, names: int) -> list[int]:
    """Return the rows of headings above the first result, top first."""
    found: list[int] = []
    for row in range(first - 1, max(first - 7, -1), -1):
        filled = sum(bool(cell) for cell in grid.rows[row])
        if filled < 2 and not found:
            continue
        if filled < 2 or len(found) == 3 or named_analyte(grid.cell(row, names)).key:
            break
        if found and grid.lines[found[0]] - grid.lines[row] > 1:
            break
        found.insert(0, row)
        if column_role(grid.cell(row, names)) == "name":
            break
    return found


def _column(grid: Grid, headers: list[int], index: int) -> Column:
    """Say what the headings of one column mean."""
    column = Column(index)
    left: list[str] = []
    for row in reversed(headers):
        text = group_heading(grid, row, index)
        role = column_role(text) if text else ""
        if role and not column.role:
            column.role = role
        _heading_words(column, text, left, has_role=bool(role))
    column.heading = " ".join(dict.fromkeys(reversed(left)))
    return column


def _heading_words(column: Column, text: str, left: list[str], *, has_role: bool) -> None:
    known = named_analyte(f"iron {text}") if text and not has_role else None
    if text and has_role:
        inner = named_analyte(f"iron {text[text.find('(') :]}") if "(" in text else None
        column.unit = column.unit or (inner.unit if inner else "")
    elif known is not None and known.key == "fe":
        column.unit = column.unit or known.unit
        column.fraction = column.fraction or known.fraction
        column.measured_in = column.measured_in or known.measured_in
    elif text and is_unit(text):
        column.unit = column.unit or text
    elif text:
        left.append(text)


def _by_content(grid: Grid, table: Table) -> None:
    """Give columns without a heading their role by what stands in them."""
    rows = range(table.first_row, min(len(grid.rows), _SCANNED_ROWS))
    named = [r for r in rows if named_analyte(grid.cell(r, table.names)).key]
    shares = {c.index: _shares(grid, named, c.index) for c in table.columns}
    for column in table.columns:
        numeric, units, filled = shares[column.index]
        if column.role == "" and filled and units >= UNITS_SHARE and not table.role("unit"):
            column.role = "unit"
    if table.role("value"):
        return
    for column in table.columns:
        numeric, _, filled = shares[column.index]
        free = column.role in {"", "sample", "site"}
        if free and filled and numeric >= 0.5:
            column.role = "value"
    if not table.role("value"):
        _statistics_as_values(grid, table)


def _statistics_as_values(grid: Grid, table: Table) -> None:
    """Take columns headed "mean" or "maximum" as values where the table has no others."""
    for column in table.role("summary"):
        column.role = "value"
        texts = (grid.cell(row, column.index) for row in range(table.top, table.first_row))
        column.heading = next((text for text in texts if column_role(text) == "summary"), "")


def _shares(grid: Grid, rows: list[int], column: int) -> tuple[float, float, int]:
    cells = [grid.cell(row, column) for row in rows]
    cells = [cell for cell in cells if cell]
    if not cells:
        return 0.0, 0.0, 0
    numeric = sum(looks_numeric(cell) for cell in cells) / len(cells)
    units = sum(is_unit(cell, strict=True) or cell == "-" for cell in cells) / len(cells)
    return numeric, units, len(cells)


def _read(grid: Grid, table: Table) -> tuple[list[PrintedResult], list[str]]:
    results: list[PrintedResult] = []
    notes: list[str] = []
    section = _section_above(grid, table)
    labels = label_pairs(grid, table.first_row)
    limits, units = _limit_columns(grid, table), _unit_columns(table)
    for row in range(table.first_row, len(grid.rows)):
        name = grid.cell(row, table.names)
        values = [(c, grid.cell(row, c.index)) for c in table.role("value")]
        if not any(text for _, text in values) and not _carries_more(grid, table, row):
            section = _section_fraction(grid.rows[row], section)
            notes.append(" ".join(cell for cell in grid.rows[row] if cell))
        elif name or table.role("code"):
            base = _row_result(grid, table, row, limits)
            base = replace(base, fraction=base.fraction or section)
            for column, text in values:
                if text or len(values) == 1:
                    pair = (column, units[column.index])
                    results.append(_with_value(base, grid, row, pair, labels))
    return results, notes


def _section_above(grid: Grid, table: Table) -> str:
    """Return the fraction that the heading right above the first result announces."""
    for row in range(table.first_row - 1, -1, -1):
        if sum(bool(cell) for cell in grid.rows[row]) != 1:
            return ""
        section = _section_fraction(grid.rows[row], "")
        if section:
            return section
    return ""


def _carries_more(grid: Grid, table: Table, row: int) -> bool:
    """Tell whether a row without a value says that nothing was detected."""
    return any(grid.cell(row, c.index) for c in table.role("condition") + table.role("limit"))


def _section_fraction(row: tuple[str, ...], before: str) -> str:
    """Return the fraction that a heading inside the table announces."""
    cells = [cell for cell in row if cell]
    if len(cells) != 1 or len(cells[0]) > 60:
        return before
    parts = [folded(part) for part in cells[0].replace("(", " ").replace(")", " ").split()]
    for fraction in ("dissolved", "total"):
        if any(part in words(fraction) for part in parts):
            return fraction
    return ""


def _limit_columns(grid: Grid, table: Table) -> list[int]:
    """Return the columns of detection limits, the one that "ND" refers to first."""
    first, second = table.role("limit"), table.role("limit2")
    text = " ".join(" ".join(row) for row in grid.rows[table.first_row :][-40:]).casefold()
    if second and (
        "at the rl" in text or "at the reporting limit" in text or "below the rl" in text
    ):
        first, second = second, first
    return [column.index for column in first + second]


def _row_result(grid: Grid, table: Table, row: int, limits: list[int]) -> PrintedResult:
    texts = {role: _first(grid, row, table.role(role)) for role in _TEXT_ROLES}
    limit = next((grid.cell(row, c) for c in limits if grid.cell(row, c)), "")
    kind = " ".join(grid.cell(row, c.index) for r in _KIND_ROLES for c in table.role(r)).strip()
    return replace(
        PrintedResult("", grid.cell(row, table.names), "", limit=limit, kind=kind),
        **texts,  # type: ignore[arg-type]
    )


def _first(grid: Grid, row: int, columns: list[Column]) -> str:
    return next((cell for c in columns if (cell := grid.cell(row, c.index))), "")


_KIND_ROLES = ("type", "value_type", "status", "statistic", "matrix", "media", "submedia")


def _with_value(
    base: PrintedResult, grid: Grid, row: int, columns: tuple[Column, int], labels: dict[str, str]
) -> PrintedResult:
    column, unit_column = columns
    return replace(
        base,
        place=grid.place(row, column.index),
        text=grid.cell(row, column.index),
        unit=grid.cell(row, unit_column) or column.unit,
        fraction=column.fraction or base.fraction,
        detail=base.detail or column.measured_in,
        sample=base.sample or column.heading or labels.get("sample", ""),
        site=base.site or labels.get("site", ""),
        date=base.date or labels.get("date", ""),
    )


def _unit_columns(table: Table) -> dict[int, int]:
    """Return for each column of values the column of its units, or -1."""
    units = [column.index for column in table.role("unit")]
    found: dict[int, int] = {}
    for column in table.role("value"):
        right = [u for u in units if u > column.index]
        left = [u for u in units if u < column.index]
        several = len(units) > 1
        found[column.index] = (right + left[::-1] if several else [*units, -1])[0]
    return found
