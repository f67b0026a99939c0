"""Cells of the cost tables that follow the cells of the figures behind them."""

from pretreat.core.basis import Figure, Series, Value
from pretreat.report.workbook.bench import Bench
from pretreat.report.workbook.formulas import column_letter, reference
from pretreat.report.workbook.marks import NONE_NOW
from pretreat.report.workbook.pages import Column, TablePart

Link = tuple[str, str]
LINES, YEARS = "quote.lines", "quote.years"
# Column of a line of the quote -> column with the key of the figure that it repeats.
BEHIND = {
    "quantity": "quantity_figure",
    "packages": "packages_figure",
    "unit_price": "price_figure",
    "amount": "figure",
}
RATE = "prices.discount_rate"
# What needs prices of consumables and of media, and is left out where a whole group has none.
PARTIAL = {
    "quote.cost_per_year",
    "quote.cost_per_m3",
    *(f"costs.year_{year:02d}_total" for year in range(1, 11)),
}


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
    if series.key == LINES and BEHIND.get(name) in series.columns:
        key = series.cell(row, BEHIND[name])
        return key if isinstance(key, str) and key else None
    if series.key == YEARS:
        year = series.rows[row][0]
        if name == "consumables":
            return "quote.consumables_per_year"
        if name in {"media", "total", "replaced"} and isinstance(year, float):
            return f"costs.year_{int(year):02d}_{name}"
    return None


def live_cell(bench: Bench, sheet: str, part: TablePart, cell: tuple[int, Column]) -> Link | None:
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
    tuple of str or None
        A formula that starts with "=", and the word it gives where there is no number; None
        where the cell is a value. [-]
    """
    row, column = cell
    value = part.series.rows[row][column.source]
    link = None if column.us else link_of(bench, sheet, (part.series, row, column.name), value)
    if link is None and part.series.key == YEARS and not column.us:
        return _follows(bench, sheet, part, cell)
    return link


def link_of(bench: Bench, sheet: str, cell: tuple[Series, int, str], value: Value) -> Link | None:
    """Return the formula that repeats the figure behind a cell, a gap as words.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    sheet : str
        Name of the sheet that holds the cell. [-]
    cell : tuple
        Series, row from zero and name of the column. [-]
    value : float, str or None
        What the cell shows now. [any]

    Returns
    -------
    tuple of str or None
        As `repeated`, None where no figure stands behind the cell. [-]
    """
    key = figure_of(*cell)
    if key is None or bench.study.value(key) != value:
        return None
    return repeated(bench, sheet, key)


def repeated(bench: Bench, sheet: str, key: str) -> Link | None:
    """Return the formula that repeats a figure; one that may be blank says so in words.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    sheet : str
        Name of the sheet that holds the formula. [-]
    key : str
        Key of the figure. [-]

    Returns
    -------
    tuple of str or None
        A formula that starts with "=", and the word it gives where there is no number; None
        where the figure has no cell that may be read. [-]
    """
    place, figure = bench.book.places.get(key), bench.study.figures.get(key)
    if place is None or figure is None:
        return None
    alive = key in bench.marks.formulas or bench.marks.is_input(key)
    if figure.value is None and not alive:
        return None
    cell = reference(place, sheet)
    may_be_blank = figure.value is None or '""' in (figure.formula or "")
    if not may_be_blank or isinstance(figure.value, str):
        return f"={cell}", ""
    word = gap_word(figure)
    return f'=IF({cell}="","{word}",{cell})', word


def gap_word(figure: Figure) -> str:
    """Return what stands in the place of a number that a figure has not.

    Parameters
    ----------
    figure : Figure
        The figure. [-]

    Returns
    -------
    str
        Words. [-]
    """
    if figure.key in {RATE, "quote.npv"}:
        return "no rate"
    if figure.key in PARTIAL:
        return "incomplete"
    return "no price" if figure.key.startswith(("prices.", "costs.", "quote.")) else NONE_NOW


def _follows(bench: Bench, sheet: str, part: TablePart, cell: tuple[int, Column]) -> Link | None:
    """Return present value and running sum of the costs of the years."""
    row, column = cell
    names = part.series.columns
    if not {"year", "total"} <= set(names):
        return None
    year, total = (
        f"{column_letter(part.column(n).start)}{part.first_row + row + 1}"
        for n in ("year", "total")
    )
    place = bench.book.places.get(RATE)
    if column.name == "discounted" and place is not None:
        rate = reference(place, sheet)
        blank = f'OR({rate}="",NOT(ISNUMBER({total})))'
        word = gap_word(bench.study[RATE])
        return f'=IF({blank},"{word}",{total}/(1+{rate})^{year})', word
    if column.name == "accumulated":
        letter = column_letter(part.column("total").start)
        area = f"{letter}${part.first_row + 1}:{total}"
        return f'=IF(ISNUMBER({total}),SUM({area}),"incomplete")', "incomplete"
    return None
