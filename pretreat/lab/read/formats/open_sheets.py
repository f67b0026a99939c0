"""OpenDocument spreadsheets (.ods) into grids of cells, as they are shown."""

from collections.abc import Iterator
from typing import Any

from pretreat.core.archives import checked_parts, xml_root
from pretreat.core.errors import AnalysisError
from pretreat.lab.read.numbers import plain
from pretreat.lab.read.report import DateCell, Grid

MAX_COLUMNS, MAX_ROWS, MAX_CELLS = 2_000, 100_000, 1_000_000
_T = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_O = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
_X = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
_S = "{urn:oasis:names:tc:opendocument:xmlns:style:1.0}"


def open_sheet_grids(name: str, data: bytes, sheet: str | None = None) -> tuple[Grid, ...]:
    """Read the visible sheets of an OpenDocument spreadsheet.

    Repeated empty cells and rows, with which such files are filled up, are only counted.

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
        If it is damaged, hostile or too large, or the sheet does not exist.
    """
    checked_parts(name, data)
    root = xml_root(name, data, "content.xml")
    pages = list(root.iter(f"{_T}table"))
    titles = [page.get(f"{_T}name", "") for page in pages]
    if sheet is not None and sheet not in titles:
        raise AnalysisError(f"{name} has no sheet '{sheet}'; it has: {', '.join(titles)}")
    hidden = _hidden_styles(root)
    grids = []
    for page, title in zip(pages, titles, strict=True):
        if (sheet is None and page.get(f"{_T}style-name") in hidden) or (sheet or title) != title:
            continue
        grid = _grid(name, page, title)
        if grid.rows:
            grids.append(grid)
    if not grids:
        raise AnalysisError(f"{name} holds no cells with text or numbers")
    return tuple(grids)


def _hidden_styles(root: Any) -> set[str]:
    found = set()
    for style in root.iter(f"{_S}style"):
        for properties in style.iter(f"{_S}table-properties"):
            if properties.get(f"{_T}display") == "false":
                found.add(style.get(f"{_S}name", ""))
    return found


def _repeated(element: Any, what: str) -> int:
    text = element.get(f"{_T}number-{what}-repeated", "1")
    return int(text) if text.isdecimal() and len(text) < 10 else 1


def _grid(name: str, page: Any, title: str) -> Grid:
    rows: list[tuple[str, ...]] = []
    lines: list[int] = []
    spans: list[tuple[int, int, int]] = []
    hidden: list[str] = []
    number, cells = 1, 0
    for row in page.iter(f"{_T}table-row"):
        texts, covered = _row(row)
        times = _repeated(row, "rows")
        if any(texts):
            for n in range(min(times, MAX_ROWS)):
                spans += [(len(rows), first, last) for first, last in covered]
                rows.append(texts)
                lines.append(number + n)
                cells += len(texts)
                if len(rows) > MAX_ROWS or cells > MAX_CELLS:
                    raise AnalysisError(
                        f"{name}, sheet '{title}' has more than {MAX_ROWS} rows or {MAX_CELLS} "
                        "cells; delete what is not the analysis"
                    )
            if row.get(f"{_T}visibility") in {"collapse", "filter"}:
                hidden.append(str(number))
        number += times
    remarks = (f"hidden: {', '.join(hidden)}",) if hidden else ()
    return Grid(tuple(rows), tuple(lines), title, tuple(spans), remarks)


def _row(row: Any) -> tuple[tuple[str, ...], list[tuple[int, int]]]:
    """Return the texts of a row, and which columns its wide cells cover."""
    texts: list[str] = []
    covered: list[tuple[int, int]] = []
    waiting = 0  # empty cells, written only when something follows them
    for cell in row:
        if cell.tag not in {f"{_T}table-cell", f"{_T}covered-table-cell"}:
            continue
        times, text = _repeated(cell, "columns"), _text(cell)
        if not text or cell.tag == f"{_T}covered-table-cell":
            waiting += times
            continue
        if len(texts) + waiting >= MAX_COLUMNS:
            break
        texts += [""] * waiting
        waiting = 0
        wide = cell.get(f"{_T}number-columns-spanned", "1")
        if wide.isdecimal() and len(wide) < 5 and int(wide) > 1:
            covered.append((len(texts), len(texts) + int(wide) - 1))
        texts += [text] * min(times, MAX_COLUMNS - len(texts))
    return tuple(texts), covered


def _text(cell: Any) -> str:
    """Return a cell as it is shown; a rounded number in full."""
    shown = "\n".join("".join(_letters(p)) for p in cell.findall(f"{_X}p")).strip()
    kind, value = cell.get(f"{_O}value-type", ""), cell.get(f"{_O}value", "")
    if kind in {"date", "time"}:
        return DateCell(cell.get(f"{_O}date-value", "") or shown)
    if kind != "float" or not value:
        return shown
    return value if _only_rounded(shown, value) else shown


def _only_rounded(shown: str, value: str) -> bool:
    """Tell a number that its format only rounds or groups, without a sign or a word."""
    bare = plain(shown)
    return not bare or not any(c.isalpha() or c in "<>%~=" for c in bare.replace("E", ""))


def _letters(element: Any) -> Iterator[str]:
    yield element.text or ""
    for child in element:
        if child.tag == f"{_X}s":
            yield " "
        elif child.tag == f"{_X}tab":
            yield "\t"
        elif child.tag != f"{_O}annotation":
            yield from _letters(child)
        yield child.tail or ""
