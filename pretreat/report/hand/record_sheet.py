"""The record sheet: one column for each date, one row for each gauge, on one upright page."""

from pretreat.core.basis import Value
from pretreat.report.hand.page import BOX_POINTS, COLUMNS, HandPage
from pretreat.report.workbook.bench import Bench, wrapped_lines
from pretreat.report.workbook.paper import PrintRun
from pretreat.report.workbook.summary import site_name

NAME = "Record sheet"
SERIES = "settings.record_sheet"
_GAUGE, _UNIT, _EXPECTED = (0, 3), (4, 5), (6, 7)
READINGS = 8
_DATES = tuple((8 + 2 * n, 9 + 2 * n) for n in range(READINGS))
_HEAD_POINTS = 14.0
_GAUGE_CHARS, _LINE_POINTS = 24, 11.0  # of the words of a gauge
_NOTE = (
    "Read all gauges within ten minutes, the machine having run steadily for half an hour. * is "
    "needed for the baseline. Write the unit if the gauge shows another. Then type it in: "
    "pretreat log."
)


def add_record_sheet(bench: Bench, print_run: PrintRun) -> None:
    """Add the record sheet, if the study has its gauges.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    print_run : PrintRun
        Paper, site and day. [-]
    """
    series = bench.study.series.get(SERIES)
    if series is None:
        return
    page = HandPage(bench, NAME)
    row = _head(page)
    for line in series.rows:
        _gauge(page, row, dict(zip(series.columns, line, strict=True)))
        row += 1
    _last_lines(page, row)
    page.finish(print_run)


def _head(page: HandPage) -> int:
    page.text(0, (0, 11), "Record sheet", "title")
    page.text(0, (12, COLUMNS - 1), "Sheet no.", "name")
    page.sheet.set_row(0, BOX_POINTS)
    page.text(1, (0, COLUMNS - 1), site_name(page.bench), "site")
    page.text(2, (0, COLUMNS - 1), _NOTE, "small")
    page.sheet.set_row(2, BOX_POINTS)
    heads = ((_GAUGE, "Gauge"), (_UNIT, "Unit"), (_EXPECTED, _expected_head(page.bench)))
    for columns, words in heads:
        page.text(3, columns, words, "head_right" if columns != _GAUGE else "head")
    for number, columns in enumerate(_DATES, start=1):
        page.text(3, columns, str(number), "head_right")
    page.sheet.set_row(3, _HEAD_POINTS)
    page.text(4, (0, _DATES[0][0] - 1), "Date and time", "name")
    for columns in _DATES:
        page.text(4, columns, "", "box")
    page.sheet.set_row(4, BOX_POINTS)
    return 5


def _expected_head(bench: Bench) -> str:
    record = bench.study.value("study.kind") == "record"
    return "When new" if record else "Expected"


def _gauge(page: HandPage, row: int, line: dict[str, Value]) -> None:
    us = page.bench.us
    page.text(row, _GAUGE, str(line["gauge"]), "words")
    unit = str(line["unit_us" if us else "unit"])
    page.text(row, _UNIT, "" if unit == "-" else unit, "unit")
    key = str(line["figure_us" if us else "figure"] or "")
    if key and page.bench.study.number(key) is not None:
        page.figure((row, row), _EXPECTED, key, "value")
    else:
        page.text(row, _EXPECTED, str(line["words"] or ""), "value")
    for columns in _DATES:
        page.text(row, columns, "", "box")
    lines = wrapped_lines(str(line["gauge"]), _GAUGE_CHARS)
    page.sheet.set_row(row, max(BOX_POINTS, _LINE_POINTS * lines))


def _last_lines(page: HandPage, row: int) -> None:
    for offset, words in enumerate(("Who", "What was done, seen or changed")):
        page.text(row + offset, (0, _DATES[0][0] - 1), words, "name")
        for columns in _DATES:
            page.text(row + offset, columns, "", "box")
        page.sheet.set_row(row + offset, BOX_POINTS * (1 + offset / 4))
