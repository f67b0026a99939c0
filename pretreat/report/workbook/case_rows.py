"""Writes figures that come as low, likely and high: one row for the three of them."""

import re
from collections.abc import Callable
from typing import Any

from pretreat.core.basis import Figure
from pretreat.report.workbook.bench import LABEL_CHARS, Bench, sentence, wrapped_lines
from pretreat.report.workbook.cells import evidence_of, write_value
from pretreat.report.workbook.pages import CASES, CasesPart, Place
from pretreat.report.workbook.styles import LINE_HEIGHT

_HEADS = (*(case.capitalize() for case in CASES), "Unit", "Mark", "Evidence")
_CASE_WORDS = re.compile(r", (?:low|likely|high)(?: life)?(?=,|$)")
SOURCES_CHARS = 20  # characters of small print in the column of sources
_METHOD_LINE_CHARS = 15  # characters of small print in one column of the grid


def write_cases(
    bench: Bench,
    name: str,
    part: CasesPart,
    sheet: Any,
    columns: tuple[int, int],
    notes: Callable[[Figure], str],
) -> None:
    """Write the rows of a block of cases.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    name : str
        Name of the sheet. [-]
    part : CasesPart
        The block. [-]
    sheet : object
        The worksheet. [-]
    columns : tuple of int
        Column of the sources, and last column in use, from zero. [-]
    notes : callable
        Gives the words of the notes of a figure. [-]
    """
    styles, (sources, last) = bench.styles, columns
    for column in range(last + 1):
        sheet.write_blank(part.top, column, None, styles("head"))
    sheet.write_string(part.top, 0, part.heading, styles("block"))
    for column, text in enumerate(_HEADS, start=1):
        role = "head_number" if column <= len(CASES) else "head_unit" if text == "Unit" else "head"
        sheet.write_string(part.top, column, text, styles(role))
    sheet.write_string(part.top, sources, "Sources", styles("head"))
    sheet.write_string(part.top, sources + 1, "Method", styles("head"))
    for i, keys in enumerate(part.rows):
        _row(bench, Place(name, part.top + 1 + i), keys, sheet, columns, notes)


def _row(
    bench: Bench,
    place: Place,
    keys: tuple[str | None, ...],
    sheet: Any,
    columns: tuple[int, int],
    notes: Callable[[Figure], str],
) -> None:
    styles, (sources, last), row = bench.styles, columns, place.row
    figures = [bench.study[key] for key in keys if key is not None]
    first = figures[0]
    label = sentence(_CASE_WORDS.sub("", first.label))
    sheet.write_string(row, 0, label, styles("label"))
    for column in range(1, sources):
        sheet.write_blank(row, column, None, styles("text"))
    for column, key in enumerate(keys, start=1):
        if key is not None:
            write_value(bench, Place(place.sheet, row, column), bench.study[key], sheet)
    words = dict.fromkeys(w for f in figures for w in (bench.marks.marks.get(f.key), notes(f)) if w)
    column = len(CASES) + 1
    for text, role in (
        (first.unit, "unit"),
        ("; ".join(words), "small"),
        (evidence_of(first), "small"),
    ):
        sheet.write_string(row, column, text, styles(role))
        column += 1
    cited = ", ".join(dict.fromkeys(key for figure in figures for key in figure.cites))
    sheet.write_string(row, sources, cited, styles("wrapped_small"))
    sheet.merge_range(row, sources + 1, row, last, "", styles("wrapped_small"))
    sheet.write_string(row, sources + 1, first.method, styles("wrapped_small"))
    lines = max(
        wrapped_lines(label, LABEL_CHARS - 3),
        wrapped_lines(cited, SOURCES_CHARS),
        wrapped_lines(first.method, (last - sources) * _METHOD_LINE_CHARS),
    )
    if lines > 1:
        sheet.set_row(row, LINE_HEIGHT * lines)
