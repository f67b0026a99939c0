"""Cells of a workbook or a CSV by sheet, row and column, for the forms that people fill in."""

import csv
import datetime
import io
from collections.abc import Collection, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

from msgspec import Struct

from pretreat.core.archives import checked_parts
from pretreat.core.doors import Kind, file_bytes
from pretreat.core.errors import AnalysisError, PretreatError

FORM = Kind("the form", most_megabytes=30)
MAX_CELLS = 300_000  # of one sheet; a form has a thousand
ERRORS = ("#N/A", "#REF!", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!")
CellValue = str | float | bool | datetime.datetime | datetime.date | datetime.time


class Sheet(Struct, frozen=True):
    """A sheet: what its cells hold, and formulas without a result, by row and column from 1."""

    title: str
    cells: Mapping[tuple[int, int], CellValue]
    lost: frozenset[tuple[int, int]] = frozenset()

    def rows(self) -> dict[int, dict[int, CellValue]]:
        """Return the cells by row, in order."""
        found: dict[int, dict[int, CellValue]] = {}
        for (row, column), value in sorted(self.cells.items(), key=lambda cell: cell[0]):
            found.setdefault(row, {})[column] = value
        return found

    def text(self, row: int, column: int) -> str:
        """Return a cell as text without blanks around it, empty where there is nothing."""
        value = self.cells.get((row, column), "")
        return str(value).strip()

    def place(self, row: int, column: int) -> str:
        """Return where a cell is, for messages."""
        return f"sheet '{self.title}', cell {column_name(column)}{row}"


def column_name(column: int) -> str:
    """Return the letters of a column.

    Parameters
    ----------
    column : int
        Number from 1. [-]

    Returns
    -------
    str
        Such as "A" or "AB". [-]
    """
    letters = ""
    while column > 0:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def read_sheets(path: Path, titles: Collection[str] = ()) -> tuple[Sheet, ...]:
    """Read the sheets of a workbook, or a CSV as one sheet.

    Parameters
    ----------
    path : Path
        XLSX, or CSV with commas, semicolons or tabs. [-]
    titles : collection of str
        Sheets wanted; all where a workbook has none of them. [-]

    Returns
    -------
    tuple of Sheet
        Sheets that hold anything. [-]

    Raises
    ------
    PretreatError
        If the file cannot be read, is damaged or hostile.
    """
    data = file_bytes(path, FORM)
    if data[:2] != b"PK":
        return (_of_text(path, data),)
    if "xl/workbook.xml" not in checked_parts(str(path), data):
        raise PretreatError(f"{path}: no .xlsx workbook; save it as .xlsx")
    try:
        found = _of_book(path, data, titles)
    except PretreatError:
        raise
    except Exception as problem:  # noqa: BLE001  # a damaged workbook fails in many ways
        kind = type(problem).__name__
        raise AnalysisError(f"{path} is a damaged workbook ({kind}); save it again") from None
    return found


def _of_book(path: Path, data: bytes, titles: Collection[str]) -> tuple[Sheet, ...]:
    import warnings

    import openpyxl

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        books = [
            openpyxl.load_workbook(io.BytesIO(data), data_only=only, read_only=True)
            for only in (True, False)
        ]
    every = [page.title for page in books[0].worksheets]
    wanted = [title for title in every if title in titles] or every
    found = []
    for title in wanted:
        cells = _cells(path, books[0][title])
        formulas = _cells(path, books[1][title])
        lost = {c for c, v in formulas.items() if c not in cells and str(v).startswith("=")}
        if cells or lost:
            found.append(Sheet(title, MappingProxyType(cells), frozenset(lost)))
    return tuple(found)


def _cells(path: Path, page: Any) -> dict[tuple[int, int], CellValue]:
    """Return what the cells of a sheet hold; too many are refused before they are kept."""
    cells: dict[tuple[int, int], CellValue] = {}
    seen = 0
    for row, line in enumerate(page.iter_rows(values_only=True), start=1):
        seen += len(line)
        if seen > MAX_CELLS:
            raise PretreatError(
                f"{path}, sheet '{page.title}' holds more than {MAX_CELLS} cells; delete what is "
                "not the form"
            )
        for column, content in enumerate(line, start=1):
            value = _value(content)
            if value is not None:
                cells[row, column] = value
    return cells


def _value(value: Any) -> CellValue | None:
    if value is None or (isinstance(value, str) and not value.strip()):
        return None
    known = (bool, float, datetime.datetime, datetime.date, datetime.time)
    if isinstance(value, known):
        return value
    return float(value) if isinstance(value, int) else str(value)


def _of_text(path: Path, data: bytes) -> Sheet:
    """Read a CSV; numbers stay text, as they were typed."""
    for encoding in ("utf-8-sig", "cp1252"):
        try:
            text = data.decode(encoding)
            break
        except UnicodeDecodeError:
            continue
    else:
        raise PretreatError(f"{path}: cannot be read as text or workbook; save it as .xlsx")
    if "\x00" in text:
        raise PretreatError(f"{path}: cannot be read as text or workbook; save it as .xlsx")
    head = text[:4000]
    delimiter = max(";\t,", key=head.count)
    try:
        lines = list(csv.reader(io.StringIO(text), delimiter=delimiter))
    except csv.Error as problem:
        raise PretreatError(f"{path}: cannot be read as a table ({problem})") from None
    cells: dict[tuple[int, int], CellValue] = {
        (row, column): cell
        for row, line in enumerate(lines, start=1)
        for column, cell in enumerate(line, start=1)
        if cell.strip()
    }
    return Sheet(path.name, MappingProxyType(cells))
