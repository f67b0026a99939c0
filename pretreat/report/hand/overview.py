"""The overview of many quotes: a workbook with the stock of each month, and a CSV."""

import csv
import io
from collections.abc import Sequence
from typing import Any

from msgspec import Struct

from pretreat.core.basis import Value
from pretreat.core.doors import csv_text, plain_text
from pretreat.core.units import us_customary
from pretreat.report.hand.quote_sentences import in_its_unit
from pretreat.report.hand.quote_words import words_of
from pretreat.report.workbook.styles import FONT, HEAD_FILL

COLUMNS = (
    "customer",
    "file",
    "status",
    "net",
    "tax",
    "gross",
    "currency",
    "next_visit",
    "message",
)
STOCK = ("month", "for", "item", "quantity", "unit", "packages", "package", "customers")
US_SIZES = (
    "lb",
    "lb)",
    "ft3",
)  # of packages of the US trade, whose quantities are in its units too
WHOLE_FROM = 100.0
PIECE = "piece"
_WIDTHS = (34, 34, 9, 12, 12, 12, 9, 12, 80)
_STOCK_WIDTHS = (10, 24, 30, 12, 8, 10, 20, 11)


class QuoteRow(Struct, frozen=True):
    """One customer of the overview; ``file`` is empty where nothing was written."""

    customer: str
    file: str
    status: str
    net: float | None
    tax: float | None
    gross: float | None
    currency: str
    next_visit: str
    message: str

    def values(self) -> tuple[Value, ...]:
        """Return the cells in the order of the columns."""
        return tuple(getattr(self, name) for name in COLUMNS)


def overview_csv(rows: Sequence[QuoteRow]) -> bytes:
    """Return the overview as CSV.

    Parameters
    ----------
    rows : sequence of QuoteRow
        One a customer. [-]

    Returns
    -------
    bytes
        UTF-8; money with two decimals, a text that a sheet would take for a formula with an
        apostrophe before it. [-]
    """
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows([_plain(value) for value in row.values()] for row in rows)
    return buffer.getvalue().encode()


def _plain(value: Value) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.2f}"
    return csv_text(value)


def overview_workbook(rows: Sequence[QuoteRow], stock: Sequence[Any]) -> bytes:
    """Return the overview as a workbook with two sheets.

    Parameters
    ----------
    rows : sequence of QuoteRow
        One a customer. [-]
    stock : sequence of object
        What all customers need, by month (see `pretreat.quote.stock`). [-]

    Returns
    -------
    bytes
        An .xlsx file. [-]
    """
    import xlsxwriter

    memory = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    book = xlsxwriter.Workbook(memory, options)
    looks = {
        "head": book.add_format(
            {"font_name": FONT, "bold": True, "bg_color": HEAD_FILL, "bottom": 1}
        ),
        "text": book.add_format({"font_name": FONT, "text_wrap": True, "valign": "top"}),
        "money": book.add_format({"font_name": FONT, "num_format": "#,##0.00", "valign": "top"}),
        "count": book.add_format({"font_name": FONT, "num_format": "#,##0", "valign": "top"}),
        "part": book.add_format({"font_name": FONT, "num_format": "#,##0.0##", "valign": "top"}),
    }
    _sheet(book, "Quotes", (COLUMNS, _WIDTHS, [row.values() for row in rows]), looks, "money")
    _sheet(book, "Stock per month", (STOCK, _STOCK_WIDTHS, _stock(stock)), looks, "count")
    book.close()
    return memory.getvalue()


def _stock(stock: Sequence[Any]) -> list[tuple[Value, ...]]:
    words = words_of("en")
    found: list[tuple[Value, ...]] = []
    for one in stock:
        need = one.need
        if not one.packages:
            continue  # what is open from the month before serves on
        package = words(need.package, "packages") or need.package
        if need.size_in_words:
            package = words("of", "packages", package=package, size=need.size_in_words)
        item = words(need.item, "items") or need.item
        if need.kind:
            item = words(need.kind, "delivered", percent=words.rate(need.percent))
        quantity, unit = in_its_unit(need.item, one.quantity, need.unit, need.size_in_words)
        if need.size_in_words.endswith(US_SIZES):
            quantity, unit = us_customary(quantity, unit)
        found.append(
            (
                need.month,
                need.purpose,
                item,
                one.packages if need.package == PIECE else _rounded(quantity),
                unit,
                one.packages,
                package,
                float(one.customers),
            )
        )
    return found


def _rounded(quantity: float) -> float:
    """Return a quantity as it is needed in a store: whole from 100 on, else with three digits."""
    return float(round(quantity)) if quantity >= WHOLE_FROM else float(f"{quantity:.3g}")


def _sheet(
    book: Any,
    name: str,
    table: tuple[Sequence[str], Sequence[int], Sequence[Sequence[Value]]],
    looks: dict[str, Any],
    number: str,
) -> None:
    heads, widths, rows = table
    sheet = book.add_worksheet(name)
    for column, (head, width) in enumerate(zip(heads, widths, strict=True)):
        sheet.set_column(column, column, width)
        sheet.write_string(0, column, head, looks["head"])
    for n, row in enumerate(rows, start=1):
        for column, value in enumerate(row):
            if isinstance(value, float):
                part = number == "count" and not value.is_integer()
                sheet.write_number(n, column, value, looks["part" if part else number])
            elif value:
                sheet.write_string(n, column, plain_text(str(value)), looks["text"])
    sheet.freeze_panes(1, 1)
    sheet.autofilter(0, 0, max(len(rows), 1), len(heads) - 1)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)
