"""The rows of a wide table of waters, streamed in chunks; a bad row never harms its neighbours."""

import codecs
import csv
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from msgspec import Struct

from pretreat.core.doors.way_in import Kind, check_regular
from pretreat.core.errors import AnalysisError
from pretreat.core.tables import analytes
from pretreat.core.text import lazy

CHUNK = 4_000
BLOCK = 1 << 20  # bytes looked at together to find the encoding
Numbered = tuple[int, list[str]]  # line in the file, cells
WORKBOOKS = {".xlsx", ".xlsm"}
DELIMITERS = ",;\t|"
LONGEST_LINE = 1_000_000  # characters
TABLE = Kind("the table", error=AnalysisError)
HEADING_WITHIN = 40  # rows of a sheet among which the headings are looked for
_COMMA = lazy(r"^[-+]?\d+,\d+$")
_POINT = lazy(r"^[-+]?\d+\.\d+$")


class RowChunk(Struct, frozen=True):
    """Some rows of a table, each as long as the headings, with their line in the file.

    ``faults`` gives, by position, what is wrong with the shape of a row.
    """

    headings: tuple[str, ...]
    lines: list[int]
    rows: list[list[str]]
    faults: dict[int, str]
    decimal_comma: bool


def row_chunks(path: Path, sheet: str | None = None) -> Iterator[RowChunk]:
    """Read a table in chunks of up to 4,000 rows.

    Parameters
    ----------
    path : Path
        CSV, TSV or TXT in UTF-8, UTF-16 or a Western code page, or XLSX. [-]
    sheet : str, optional
        Sheet of a workbook; the first that has ions among its headings if omitted. [-]

    Yields
    ------
    RowChunk
        Headings and rows. [-]

    Raises
    ------
    AnalysisError
        If the file is missing, empty, or cannot be read as text or workbook.
    """
    check_regular(path, TABLE)
    if path.suffix.casefold() in WORKBOOKS:
        headings, numbered = _sheet_rows(path, sheet)
        decimal_comma: bool | None = False
    else:
        headings, numbered, delimiter = _text_rows(path)
        decimal_comma = False if delimiter == "," else None
    chunk: list[Numbered] = []
    for line in numbered:
        chunk.append(line)
        if len(chunk) == CHUNK:
            decimal_comma = _decimal_comma(chunk) if decimal_comma is None else decimal_comma
            yield _shaped(headings, chunk, decimal_comma)
            chunk = []
    if chunk:
        comma = _decimal_comma(chunk) if decimal_comma is None else decimal_comma
        yield _shaped(headings, chunk, comma)


def _decimal_comma(chunk: list[Numbered]) -> bool:
    """Tell whether a table that is not separated by commas writes its decimals with them."""
    cells = [cell for _, row in chunk for cell in row]
    return any(map(_COMMA.match, cells)) and not any(map(_POINT.match, cells))


def _shaped(headings: tuple[str, ...], chunk: list[Numbered], decimal_comma: bool) -> RowChunk:
    """Bring every row to the length of the headings, and say where that was not so."""
    width = len(headings)
    faults: dict[int, str] = {}
    rows = []
    for i, (_, row) in enumerate(chunk):
        if len(row) > width:
            if any(cell for cell in row[width:]):
                faults[i] = f"has {len(row)} cells under {width} headings"
            row = row[:width]  # noqa: PLW2901 - the surplus is blank, or the row is a fault
        elif len(row) < width:
            faults[i] = f"has {len(row)} cells under {width} headings"
            row = [*row, *[""] * (width - len(row))]  # noqa: PLW2901 - filled up
        rows.append(row)
    return RowChunk(headings, [line for line, _ in chunk], rows, faults, decimal_comma)


def _sheet_rows(path: Path, sheet: str | None) -> tuple[tuple[str, ...], Iterator[Numbered]]:
    from pretreat.lab.read.formats.files import file_bytes
    from pretreat.lab.read.formats.workbooks import workbook_grids

    grids = workbook_grids(path.name, file_bytes(path), sheet)
    for grid in grids:
        for i, row in enumerate(grid.rows[:HEADING_WITHIN]):
            if any(_is_ion(cell) for cell in row):
                below = zip(grid.lines[i + 1 :], grid.rows[i + 1 :], strict=True)
                return tuple(map(str, row)), (
                    (number, [cell.strip() for cell in cells])
                    for number, cells in below
                    if any(cell.strip() for cell in cells)
                )
    first = grids[0].rows[0] if grids[0].rows else ("",)
    return tuple(map(str, first)), iter(())


def _is_ion(cell: str) -> bool:
    return re.split(r"[\[(]", str(cell))[0].strip().casefold() in analytes()


def _text_rows(path: Path) -> tuple[tuple[str, ...], Iterator[Numbered], str]:
    lines = _lines(path)
    line = next((text for _, text in lines if text.strip()), None)
    if line is None:
        raise AnalysisError(f"{path}: the file is empty")
    delimiter = max(DELIMITERS, key=line.count)
    try:
        headings = tuple(cell.strip() for cell in next(csv.reader([line], delimiter=delimiter)))
    except csv.Error as problem:
        raise AnalysisError(
            f"{path}: its first line is not a row of headings ({problem})"
        ) from None
    return headings, _rows(lines, delimiter), delimiter


def _rows(lines: Iterable[tuple[int, str]], delimiter: str) -> Iterator[Numbered]:
    """Split line by line, so that a quote left open ends with its line."""
    for number, line in lines:
        if not line.strip():
            continue
        if '"' in line:
            try:
                cells = next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))
            except csv.Error:
                cells = [line]
        else:
            cells = line.split(delimiter)
        row = [cell.strip() for cell in cells]
        if any(row):
            yield number, row


def _lines(path: Path) -> Iterator[tuple[int, str]]:
    try:
        with path.open(encoding=_encoding(path), errors="replace") as source:
            number = 0
            while line := source.readline(LONGEST_LINE + 1):
                number += 1
                if len(line) > LONGEST_LINE:
                    raise AnalysisError(
                        f"{path}, line {number}: is longer than {LONGEST_LINE:,} characters: this "
                        "is no table with one water per row"
                    )
                yield number, line.rstrip("\r\n")
    except OSError as problem:
        raise AnalysisError(f"{path}: cannot be read ({problem.strerror})") from None


def _encoding(path: Path) -> str:
    """Return UTF-16 by its mark, UTF-8 where all of the file is that, else a Western code page."""
    try:
        with path.open("rb") as source:
            start = source.read(4)
            if start.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
                return "utf-16"
            decoder = codecs.getincrementaldecoder("utf-8")()
            decoder.decode(start)
            while block := source.read(BLOCK):
                decoder.decode(block)
            decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return "cp1252"
    except OSError as problem:
        raise AnalysisError(f"{path}: cannot be read ({problem.strerror})") from None
    return "utf-8-sig"
