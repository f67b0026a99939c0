"""A PDF page of lines, boxes and words, in letters every reader has."""

import datetime
from typing import Any

from msgspec import Struct

from pretreat.core.basis import Value
from pretreat.core.results import Study
from pretreat.core.units import us_customary
from pretreat.report.digits import decimals_of, shown
from pretreat.report.hand.card_lines import unit_shown

MARGIN_MM = 11.0
SIZES_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
GREY, INK, THICK_MM, THIN_MM = 232, 30, 0.55, 0.15
_LETTERS = {
    "–": "-", "—": "-", "‘": "'", "’": "'", "“": '"', "”": '"', "μ": "µ", "₂": "2", "₃": "3",
    "₄": "4", "−": "-", "≤": "<=", "≥": ">=", "→": "->", "…": "...",
}  # fmt: skip


class Box(Struct, frozen=True):
    """Where something stands on the page [mm]."""

    x: float
    y: float
    w: float
    h: float


class Look(Struct, frozen=True):
    """How words are printed: size [points], bold, place, shaded, frame: 0 none, 1 thin, 2 thick."""

    size: float = 8.0
    bold: bool = False
    align: str = "L"
    shaded: bool = False
    frame: int = 1


class Sheet:
    """Pages of one PDF; the same study and day give the same bytes."""

    def __init__(self, study: Study, us: bool, day: datetime.date) -> None:
        from fpdf import FPDF

        self.study, self.us = study, us
        self.paper = SIZES_MM["letter" if us else "a4"]
        pdf: Any = FPDF(unit="mm", format=self.paper)
        pdf.set_auto_page_break(False)
        pdf.set_creation_date(datetime.datetime.combine(day, datetime.time(), datetime.UTC))
        pdf.set_text_color(INK)
        self.pdf = pdf

    @property
    def width(self) -> float:
        """Width between the margins. [mm]."""
        return self.paper[0] - 2 * MARGIN_MM

    def words(self, box: Box, text: str, look: Look) -> None:
        """Write words into a box, wrapped, smaller where they would not fit."""
        pdf, text = self.pdf, _plain(text)
        if look.shaded:
            pdf.set_fill_color(GREY)
            pdf.rect(box.x, box.y, box.w, box.h, style="F")
        size = look.size
        while True:
            pdf.set_font("Helvetica", "B" if look.bold else "", size)
            line_mm = size * 0.41
            lines = pdf.multi_cell(box.w - 1, line_mm, text, dry_run=True, output="LINES")
            if size <= 5.0 or len(lines) * line_mm <= box.h:
                break
            size -= 0.5
        pdf.set_xy(box.x + 0.5, box.y + max(0.0, (box.h - len(lines) * line_mm) / 2))
        pdf.multi_cell(box.w - 1, line_mm, text, align=look.align)
        self.frame(box, look.frame)

    def frame(self, box: Box, kind: int) -> None:
        """Draw the frame of a box."""
        if kind:
            self.pdf.set_line_width(THICK_MM if kind > 1 else THIN_MM)
            self.pdf.rect(box.x, box.y, box.w, box.h)

    def number(self, value: Value, unit: str) -> str:
        """Return a value as it is printed, in the units of the page."""
        if not isinstance(value, float):
            return "" if value is None else str(value)
        number = us_customary(value, unit)[0] if self.us else value
        return shown(number, 0 if number.is_integer() else decimals_of(number))

    def figure(self, key: str) -> tuple[str, str]:
        """Return a figure and its unit as they are printed; empty where there is none."""
        found = self.study.figures.get(key)
        if found is None:
            return "", ""
        unit = unit_shown(found.unit, self.us)
        return self.number(found.value, found.unit), "" if unit == "-" else unit

    def foot(self, title: str, site: str, day: datetime.date) -> None:
        """Write the line at the foot of the page."""
        y = self.paper[1] - 9.0
        for align, text in (("L", site), ("C", title), ("R", day.isoformat())):
            self.words(Box(MARGIN_MM, y, self.width, 5.0), text, Look(7.5, align=align, frame=0))


def _plain(text: str) -> str:
    """Return text in the letters of the font."""
    for letter, other in _LETTERS.items():
        text = text.replace(letter, other)
    return text.encode("latin-1", "replace").decode("latin-1")
