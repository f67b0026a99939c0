"""Writes a page of figures, tables and charts into a worksheet."""

import math
from typing import Any

from pretreat.core.basis import Figure, Flag
from pretreat.core.units import US_CUSTOMARY, unit_shown, us_customary
from pretreat.report.digits import decimals, number_format
from pretreat.report.workbook.bench import (
    LABEL_CHARS,
    Bench,
    sentence,
    wrapped_lines,
    write_heading,
    write_text_row,
)
from pretreat.report.workbook.case_rows import SOURCES_CHARS, write_cases
from pretreat.report.workbook.cells import evidence_of, write_value
from pretreat.report.workbook.charts import draw
from pretreat.report.workbook.formulas import reference, us_formula
from pretreat.report.workbook.marks import INPUT
from pretreat.report.workbook.pages import (
    GRID_CHARS,
    CasesPart,
    ChartPart,
    FigurePart,
    Page,
    Place,
    TablePart,
)
from pretreat.report.workbook.paper import GRID_WIDTH, LABEL_WIDTH, SOURCES_WIDTH, UNIT_WIDTH
from pretreat.report.workbook.stale import write_changed
from pretreat.report.workbook.styles import LINE_HEIGHT, Styles
from pretreat.report.workbook.table_rows import write_table

WORDS_CHARS = 29
LEAST_COLUMNS = 13
NOTE_ROW = 1


def write_page(bench: Bench, page: Page, sheet: Any) -> int:
    """Write a page; return its last grid column.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    page : Page
        The page. [-]
    sheet : object
        The worksheet. [-]

    Returns
    -------
    int
        Last column in use, from zero. [-]
    """
    tables = [part for part in page.parts if isinstance(part, TablePart)]
    last = max([LEAST_COLUMNS, *(t.columns[-1].end for t in tables)])
    if not page.keys:
        last = max([6, *(t.columns[-1].end for t in tables)])
    sheet.set_column(0, 0, LABEL_WIDTH)
    sheet.set_column(1, last, GRID_WIDTH)
    if page.keys:
        sheet.set_column(2, 2, UNIT_WIDTH)
        sources = len(_heads(bench.us)) - 2
        sheet.set_column(sources, sources, SOURCES_WIDTH)
    _title(bench, page, sheet, last)
    write_changed(bench, sheet, NOTE_ROW + 1, last)
    notes = Notes(bench, page)
    for part in page.parts:
        if isinstance(part, FigurePart):
            _figures(bench, page, part, sheet, notes, last)
        elif isinstance(part, CasesPart):
            columns = (len(_heads(bench.us)) - 2, last)
            write_cases(bench, page.sheet.name, part, sheet, columns, notes.of)
        elif isinstance(part, TablePart):
            write_table(bench, page.sheet.name, part, sheet, last)
        elif isinstance(part, ChartPart):
            draw(bench, part, sheet)
    notes.write(sheet, page.bottom, last)
    return last


def _title(bench: Bench, page: Page, sheet: Any, last: int) -> None:
    sheet.write_string(0, 0, page.sheet.title, bench.styles("title"))
    sheet.set_row(0, 22)
    note = page.sheet.note
    if "'input'" in note and not any(
        bench.marks.marks.get(k, "").startswith(INPUT) for k in page.keys
    ):
        note = "Results marked 'live' follow the input cells of other sheets."
        if not any(bench.marks.marks.get(k) for k in page.keys):
            note = ""
    if note:
        sheet.merge_range(NOTE_ROW, 0, NOTE_ROW, last, "", bench.styles("subtitle"))
        sheet.write_string(NOTE_ROW, 0, note, bench.styles("subtitle"))
        sheet.set_row(NOTE_ROW, LINE_HEIGHT * math.ceil(len(note) / 170))


def _block_head(bench: Bench, sheet: Any, row: int, heading: str, last: int) -> None:
    """Write the heading of a block of figures with the heads of its columns."""
    for column in range(last + 1):
        sheet.write_blank(row, column, None, bench.styles("head"))
    for column, (text, role) in enumerate(_heads(bench.us)):
        if column:
            sheet.write_string(row, column, text, bench.styles(role))
    sheet.write_string(row, 0, heading or "Quantity", bench.styles("block"))


def _heads(us: bool) -> tuple[tuple[str, str], ...]:
    twin = (("US value", "head_number"), ("US unit", "head_unit")) if us else ()
    names = ("Mark", "Tag", "Evidence", "Notes", "Sources", "Method")
    return (
        ("Quantity", "head"),
        ("Value", "head_number"),
        ("Unit", "head_unit"),
        *twin,
        *((name, "head") for name in names),
    )


class Notes:
    """The flags of a page, numbered, written under it."""

    def __init__(self, bench: Bench, page: Page) -> None:
        self._bench = bench
        self._numbers: dict[Flag, int] = {}
        self._series = page.series

    def of(self, figure: Figure) -> str:
        """Return the words for the notes column of a figure: level and numbers."""
        words: dict[str, list[str]] = {}
        for flag in self._bench.flags_of(figure):
            number = self._numbers.setdefault(flag, len(self._numbers) + 1)
            words.setdefault(flag.level, []).append(str(number))
        return "; ".join(f"{level} {', '.join(numbers)}" for level, numbers in words.items())

    def write(self, sheet: Any, row: int, last: int) -> None:
        """Write the notes in a block of their own."""
        for flag in self._bench.study.flags:
            if flag.figure in self._series:
                self._numbers.setdefault(flag, len(self._numbers) + 1)
        if not self._numbers:
            return
        styles = self._bench.styles
        write_heading(sheet, row, "Notes", last, styles)
        for flag, number in self._numbers.items():
            row += 1
            lead = f"{number}  {flag.level}: {flag.code}"
            write_text_row(sheet, row, (lead, flag.text), last, styles)


def _figures(
    bench: Bench, page: Page, part: FigurePart, sheet: Any, notes: Notes, last: int
) -> None:
    _block_head(bench, sheet, part.top, part.heading, last)
    for i, key in enumerate(part.keys):
        _figure_row(
            bench, Place(page.sheet.name, part.top + 1 + i), bench.study[key], sheet, notes, last
        )


def _figure_row(
    bench: Bench, place: Place, figure: Figure, sheet: Any, notes: Notes, last: int
) -> None:
    row, styles = place.row, bench.styles
    sheet.write_string(row, 0, sentence(figure.label), styles("label"))
    word = write_value(bench, place, figure, sheet)
    if not isinstance(figure.value, str):
        sheet.write_string(row, 2, figure.unit, styles("unit"))
    column = 3
    if bench.us:
        _us_twin(bench, place, figure, sheet)
        column = 5
    mark = bench.marks.marks.get(figure.key, "") or word
    cells = (
        mark,
        figure.origin,
        evidence_of(figure),
        notes.of(figure),
        ", ".join(dict.fromkeys(figure.cites)),
    )
    for i, text in enumerate(cells):
        sheet.write_string(row, column + i, text, styles("wrapped_small"))
    _method(figure, sheet, (row, column + len(cells), last), styles)


def _method(figure: Figure, sheet: Any, room: tuple[int, int, int], styles: Styles) -> None:
    row, first, last = room
    chars = (last - first + 1) * (GRID_CHARS + 2)
    lines = wrapped_lines(figure.method, chars)
    if last > first:
        sheet.merge_range(row, first, row, last, "", styles("wrapped_small"))
    sheet.write_string(row, first, figure.method, styles("wrapped_small"))
    lines = max(
        lines,
        wrapped_lines(figure.label, LABEL_CHARS - 3),
        wrapped_lines(", ".join(dict.fromkeys(figure.cites)), SOURCES_CHARS),
    )
    if isinstance(figure.value, str):
        lines = max(lines, wrapped_lines(figure.value, WORDS_CHARS))
    if lines > 1:
        sheet.set_row(row, LINE_HEIGHT * lines)


def _us_twin(bench: Bench, place: Place, figure: Figure, sheet: Any) -> None:
    row, styles = place.row, bench.styles
    measured = unit_shown(figure.key, figure.unit)
    if isinstance(figure.value, float) and measured in US_CUSTOMARY:
        value, unit = us_customary(figure.value, measured)
        twin = Figure(figure.key, value, unit, figure.label)
        style = styles("number", number_format(decimals(twin), value))
        cell = reference(place, place.sheet)
        sheet.write_formula(row, 3, us_formula(cell, measured), style, value)
        sheet.write_string(row, 4, unit, styles("unit"))
        return
    sheet.write_blank(row, 3, None, styles("number"))
    sheet.write_blank(row, 4, None, styles("text"))
