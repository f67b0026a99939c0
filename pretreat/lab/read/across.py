"""Results across the columns: one sample per row under a row of names."""

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.text import lazy
from pretreat.lab.read.controls import is_control_cell
from pretreat.lab.read.layout import Layout, group_heading, heading_unit, label_pairs, looks_numeric
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.report import Grid, PrintedResult, column_letters
from pretreat.lab.read.unit_words import is_unit
from pretreat.lab.read.wording import column_role, folded, words

_HEADER_DEPTH = 60
LONGEST_NAME = 120
UNITS_SHARE = 0.6  # of the cells under the names, for a row of units
_LABELS = ("sample", "site", "activity", "date", "type", "matrix")


class Heading(Struct, frozen=True):
    """A column of results: its name as printed and its unit."""

    index: int
    name: str
    unit: str
    known: bool


def across(grid: Grid) -> Layout:
    """Read a grid with the analytes in a row of headings.

    Parameters
    ----------
    grid : Grid
        The cells. [-]

    Returns
    -------
    Layout
        Results found; empty where no row holds names. [-]
    """
    header = _header_row(grid)
    if header is None:
        return Layout("wide")
    parts = _fraction_row(grid, header)
    below = header + 1 if parts else header
    units = _units_row(grid, below)
    labels = _label_columns(grid, below) if parts else {}
    labels = _label_columns(grid, header) | labels
    headings = [h for h in _headings(grid, header, (parts, units)) if h.index not in labels]
    results: list[PrintedResult] = []
    notes = [" ".join(c for c in row if c) for row in grid.rows[:header]]
    above = label_pairs(grid, header)
    first = below + (2 if units else 1)
    again = next((r for r in range(first, len(grid.rows)) if _heads_again(grid, r, header)), None)
    limits: dict[int, str] = {}
    marks = _mark_columns(grid, first, headings)
    headings = [h for h in headings if h.index not in marks.values()]
    for row in range(first, len(grid.rows) if again is None else again):
        if any(folded(grid.cell(row, i)) in words("detection_limit") for i in labels or (0,)):
            limits = {h.index: grid.cell(row, h.index) for h in headings}
        if _is_sample(grid, row, headings):
            found = _sample(grid, row, headings, labels, (above, limits))
            at = {column_letters(i): grid.cell(row, mark) for i, mark in marks.items()}
            results += [replace(r, qualifier=at.get(r.column, "")) for r in found]
        else:
            notes.append(" ".join(cell for cell in grid.rows[row] if cell))
    if again is not None:
        more = across(replace(grid, rows=grid.rows[again:], lines=grid.lines[again:], spans=()))
        results += more.results
        notes += more.notes
    return Layout("wide", tuple(results), tuple(notes))


def _heads_again(grid: Grid, row: int, header: int) -> bool:
    """Tell a further row of names below the first: another block of the same samples."""
    cells = [cell for cell in grid.rows[row] if cell]
    if any(cell[:1].isdigit() or looks_numeric(cell) for cell in cells):
        return False
    named = sum(bool(named_analyte(cell).key) for cell in cells if len(cell) < LONGEST_NAME)
    return named > 1 and 2 * named >= len(cells) and row > header + 1


def _header_row(grid: Grid) -> int | None:
    best, most = None, 1
    for row, cells in enumerate(grid.rows[:_HEADER_DEPTH]):
        known = sum(
            bool(cell) and len(cell) < 120 and bool(named_analyte(cell).key) for cell in cells
        )
        if known > most and known * 4 >= sum(bool(cell) for cell in cells):
            best, most = row, known
    return best


def _fraction_row(grid: Grid, header: int) -> bool:
    """Tell whether the row under the names holds "dissolved" and "total"."""
    if header + 1 >= len(grid.rows):
        return False
    named = [i for i, cell in enumerate(grid.rows[header]) if cell and named_analyte(cell).key]
    cells = [cell for i in named if (cell := grid.cell(header + 1, i))]
    parts = words("dissolved") | words("total") | words("field") | words("lab")
    return bool(cells) and all(folded(cell) in parts for cell in cells)


def _units_row(grid: Grid, header: int) -> bool:
    """Tell whether the row under the names holds their units."""
    if header + 1 >= len(grid.rows):
        return False
    cells = [cell for cell in grid.rows[header + 1] if cell]
    units = sum(is_unit(cell, strict=True) and cell != "-" for cell in cells)
    return (
        units >= 1 and units + cells.count("-") >= UNITS_SHARE * len(cells) and not _numbers(cells)
    )


def _numbers(cells: list[str]) -> bool:
    return any(cell[:1].isdigit() for cell in cells)


def _label_columns(grid: Grid, header: int) -> dict[int, str]:
    """Return the columns that name the sample, its place and its date."""
    found: dict[int, str] = {}
    names: list[int] = []
    for index, cell in enumerate(grid.rows[header]):
        role = column_role(cell) if cell else ""
        if role in _LABELS and not named_analyte(cell).key:
            found[index] = role
        elif (role or folded(cell)) == "name" and not named_analyte(cell).key:
            names.append(index)
    if not {"sample", "site", "activity"} & set(found.values()):
        if names:
            found[names[0]] = "sample"
        elif grid.rows[header] and not grid.rows[header][0]:
            found[0] = "sample"
    return found


def _headings(grid: Grid, header: int, rows: tuple[bool, bool]) -> list[Heading]:
    """Return the columns of results; ``rows`` tells which of the two rows below there are."""
    parts, units = rows
    found: list[Heading] = []
    for index, cell in enumerate(grid.rows[header]):
        named = named_analyte(cell)
        if not cell or (not named.key and column_role(cell)):
            continue
        unit = grid.cell(header + 1 + parts, index) if units else ""
        part = grid.cell(header + 1, index) if parts else ""
        name = f"{cell}, {part}" if part else cell
        unit = "" if unit == "-" else unit
        found.append(
            Heading(
                index,
                name,
                unit or heading_unit(cell, _group_unit(grid, header, index)),
                bool(named.key),
            )
        )
    return found


_MARKS = lazy(r"[<>≤≥~=]|[A-Z*#]{1,3}(?:[ ,/][A-Z]{1,2})*")
_NAMES_MARKS = lazy(r"(?i)(?:^|[\W_])(?:q|qc|qual|qualifiers?|flags?|remarks?|rmk|marks?|sign)$")


def _mark_columns(grid: Grid, first: int, headings: list[Heading]) -> dict[int, int]:
    """Return the column of marks that stands beside each column of results, if any."""
    known = {h.index for h in headings if h.known}
    found: dict[int, int] = {}
    for index in sorted(known):
        beside = index + 1
        head = grid.cell(first - 1, beside) or next(
            (cell for row in range(first - 1, -1, -1) if (cell := grid.cell(row, beside))), ""
        )
        cells = [cell for row in range(first, len(grid.rows)) if (cell := grid.cell(row, beside))]
        marks = bool(cells) and all(map(_MARKS.fullmatch, cells))
        named = _NAMES_MARKS.search(head.strip())
        if (marks and beside not in known) or (marks and named):
            found[index] = beside
    return {i: beside for i, beside in found.items() if i not in found.values()}


def _group_unit(grid: Grid, header: int, index: int) -> str:
    """Return the unit in a heading merged over several columns, such as "Metals (mg/L)"."""
    if header == 0:
        return ""
    text = group_heading(grid, header - 1, index)
    known = named_analyte(f"iron ({text.rpartition('(')[2].rstrip(') ')})") if text else None
    return known.unit if known is not None and known.key else ""


def _is_sample(grid: Grid, row: int, headings: list[Heading]) -> bool:
    known = [grid.cell(row, h.index) for h in headings if h.known]
    return any(looks_numeric(cell) for cell in known)


def _sample(
    grid: Grid,
    row: int,
    headings: list[Heading],
    labels: dict[int, str],
    given: tuple[dict[str, str], dict[int, str]],
) -> list[PrintedResult]:
    above, limits = given
    said = {"sample": "", "site": "", "activity": "", "date": "", "kind": ""}
    for index, role in labels.items():
        key = "kind" if role in {"type", "matrix"} else role
        said[key] = " ".join(part for part in (said[key], grid.cell(row, index)) if part)
    controls = [c for c in grid.rows[row] if c and is_control_cell(c)]
    said["kind"] = " ".join([said["kind"], *controls]).strip()
    line = grid.line(row)
    about = " ".join(grid.cell(row, i) for i in labels if grid.cell(row, i))
    if not any(said[key] for key in ("sample", "site", "activity")):
        said["sample"] = above.get("sample", "") or f"row {grid.lines[row]}"
    return [
        PrintedResult(
            grid.place(row, h.index),
            h.name,
            grid.cell(row, h.index),
            h.unit,
            header=True,
            column=column_letters(h.index),
            limit=limits.get(h.index, ""),
            line=line,
            about=about,
            **said,  # type: ignore[arg-type]
        )
        for h in headings
        if h.known or looks_numeric(grid.cell(row, h.index))
    ]
