"""Writes figures that come as low, likely and high: one row for the three of them."""

import re
from collections.abc import Callable
from typing import Any

from pretreat.core.basis import Figure
from pretreat.report.workbook.bench import LABEL_CHARS, Bench, sentence, wrapped_lines
from pretreat.report.workbook.cells import evidence_of, write_mark, write_value
from pretreat.report.workbook.pages import (
    CASES,
    LABEL_COLUMN,
    MARK_COLUMN,
    PRINT_LAST,
    VALUE_COLUMN,
    CasesPart,
    Place,
)
from pretreat.report.workbook.styles import LINE_HEIGHT

_HEADS = (*(case.capitalize() for case in CASES), "Unit", "How it follows")
_CASE_WORDS = re.compile(r", (?:low|likely|high)(?: life)?(?=,|$)")
SOURCES_CHARS = 16  # characters of small print in the column of sources
_METHOD_LINE_CHARS = 12  # characters of small print in one column of the grid
_UNIT_COLUMN = VALUE_COLUMN + len(CASES)


def write_cases(
    bench: Bench, name: str, part: CasesPart, sheet: Any, notes: Callable[[Figure], str]
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
    notes : callable
        Gives the words of the notes of a figure. [-]
    """
    styles = bench.styles
    sheet.write_blanks(part.top, 0, PRINT_LAST, styles("head"))
    sheet.write_string(part.top, MARK_COLUMN, "Mark", styles("head"))
    sheet.write_string(part.top, LABEL_COLUMN, part.heading, styles("block_beside"))
    for column, text in enumerate(_HEADS, start=VALUE_COLUMN):
        number = column < _UNIT_COLUMN
        role = "head_number" if number else "head_unit"
        sheet.write_string(part.top, column, text, styles(role))
    sheet.write_string(part.top, PRINT_LAST, "Source", styles("head"))
    for i, keys in enumerate(part.rows):
        _row(bench, Place(name, part.top + 1 + i), keys, sheet, notes)


def _row(
    bench: Bench,
    place: Place,
    keys: tuple[str | None, ...],
    sheet: Any,
    notes: Callable[[Figure], str],
) -> None:
    styles, row = bench.styles, place.row
    figures = [bench.study[key] for key in keys if key is not None]
    first = figures[0]
    label = sentence(_CASE_WORDS.sub("", first.label))
    sheet.write_string(row, LABEL_COLUMN, label, styles("label"))
    sheet.write_blanks(row, VALUE_COLUMN, _UNIT_COLUMN - 1, styles("text"))
    word = ""
    for column, key in enumerate(keys, start=VALUE_COLUMN):
        if key is not None:
            cell = Place(place.sheet, row, column)
            word = write_value(bench, cell, bench.study[key], sheet) or word
    write_mark(bench, sheet, row, first.key, word)
    sheet.write_string(row, _UNIT_COLUMN, first.unit, styles("unit"))
    cited = ", ".join(dict.fromkeys(key for figure in figures for key in figure.cites))
    remarks = "; ".join(dict.fromkeys(n for f in figures if (n := notes(f))))
    how = f"{first.method} ({remarks})" if remarks else first.method
    sheet.merge_range(row, _UNIT_COLUMN + 1, row, PRINT_LAST - 1, "", styles("wrapped_small"))
    sheet.write_string(row, _UNIT_COLUMN + 1, how, styles("wrapped_small"))
    sheet.write_string(row, PRINT_LAST, cited, styles("wrapped_small"))
    sheet.write_string(row, PRINT_LAST + 2, evidence_of(first), styles("small"))
    lines = max(
        wrapped_lines(label, LABEL_CHARS - 3),
        wrapped_lines(cited, SOURCES_CHARS),
        wrapped_lines(how, (PRINT_LAST - _UNIT_COLUMN - 1) * _METHOD_LINE_CHARS),
    )
    if lines > 1:
        sheet.set_row(row, LINE_HEIGHT * lines)
