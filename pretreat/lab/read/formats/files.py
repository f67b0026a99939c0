"""From a file to grids of text cells: encodings and delimiters; hostile files are refused."""

import csv
import io
import re
from collections.abc import Iterable, Sequence
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.doors.way_in import Kind
from pretreat.core.doors.way_in import file_bytes as door_bytes
from pretreat.core.errors import AnalysisError
from pretreat.core.text import lazy, one_line
from pretreat.lab.read.formats.encodings import decoded_with_guess
from pretreat.lab.read.formats.name_fields import joined_names
from pretreat.lab.read.formats.pasted import pasted, pasted_lines, without_page
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.report import Grid, Guess

if TYPE_CHECKING:
    from pretreat.lab.read.formats.tables import Piece
    from pretreat.lab.read.formats.words import PlacedLine

REPORT = Kind(
    "the lab report", "does not exist; check the name of the lab report", 64, AnalysisError
)
MAX_ROWS = 250_000
MAX_CELLS = 2_500_000
# Shares of lines that a delimiter cuts alike; chosen on deliveries with titles and footers.
SURE_FIT, LEAST_FIT, CLEARLY, UNEVEN = 0.9, 0.3, 0.1, 0.8
EVEN_FIT = 0.6  # of the lines; tabs and semicolons in so many cut them, not white gutters
MAX_COLUMNS = 2_000
_DELIMITERS = ("\t", ";", "|", ",")
_SIGNATURES = (
    (b"\x1f\x8b", "a compressed archive; unpack it first"),
    (b"\x89PNG", "a picture; type the results into the analysis form"),
    (b"\xff\xd8\xff", "a picture; type the results into the analysis form"),
    (b"MIME-Version:", "a web archive; open it and save the page as .html"),
    (b"{\\rtf", "a word-processor document; save its table as .csv"),
)


class ReportFile(Struct, frozen=True):
    """A file turned into grids, with what was decided on the way."""

    name: str
    grids: tuple[Grid, ...]
    encoding: str = ""
    delimiter: str = ""
    guesses: tuple[Guess, ...] = ()


def read_file(path: Path, sheet: str | None = None, encoding: str | None = None) -> ReportFile:
    """Read a file into grids of cells without interpreting them.

    Parameters
    ----------
    path : Path
        A CSV, TSV, text or XLSX file. [-]
    sheet : str, optional
        Only this sheet of a workbook. [-]
    encoding : str, optional
        Encoding of a text file, instead of the one detected. [-]

    Returns
    -------
    ReportFile
        Grids and decisions. [-]

    Raises
    ------
    AnalysisError
        If the file cannot be read or is not a report of a kind that is read.
    """
    data = file_bytes(path)
    other = _other_format(path, data, sheet)
    if other is not None:
        return other
    _refuse_others(path, data)
    text, used, guesses = decoded_with_guess(path.name, data, encoding)
    if _PAGE.match(text[:2000]):
        return _web_page(path.name, text, used)
    grids, delimiter = text_grids(path.name, text)
    return ReportFile(path.name, grids, used, delimiter, guesses)


_PAGE = lazy(
    r"\s*(?:<!--.*?-->\s*)*(?:<\?xml[^>]*\?>\s*)?(?:<!doctype\s+html|<html\b|<head\b|<body\b|<table\b|"
    r"<meta\b|<div\b)",
    re.IGNORECASE | re.DOTALL,
)


def _other_format(path: Path, data: bytes, sheet: str | None) -> ReportFile | None:
    """Read what is no text by the reader of its format; None for a text."""
    if data[:4] == b"PK\x03\x04":
        return _archive(path.name, data, sheet)
    if data[:4] == b"\xd0\xcf\x11\xe0":
        from pretreat.lab.read.formats.old_sheets import old_sheet_grids

        return ReportFile(path.name, old_sheet_grids(path.name, data, sheet))
    if b"%PDF-" in data[:1024]:
        return _print(path.name, data)
    return None


def _archive(name: str, data: bytes, sheet: str | None) -> ReportFile:
    from pretreat.core.archives import checked_parts

    parts = checked_parts(name, data)
    if "word/document.xml" in parts and "[Content_Types].xml" in parts:
        from pretreat.lab.read.formats.documents import document_of

        document = document_of(name, data)
        said: tuple[Guess, ...] = (
            (
                (
                    "caution",
                    "the document tracks changes; what is deleted in it is not read, what is "
                    "inserted is: ask the lab for the final document",
                ),
            )
            if document.tracked
            else ()
        )
        return _of_pieces(name, document.pieces, "", said)
    if "content.xml" in parts and "[Content_Types].xml" not in parts:
        from pretreat.lab.read.formats.open_sheets import open_sheet_grids

        return ReportFile(name, open_sheet_grids(name, data, sheet))
    from pretreat.lab.read.formats.workbooks import workbook_grids

    return ReportFile(name, workbook_grids(name, data, sheet))


def _web_page(name: str, text: str, encoding: str) -> ReportFile:
    from pretreat.lab.read.formats.pages import page_pieces

    return _of_pieces(name, page_pieces(name, text), encoding, ())


def _of_pieces(
    name: str, pieces: list["Piece"], encoding: str, guesses: tuple[Guess, ...]
) -> ReportFile:
    """Return tables as grids; a document without any as the text of its paragraphs."""
    from pretreat.lab.read.formats.tables import piece_grids

    grids = piece_grids(name, pieces)
    lines = "\n".join("\t".join(row) for piece in pieces if not piece.table for row in piece.rows)
    if lines.strip():
        grids += text_grids(name, lines)[0]
    if not grids:
        raise AnalysisError(f"{name} holds no text; it has no results to read")
    return ReportFile(name, grids, encoding, "", guesses)


def _print(name: str, data: bytes) -> ReportFile:
    from pretreat.lab.read.formats.prints import MAX_PAGES, print_lines

    seen = print_lines(name, data)
    said: list[Guess] = []
    if seen.hidden:
        said.append(
            (
                "caution",
                f"{seen.hidden} letters of the PDF are white, tiny or drawn without ink; "
                "they are not read",
            )
        )
    if seen.more_pages:
        said.append(("warning", f"only the first {MAX_PAGES} pages of the PDF are read"))
    apart, grid, across = _of_print(seen.lines)
    if grid is None:
        grid = pasted_lines([(line.number, without_page(line.text)) for line in seen.lines])
        if len(seen.lines) == len(grid.rows):
            grid = replace(grid, pages=tuple(line.page for line in seen.lines))
    grids = tuple(other for other in (apart, grid, across) if other)
    return ReportFile(name, grids, "PDF", "", tuple(said))


def _of_print(
    lines: Sequence["PlacedLine"], *, gutters: bool = True
) -> tuple[Grid | None, Grid | None, Grid | None]:
    """Return a print cut by its white gutters, under its headings, and across wide lines."""
    from pretreat.lab.read.formats.bare_columns import bare_columns
    from pretreat.lab.read.formats.gutters.rows import by_gutters
    from pretreat.lab.read.formats.placed import headed
    from pretreat.lab.read.formats.wide_lines import wide_lines

    apart = by_gutters(lines) if gutters else None
    return apart, headed(lines) or bare_columns(lines), wide_lines(lines)


def file_bytes(path: Path) -> bytes:
    """Return the bytes of a regular file of reasonable size.

    Parameters
    ----------
    path : Path
        The file. [-]

    Returns
    -------
    bytes
        Its content. [-]

    Raises
    ------
    AnalysisError
        If it does not exist, is no regular file, is empty or too large, or vanishes.
    """
    data = door_bytes(path, REPORT)
    if not data.strip(b"\x00 \t\r\n\xef\xbb\xbf\xff\xfe"):
        raise AnalysisError(f"{_shown(path)} is empty; it holds no results to read")
    return data


def _shown(path: Path) -> str:
    """Return a path that is safe to print on one line."""
    return one_line(str(path))


def _refuse_others(path: Path, data: bytes) -> None:
    if data.lstrip().startswith(b"<?xml") and not _PAGE.match(data[:2000].decode("latin-1")):
        raise AnalysisError(f"{_shown(path)} is an XML document; save its table as .xlsx or .csv")
    for signature, what in _SIGNATURES:
        if data.startswith(signature):
            raise AnalysisError(f"{_shown(path)} is {what}")
    page = _PAGE.match(data[:2000].decode("latin-1"))
    if path.suffix.casefold() in {".xlsx", ".xlsm", ".ods", ".docx", ".pdf"} and not page:
        raise AnalysisError(
            f"{_shown(path)} is not a workbook or document although it is called {path.suffix}; "
            "rename it to .csv if it is text, or save it again as a workbook"
        )


def text_grids(name: str, text: str) -> tuple[tuple[Grid, ...], str]:
    """Split a text into candidate grids and name the delimiter of the first.

    Parameters
    ----------
    name : str
        Name of the file, for messages. [-]
    text : str
        Its text. [-]

    Returns
    -------
    tuple of Grid and str
        Candidates in order of likelihood, and the delimiter of the first. [-]
    """
    delimiter, fit = _delimiter(text)
    grids = [_delimited(name, text, delimiter)] if delimiter else []
    if fit < SURE_FIT and not _cuts_all(text, delimiter):
        from pretreat.lab.read.formats.words import placed_lines

        lines = placed_lines(text, MAX_ROWS) if "\n" in text else []
        gutters = delimiter in {"", ","} or fit < EVEN_FIT
        apart, under, across = _of_print(lines, gutters=gutters)
        grids += [apart] if apart is not None else []
        grids += [under] if under is not None else [pasted(text, MAX_ROWS)]
        grids += [across] if across is not None else []
    return tuple(grids), delimiter


def _delimiter(text: str) -> tuple[str, float]:
    """Return the delimiter that cuts most lines into the same number of cells."""
    sample = [line for line in text.split("\n")[:400] if line.strip() and line[0] != "#"]
    best, best_fit = "", 0.0
    for delimiter in _DELIMITERS:
        widths = [width for width in _widths(sample, delimiter) if width]
        if not widths:
            continue
        usual = max(set(widths), key=lambda w: (widths.count(w) if w > 1 else 0, w))
        fit = widths.count(usual) / len(widths) if usual > 1 else 0.0
        cut = sum(width > 1 for width in widths) / len(widths)
        score = max(fit, UNEVEN * cut)
        if score > best_fit + CLEARLY:
            best, best_fit = delimiter, score
    return (best, best_fit) if best_fit >= LEAST_FIT else ("", 0.0)


def _cuts_all(text: str, delimiter: str) -> bool:
    """Tell tabs, semicolons or bars that cut every line but titles alike, so nothing else does."""
    if delimiter in {"", ","}:
        return False
    sample = [line for line in text.split("\n")[:400] if line.strip() and line[0] != "#"]
    widths = [width for width in _widths(sample, delimiter) if width]
    cut = [width for width in widths if width > 1]
    alike = len(set(cut)) == 1 and cut[0] > 2  # a tab before notes alone parts no columns
    return alike and len(cut) >= EVEN_FIT * len(widths)


def _widths(lines: list[str], delimiter: str) -> Iterable[int]:
    try:
        yield from (len(row) for row in csv.reader(lines, delimiter=delimiter))
    except csv.Error:
        return


def _delimited(name: str, text: str, delimiter: str) -> Grid:
    reader = csv.reader(io.StringIO(text), delimiter=delimiter, strict=True)
    rows: list[tuple[str, ...]] = []
    lines: list[int] = []
    remarks: list[str] = []
    start, cells = 1, 0
    try:
        for row in reader:
            if row and row[0].startswith("#") and not _is_header(row):
                remarks.append(delimiter.join(row))
            elif any(cell.strip() for cell in row):
                rows.append(tuple(cell.strip() for cell in row[:MAX_COLUMNS]))
                lines.append(start)
            start = reader.line_num + 1
            cells += len(row)
            if len(rows) > MAX_ROWS or cells > MAX_CELLS:
                raise AnalysisError(
                    f"{name} has more than {MAX_ROWS} rows or {MAX_CELLS} cells; "
                    "cut out the samples wanted"
                )
    except csv.Error as problem:
        raise AnalysisError(f"{name}, line {reader.line_num}: not a table ({problem})") from None
    guesses: tuple[Guess, ...] = ()
    if delimiter == ",":
        rows, guesses = joined_names(name, rows, lines)
        _refuse_bare_decimal_commas(name, rows, lines)
    return Grid(tuple(rows), tuple(lines), remarks=tuple(remarks), from_text=True, guesses=guesses)


def _refuse_bare_decimal_commas(name: str, rows: list[tuple[str, ...]], lines: list[int]) -> None:
    """Refuse a comma-separated table whose decimal commas cut its numbers in two."""
    widths = [len(row) - next((i for i, c in enumerate(row[::-1]) if c), 0) for row in rows]
    headed = [w for w, row in zip(widths, rows, strict=True) if w > 1 and _all_words(row[:w])]
    width = headed[0] if headed else min((w for w in widths if w > 1), default=0)
    cut = [n for n, row in enumerate(rows) if widths[n] > width and _cut_numbers(row)]
    if not cut or any(_POINTED.search(cell) for row in rows for cell in row):
        return
    raise AnalysisError(
        f"{name}, line {lines[cut[0]]}: more cells than headings, as when a decimal comma cuts a "
        "number in two; save it with semicolons between the cells, or with decimal points"
    )


_POINTED = lazy(r"\d\.\d")


def _all_words(row: tuple[str, ...]) -> bool:
    return all(cell and not any(c.isdigit() for c in cell[:1]) for cell in row)


def _cut_numbers(row: tuple[str, ...]) -> bool:
    return any(a.isdecimal() and b.isdecimal() for a, b in pairwise(row))


def _is_header(row: list[str]) -> bool:
    return len(row) > 1 and any(named_analyte(cell).key for cell in row[1:])
