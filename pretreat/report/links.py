"""Cells of the cost tables that follow the cells of the figures behind them."""

from pretreat.basis import Series
from pretreat.report.bench import Bench
from pretreat.report.formulas import column_letter, reference
from pretreat.report.pages import Column, TablePart

LINES, YEARS = "quote.lines", "quote.years"
_RATE = "prices.discount_rate"


def figure_of(series: Series, row: int, name: str) -> str | None:
    """Return the key of the figure that a cell of a cost table repeats.

    Parameters
    ----------
    series : Series
        The table. [-]
    row : int
        Row from zero. [-]
    name : str
        Name of the column. [-]

    Returns
    -------
    str or None
        Key of a figure, None for a cell that repeats none. [-]
    """
    if series.key == LINES and name == "amount" and "figure" in series.columns:
        key = series.column("figure")[row]
        return key if isinstance(key, str) else None
    if series.key == YEARS:
        year = series.rows[row][0]
        if name == "consumables":
            return "quote.consumables_per_year"
        if name in {"media", "total"} and isinstance(year, float):
            return f"costs.year_{int(year):02d}_{name}"
    return None


def live_cell(bench: Bench, sheet: str, part: TablePart, cell: tuple[int, Column]) -> str | None:
    """Return the formula of a cell of a cost table.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    sheet : str
        Name of the sheet. [-]
    part : TablePart
        The table. [-]
    cell : tuple
        Row of the table from zero, and column. [-]

    Returns
    -------
    str or None
        A formula that starts with "=", None where the cell is a value. [-]
    """
    row, column = cell
    key = figure_of(part.series, row, column.name)
    value = part.series.rows[row][column.source]
    if key is not None and bench.study.number(key) == value and key in bench.marks.numbers:
        return "=" + reference(bench.marks.numbers[key], sheet)
    if part.series.key == YEARS and not column.us:
        return _follows(bench, sheet, part, cell)
    return None


def _follows(bench: Bench, sheet: str, part: TablePart, cell: tuple[int, Column]) -> str | None:
    """Return present value and running sum of the costs of the years."""
    row, column = cell
    names = part.series.columns
    if not {"year", "total"} <= set(names):
        return None
    year, total = (
        f"{column_letter(part.column(n).start)}{part.first_row + row + 1}"
        for n in ("year", "total")
    )
    rate = bench.marks.numbers.get(_RATE)
    if column.name == "discounted" and rate is not None:
        return f"={total}/(1+{reference(rate, sheet)})^{year}"
    if column.name == "accumulated":
        letter = column_letter(part.column("total").start)
        return f"=SUM({letter}${part.first_row + 1}:{total})"
    return None
