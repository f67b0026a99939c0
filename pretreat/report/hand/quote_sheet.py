"""The quote to the customer as a sheet: the lines and the money of the PDF, live."""

import datetime
import re
from typing import Any

from msgspec import Struct

from pretreat.report.hand.logo import Logo
from pretreat.report.hand.quote_document import DISCOUNT, Document, Total, quote_document
from pretreat.report.hand.quote_lines import Group, Line
from pretreat.report.workbook.bench import Bench, wrapped_lines
from pretreat.report.workbook.formulas import reference
from pretreat.report.workbook.layout import QUOTE
from pretreat.report.workbook.stale import write_changed
from pretreat.report.workbook.styles import LINE_HEIGHT

WIDTHS = (52.0, 10.0, 22.0, 14.0, 17.0)
LAST = len(WIDTHS) - 1
_QUANTITY, _UNIT, _PRICE, _AMOUNT = range(1, 5)
_CHARS, _ITEM_CHARS = 136, 60
OWN = "own"  # a line of the supplier, in any quantity
_SPACE = 5.0  # points of an empty row
_LOGO_PIXELS, _POINTS_PER_PIXEL = (260, 76), 0.75
_MONEY, _EXACT, _COUNT = "#,##0.00", "#,##0.00####", "#,##0"
_AS_TYPED = "General"  # a format of optional decimals ends a whole number with a bare point


class QuoteRows(Struct, frozen=True):
    """Rows of the sheet: how many, and the first under the sums; foot of its pages, two sides."""

    count: int
    under_totals: int
    foot: tuple[str, str]


_RATE, _NET = "\x01", "\x02"  # stand in a text for what a cell says


def _joined(text: str, rate: str, net: str = "") -> str:
    """Return a text as a formula, with cells where it holds a rate and a sum."""
    parts = (part for part in re.split(f"([{_RATE}{_NET}])", text) if part)
    cells = {_RATE: rate, _NET: net}
    return "&".join(cells.get(part) or '"' + part.replace('"', "'") + '"' for part in parts)


def write_quote(bench: Bench, sheet: Any, day: str, logo: Logo | None = None) -> QuoteRows:
    """Write the quote.

    Parameters
    ----------
    bench : Bench
        Study with a table of what is offered, cells and styles. [-]
    sheet : object
        The worksheet. [-]
    day : str
        Date of the calculation, may be empty. [-]
    logo : Logo, optional
        Picture of the letterhead. [-]

    Returns
    -------
    QuoteRows
        Rows in use, the row under the sums, and the foot of the pages. [-]
    """
    for column, width in enumerate(WIDTHS):
        sheet.set_column(column, column, width)
    written = bench.study.value("offer.date")
    date = datetime.date.fromisoformat(day) if day and not written else None
    document = quote_document(bench.study, us=bench.us, date=date, priced=False)
    page = _Page(bench, sheet, document)
    page.write(logo)
    words = document.words
    foot = (document.footer, words("page", page="&P", pages="&N"))
    return QuoteRows(page.row + 1, page.under_totals, foot)


class _Page:
    """Writes one document from top to bottom."""

    def __init__(self, bench: Bench, sheet: Any, document: Document) -> None:
        self.bench, self.sheet, self.document = bench, sheet, document
        self.styles, self.row, self.under_totals = bench.styles, 0, 0

    def write(self, logo: Logo | None) -> None:
        """Write everything."""
        if logo is not None:
            self._logo(logo)
        self._head()
        self._heads()
        self._lines()
        for heading, texts in self.document.paragraphs:
            self.space()
            self.wide(heading, "level")
            for text in texts:
                self.wide(text, "wrapped")
        self._signatures()

    def _logo(self, logo: Logo) -> None:
        scale = min(_LOGO_PIXELS[0] / logo.width, _LOGO_PIXELS[1] / logo.height)
        options = {"image_data": logo.picture(), "x_scale": scale, "y_scale": scale}
        self.sheet.insert_image(0, 0, "logo.png", {**options, "object_position": 1})
        self.sheet.set_row(0, logo.height * scale * _POINTS_PER_PIXEL + 6)
        self.row = 1

    def _head(self) -> None:
        document = self.document
        for text in document.letterhead:
            self.wide(text, "level")
        write_changed(self.bench, self.sheet, self.row, LAST)
        self.row += 1
        if document.customer:
            self.wide(document.words("customer"), "wrapped")
        for text in document.customer:
            self.wide(text, "level")
        for name, text in document.facts:
            self.sheet.write_string(self.row, 0, name, self.styles("label"))
            self.merged((1, LAST), text, "wrapped")
            self.row += 1
        self.row += 1
        self.sheet.write_string(self.row, 0, document.title, self.styles("title"))
        self.sheet.set_row(self.row, 20)
        self.row += 1
        for text in (document.draft, document.subject):
            if text:
                self.wide(text, "level")
        for text in document.intro:
            self.wide(text, "wrapped")
        self.space()

    def _lines(self) -> None:
        document = self.document
        for group in document.groups:
            self._group(group)
        for total in document.totals:
            self._total(total)
        for text in document.under_totals:
            self.wide(text, "wrapped")
        self.under_totals = self.row
        if document.options is not None:
            self.space()
            self._group(document.options)
            self.wide(document.options_note, "wrapped")

    def space(self) -> None:
        """Leave a low row empty."""
        self.sheet.set_row(self.row, _SPACE)
        self.row += 1

    def wide(self, text: str, role: str) -> None:
        """Write words over the whole page."""
        self.merged((0, LAST), text, role)
        self.sheet.set_row(self.row, LINE_HEIGHT * wrapped_lines(text, _CHARS))
        self.row += 1

    def merged(self, columns: tuple[int, int], text: str, role: str) -> None:
        """Write words over some columns of the row."""
        style = self.styles(role)
        self.sheet.merge_range(self.row, columns[0], self.row, columns[1], "", style)
        self.sheet.write_string(self.row, columns[0], text, style)

    def _heads(self) -> None:
        words = self.document.words
        currency = f" [{self.document.currency}]" if self.document.currency else ""
        for column, name in enumerate(("item", "quantity", "unit", "price", "amount")):
            numeric = column in {_QUANTITY, _PRICE, _AMOUNT}
            role = "head_number" if numeric else "head_cell" if column else "head"
            text = words(name) + (currency if column == _AMOUNT else "")
            self.sheet.write_string(self.row, column, text, self.styles(role))
        self.row += 1

    def _group(self, group: Group) -> None:
        self.merged((0, LAST), group.heading, "group")
        self.row += 1
        for line in group.lines:
            self._line(line)

    def _line(self, line: Line) -> None:
        self.sheet.write_string(self.row, 0, line.noted, self.styles("label"))
        self._unit(line)
        whole = line.quantity is None or line.quantity.is_integer()
        count = _COUNT if whole and line.keys["item"] != OWN else _AS_TYPED
        for column, name, value, digits in (
            (_QUANTITY, "packages_figure", line.quantity, count),
            (_PRICE, "price_figure", line.price, _EXACT),
            (_AMOUNT, "figure", line.amount, _MONEY),
        ):
            if column == _QUANTITY and line.amount is None:
                self._appears((self.row, column), line, value)
                continue
            gap = self.document.words("not_priced") if column == _AMOUNT else ""
            self.number((self.row, column), line.keys.get(name, ""), value, ("number", digits, gap))
        self.sheet.set_row(self.row, LINE_HEIGHT * wrapped_lines(line.noted, _ITEM_CHARS))
        self.row += 1

    def _unit(self, line: Line) -> None:
        if line.amount is None:
            self._appears((self.row, _UNIT), line, line.unit)
        else:
            self.sheet.write_string(self.row, _UNIT, line.unit, self.styles("cell_text"))

    def _appears(self, cell: tuple[int, int], line: Line, value: float | str | None) -> None:
        """Write what shows itself once the line has a price."""
        place = self.bench.book.places.get(line.keys["figure"])
        if place is None or value is None:
            return
        value = value.replace('"', "'") if isinstance(value, str) else value
        text = f'"{value}"' if isinstance(value, str) else repr(value)
        formula = f'=IF({reference(place, QUOTE)}="","",{text})'
        role = "cell_text" if isinstance(value, str) else "number"
        self.sheet.write_formula(*cell, formula, self.styles(role), "")

    def number(
        self, cell: tuple[int, int], key: str, value: float | None, look: tuple[str, str, str]
    ) -> None:
        """Write a number as a link to the cell of its figure; a gap as words."""
        role, digits, gap = look
        place = self.bench.book.places.get(key)
        shown: float | str = gap if value is None else value
        if place is None:
            if isinstance(shown, float):
                self.sheet.write_number(*cell, shown, self.styles(role, digits))
            else:
                self.sheet.write_string(*cell, shown, self.styles(role, digits))
            return
        target = reference(place, QUOTE)
        gap = gap.replace('"', "'")
        formula = f'=IF({target}="","{gap}",{target})'
        self.sheet.write_formula(*cell, formula, self.styles(role, digits), shown)

    def _total(self, total: Total) -> None:
        role = "strong" if total.strong else "label"
        words = self.document.words
        self.merged((0, _PRICE), total.label, role)
        label = self._live_label(total)
        if label:
            self.sheet.write_formula(self.row, 0, label, self.styles(role), total.label)
        number = "strong_number" if total.strong else "number"
        digits = f'"-"{_MONEY}' if total.key == DISCOUNT else _MONEY
        if total.strong and self.document.currency:
            digits = f'{digits} "{self.document.currency.replace(chr(34), "")}"'
        look = (number, digits, words("not_priced"))
        self.number((self.row, _AMOUNT), total.key, total.value, look)
        self.row += 1

    def _live_label(self, total: Total) -> str:
        """Return the formula of a label that says a rate, and what a tax is worked out on."""
        words, places = self.document.words, self.bench.book.places
        cells = [places.get(key) for key in (total.rate_key, total.net_key)]
        rate, net = ("" if cell is None else reference(cell, QUOTE) for cell in cells)
        if not rate:
            return ""
        if not total.net_key:
            return f"={_joined(words('discount', rate=_RATE), rate)}"
        if not net:
            return ""
        short, taxed, untaxed = (
            _joined(words(name, rate=_RATE, net=_NET), rate, f"FIXED({net},2)")
            for name in ("tax_short", "tax", "untaxed_net")
        )
        return f'=IF({net}="",{short},IF({rate}=0,{untaxed},{taxed}))'

    def _signatures(self) -> None:
        if self.document.draft:
            return
        self.sheet.set_row(self.row, 30)
        self.row += 1
        for column in range(LAST + 1):
            self.sheet.write_string(self.row, column, "", self.styles("signature"))
        for column, text in ((0, self.document.signed), (_UNIT, self.document.words("accept"))):
            self.sheet.write_string(self.row, column, text, self.styles("signature"))
