"""The plan of years on the page of the estimate: what is replaced when, its cost, and a chart."""

from typing import Any

from pretreat.core.basis import Series
from pretreat.report.digits import column_format
from pretreat.report.workbook.bench import Bench, sentence, wrapped_lines
from pretreat.report.workbook.charts import quote_chart
from pretreat.report.workbook.layout import ESTIMATE
from pretreat.report.workbook.links import YEARS, Link, link_of
from pretreat.report.workbook.styles import LINE_HEIGHT

WIDTHS = (36.0, 9.0, 8.0, 9.0, 12.5, 10.0, 12.0, 20.5)
US_WIDTHS = (34.0, 9.0, 9.0, 9.0, 14.5, 9.5, 11.5, 20.5)
LAST = len(WIDTHS) - 1
PRICE_COLUMN = 5
NO_PRICE: Link = ("", "no price")
_REPLACED_CHARS = 45
_ROW_PX = int(LINE_HEIGHT / 0.75)  # a pixel is 0.75 points
_GAP_PX = 6  # between the chart and the heading below it


def section(bench: Bench, sheet: Any, row: int, text: str) -> None:
    """Write a heading over the page.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    sheet : object
        The worksheet. [-]
    row : int
        Row from zero. [-]
    text : str
        The heading. [-]
    """
    style = bench.styles("heading")
    sheet.write_string(row, 0, text, style)
    sheet.write_blanks(row, 1, LAST, style)


def write_gap(bench: Bench, sheet: Any, cell: tuple[int, int], link: Link | None) -> None:
    """Write a gap: the word for it, as a formula that gives the number once there is one.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    sheet : object
        The worksheet. [-]
    cell : tuple of int
        Row and column from zero. [-]
    link : tuple of str or None
        Formula, may be empty, and word; None leaves the cell blank. [-]
    """
    if link is None:
        sheet.write_blank(*cell, None, bench.styles("text"))
    elif not link[0]:
        sheet.write_string(*cell, link[1], bench.styles("word"))
    else:
        sheet.write_formula(*cell, link[0], bench.styles("word", "#,##0.00"), link[1])


# Columns of the plan beside its chart: first and last column of the page that each covers.
_PLAN = (("consumables", (1, 2)), ("media", (3, 3)), ("total", (4, 4)))


def write_plan(bench: Bench, sheet: Any, row: int) -> int:
    """Write the plan of years and its chart.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    sheet : object
        The worksheet. [-]
    row : int
        First row, from zero. [-]

    Returns
    -------
    int
        Row below the plan. [-]
    """
    series, styles = bench.study.series.get(YEARS), bench.styles
    if series is None or not series.rows:
        return row
    section(bench, sheet, row, f"Plan of {len(series.rows)} years, estimated")
    row += 1
    top = row
    sheet.write_string(row, 0, "Year, and what is replaced", styles("head"))
    for name, (first, last) in _PLAN:
        if first != last:
            sheet.merge_range(row, first, row, last, "", styles("head_number"))
        heading = {"media": "Media"}.get(name, sentence(name))
        sheet.write_string(row, first, heading, styles("head_number"))
    pixels = 2 * _ROW_PX - _GAP_PX  # the row of heads, and most of the blank one below
    replaced = series.column("replaced") if "replaced" in series.columns else ()
    for i in range(len(series.rows)):
        row += 1
        what = str(replaced[i] or "") if replaced else ""
        text = _year(bench, sheet, row, (series, i, what))
        lines = wrapped_lines(text, _REPLACED_CHARS)
        pixels += lines * _ROW_PX
        if lines > 1:
            sheet.set_row(row, LINE_HEIGHT * lines)
        for name, columns in _PLAN:
            _plan_cell(bench, sheet, (row, columns), (series, i, name))
    chart = quote_chart(bench)
    if chart is not None:
        across = sum(int(w * 7) + 5 for w in (US_WIDTHS if bench.us else WIDTHS)[PRICE_COLUMN:])
        chart.set_size({"width": across - 12, "height": pixels})
        sheet.insert_chart(top, PRICE_COLUMN, chart, {"x_offset": 8, "object_position": 1})
    return row + 2


def _plan_cell(
    bench: Bench, sheet: Any, cell: tuple[int, tuple[int, int]], point: tuple[Series, int, str]
) -> None:
    (row, (first, last)), (series, i, name) = cell, point
    value = series.cell(i, name)
    if first != last:
        sheet.merge_range(row, first, row, last, "", bench.styles("number"))
    link = link_of(bench, ESTIMATE, (series, i, name), value)
    if not isinstance(value, float):
        write_gap(bench, sheet, (row, first), link or NO_PRICE)
        return
    style = bench.styles("number", column_format(name, 2, value))
    if link is None:
        sheet.write_number(row, first, value, style)
    else:
        sheet.write_formula(row, first, link[0], style, value)


def _year(bench: Bench, sheet: Any, row: int, point: tuple[Series, int, str]) -> str:
    """Write a year and what is replaced in it; return the words."""
    series, i, what = point
    year = series.rows[i][0]
    text = f"{year:g}  {what}".rstrip()
    link = link_of(bench, ESTIMATE, (series, i, "replaced"), what)
    style = bench.styles("label")
    if link is None:
        sheet.write_string(row, 0, text, style)
    else:
        sheet.write_formula(row, 0, f'="{year:g}  "&{link[0][1:]}', style, text)
    return text
