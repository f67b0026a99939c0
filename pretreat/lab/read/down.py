"""Results down the rows: one analyte per row, one or several samples or fractions beside it."""

import re
from collections.abc import Iterable, Mapping
from functools import partial

from pretreat.core.errors import AnalysisError
from pretreat.core.text import lazy
from pretreat.lab.read.beside_table import beside_table
from pretreat.lab.read.blocks import Column, Table
from pretreat.lab.read.down_rows import read_rows
from pretreat.lab.read.header_rows import (
    HEADED_ROWS,
    headed_below,
    headed_row,
    header_rows,
    under_heading,
    without_shared_limits,
)
from pretreat.lab.read.headings import (
    heading_role,
    names_a_sample,
    unit_in_heading,
    without_role_words,
    without_unit,
)
from pretreat.lab.read.layout import Layout, group_heading, looks_numeric
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.numbers import printed_number
from pretreat.lab.read.report import Grid, PrintedResult, column_letters
from pretreat.lab.read.unit_words import is_unit
from pretreat.lab.read.wording import column_role, folded, words

_SCANNED_ROWS = 3000
_NEVER_NAMES = frozenset(
    {"qualifier", "condition", "detected", "nondetect", "unit", "limit", "limit2", "type", "value"}
    | {"status", "matrix", "remark_code", "basis", "fraction", "sample", "site", "activity", "date"}
)
LONGEST_SYMBOL = 2
LETTERS_OF_SAMPLES = 3
UNITS_SHARE = 0.6  # of the cells of a column, for a column of units
_AS_ION = lazy(r"\s*\(?\b(?:as|als)\s+(?:the\s+)?ions?\b\)?", re.IGNORECASE)


def down(grid: Grid, wanted: str | None = None) -> Layout:
    """Read a grid with the analytes in a column.

    Parameters
    ----------
    grid : Grid
        The cells. [-]
    wanted : str, optional
        Heading, letter or number of the column of results. [-]

    Returns
    -------
    Layout
        Results found; empty where no column holds names. [-]
    """
    grid = without_shared_limits(grid)
    results: list[PrintedResult] = []
    notes: list[str] = []
    blocks = _name_columns(grid)
    top: int | None = None
    for position, names in enumerate(blocks):
        end = blocks[position + 1] if position + 1 < len(blocks) else _width(grid)
        table = _table(grid, names, (0 if position == 0 else names, end), wanted)
        if table is None or _runs_across(grid, table):
            continue
        found, remarks = read_rows(grid, table, partial(_table_at, grid, table, wanted=wanted))
        notes += [" ".join(c for c in row if c) for row in grid.rows[: table.top]]
        results += found
        notes += remarks
        top = table.top if top is None else min(top, table.top)
    if results:
        results += beside_table(grid, (0, top or 0), results, notes)
    return Layout("vertical", tuple(results), tuple(notes))


def _width(grid: Grid) -> int:
    return max(len(row) for row in grid.rows)


def _name_columns(grid: Grid) -> list[int]:
    """Return the columns that hold names of analytes, one per block of the page."""
    headed = _headed_name_column(grid)
    if headed is not None:
        return [headed]
    counts: dict[int, int] = {}
    others = _other_columns(grid)
    for row in grid.rows[:_SCANNED_ROWS]:
        for column, cell in enumerate(row[:60]):
            if column in others:
                continue
            if _may_name(cell) and not is_unit(cell) and named_analyte(cell).key:
                counts[column] = counts.get(column, 0) + 1
    if not counts:
        return []
    best = max(counts, key=lambda column: (counts[column], -column))
    columns = [c for c in sorted(counts) if counts[c] >= max(2, counts[best] // 3)] or [best]
    return [c for c in columns if c == best or not _repeats(grid, c, best)]


def _other_columns(grid: Grid) -> frozenset[int]:
    """Return the columns that a row of headings gives another role than that of names."""
    for row in grid.rows[:HEADED_ROWS]:
        roles = [column_role(cell) if cell else "" for cell in row]
        if "name" in roles and {"value", "unit"} & set(roles):
            return frozenset(i for i, role in enumerate(roles) if role in _NEVER_NAMES)
    return frozenset()


def _may_name(cell: str) -> bool:
    """Tell a cell that may be a name; a non-detect is none, though "Nd" is an element."""
    short = bool(cell) and len(cell) < 120 and not cell.replace(".", "", 1).isdecimal()
    return short and not (len(cell) > LONGEST_SYMBOL - 1 and printed_number(cell).kind == "below")


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


def _table(grid: Grid, names: int, limits: tuple[int, int], wanted: str | None) -> Table | None:
    first = next((r for r in range(len(grid.rows)) if _is_data(grid, r, names)), None)
    if first is None:
        return None
    headed, later = headed_row(grid, first, names), False
    below = headed_below(grid, first, names) if headed is None else None
    if below is not None and _mostly_below(grid, below, names):
        headed = below
    if headed is None:
        headers = header_rows(grid, first, names)
        if below is not None and not headers:
            headers, later = [below], True
    else:
        headers, first = under_heading(grid, headed, (names, max(first, headed)), limits)
    table = Table(names, first, min([*headers, first]), headed_below=later)
    table.headings = _headings(grid, headers)
    for index in range(limits[0], limits[1]):
        if index != names:
            table.columns.append(_column(grid, headers, index))
    if wanted is not None:
        _force(grid, table, wanted, headers)
    _by_content(grid, table)
    return table if table.role("value") else None


def _headings(grid: Grid, headers: Iterable[int]) -> tuple[tuple[str, ...], ...]:
    """Return the texts of rows of headings, those of merged cells over all their columns."""
    columns = range(_width(grid))
    return tuple(tuple(group_heading(grid, row, c) for c in columns) for row in headers)


def _mostly_below(grid: Grid, row: int, names: int) -> bool:
    """Tell headings with most results below them; what stands above was noted at the well."""
    above = sum(_is_data(grid, r, names) for r in range(row))
    below = sum(_is_data(grid, r, names) for r in range(row + 1, len(grid.rows)))
    return FEWEST_TIMES * above <= below


FEWEST_TIMES = 5  # as many results below headings as above them


def _table_at(grid: Grid, above: Table, row: int, *, wanted: str | None) -> Table:
    """Return the columns as a row of headings further down gives them."""
    places = sorted({above.names, *(column.index for column in above.columns)})
    named = [c for c in places if column_role(grid.cell(row, c)) == "name"]
    names = named[0] if len(named) == 1 else above.names
    table = Table(names, row + 1, row)
    headers, _ = under_heading(grid, row, (names, row + 1), (places[0], places[-1] + 1))
    table.headings = _headings(grid, headers)
    same = next((t for t in (above, *above.others) if t.headings == table.headings), None)
    if (
        same is not None and same.names == names
    ):  # as on the pages of one table: what was found on the first holds
        table.columns = same.columns
        return table
    above.others.append(table)
    table.columns += [_column(grid, headers, index) for index in places if index != names]
    table.known_from(above)
    if wanted is not None:
        _force(grid, table, wanted, headers)
    _by_content(grid, table)
    return table


def _force(grid: Grid, table: Table, wanted: str, headers: list[int]) -> None:
    """Make the column that is wanted the one of results."""
    named = [
        c
        for c in table.columns
        if any(folded(group_heading(grid, row, c.index)) == folded(wanted) for row in headers)
    ]
    at = [
        c
        for c in table.columns
        if wanted.strip().upper() == column_letters(c.index) or wanted.strip() == str(c.index + 1)
    ]
    for chosen in (named or at)[:1]:
        for column in table.columns:
            if column.role == "value":
                column.role = "ignore"
        chosen.role, chosen.exact = "value", True


def _runs_across(grid: Grid, table: Table) -> bool:
    """Tell a table whose analytes head its columns: a "B" down its side is a well, not boron."""
    values = [c.index for c in table.role("value")]
    for row in range(table.first_row):
        heads = [cell for c in values if (cell := grid.cell(row, c)) and named_analyte(cell).key]
        if 2 * len(heads) <= len(values):
            continue
        corner = grid.cell(row, table.names)
        if column_role(corner) in {"sample", "site", "activity", "date"}:
            return True
        side = {grid.cell(r, table.names) for r in range(table.first_row, len(grid.rows))}
        top, down_it = _spelled(heads), _spelled(side)
        if top != down_it or column_role(corner) == "name":
            return top > down_it
        raise AnalysisError(
            f"{grid.place(row, table.names)}: names of analytes stand across the top and down the "
            "side; write 'Well' or 'Parameter' above the first column"
        )
    return False


def _spelled(texts: Iterable[str]) -> int:
    """Count the analytes that are more than a letter or two, which may also name a well."""
    named = {folded(text) for text in texts if text and named_analyte(text).key}
    return sum(len(name) > LONGEST_SYMBOL or name == "ph" for name in named)


def _is_data(grid: Grid, row: int, names: int) -> bool:
    key = named_analyte(grid.cell(row, names)).key
    cells = [cell for i, cell in enumerate(grid.rows[row]) if i != names and cell]
    return bool(key) and any(looks_numeric(cell) for cell in cells)


def _column(grid: Grid, headers: list[int], index: int) -> Column:
    """Say what the headings of one column mean."""
    column = Column(index)
    left: list[str] = []
    for row in reversed(headers):
        text = group_heading(grid, row, index)
        role = heading_role(text) if text else ""
        if _letter_of_sample(grid, row, text, has_role=bool(role)):
            left.append(text)
            continue
        if role and not column.role:
            column.role, column.exact = role, bool(column_role(text))
        _heading_words(column, text, left, has_role=bool(role))
    column.heading = " ".join(dict.fromkeys(reversed(left)))
    return column


def _letter_of_sample(grid: Grid, row: int, text: str, *, has_role: bool) -> bool:
    """Tell a single letter that names a sample: "D" beside "C" is one, beside "T" dissolved."""
    if not (len(text) == 1 and text.isalpha()):
        return False
    letters = {folded(cell) for cell in grid.rows[row] if len(cell) == 1 and cell.isalpha()}
    if has_role:  # "N" may count results, "Q" qualify them
        return len(letters) >= LETTERS_OF_SAMPLES
    return not letters <= words("dissolved") | words("total")


def _heading_words(column: Column, text: str, left: list[str], *, has_role: bool) -> None:
    text = _AS_ION.sub("", text).strip()
    if folded(text) in words("samples"):
        return
    known = named_analyte(f"iron {text}") if text and not has_role else None
    if text and has_role:
        inner = named_analyte(f"iron {text[text.find('(') :]}") if "(" in text else None
        column.unit = column.unit or (inner.unit if inner else "") or unit_in_heading(text)
        rest = named_analyte(f"iron {without_role_words(text)}")
        column.fraction = column.fraction or rest.fraction
        column.measured_in = column.measured_in or rest.measured_in
    elif known is not None and known.key == "fe":
        column.unit = column.unit or known.unit
        column.fraction = column.fraction or known.fraction
        column.measured_in = column.measured_in or known.measured_in
    elif text and is_unit(text):
        column.unit = column.unit or text
    elif text:
        unit = unit_in_heading(text)
        column.unit = column.unit or unit
        left.append(without_unit(text, unit))


def _by_content(grid: Grid, table: Table) -> None:
    """Give columns without a heading their role by what stands in them."""
    named_in_full = any(c.exact for c in table.role("value"))
    for column in table.role("value") if named_in_full else ():
        column.role = column.role if column.exact else "ignore"
    rows = range(table.first_row, min(len(grid.rows), _SCANNED_ROWS))
    named = [r for r in rows if named_analyte(grid.cell(r, table.names)).key]
    shares = {c.index: _shares(grid, named, c.index) for c in table.columns}
    _number_lines(grid, named, [c for c in table.role("") if shares[c.index][2]])
    for column in table.role("filtered"):
        if shares[column.index][0] > 0:  # results of what passed the filter, not whether it did
            column.role, column.fraction = "", "dissolved"
    for column in table.columns:
        _, units, filled = shares[column.index]
        if column.role == "" and filled and units >= UNITS_SHARE and not table.role("unit"):
            column.role = "unit"
        elif column.role == "" and filled and _only_letters(grid, named, column.index):
            column.role = "" if _may_be_undetected(column) else "qualifier"
    sure = table.role("value")
    if not any(shares[c.index][0] > 0 or not shares[c.index][2] for c in sure):
        missed = {c.index: _missed(grid, named, c) for c in table.columns}
        held = {
            n: (share + missed[n], units, filled) for n, (share, units, filled) in shares.items()
        }
        _values_by_content(grid, table, held)


def _values_by_content(
    grid: Grid, table: Table, shares: Mapping[int, tuple[float, float, int]]
) -> None:
    """Take columns of numbers without a heading that says what they are for results."""
    free = [c for c in table.columns if c.role in {"", "sample", "site"}]
    found = [c for c in free if shares[c.index][2] and shares[c.index][0] >= 0.5]
    if found:
        for column in table.role("value"):  # it holds words only, such as "pass"
            column.role = "ignore"
    sampled = [c for c in free if names_a_sample(c.heading) and shares[c.index][0] > 0]
    if any(c in sampled for c in found):  # so is another one with words among its numbers
        found = [c for c in free if c in found or c in sampled]
    said = [(c.unit, c.fraction, c.measured_in) for c in found]
    for column, own in zip(found, said, strict=True):
        column.role = "value"
        column.guessed = bool(column.heading) or not any(own) or said.count(own) > 1
    if not table.role("value"):
        _statistics_as_values(grid, table)


def _may_be_undetected(column: Column) -> bool:
    """Tell a column that holds results by its heading, though nothing may be detected in it."""
    return bool(column.fraction) or names_a_sample(column.heading)


def _missed(grid: Grid, rows: list[int], column: Column) -> float:
    """Return the share of non-detects among the cells of one part or one sample."""
    cells = [cell for row in rows if (cell := grid.cell(row, column.index))]
    if not cells or not _may_be_undetected(column):
        return 0.0
    words_only = [cell for cell in cells if _LETTERS.fullmatch(cell)]
    return sum(printed_number(cell).kind == "below" for cell in words_only) / len(cells)


_LETTERS = lazy(r"(?:[<>≤≥=~‹›]|[A-Z*]{1,3}(?:[ ,/][A-Z]{1,2})*|ND|BDL)")


_COUNT = lazy(r"\d{1,3}[.)]")


def _number_lines(grid: Grid, rows: list[int], columns: Iterable[Column]) -> None:
    """Take columns that hold nothing but "1." and "2)" for the numbers of the lines."""
    for column in columns:
        cells = [cell for row in rows if (cell := grid.cell(row, column.index))]
        column.role = "other" if all(map(_COUNT.fullmatch, cells)) else ""


def _only_letters(grid: Grid, rows: list[int], column: int) -> bool:
    """Tell a column that holds nothing but signs and letters, which qualify the results."""
    cells = [cell for row in rows if (cell := grid.cell(row, column))]
    return all(_LETTERS.fullmatch(cell) and not is_unit(cell, strict=True) for cell in cells)


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
    numeric = sum(looks_numeric(c) and not _LETTERS.fullmatch(c) for c in cells) / len(cells)
    units = sum(is_unit(cell, strict=True) or cell == "-" for cell in cells) / len(cells)
    return numeric, units, len(cells)
