"""Native charts; every line differs in dash or marker, so that they print in black and white."""

import math
from collections.abc import Sequence
from itertools import cycle
from typing import Any

from msgspec import Struct

from pretreat.core.basis import Series
from pretreat.report.digits import column_decimals, number_format
from pretreat.report.plots import (
    LIMIT_COLUMN,
    LIMITS,
    PICTURE_ROWS,
    PLAIN,
    RECOVERY_COLUMN,
    SATURATION_CHARTS,
    SWEEP,
    axis_name,
    design_row,
    limit_cells,
    limit_name,
    plain_columns,
    recovery_key,
    saturation_columns,
)
from pretreat.report.workbook.bench import LABEL_CHARS, Bench, write_heading
from pretreat.report.workbook.formulas import reference
from pretreat.report.workbook.pages import (
    LABEL_COLUMN,
    PRINT_LAST,
    VALUE_COLUMN,
    ChartPart,
    Column,
    Place,
    TablePart,
)
from pretreat.report.workbook.styles import FONT, INK, LINE_HEIGHT

WIDTH_PX, ROW_PX = 1050, 15
_GAP_PX = 6  # keeps the frame of a chart off the page before
COLOURS = ("#1B4965", "#9C6644", "#4F772D", "#6D597A", "#5C677D", "#B08900", "#14746F")
DASHES = ("solid", "dash", "dash_dot", "long_dash", "square_dot", "long_dash_dot", "round_dot")
MARKERS = ("circle", "square", "triangle", "diamond", "x", "plus", "star")
PATTERNS = ("percent_75", "wide_upward_diagonal", "percent_20", "dark_horizontal", "small_grid")
WHOLE_AXES = {"hour": 24, "factor": 0.25}  # columns across that start at zero, and their steps
_LEAST_PERCENT = 0.01  # no axis of saturation begins lower
_LIMITS_NAME = "limits: sheet Scaling"  # several limits under one name on the first sheet
_TEXT = {"name": FONT, "size": 9, "color": INK, "bold": False}


def draw(bench: Bench, part: ChartPart, sheet: Any) -> None:
    """Draw a chart into its room on a sheet.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    part : ChartPart
        Which chart, and where. [-]
    sheet : object
        The worksheet. [-]
    """
    saturation = part.name in SATURATION_CHARTS
    chart = _saturation(bench, part, _Cells(sheet)) if saturation else _plain(bench, part.name)
    chart.set_size({"width": WIDTH_PX, "height": ROW_PX * (PICTURE_ROWS - 1) - _GAP_PX})
    chart.set_legend({"position": "right", "font": _TEXT})
    sheet.insert_chart(part.top, LABEL_COLUMN, chart, {"object_position": 1, "y_offset": _GAP_PX})


def front_chart(bench: Bench) -> Any:
    """Return the chart of saturation against recovery once more, None where there is none.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]

    Returns
    -------
    object or None
        A chart that is not yet on a sheet. [-]
    """
    for page in bench.book.pages:
        for part in page.parts:
            if isinstance(part, ChartPart) and part.name == "scaling":
                chart = _saturation(bench, part, _Cells(None, page.sheet.name))
                limits = [n for n, s in enumerate(chart.series) if s["name"] == _LIMITS_NAME]
                legend = {"position": "right", "font": _TEXT, "delete_series": limits[1:]}
                chart.set_legend(legend)
                return chart
    return None


class _Cells(Struct, frozen=True):
    """The sheet that holds the lines of a chart; nothing is written where it has them already."""

    sheet: Any
    home: str = ""

    @property
    def name(self) -> str:
        return self.home or str(self.sheet.get_name())

    def words(self, row: int, column: int, text: str, style: Any) -> None:
        if self.sheet is not None:
            self.sheet.write_string(row, column, text, style)

    def height(self, row: int, points: float) -> None:
        if self.sheet is not None:
            self.sheet.set_row(row, points)

    def link(self, bench: Bench, cell: tuple[int, int], place: Place, value: Any) -> None:
        if self.sheet is None:
            return
        places = column_decimals("", (value,))[0]
        style = bench.styles("number", number_format(places, value))
        self.sheet.write_formula(*cell, "=" + reference(place, self.name), style, value)


def quote_chart(bench: Bench) -> Any:
    """Return the chart of cost by year in the size of the quote, None without its numbers.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]

    Returns
    -------
    object or None
        A chart that is not yet on a sheet. [-]
    """
    found = plain_columns("cost", bench.study)
    if found is None:
        return None
    series, columns = found
    chart = _plain(bench, "cost")
    chart.set_x_axis(_axis("", label_position="low"))
    unit = bench.book.tables[series.key][1].column(columns[0]).unit
    _title(chart, f"{PLAIN['cost'].title} [{unit}]" if unit else PLAIN["cost"].title)
    chart.set_y_axis(_axis("", min=0, num_format="#,##0"))  # a name would stand over its numbers
    chart.set_legend({"position": "bottom", "font": _TEXT})
    chart.set_plotarea({"layout": {"x": 0.22, "y": 0.22, "width": 0.75, "height": 0.53}})
    return chart


def _axis(name: str, **more: Any) -> dict[str, Any]:
    grid = {"visible": True, "line": {"color": "#D5DADC", "width": 0.5}}
    return {"name": name, "name_font": _TEXT, "num_font": _TEXT, "major_gridlines": grid, **more}


def _title(chart: Any, text: str) -> None:
    chart.set_title({"name": text, "name_font": {**_TEXT, "size": 11, "bold": True}})


def _cells(bench: Bench, key: str, name: str) -> str:
    sheet, part = bench.book.tables[key]
    column = part.column(name)
    return _area(sheet, (part.first_row, part.last_row), (column.start, column.start))


def _area(sheet: str, rows: tuple[int, int], columns: tuple[int, int]) -> str:
    first = reference(Place(sheet, rows[0], columns[0]), "")
    last = reference(Place("", rows[1], columns[1]), "")
    return f"={first}:{last}"


def _heading(series: Series, name: str) -> str:
    if series.headings:
        return series.headings[series.columns.index(name)]
    return name.replace("_", " ")


def _plain(bench: Bench, name: str) -> Any:
    plan, found = PLAIN[name], plain_columns(name, bench.study)
    if found is None:  # the layout gives room only to charts that have numbers
        raise ValueError(name)
    series, columns = found
    kind = {"column": "column", "stacked": "column", "line": "scatter"}[plan.kind]
    options = {"type": kind}
    if plan.kind == "stacked":
        options["subtype"] = "stacked"
    elif plan.kind == "line":
        options["subtype"] = "straight_with_markers"
    chart = bench.workbook.add_chart(options)
    looks = zip(
        columns, cycle(COLOURS), cycle(DASHES), cycle(MARKERS), cycle(PATTERNS), strict=False
    )
    for column, colour, dash, marker, pattern in looks:
        line: dict[str, Any] = {
            "name": _heading(series, column),
            "categories": _cells(bench, series.key, series.columns[0]),
            "values": _cells(bench, series.key, column),
        }
        if plan.kind == "line":
            line |= _look(colour, dash, marker)
        else:
            line |= {
                "pattern": {"pattern": pattern, "fg_color": colour, "bg_color": "#FFFFFF"},
                "border": {"color": INK, "width": 0.5},
                "gap": 60,
            }
        chart.add_series(line)
    _title(chart, plan.title)
    across = _heading(series, series.columns[0])
    more: dict[str, Any] = {"min": 0, "max": 1} if series.columns[0] == RECOVERY_COLUMN else {}
    if plan.kind == "line" and series.columns[0] in WHOLE_AXES:
        more = {
            "min": 0,
            "max": max(numbers_of(series)),
            "major_unit": WHOLE_AXES[series.columns[0]],
        }
    chart.set_x_axis(_axis(across, label_position="low", **more))
    unit = bench.book.tables[series.key][1].column(columns[0]).unit
    upright: dict[str, Any] = {} if plan.kind == "line" else {"min": 0}
    if plan.kind == "stacked":
        upright["num_format"] = "#,##0"
    chart.set_y_axis(_axis(axis_name(unit), **upright))
    return chart


def numbers_of(series: Series) -> list[float]:
    """Return the numbers of the first column of a series.

    Parameters
    ----------
    series : Series
        The series. [-]

    Returns
    -------
    list of float
        Its numbers in order. [any]
    """
    return [v for v in series.column(series.columns[0]) if isinstance(v, float)]


def _look(colour: str, dash: str, marker: str) -> dict[str, Any]:
    return {
        "line": {"color": colour, "width": 1.75, "dash_type": dash},
        "marker": {
            "type": marker,
            "size": 5,
            "border": {"color": colour},
            "fill": {"color": "#FFFFFF"},
        },
    }


def _saturation(bench: Bench, part: ChartPart, cells: _Cells) -> Any:
    """Percent saturation against recovery, with the limits and the design point."""
    chart = bench.workbook.add_chart({"type": "scatter", "subtype": "straight_with_markers"})
    prefix = SATURATION_CHARTS[part.name]
    series = bench.study.series[prefix + SWEEP]
    names = saturation_columns(bench.study, series.key)
    looks = zip(names, cycle(COLOURS), cycle(DASHES), cycle(MARKERS), strict=False)
    for name, colour, dash, marker in looks:
        chart.add_series(
            {
                "name": _heading(series, name),
                "categories": _cells(bench, series.key, RECOVERY_COLUMN),
                "values": _cells(bench, series.key, name),
                **_look(colour, dash, marker),
            }
        )
    row = part.top + PICTURE_ROWS
    if cells.sheet is not None:
        heading = "Lines drawn in the chart above"
        write_heading(cells.sheet, row, heading, PRINT_LAST, bench.styles)
    row = _limit_lines(bench, cells, row + 1, chart, prefix)
    _design_line(bench, cells, row, chart, prefix)
    water = "concentrate" if not prefix else "concentrate of the raw water"
    _title(chart, f"Percent saturation of the {water} against recovery")
    chart.set_x_axis(
        _axis("recovery (product / feed)", min=0, max=1, num_format="0.0", major_unit=0.1)
    )
    chart.set_y_axis(
        _axis(
            "percent saturation, 100 x 10^SI  [%]",
            log_base=10,
            min=_foot(series, names),
            num_format="General",
            crossing="min",
        )
    )
    return chart


def _foot(series: Series, names: Sequence[str]) -> float:
    """Return the decade where the axis begins, so that half of every line or more shows."""
    foot = 1.0
    for name in names:
        found = sorted(v for v in series.column(name) if isinstance(v, float) and v > 0.0)
        while found and foot > _LEAST_PERCENT and found[len(found) // 2] < foot:
            foot /= 10.0
    return foot


def _limit_lines(bench: Bench, cells: _Cells, row: int, chart: Any, prefix: str) -> int:
    limits = limit_cells(bench.study, prefix + LIMITS)
    if not limits:
        return row
    home, table = bench.book.tables[prefix + SWEEP]
    running = table.column(RECOVERY_COLUMN)
    ends = tuple(
        (Place(home, r, running.start), table.series.rows[r - table.first_row][running.source])
        for r in (table.first_row, table.last_row)
    )
    limit_home, limit_table = bench.book.tables[prefix + LIMITS]
    for value, point, minerals in limits:
        start = limit_table.column(LIMIT_COLUMN).start
        cell = Place(limit_home, limit_table.first_row + point, start)
        several = cells.sheet is None and len(limits) > 1
        name = _LIMITS_NAME if several else limit_name(value, minerals)
        text = f"limit {value:,.4g} %: {minerals}"
        cells.words(row, LABEL_COLUMN, text, bench.styles("label"))
        cells.height(row, LINE_HEIGHT * math.ceil(len(text) / LABEL_CHARS))
        links = (*ends, (cell, value), (cell, value))
        for i, (place, shown) in enumerate(links):
            cells.link(bench, (row, VALUE_COLUMN + i), place, shown)
        chart.add_series(
            {
                "name": name,
                "categories": _area(cells.name, (row, row), (VALUE_COLUMN, VALUE_COLUMN + 1)),
                "values": _area(cells.name, (row, row), (VALUE_COLUMN + 2, VALUE_COLUMN + 3)),
                "line": {"color": INK, "width": 2.25, "dash_type": "solid"},
                "marker": {"type": "none"},
            }
        )
        row += 1
    return row


def _design_line(bench: Bench, cells: _Cells, row: int, chart: Any, prefix: str) -> None:
    """Draw the saturations at the recovery set as points on one upright line."""
    key = recovery_key(bench.study)
    if key is None or design_row(bench.study, prefix + SWEEP) is None:
        return
    home, table = bench.book.tables[prefix + SWEEP]
    points = _design_points(bench, table)
    cells.words(row, LABEL_COLUMN, "recovery set", bench.styles("label"))
    cells.words(row + 1, LABEL_COLUMN, "percent saturation there", bench.styles("label"))
    across = (VALUE_COLUMN, VALUE_COLUMN + len(points) - 1)
    for i, (column, value) in enumerate(points):
        at, there = VALUE_COLUMN + i, Place(home, table.live_row or 0, column.start)
        cells.link(bench, (row, at), bench.book.places[key], bench.study.number(key))
        cells.link(bench, (row + 1, at), there, value)
    chart.add_series(
        {
            "name": "design point",
            "categories": _area(cells.name, (row, row), across),
            "values": _area(cells.name, (row + 1, row + 1), across),
            "line": {"color": INK, "width": 1, "dash_type": "round_dot"},
            "marker": {
                "type": "diamond",
                "size": 9,
                "fill": {"color": INK},
                "border": {"color": INK},
            },
        }
    )


def _design_points(bench: Bench, table: TablePart) -> list[tuple[Column, float]]:
    point = design_row(bench.study, table.series.key) or 0
    found = []
    for name in saturation_columns(bench.study, table.series.key):
        column = table.column(name)
        value = table.series.rows[point][column.source]
        gaps = any(v is None for v in table.series.column(name))
        if isinstance(value, float) and not gaps:
            found.append((column, value))
    return sorted(found, key=lambda pair: pair[1])
