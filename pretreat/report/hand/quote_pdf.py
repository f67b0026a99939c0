"""The quote as a PDF of one or two upright pages, ready to be sent.

fpdf2 sets it: pure Python, embeds only the letters used, and needs no program beside it.
"""

import datetime
import logging
from pathlib import Path
from typing import Any, Literal

from msgspec import Struct

from pretreat.core.results import Study
from pretreat.report.files import replace_file
from pretreat.report.hand.logo import Logo, read_logo
from pretreat.report.hand.quote_document import Document, Total, quote_document
from pretreat.report.hand.quote_fonts import FAMILY, Letters, add_fonts
from pretreat.report.hand.quote_lines import Group, Line
from pretreat.report.hand.quote_print import CLOSE, USUAL, Print, even_start, freed, kept_together

Units = Literal["si", "us"]
Colour = tuple[int, int, int]

INK: Colour = (33, 37, 41)
SOFT: Colour = (96, 104, 112)
RULE: Colour = (198, 204, 210)
FILL: Colour = (236, 240, 243)
ALARM: Colour = (176, 0, 32)
MARGIN, FOOT = 18.0, 16.0  # mm
SHARES = (0.43, 0.10, 0.19, 0.13, 0.15)  # of the width of the page
TAXED = (0.37, 0.09, 0.19, 0.12, 0.08, 0.15)  # with a rate of tax on each line
LOGO_MM = (62.0, 20.0)
SIGN_MM = 22.0


class Look(Struct, frozen=True):
    """How a quote looks: units of the reader, a PNG or JPEG, a font for letters that are rare."""

    units: Units = "si"
    logo: Path | None = None
    font: Path | None = None


class WrittenQuote(Struct, frozen=True):
    """A quote as bytes, and the letters that no font had."""

    content: bytes
    pages: int
    lost: str


def write_quote(
    study: Study,
    path: str | Path,
    *,
    look: Look | None = None,
    date: datetime.date | None = None,
    number: str = "",
) -> WrittenQuote:
    """Write the quote of a study as a PDF; the file changes whole or not at all.

    Parameters
    ----------
    study : Study
        A study with a table of what is offered. [-]
    path : str or Path
        Where to; the folder is made if it is not there. [-]
    look : Look, optional
        Units of the reader, logo and font. [-]
    date : date, optional
        Date of issue; that of the site file, else today, if omitted. [-]
    number : str
        Number of the quote where the site file gives none. [-]

    Returns
    -------
    WrittenQuote
        What was written. [-]

    Raises
    ------
    PretreatError
        If nothing that is offered has a price, or logo, font or file cannot be used.
    """
    look = look or Look()
    document = quote_document(study, us=look.units == "us", date=date, number=number)
    picture = None if look.logo is None else read_logo(look.logo)
    written = quote_bytes(document, logo=picture, font=look.font)
    replace_file(Path(path), written.content)
    return written


def quote_bytes(
    document: Document, *, logo: Logo | None = None, font: Path | None = None
) -> WrittenQuote:
    """Set a quote on pages.

    Parameters
    ----------
    document : Document
        The quote, word for word. [-]
    logo : Logo, optional
        Picture of the letterhead. [-]
    font : Path, optional
        Font for letters that the built-in one lacks. [-]

    Returns
    -------
    WrittenQuote
        The same document gives the same bytes. [-]
    """
    usual = _Setter(document, font, USUAL)
    usual.set(logo)
    if usual.pages == 1:
        return usual.written()
    close = _Setter(document, font, CLOSE)
    close.set(logo)
    better = (close.pages, close.totals_apart) < (usual.pages, usual.totals_apart)
    best = close if better else usual
    start = best.even_start()
    if start is not None:
        best = _Setter(document, font, best.print, start)
        best.set(logo)
    return best.written()


class _Setter:
    """Sets one document."""

    def __init__(
        self, document: Document, font: Path | None, sizes: Print, start: int = -1
    ) -> None:
        from fpdf import FPDF

        logging.getLogger("fontTools").setLevel(logging.ERROR)
        self.document, self.words, self.print = document, document.words, sizes
        paper = "Letter" if document.words.us else "A4"
        setter = self

        class Pages(FPDF):
            def footer(self) -> None:
                setter.footer()

        self.pdf: Any = Pages(format=paper, unit="mm")
        self.pdf.set_margins(MARGIN, MARGIN, MARGIN)
        self.pdf.set_auto_page_break(False)
        self.pdf.c_margin = 0.0
        add_fonts(self.pdf, font)
        self.letters = Letters(self.pdf)
        self.width = self.pdf.w - 2 * MARGIN
        self.bottom = self.pdf.h - FOOT - 4.0
        self.taxed = document.taxed_by_line
        self.columns = tuple(each * self.width for each in (TAXED if self.taxed else SHARES))
        self.totals_apart = False
        self.table_page = 0  # that of the last heads of the table
        self.start = start  # the part that begins a page, so that the last is not nearly empty
        self.ends: list[tuple[int, float]] = []  # page and place where a page was left
        self.parts: list[tuple[int, float]] = []  # page and place of each part behind the sums

    @property
    def pages(self) -> int:
        """How many pages were set."""
        return int(self.pdf.pages_count)

    def even_start(self) -> int | None:
        """Return the part that should begin the last page, None where it is half full anyway."""
        page = (MARGIN, self.bottom)
        return even_start(self.parts, self.ends, (self.pages, self.pdf.get_y()), page)

    def _part(self) -> None:
        """Begin a part: on a page of its own where that makes the pages even."""
        if len(self.parts) == self.start:
            self.pdf.add_page()
            self.pdf.set_y(MARGIN)
        self.parts.append((self.pages, float(self.pdf.get_y())))

    def written(self) -> WrittenQuote:
        """Return what was set."""
        lost = "".join(self.letters.lost)
        return WrittenQuote(bytes(self.pdf.output()), self.pages, lost)

    def set(self, logo: Logo | None) -> None:
        """Set everything."""
        document, pdf = self.document, self.pdf
        moment = datetime.datetime.combine(document.day, datetime.time(), datetime.UTC)
        pdf.set_creation_date(moment)
        pdf.set_lang(self.words.language)
        pdf.set_title(self.letters(f"{document.title} {' '.join(document.customer[:1])}".strip()))
        pdf.set_creator("pretreat")
        if document.letterhead:
            pdf.set_author(self.letters(document.letterhead[0]))
        pdf.set_display_mode("fullwidth", "continuous")
        pdf.add_page()
        self._letterhead(logo)
        self._head()
        self._table()
        self._options()
        self._paragraphs()
        self._signatures()
        pdf.alias_nb_pages()

    # --- small things ---------------------------------------------------------------------

    def font(self, size: float, *, bold: bool = False, colour: Colour = INK) -> None:
        self.pdf.set_font(FAMILY, "B" if bold else "", size)
        self.pdf.set_text_color(*colour)

    def lines(self, text: str, width: float, size: float, *, bold: bool = False) -> list[str]:
        """Return a text cut into the lines that fit a width."""
        self.font(size, bold=bold)
        shown = kept_together(self.letters(text))
        if "\n" not in shown and self.pdf.get_string_width(shown) < width:
            return [freed(shown)]  # most are, and it is quicker told so
        found: list[str] = self.pdf.multi_cell(
            width,
            self.print.lead * size,
            shown,
            dry_run=True,
            output="LINES",
            align="L",
        )
        return [freed(line) for line in found]

    def put(
        self, x: float, y: float, width: float, lines: list[str], size: float, **look: Any
    ) -> float:
        """Print lines; return the height that they take."""
        align, lead = look.pop("align", "L"), self.print.lead * size
        self.font(size, **look)
        for n, line in enumerate(lines):
            self.pdf.set_xy(x, y + n * lead)
            self.pdf.cell(width, lead, line, align=align)
        return lead * len(lines)

    def rule(self, y: float, *, colour: Colour = RULE, x: float | None = None) -> None:
        self.pdf.set_draw_color(*colour)
        self.pdf.set_line_width(0.2)
        self.pdf.line(MARGIN if x is None else x, y, MARGIN + self.width, y)

    def room(self, height: float) -> bool:
        """Begin a page where a height does not fit; tell whether it did."""
        if self.pdf.get_y() + height <= self.bottom:
            return False
        self.ends.append((self.pages, float(self.pdf.get_y())))
        self.pdf.add_page()
        self.pdf.set_y(MARGIN)
        return True

    def row_mm(self, size: float) -> float:
        """Return the height of a row of one line."""
        return self.print.lead * size + 2 * self.print.pad

    def down(self, gap: float) -> None:
        """Leave a gap, in mm of the usual print."""
        self.pdf.set_y(self.pdf.get_y() + gap * self.print.gap)

    def footer(self) -> None:
        """Write the foot of a page."""
        y = self.pdf.h - FOOT + 2.0
        self.rule(y - 1.5)
        left = self.document.footer
        pages = self.words("page", page=str(self.pdf.page_no()), pages="{nb}")
        self.put(
            MARGIN,
            y,
            self.width * 0.7,
            self.lines(left, self.width * 0.7, self.print.small)[:1],
            self.print.small,
            colour=SOFT,
        )
        self.font(self.print.small)
        wide = self.pdf.get_string_width(pages.replace("{nb}", "2"))  # ends at the margin
        self.put(MARGIN + self.width - wide, y, wide, [pages], self.print.small, colour=SOFT)

    # --- the parts --------------------------------------------------------------------------

    def _letterhead(self, logo: Logo | None) -> None:
        pdf, top, high = self.pdf, MARGIN - 4.0, 0.0
        if logo is not None:
            share = min(LOGO_MM[0] / logo.width, LOGO_MM[1] / logo.height)
            size = (logo.width * share, logo.height * share)
            pdf.image(logo.picture(), MARGIN, top, *size)
            high = size[1]
        half = self.width / 2
        y = top
        for n, row in enumerate(self.document.letterhead):
            points = self.print.head if n == 0 else self.print.small
            x, wide, align = (MARGIN + half, half, "R") if logo else (MARGIN, self.width, "L")
            found = self.lines(row, wide, points, bold=n == 0)
            y += self.put(
                x, y, wide, found, points, bold=n == 0, align=align, colour=INK if n == 0 else SOFT
            )
        height = max(high, y - top)
        if height:
            self.rule(top + height + 2.0)
            height += 6.0
        pdf.set_y(top + height)

    def _head(self) -> None:
        """Set customer and facts side by side, then title, subject and what it rests on."""
        pdf, document, half = self.pdf, self.document, self.width / 2
        top = y = pdf.get_y() + 1.0
        if document.customer:
            y += (
                self.put(MARGIN, y, half, [self.words("customer")], self.print.small, colour=SOFT)
                + 0.5
            )
        for n, row in enumerate(document.customer):
            found = self.lines(row, half - 6.0, self.print.head, bold=n == 0)
            y += self.put(MARGIN, y, half, found, self.print.head, bold=n == 0)
        right = MARGIN + half
        self.font(self.print.body)
        names = [self.pdf.get_string_width(name) for name, _ in document.facts]
        lead = max(24.0, *names) + 3.0
        z = top
        for name, text in document.facts:
            self.put(right, z, lead, [name], self.print.body, colour=SOFT)
            found = self.lines(text, half - lead, self.print.body)
            z += self.put(right + lead, z, half - lead, found, self.print.body) + 0.6
        y = max(y, z) + 6.0 * self.print.gap
        y += self.put(MARGIN, y, self.width, [document.title], self.print.title, bold=True) + 1.0
        if document.draft:
            found = self.lines(document.draft, self.width, self.print.head, bold=True)
            y += (
                self.put(MARGIN, y, self.width, found, self.print.head, bold=True, colour=ALARM)
                + 1.0
            )
        found = self.lines(document.subject, self.width, self.print.head, bold=True)
        y += self.put(MARGIN, y, self.width, found, self.print.head, bold=True) + 1.0
        for text in document.intro:
            y += (
                self.put(
                    MARGIN,
                    y,
                    self.width,
                    self.lines(text, self.width, self.print.body),
                    self.print.body,
                )
                + 0.8
            )
        pdf.set_y(y)
        self.down(3.0)

    def _cells(self, texts: tuple[str, ...], **look: Any) -> float:
        """Print a row of the table; return its height."""
        size = look.pop("size", self.print.body)
        fill = look.pop("fill", False)
        bold = look.get("bold", False)
        cut = [
            self.lines(text, width - 2.0, size, bold=bold)
            for text, width in zip(texts, self.columns, strict=True)
        ]
        high = max(len(lines) for lines in cut) * self.print.lead * size + 2 * self.print.pad
        if self.room(high) and not fill:
            self._heads()
        y = self.pdf.get_y()
        if fill:
            self.pdf.set_fill_color(*FILL)
            self.pdf.rect(MARGIN, y, self.width, high, style="F")
        x = MARGIN
        for n, (lines, width) in enumerate(zip(cut, self.columns, strict=True)):
            align = "L" if n in {0, 2} else "R"
            self.put(x + 1.0, y + self.print.pad, width - 2.0, lines, size, align=align, **look)
            x += width
        self.pdf.set_y(y + high)
        return float(high)

    def _heads(self) -> None:
        names = tuple(self.words(n) for n in ("item", "quantity", "unit", "price", "amount"))
        unit = f" [{self.document.currency}]" if self.document.currency else ""
        rate = (self.words("tax_column"),) * self.taxed
        texts = (*names[:4], *rate, names[4] + unit)
        self._cells(texts, size=self.print.small, bold=True, fill=True)

    def _table(self) -> None:
        if not self.document.groups:
            return
        self._heads()
        for group in self.document.groups:
            self._group(group)
        self.table_page = self.pages
        self.totals_apart = self.room(
            (len(self.document.totals) + 2) * self.row_mm(self.print.head)
        )
        self.rule(self.pdf.get_y() + 0.5, colour=SOFT)
        self.pdf.set_y(self.pdf.get_y() + 1.5)
        for total in self.document.totals:
            self._total(total)
        for text in self.document.under_totals:
            found = self.lines(text, self.width, self.print.small)
            y = self.pdf.get_y() + 1.0
            high = self.put(MARGIN, y, self.width, found, self.print.small, colour=SOFT, align="R")
            self.pdf.set_y(y + high)

    def _group(self, group: Group) -> None:
        self.room(3 * self.row_mm(self.print.body))
        y = self.pdf.get_y() + 1.2
        high = self.put(
            MARGIN + 1.0, y, self.width, [self.letters(group.heading)], self.print.body, bold=True
        )
        self.pdf.set_y(y + high + self.print.pad)
        for n, line in enumerate(group.lines):
            if n:
                self.rule(self.pdf.get_y())
            self._cells(self._texts(line))

    def _texts(self, line: Line) -> tuple[str, ...]:
        words = self.words
        rate = (line.tax,) * self.taxed
        if line.amount is None:
            return line.text, "", "", "", *rate, words("not_priced")
        quantity = "" if line.quantity is None else words.count(line.quantity)
        price = "" if line.price is None else words.price(line.price)
        return line.text, quantity, line.unit, price, *rate, words.money(line.amount)

    def _total(self, total: Total) -> None:
        size = self.print.head if total.strong else self.print.body
        high = self.row_mm(size)
        self.room(high)
        y = self.pdf.get_y()
        wide = (SHARES[-1] + SHARES[-2]) * self.width
        if total.strong:
            self.pdf.set_fill_color(*FILL)
            self.pdf.rect(MARGIN + self.width / 2, y, self.width / 2, high, style="F")
        look: dict[str, Any] = {"bold": total.strong, "align": "R"}
        self.put(MARGIN, y + self.print.pad, self.width - wide + 4.0, [total.label], size, **look)
        value = 0.0 if total.value is None else total.value
        sign = "-" if total.key == "quote.discount" and value else ""
        currency = f" {self.document.currency}" if total.strong and self.document.currency else ""
        shown = f"{sign}{self.words.money(value)}{currency}"
        self.put(MARGIN, y + self.print.pad, self.width - 1.0, [self.letters(shown)], size, **look)
        self.pdf.set_y(y + high)

    def _options(self) -> None:
        group = self.document.options
        if group is None:
            return
        self._part()
        rows = sum(self._row_lines(self._texts(line)) for line in group.lines)
        self.room(rows * self.row_mm(self.print.body) + 4 * self.row_mm(self.print.head))
        self.down(3.0)
        self._heading(group.heading)
        note = self.lines(self.document.options_note, self.width, self.print.small)
        y = self.pdf.get_y()
        high = self.put(MARGIN, y, self.width, note, self.print.small, colour=SOFT)
        self.pdf.set_y(y + high + 1.0)
        if not self.document.groups or self.pages > self.table_page:
            self._heads()  # else they stand above on the same page
        for n, line in enumerate(group.lines):
            if n:
                self.rule(self.pdf.get_y())
            self._cells(self._texts(line))

    def _row_lines(self, texts: tuple[str, ...]) -> int:
        """Return how many lines the highest cell of a row takes."""
        pairs = zip(texts, self.columns, strict=True)
        return max(len(self.lines(text, width - 2.0, self.print.body)) for text, width in pairs)

    def _heading(self, text: str) -> None:
        y = self.pdf.get_y()
        high = self.put(MARGIN, y, self.width, [self.letters(text)], self.print.head, bold=True)
        self.pdf.set_y(y + high + 0.6)

    def _paragraphs(self) -> None:
        """Set each paragraph whole where a page holds it, the last one with the signatures."""
        self.down(3.0)
        last = len(self.document.paragraphs) - 1
        for n, (heading, rows) in enumerate(self.document.paragraphs):
            self._part()
            cut = [self.lines(row, self.width, self.print.body) for row in rows]
            lead, gap = self.print.lead * self.print.body, 0.8 * self.print.gap
            high = self.print.lead * self.print.head + 0.6 + lead * sum(map(len, cut))
            high += gap * len(cut) + (self._sign_mm() if n == last else 0.0)
            if high <= self.bottom - MARGIN:
                self.room(high)
            else:
                self.room(self.print.lead * self.print.head + lead * len(cut[0]) + 1.0)
            self._heading(heading)
            for lines in cut:
                self.room(lead * min(len(lines), 3))
                y = self.pdf.get_y()
                self.pdf.set_y(y + self.put(MARGIN, y, self.width, lines, self.print.body) + gap)
            self.down(1.6)

    def _sign_mm(self) -> float:
        """Return the room that the signatures take, none on a draft."""
        return 0.0 if self.document.draft else SIGN_MM

    def _signatures(self) -> None:
        if self.document.draft:
            return
        self.room(SIGN_MM - 2.0)
        y = self.pdf.get_y() + SIGN_MM - 9.0
        half = self.width / 2 - 6.0
        texts = (self.document.signed, self.words("accept"))
        for x, text in zip((MARGIN, MARGIN + half + 12.0), texts, strict=True):
            self.pdf.set_draw_color(*SOFT)
            self.pdf.line(x, y, x + half, y)
            found = self.lines(text, half, self.print.small)[:2]
            self.put(x, y + 1.0, half, found, self.print.small, colour=SOFT)
