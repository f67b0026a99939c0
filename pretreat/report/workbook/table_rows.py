"""Writes a series as a table, and the row that reads it at the recovery set."""

import math
from typing import Any

from pretreat.core.basis import Value
from pretreat.core.units import unit_shown, us_customary
from pretreat.report.digits import column_decimals, column_format, number_format
from pretreat.report.plots import RECOVERY_COLUMN, design_row, recovery_key
from pretreat.report.workbook.bench import (
    LABEL_CHARS,
    Bench,
    sentence,
    wrapped_lines,
    write_heading,
)
from pretreat.report.workbook.formulas import column_letter, reference
from pretreat.report.workbook.links import LINES, YEARS, live_cell
from pretreat.report.workbook.pages import (
    GRID_CHARS,
    LABEL_COLUMN,
    PRINT_LAST,
    Column,
    Place,
    TablePart,
)
from pretreat.report.workbook.styles import LINE_HEIGHT
from pretreat.stages import trains_in_words

_HEAD_LINE_CHARS = 12
_SENTENCES = ("text", "reason")
_SHORT_UNIT = {"% of saturation": "% sat."}


def write_table(bench: Bench, name: str, part: TablePart, sheet: Any) -> None:
    """Write a series as a table, with the row that interpolates where there is one.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    name : str
        Name of the sheet. [-]
    part : TablePart
        The table with its rows and columns. [-]
    sheet : object
        The worksheet. [-]
    """
    styles, series = bench.styles, part.series
    write_heading(sheet, part.top, series.label, PRINT_LAST, styles)
    lines = 1
    for column in part.columns:
        unit = _SHORT_UNIT.get(column.unit, column.unit)
        text = column.heading + (f"\n[{unit}]" if unit not in {"-", ""} else "")
        numeric = any(isinstance(v, float) for v in series.column(column.name))
        text = text.replace(": ", ":\n") if numeric else text
        role = ("head_number" if numeric else "head_cell") if column.source else "head"
        _spanned(sheet, part.head_row, column, text, styles(role))
        room = column.span * _HEAD_LINE_CHARS if column.start > LABEL_COLUMN else 44
        lines = max(lines, sum(math.ceil(len(t) / room) for t in text.split("\n")))
    sheet.set_row(part.head_row, LINE_HEIGHT * lines + 2)
    for column in part.columns:
        _table_column(bench, name, part, column, sheet)
    _row_heights(part, sheet)
    if part.live_row is not None:
        _live_row(bench, name, part, sheet)


def _row_heights(part: TablePart, sheet: Any) -> None:
    for i, cells in enumerate(part.series.rows):
        lines = 1
        for column in part.columns:
            cell = cells[column.source]
            if isinstance(cell, str):
                cell = trains_in_words(cell)
                room = column.span * GRID_CHARS - 1 if column.start > LABEL_COLUMN else LABEL_CHARS
                lines = max(lines, wrapped_lines(cell, room))
        if lines > 1:
            sheet.set_row(part.first_row + i, LINE_HEIGHT * lines)


def _spanned(sheet: Any, row: int, column: Column, text: str, style: Any) -> None:
    if column.span > 1:
        sheet.merge_range(row, column.start, row, column.end, "", style)
    sheet.write_string(row, column.start, text, style)


def _table_column(bench: Bench, name: str, part: TablePart, column: Column, sheet: Any) -> None:
    values: tuple[Value, ...] = part.series.column(column.name)
    unit = unit_shown(f"{part.series.key}.{column.name}", part.series.units[column.source])
    if column.us:
        shown = tuple(us_customary(v, unit)[0] if isinstance(v, float) else v for v in values)
    else:
        shown = values
    places = column_decimals(column.name, shown, unit)
    role = "number_first" if column.source == 0 else "number"
    words = bench.styles("cell_text" if column.source else "wrapped")
    linked = part.series.key in {LINES, YEARS}
    for i, value in enumerate(shown):
        row = part.first_row + i
        live = live_cell(bench, name, part, (i, column)) if linked else None
        if isinstance(value, float):
            style = bench.styles(role, column_format(column.name, places[i], value))
            _number(sheet, (row, column), value, style, live[0] if live else None)
        elif live:
            _spanned(sheet, row, column, "", words)
            sheet.write_formula(row, column.start, live[0], words, value or live[1])
        elif value is None:
            _spanned(sheet, row, column, "", bench.styles("text"))
        else:
            text = value if isinstance(value, str) else "yes" if value else "no"
            if not part.series.key.startswith("water."):  # as the laboratory printed it
                text = bench.words(text)
            if part.series.key.startswith("verdict.") and column.name in _SENTENCES:
                text = sentence(text)
            _spanned(sheet, row, column, text, words)


def _number(
    sheet: Any, cell: tuple[int, Column], value: float, style: Any, formula: str | None
) -> None:
    row, column = cell
    if formula is None:
        sheet.write_number(row, column.start, value, style)
    else:
        sheet.write_formula(row, column.start, formula, style, value)


def _live_row(bench: Bench, name: str, part: TablePart, sheet: Any) -> None:
    """Interpolate the table at the recovery that stands in the recovery cell."""
    key, point = recovery_key(bench.study), design_row(bench.study, part.series.key)
    if part.live_row is None or key is None or point is None:
        return
    row, styles = part.live_row, bench.styles
    sheet.write_string(
        row, part.columns[-1].end + 1, "interpolated at the recovery set", styles("aside")
    )
    running = part.column(RECOVERY_COLUMN)
    target = f"${column_letter(running.start)}${row + 1}"
    for column in part.columns:
        value = part.series.rows[point][column.source]
        if not isinstance(value, float) or not _interpolates(part, column):
            continue
        if column.us:
            unit = unit_shown(f"{part.series.key}.{column.name}", part.series.units[column.source])
            value = us_customary(value, unit)[0]
        decimal = number_format(column_decimals(column.name, (value,))[0], value)
        if column.name == RECOVERY_COLUMN:
            formula = "=" + reference(bench.book.places[key], name)
            style = styles("live_label" if column.source == 0 else "live_row", decimal)
        else:
            formula = interpolation(part, running, column, target)
            style = styles("live_row", decimal)
        sheet.write_formula(row, column.start, formula, style, value)


def _interpolates(part: TablePart, column: Column) -> bool:
    cells = part.series.column(column.name)
    return all(isinstance(v, float) for v in cells)


def interpolation(part: TablePart, running: Column, column: Column, target: str) -> str:
    """Return the formula that reads a table linearly at the value of a cell.

    Parameters
    ----------
    part : TablePart
        The table with its rows and columns. [-]
    running : Column
        The column that runs, recovery. [-]
    column : Column
        The column to read. [-]
    target : str
        Reference to the cell with the value looked for. [-]

    Returns
    -------
    str
        A formula that starts with "=". [-]
    """
    x = _range(part, running)
    y = _range(part, column)
    step = f"MIN(MATCH({target},{x},1),{len(part.series.rows) - 1})"
    inside = f"AND({target}>=MIN({x}),{target}<=MAX({x}))"
    return (
        f"=IF({inside},INDEX({y},{step})+({target}-INDEX({x},{step}))"
        f"/(INDEX({x},{step}+1)-INDEX({x},{step}))*(INDEX({y},{step}+1)-INDEX({y},{step})),"
        '"outside")'
    )


def _range(part: TablePart, column: Column) -> str:
    first = reference(Place("", part.first_row, column.start), "")
    last = reference(Place("", part.last_row, column.start), "")
    return f"{first}:{last}"
