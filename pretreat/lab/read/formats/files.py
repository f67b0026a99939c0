"""From a file to grids of text cells: encodings and delimiters; hostile files are refused."""

import csv
import io
import re
import stat
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from pretreat.core.errors import AnalysisError
from pretreat.lab.read.formats.pasted import pasted
from pretreat.lab.read.formats.placed import headed, placed_lines
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.report import Grid, Guess
from pretreat.lab.read.unit_words import is_unit

MAX_BYTES = 64 * 1024 * 1024  # a lab report is far smaller; beyond this a file is refused unread
MAX_ROWS = 250_000
MAX_CELLS = 2_500_000
# Shares of lines that a delimiter cuts alike; chosen on deliveries with titles and footers.
SURE_FIT, LEAST_FIT, CLEARLY, UNEVEN = 0.9, 0.3, 0.1, 0.8
MAX_COLUMNS = 2_000
_DELIMITERS = ("\t", ";", "|", ",")
_MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe\x00\x00", "utf-32"),
    (b"\x00\x00\xfe\xff", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
# Tried in this order where the bytes are not UTF-8; the first of the best wins.
_CODEPAGES = ("cp1252", "cp1254", "cp1250", "cp1256", "mac_roman", "cp850", "cp437")
_SIGNATURES = (
    (b"%PDF", "a PDF; copy its table into a text or spreadsheet file"),
    (b"\xd0\xcf\x11\xe0", "an old binary spreadsheet or document; save it as .xlsx or .csv"),
    (b"\x1f\x8b", "a compressed archive; unpack it first"),
    (b"\x89PNG", "a picture; type the results into the analysis form"),
    (b"\xff\xd8\xff", "a picture; type the results into the analysis form"),
    (b"<html", "a web page; save its table as .csv"),
    (b"<!DOCTYPE", "a web page or XML document; save its table as .csv"),
    (b"<?xml", "an XML document; save its table as .xlsx or .csv"),
    (b"{\\rtf", "a word-processor document; save its table as .csv"),
)


@dataclass(frozen=True, slots=True)
class ReportFile:
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
    if data[:4] == b"PK\x03\x04":
        from pretreat.lab.read.formats.workbooks import workbook_grids

        return ReportFile(path.name, workbook_grids(path.name, data, sheet))
    _refuse_others(path, data)
    text, used = decoded(path.name, data, encoding)
    grids, delimiter = text_grids(path.name, text)
    return ReportFile(path.name, grids, used, delimiter)


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
    shown = _shown(path)
    try:
        status = path.stat()
        if not stat.S_ISREG(status.st_mode):
            raise AnalysisError(f"{shown} is not a file; name the lab report itself")
        if status.st_size > MAX_BYTES:
            raise AnalysisError(
                f"{shown} has {status.st_size >> 20} MB; a lab report is read up to "
                f"{MAX_BYTES >> 20} MB: cut out the samples wanted"
            )
        with path.open("rb") as handle:
            data = handle.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise AnalysisError(f"{shown} does not exist; check the name of the lab report") from None
    except (OSError, ValueError) as problem:
        raise AnalysisError(f"{shown} cannot be opened ({type(problem).__name__})") from None
    if not data.strip(b"\x00 \t\r\n\xef\xbb\xbf\xff\xfe"):
        raise AnalysisError(f"{shown} is empty; it holds no results to read")
    return data


def _shown(path: Path) -> str:
    """Return a path that is safe to print on one line."""
    return "".join(c if c.isprintable() else "?" for c in str(path))[:200]


def _refuse_others(path: Path, data: bytes) -> None:
    for signature, what in _SIGNATURES:
        if data.startswith(signature):
            raise AnalysisError(f"{_shown(path)} is {what}")
    if path.suffix.casefold() in {".xlsx", ".xlsm"}:
        raise AnalysisError(
            f"{_shown(path)} is not a workbook although it is called {path.suffix}; "
            "rename it to .csv if it is text, or save it again as a workbook"
        )


def decoded(name: str, data: bytes, encoding: str | None = None) -> tuple[str, str]:
    """Return the text of a file and the encoding that was used.

    Parameters
    ----------
    name : str
        Name of the file, for messages. [-]
    data : bytes
        Its content. [-]
    encoding : str, optional
        The encoding to use. [-]

    Returns
    -------
    tuple of str and str
        Text with line ends as newlines, and encoding. [-]

    Raises
    ------
    AnalysisError
        If the bytes are no text in that encoding, or in any that is known.
    """
    try:
        if encoding is not None:
            text, used = data.decode(encoding), encoding
        else:
            text, used = _detected(data)
    except LookupError:
        raise AnalysisError(
            f"encoding '{encoding}' is not known; use utf-8, cp1252 or the like"
        ) from None
    except UnicodeError:
        raise AnalysisError(f"{name} is not text in {encoding or 'any known encoding'}") from None
    text = text.removeprefix("\ufeff")
    if "\x00" in text:
        raise AnalysisError(f"{name} is not a text file (it holds zero bytes)")
    return text.replace("\r\n", "\n").replace("\r", "\n"), used


def _detected(data: bytes) -> tuple[str, str]:
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return data.decode(encoding), encoding
    if data[:400].count(0) > len(data[:400]) // 5:
        encoding = "utf-16-le" if data[1:400:2].count(0) > data[0:400:2].count(0) else "utf-16-be"
        return data.decode(encoding), encoding
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return _codepage(data)


def _codepage(data: bytes) -> tuple[str, str]:
    """Choose the code page in which most words beyond ASCII are known names or units."""
    best, best_score = None, 0
    for encoding in _CODEPAGES:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        score = _known_words(text)
        if score > best_score:
            best, best_score = (text, encoding), score
    if best is not None:
        return best
    if _only_letters(text := data.decode("cp1252", "replace")):
        return text, "cp1252"
    from charset_normalizer import from_bytes

    guess = from_bytes(data, cp_isolation=[*_CODEPAGES, "latin_1"]).best()
    if guess is not None:
        return str(guess), guess.encoding
    return data.decode("latin-1"), "latin-1"


def _only_letters(text: str) -> bool:
    """Tell whether all that lies beyond ASCII is a letter or a sign of a report."""
    return all(c.isascii() or c.isalpha() or c in "°µ²³·±§–—’‘“”«» " for c in text)


def _known_words(text: str) -> int:
    cells = {cell.strip() for cell in re.split(r"[\t;,|\r\n\"]|\s{2,}", text) if not cell.isascii()}
    return sum(bool(named_analyte(c).key) + is_unit(c) for c in sorted(cells)[:400] if len(c) < 80)


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
    if fit < SURE_FIT:
        under = headed(placed_lines(text, MAX_ROWS)) if "\n" in text else None
        grids += [under] if under is not None else [pasted(text, MAX_ROWS)]
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
    if delimiter == ",":
        _refuse_bare_decimal_commas(name, rows, lines)
    return Grid(tuple(rows), tuple(lines), remarks=tuple(remarks), from_text=True)


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


_POINTED = re.compile(r"\d\.\d")


def _all_words(row: tuple[str, ...]) -> bool:
    return all(cell and not any(c.isdigit() for c in cell[:1]) for cell in row)


def _cut_numbers(row: tuple[str, ...]) -> bool:
    return any(a.isdecimal() and b.isdecimal() for a, b in pairwise(row))


def _is_header(row: list[str]) -> bool:
    return len(row) > 1 and any(named_analyte(cell).key for cell in row[1:])
