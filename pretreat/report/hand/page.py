"""A page to be filled in by hand: a fine grid, large print, boxes for a pen and a wet glove."""

from typing import Any

from pretreat.core.basis import Figure, Value
from pretreat.core.units import US_CUSTOMARY, us_customary
from pretreat.report.digits import decimals, decimals_of, number_format
from pretreat.report.workbook.bench import Bench
from pretreat.report.workbook.formulas import reference, us_formula
from pretreat.report.workbook.paper import PrintRun, set_up_one_page
from pretreat.report.workbook.stale import CHANGED, is_live
from pretreat.report.workbook.styles import FONT, HAIR, HEAD_FILL, INK

COLUMNS = 24  # of one width; every block of the page is merged from them
BOX_POINTS = 24.0  # height of a row that is written into
_WIDTH_DIGITS = {"a4": 3.7, "letter": 3.85}
_MARGINS = {"left": 0.5, "right": 0.5, "top": 0.4, "bottom": 0.55}  # inch
_LOOKS: dict[str, dict[str, Any]] = {
    "title": {"bold": True, "font_size": 17},
    "site": {"font_size": 9.5},
    "head": {"bold": True, "font_size": 9, "bg_color": HEAD_FILL, "text_wrap": True, "border": 1},
    "head_right": {
        "bold": True,
        "font_size": 8.5,
        "bg_color": HEAD_FILL,
        "text_wrap": True,
        "border": 1,
        "align": "center",
    },
    "name": {"font_size": 10, "text_wrap": True, "border": 1, "indent": 1},
    "name_strong": {"font_size": 11, "bold": True, "border": 1, "indent": 1},
    "small": {"font_size": 8.5, "text_wrap": True},
    "step": {"font_size": 8.5, "text_wrap": True, "bottom": 1, "bottom_color": HAIR},
    "unit": {"font_size": 9, "border": 1, "align": "center", "text_wrap": True},
    "value": {"font_size": 10, "border": 1, "align": "center"},
    "value_strong": {
        "font_size": 11,
        "bold": True,
        "border": 1,
        "align": "center",
        "bg_color": HEAD_FILL,
    },
    "value_fit": {
        "font_size": 11,
        "bold": True,
        "border": 1,
        "align": "center",
        "bg_color": HEAD_FILL,
        "shrink": True,
    },
    "value_large": {"font_size": 15, "bold": True, "border": 1, "align": "center"},
    "words": {"font_size": 8.2, "border": 1, "text_wrap": True},
    "words_strong": {
        "font_size": 8.2,
        "bold": True,
        "border": 1,
        "text_wrap": True,
        "bg_color": HEAD_FILL,
    },
    "box": {"border": 2, "font_size": 12},
    "notes": {"font_size": 9, "border": 1, "valign": "top", "indent": 1},
    "tick": {"border": 1, "font_size": 10},
}


class HandPage:
    """One sheet of this kind, with formats made once and cells that span the fine grid."""

    def __init__(self, bench: Bench, name: str) -> None:
        self.bench = bench
        self.name = name
        self.sheet = bench.workbook.add_worksheet(name)
        self.scale = 1.0  # of the heights of rows
        self._made: dict[tuple[str, str], Any] = {}

    def look(self, role: str, digits: str = "") -> Any:
        """Return a format."""
        made = self._made.get((role, digits))
        if made is None:
            plain = {"font_name": FONT, "font_color": INK, "valign": "vcenter"}
            shown = {"num_format": digits} if digits else {}
            made = self.bench.workbook.add_format({**plain, **_LOOKS[role], **shown})
            self._made[role, digits] = made
        return made

    def text(self, row: int, columns: tuple[int, int], words: str, role: str) -> None:
        """Write words over some columns."""
        self._merge((row, row), columns, role)
        self.sheet.write_string(row, columns[0], words, self.look(role))

    def tall(self, rows: tuple[int, int], columns: tuple[int, int], words: str, role: str) -> None:
        """Write words, or leave a box, over some rows and columns."""
        self._merge(rows, columns, role)
        self.sheet.write_string(rows[0], columns[0], words, self.look(role))

    def height(self, row: int, points: float) -> None:
        """Set the height of a row."""
        self.sheet.set_row(row, points * self.scale)

    def _merge(self, rows: tuple[int, int], columns: tuple[int, int], role: str) -> None:
        if rows[0] != rows[1] or columns[0] != columns[1]:
            self.sheet.merge_range(rows[0], columns[0], rows[1], columns[1], "", self.look(role))

    def unit_as(self, unit: str) -> str:
        """Return a unit as this page shows it."""
        twin = US_CUSTOMARY.get(unit) if self.bench.us else None
        return unit if twin is None else twin.unit

    def unit_of(self, key: str) -> str:
        """Return the unit in which a figure is shown."""
        return self.unit_as(self.bench.study[key].unit)

    def shown(self, key: str) -> str:
        """Return a figure as text with its unit, empty where the study has no such number."""
        value = self.bench.study.number(key)
        if value is None:
            return ""
        unit = self.bench.study[key].unit
        number = us_customary(value, unit)[0] if self.bench.us else value
        return f"{number:.4g} {self.unit_as(unit)}"

    def figure(
        self,
        rows: tuple[int, int],
        columns: tuple[int, int],
        key: str,
        role: str,
        digits: str = "",
    ) -> str | None:
        """Write a figure as a link to its cell, in the units of the page; return its unit.

        None, and an empty box, where the study has no such number.
        """
        found, place = self.bench.study.figures.get(key), self.bench.book.places.get(key)
        if found is None or place is None or not isinstance(found.value, float):
            self.tall(rows, columns, "", "box")
            return None
        cell = reference(place, self.name)
        value, unit, formula = found.value, found.unit, f"={cell}"
        if self.bench.us and unit in US_CUSTOMARY:
            value, unit = us_customary(found.value, found.unit)
            formula = us_formula(cell, found.unit)
        twin = Figure(key, value, unit, "", origin=found.origin)
        digits = digits or number_format(decimals(twin), value)
        self._merge(rows, columns, role)
        self.sheet.write_formula(rows[0], columns[0], formula, self.look(role, digits), value)
        return unit

    def figure_or_words(
        self,
        rows: tuple[int, int],
        columns: tuple[int, int],
        key: str,
        shown: tuple[str, str, str],
    ) -> None:
        """Write a figure as a link to its cell, words where that holds no number.

        ``shown`` is the role of the cell, its digits or nothing, and the words.
        """
        role, digits, words = shown
        found, place = self.bench.study.figures[key], self.bench.book.places.get(key)
        value = found.value if isinstance(found.value, float) else None
        us = self.bench.us and found.unit in US_CUSTOMARY
        if value is not None and us:
            value = us_customary(value, found.unit)[0]
        digits = digits or number_format(decimals_of(value or 0.0), value or 0.0)
        if place is None:
            self.tall(rows, columns, words if value is None else f"{value:.4g}", role)
            return
        cell = reference(place, self.name)
        linked = us_formula(cell, found.unit) if us else f"={cell}"
        self._merge(rows, columns, role)
        self.sheet.write_formula(
            rows[0],
            columns[0],
            f'=IF(ISNUMBER({cell}),{linked.removeprefix("=")},"{words}")',
            self.look(role, digits),
            words if value is None else value,
        )

    def number(
        self,
        row: int,
        columns: tuple[int, int],
        point: tuple[Value, str],
        role: str,
        digits: str = "",
    ) -> None:
        """Write a point of a table, value and unit; a gap stays empty."""
        value, unit = point
        self._merge((row, row), columns, role)
        if not isinstance(value, float):
            self.sheet.write_string(row, columns[0], str(value or ""), self.look(role))
            return
        shown = us_customary(value, unit)[0] if self.bench.us else value
        digits = digits or number_format(decimals_of(shown), shown)
        look = self.look(role, digits)
        if is_live(self.bench):  # a number of the run: gone once an input was changed
            formula = f'=IF({CHANGED},"-",{shown!r})'
            self.sheet.write_formula(row, columns[0], formula, look, shown)
            return
        self.sheet.write_number(row, columns[0], shown, look)

    def finish(self, print_run: PrintRun) -> None:
        """Set up as one upright page."""
        set_up_one_page(self.sheet, print_run, COLUMNS - 1)
        self.sheet.set_margins(**_MARGINS)
        self.sheet.set_column(0, COLUMNS - 1, _WIDTH_DIGITS[print_run.paper])
