"""Old binary workbooks (.xls) into grids of cells, numbers as their format shows them."""

import io
from typing import Any

from pretreat.core.archives import damaged
from pretreat.core.errors import AnalysisError
from pretreat.lab.read.formats.shown import shown_number
from pretreat.lab.read.report import DateCell, Grid

MAX_BYTES = 24 * 1024 * 1024
MAX_CELLS = 1_500_000


def old_sheet_grids(name: str, data: bytes, sheet: str | None = None) -> tuple[Grid, ...]:
    """Read the visible sheets of an old binary workbook.

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
        If it is damaged, too large, no workbook, or the sheet does not exist.
    """
    if len(data) > MAX_BYTES:
        raise AnalysisError(
            f"{name} has {len(data) >> 20} MB; an old workbook is read up to {MAX_BYTES >> 20} MB: "
            "save it as .xlsx"
        )
    book = _book(name, data)
    titles = book.sheet_names()
    if sheet is not None and sheet not in titles:
        raise AnalysisError(f"{name} has no sheet '{sheet}'; it has: {', '.join(titles)}")
    grids = []
    for page in book.sheets():
        if (sheet is None and page.visibility) or (sheet or page.name) != page.name:
            continue
        grid = _grid(name, book, page)
        if grid.rows:
            grids.append(grid)
    if not grids:
        raise AnalysisError(f"{name} holds no cells with text or numbers")
    return tuple(grids)


def _book(name: str, data: bytes) -> Any:
    import xlrd

    try:
        return xlrd.open_workbook(
            file_contents=data, formatting_info=True, ragged_rows=True, logfile=io.StringIO()
        )
    except Exception as problem:  # noqa: BLE001  # any damage inside the file ends up here
        if "Can't find workbook" in str(problem):
            raise AnalysisError(
                f"{name} is an old word-processor document; save its table as .xlsx or .csv"
            ) from None
        raise AnalysisError(damaged(name, problem)) from None


def _grid(name: str, book: Any, page: Any) -> Grid:
    if page.nrows * max(page.ncols, 1) > MAX_CELLS:
        raise AnalysisError(
            f"{name}, sheet '{page.name}' spans {page.nrows} rows x {page.ncols} columns; "
            "delete what is not the analysis"
        )
    rows: list[tuple[str, ...]] = []
    lines: list[int] = []
    index: dict[int, int] = {}
    for number in range(page.nrows):
        texts = tuple(_text(book, cell) for cell in page.row(number))
        if any(texts):
            index[number] = len(rows)
            rows.append(texts)
            lines.append(number + 1)
    spans = tuple(
        (index[top], left, right - 1)
        for top, _, left, right in page.merged_cells
        if top in index and right - left > 1
    )
    hidden = [str(n + 1) for n, info in page.rowinfo_map.items() if info.hidden]
    hidden += [f"column {n + 1}" for n, info in page.colinfo_map.items() if info.hidden]
    remarks = (f"hidden: {', '.join(hidden)}",) if hidden else ()
    return Grid(tuple(rows), tuple(lines), page.name, spans, remarks)


def _text(book: Any, cell: Any) -> str:
    import xlrd

    if cell.ctype == xlrd.XL_CELL_NUMBER:
        return shown_number(cell.value, _pattern(book, cell))
    if cell.ctype == xlrd.XL_CELL_DATE:
        try:
            when = xlrd.xldate_as_datetime(cell.value, book.datemode)
        except (ValueError, OverflowError):
            return DateCell(str(cell.value))
        return DateCell(when.isoformat().removesuffix("T00:00:00"))
    if cell.ctype == xlrd.XL_CELL_ERROR:
        return str(xlrd.error_text_from_code.get(cell.value, "#VALUE!"))
    if cell.ctype == xlrd.XL_CELL_BOOLEAN:
        return str(bool(cell.value))
    return str(cell.value).strip()


def _pattern(book: Any, cell: Any) -> str:
    try:
        return str(book.format_map[book.xf_list[cell.xf_index].format_key].format_str)
    except (KeyError, IndexError, TypeError):
        return "General"
