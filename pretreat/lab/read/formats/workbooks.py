"""XLSX workbooks into grids of text cells; bombs, external entities and broken files refused."""

import datetime
import io
from typing import Any

from pretreat.core.archives import checked_parts, damaged
from pretreat.core.errors import AnalysisError
from pretreat.lab.read.formats.shown import shown_number
from pretreat.lab.read.formats.workbook_counts import MAX_CELLS, check_counts
from pretreat.lab.read.report import DateCell, FormulaCell, Grid
from pretreat.lab.read.unit_words import is_unit


def workbook_grids(name: str, data: bytes, sheet: str | None = None) -> tuple[Grid, ...]:
    """Read the visible sheets of a workbook.

    Parameters
    ----------
    name : str
        Name of the file, for messages. [-]
    data : bytes
        Its content. [-]
    sheet : str, optional
        Only this sheet, even if hidden. [-]

    Returns
    -------
    tuple of Grid
        One grid per sheet that holds anything. [-]

    Raises
    ------
    AnalysisError
        If the archive is damaged, hostile or no workbook, or the sheet does not exist.
    """
    has_formulas = _check_archive(name, data)
    book = _loaded(name, data, values=True)
    titles = [page.title for page in book.worksheets]
    if sheet is not None and sheet not in titles:
        raise AnalysisError(f"{name} has no sheet '{sheet}'; it has: {', '.join(titles)}")
    formulas = _loaded(name, data, values=False) if has_formulas else None
    grids = []
    for page in book.worksheets:
        if (sheet is None and page.sheet_state != "visible") or (sheet or page.title) != page.title:
            continue
        grid = _grid(name, page, formulas[page.title] if formulas is not None else None)
        if grid.rows:
            grids.append(grid)
    if not grids:
        raise AnalysisError(f"{name} holds no cells with text or numbers")
    return tuple(grids)


def _check_archive(name: str, data: bytes) -> bool:
    """Refuse what is no sound workbook; tell whether it holds formulas."""
    names = checked_parts(name, data)
    if "[Content_Types].xml" not in names or not any(n.startswith("xl/") for n in names):
        raise AnalysisError(
            f"{name} is an archive but no .xlsx workbook; save the table as .xlsx or .csv"
        )
    return check_counts(name, data)


def _loaded(name: str, data: bytes, *, values: bool) -> Any:
    import warnings

    import openpyxl

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return openpyxl.load_workbook(io.BytesIO(data), data_only=values, keep_links=False)
    except Exception as problem:  # noqa: BLE001  # any damage inside the archive ends up here
        raise AnalysisError(damaged(name, problem)) from None


def _grid(name: str, page: Any, formulas: Any) -> Grid:
    if not hasattr(page, "iter_rows"):
        return Grid((), (), page.title)
    if page.max_row * page.max_column > MAX_CELLS:
        raise AnalysisError(
            f"{name}, sheet '{page.title}' spans {page.max_row} rows x {page.max_column} columns; "
            "delete what is not the analysis"
        )
    rows: list[tuple[str, ...]] = []
    lines: list[int] = []
    index: dict[int, int] = {}
    within = page.iter_rows(min_row=page.min_row, min_col=page.min_column)
    for number, cells in enumerate(within, start=page.min_row):
        texts = tuple(_text(cell, formulas) for cell in cells)
        if any(texts):
            index[number] = len(rows)
            rows.append(("",) * (page.min_column - 1) + texts)
            lines.append(number)
    _fill_units(page, rows, index)
    spans = tuple(
        (index[area.min_row], area.min_col - 1, area.max_col - 1)
        for area in page.merged_cells.ranges
        if area.min_row in index
    )
    return Grid(tuple(rows), tuple(lines), page.title, spans, _hidden(page))


def _fill_units(page: Any, rows: list[tuple[str, ...]], index: dict[int, int]) -> None:
    """Write a unit that is merged over several rows into each of them."""
    for area in page.merged_cells.ranges:
        top, column = index.get(area.min_row), area.min_col - 1
        if top is None or area.max_row == area.min_row or area.max_col > area.min_col:
            continue
        unit = rows[top][column]
        if not is_unit(unit, strict=True):
            continue
        for number in range(area.min_row + 1, area.max_row + 1):
            if number in index:
                cells = rows[index[number]]
                rows[index[number]] = (*cells[:column], unit, *cells[column + 1 :])


def _hidden(page: Any) -> tuple[str, ...]:
    columns = [key for key, size in page.column_dimensions.items() if size.hidden]
    rows = [str(key) for key, size in page.row_dimensions.items() if size.hidden]
    if not columns and not rows:
        return ()
    return (f"hidden: {', '.join(columns + rows)}",)


def _text(cell: Any, formulas: Any) -> str:
    value = cell.value
    if value is None:
        formula = formulas[cell.coordinate].value if formulas is not None else None
        return FormulaCell(str(formula)) if isinstance(formula, str) and formula[:1] == "=" else ""
    if isinstance(value, datetime.datetime | datetime.date | datetime.time):
        return DateCell(value.isoformat().removesuffix("T00:00:00"))
    if isinstance(value, bool):
        return str(value)
    if isinstance(value, int | float):
        return shown_number(value, cell.number_format or "General")
    return str(value).strip()
