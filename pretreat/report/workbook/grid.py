"""Writes a page of figures, tables and charts into a worksheet."""

import math
from typing import Any

from pretreat.core.basis import Figure, Flag
from pretreat.report.workbook.bench import (
    INTERNAL,
    LABEL_CHARS,
    Bench,
    label_under,
    wrapped_lines,
    write_heading,
    write_text_row,
)
from pretreat.report.workbook.case_rows import SOURCES_CHARS, write_cases
from pretreat.report.workbook.cells import evidence_of, write_mark, write_us_value, write_value
from pretreat.report.workbook.charts import draw
from pretreat.report.workbook.marks import INPUT
from pretreat.report.workbook.pages import (
    GRID_CHARS,
    LABEL_COLUMN,
    MARK_COLUMN,
    PRINT_LAST,
    SI_COLUMN,
    VALUE_COLUMN,
    CasesPart,
    ChartPart,
    FigurePart,
    Page,
    Place,
    TablePart,
)
from pretreat.report.workbook.paper import (
    GRID_WIDTH,
    LABEL_WIDTH,
    MARK_WIDTH,
    METHOD_WIDTH,
    ROW_POINTS,
    SOURCES_WIDTH,
    UNIT_WIDTH,
)
from pretreat.report.workbook.stale import write_changed
from pretreat.report.workbook.styles import LINE_HEIGHT
from pretreat.report.workbook.table_rows import write_table

WORDS_CHARS = 29
HEADS_ROW, NOTE_ROW = 1, 2
HOW_COLUMN, SOURCES_COLUMN = VALUE_COLUMN + 2, PRINT_LAST
_HOW_CHARS = (SOURCES_COLUMN - HOW_COLUMN) * GRID_CHARS
_MOST_HOW = 2.5 * _HOW_CHARS  # a longer equation is told by its method
_SCREEN = ("Tag", "Evidence", "Notes", "Method", "With the numbers of the run")
_NOTE_LINE = 165


def write_page(bench: Bench, page: Page, sheet: Any) -> None:
    """Write a page: what prints to the left, what traces a number beside it on the screen.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    page : Page
        The page. [-]
    sheet : object
        The worksheet. [-]
    """
    sheet.set_default_row(ROW_POINTS)
    _columns(bench, page, sheet)
    _title(bench, page, sheet)
    write_changed(bench, sheet, NOTE_ROW + 1, PRINT_LAST)
    notes = Notes(bench, page)
    for part in page.parts:
        if isinstance(part, FigurePart):
            _figures(bench, page, part, sheet, notes)
        elif isinstance(part, CasesPart):
            write_cases(bench, page.sheet.name, part, sheet, notes.of)
        elif isinstance(part, TablePart):
            write_table(bench, page.sheet.name, part, sheet)
        elif isinstance(part, ChartPart):
            draw(bench, part, sheet)
    notes.write(sheet, page.bottom, PRINT_LAST)


def _columns(bench: Bench, page: Page, sheet: Any) -> None:
    sheet.set_column(MARK_COLUMN, MARK_COLUMN, MARK_WIDTH)
    sheet.set_column(LABEL_COLUMN, LABEL_COLUMN, LABEL_WIDTH)
    sheet.set_column(VALUE_COLUMN, PRINT_LAST, GRID_WIDTH)
    if page.keys:
        sheet.set_column(VALUE_COLUMN + 1, VALUE_COLUMN + 1, UNIT_WIDTH)
        sheet.set_column(SOURCES_COLUMN, SOURCES_COLUMN, SOURCES_WIDTH)
        first = _screen_column(bench.us)
        sheet.set_column(PRINT_LAST + 1, first + 2, GRID_WIDTH)
        sheet.set_column(first + 3, first + 4, METHOD_WIDTH)


def _screen_column(us: bool) -> int:
    """Return the first column of what stands on the screen only, behind the value in SI."""
    return PRINT_LAST + (3 if us else 1)


def _title(bench: Bench, page: Page, sheet: Any) -> None:
    title = page.sheet.title
    if bench.shows_own_cost(page):
        title = f"{title}: {INTERNAL}"
    sheet.write_string(0, 0, title, bench.styles("title"))
    sheet.set_row(0, 22)
    note = page.sheet.note
    if "'input'" in note and not any(
        bench.marks.marks.get(k, "").startswith(INPUT) for k in page.keys
    ):
        note = "Results marked 'live' follow the input cells of other sheets."
        if not any(bench.marks.marks.get(k) for k in page.keys):
            note = ""
    if page.keys:
        _column_heads(bench, sheet)
    if note:
        sheet.merge_range(NOTE_ROW, 0, NOTE_ROW, PRINT_LAST, "", bench.styles("subtitle"))
        sheet.write_string(NOTE_ROW, 0, note, bench.styles("subtitle"))
        sheet.set_row(NOTE_ROW, LINE_HEIGHT * math.ceil(len(note) / _NOTE_LINE))


def _block_head(bench: Bench, sheet: Any, row: int, heading: str) -> None:
    """Write the heading of a block of figures."""
    style = bench.styles("block")
    sheet.write_blanks(row, 0, _screen_column(bench.us) + len(_SCREEN) - 1, style)
    sheet.write_string(row, LABEL_COLUMN, heading, style)


def _column_heads(bench: Bench, sheet: Any) -> None:
    """Write the heads of the columns of all figures of a sheet."""
    last = _screen_column(bench.us) + len(_SCREEN) - 1
    sheet.write_blanks(HEADS_ROW, 0, last, bench.styles("head"))
    ends = (HEADS_ROW, HOW_COLUMN, HEADS_ROW, SOURCES_COLUMN - 1)
    sheet.merge_range(*ends, "", bench.styles("head"))
    for column, text, role in _heads(bench.us):
        sheet.write_string(HEADS_ROW, column, text, bench.styles(role))


def _heads(us: bool) -> tuple[tuple[int, str, str], ...]:
    twin = ((SI_COLUMN, "SI value", "head_number"), (SI_COLUMN + 1, "SI unit", "head_unit"))
    first = _screen_column(us)
    return (
        (MARK_COLUMN, "Mark", "head"),
        (LABEL_COLUMN, "Quantity", "head"),
        (VALUE_COLUMN, "Value", "head_number"),
        (VALUE_COLUMN + 1, "Unit", "head_unit"),
        (HOW_COLUMN, "How it follows", "head"),
        (SOURCES_COLUMN, "Source", "head"),
        *(twin if us else ()),
        *((first + i, name, "head") for i, name in enumerate(_SCREEN)),
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
            write_text_row(sheet, row, (lead, self._bench.words(flag.text)), last, styles)


def _figures(bench: Bench, page: Page, part: FigurePart, sheet: Any, notes: Notes) -> None:
    _block_head(bench, sheet, part.top, part.heading)
    for key in part.keys:
        _figure_row(bench, bench.book.places[key], bench.study[key], sheet, notes)


def _figure_row(bench: Bench, place: Place, figure: Figure, sheet: Any, notes: Notes) -> None:
    row, styles = place.row, bench.styles
    label = bench.words(label_under(place.sheet, figure.label))
    sheet.write_string(row, LABEL_COLUMN, label, styles("label"))
    word = write_value(bench, place, figure, sheet)
    if place.column != VALUE_COLUMN:
        write_us_value(bench, figure, sheet)
        sheet.write_string(row, place.column + 1, figure.unit, styles("unit"))
    elif not isinstance(figure.value, str):
        unit = "" if figure.unit == "-" else figure.unit
        sheet.write_string(row, VALUE_COLUMN + 1, unit, styles("unit"))
    write_mark(bench, sheet, row, figure.key, word)
    worked = bench.study.worked(figure.key) or ""
    how = how_it_follows(bench, figure, worked)
    cited = ", ".join(dict.fromkeys(figure.cites))
    sheet.merge_range(row, HOW_COLUMN, row, SOURCES_COLUMN - 1, "", styles("wrapped_small"))
    sheet.write_string(row, HOW_COLUMN, how, styles("wrapped_small"))
    sheet.write_string(row, SOURCES_COLUMN, cited, styles("wrapped_small"))
    beside = (
        figure.origin,
        evidence_of(figure),
        notes.of(figure),
        figure.method,
        worked,
    )
    for column, text in enumerate(beside, start=_screen_column(bench.us)):
        if text:
            sheet.write_string(row, column, text, styles("small"))
    lines = max(
        wrapped_lines(how, _HOW_CHARS),
        wrapped_lines(label, LABEL_CHARS - 3),
        wrapped_lines(cited, SOURCES_CHARS),
        wrapped_lines(figure.value, WORDS_CHARS) if isinstance(figure.value, str) else 1,
    )
    if lines > 1:
        sheet.set_row(row, LINE_HEIGHT * lines)


def how_it_follows(bench: Bench, figure: Figure, worked: str) -> str:
    """Return the equation of a figure in words, or its method where it has none.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    figure : Figure
        The figure. [-]
    worked : str
        Its equation with names and then with numbers, empty where it has none. [-]

    Returns
    -------
    str
        Such as "product flow / recovery". [-]
    """
    parts = worked.split(" = ")[1:-1]  # in words, then with numbers, each with as many "="
    words = " = ".join(parts[: len(parts) // 2])
    text = words if 0 < len(words) <= _MOST_HOW else figure.method
    return bench.words(text)
