"""The form as a workbook: the sheets of the site, from the catalogue of keys."""

import math
import re
from collections.abc import Mapping
from typing import Any

from pretreat.site.keys import POSITIVE, Table
from pretreat.site.sheets import layout
from pretreat.site.sheets.catalogue import Entry, catalogue
from pretreat.site.sheets.layout import HEAD_ROW, HELP, KEY, UNIT, VALUE, WHAT

_LOOKS: dict[str, dict[str, Any]] = {
    "title": {"bold": True, "font_size": 14},
    "head": {"bold": True, "bottom": 2, "bg_color": "#DDEBF7"},
    "group": {"bold": True, "italic": True, "top": 1},
    "name": {"border": 1},
    "needed": {"border": 1, "bold": True},
    "entry": {"border": 1, "bg_color": "#FFF9DB", "locked": False, "align": "left"},
    "unit": {"border": 1, "locked": False},
    "help": {"italic": True, "font_color": "#666666", "text_wrap": True},
    "key": {"font_color": "#999999", "font_size": 8},
}
_WIDTHS = ((WHAT, 34), (VALUE, 24), (UNIT, 16), (HELP, 70), (KEY, 30))
_LINE_POINTS, _LINE_LETTERS = 15.0, 72
_LONGEST_TITLE, _LONGEST_MESSAGE = 32, 255  # characters that a spreadsheet takes


def add_site_sheets(book: Any, tables: Mapping[str, Table], *, us: bool = False) -> None:
    """Add the sheets of the site to a workbook.

    Parameters
    ----------
    book : Workbook
        Workbook being written. [-]
    tables : mapping of str to Table
        Tables of the unit processes by their keys. [-]
    us : bool
        US units offered first, and kept in the form. [-]
    """
    looks = {name: book.add_format({"valign": "top", **look}) for name, look in _LOOKS.items()}
    entries = catalogue(tables)
    for name in layout.SHEETS:
        sheet = book.add_worksheet(name)
        sheet.write_string(0, 0, layout.TITLES[name], looks["title"])
        sheet.write_string(1, 0, layout.INTRODUCTIONS[name])
        sheet.write_string(2, 0, layout.NOTE)
        for column, words in enumerate(layout.HEADINGS):
            sheet.write_string(HEAD_ROW, column, words, looks["head"])
        row = HEAD_ROW + 1
        for entry in entries:
            if entry.sheet == name:
                _line(sheet, row, entry, looks, us)
                row += 1
        for column, width in _WIDTHS:
            sheet.set_column(column, column, width)
        sheet.freeze_panes(HEAD_ROW + 1, 0)
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)


def _line(sheet: Any, row: int, entry: Entry, looks: Mapping[str, Any], us: bool) -> None:
    if not entry.key:
        sheet.write_string(row, WHAT, entry.table.replace("_", " ").capitalize(), looks["group"])
        sheet.write_string(row, HELP, _of_form(entry.help), looks["help"])
        return
    sheet.write_string(row, WHAT, entry.label, looks["needed" if needed(entry) else "name"])
    if (entry.table, entry.key) == ("site", "units"):
        sheet.write_string(row, VALUE, "us" if us else "si", looks["entry"])
    else:
        sheet.write_blank(row, VALUE, None, looks["entry"])
    units = offered(entry, us)
    if units:
        sheet.write_string(row, UNIT, units[0], looks["unit"])
        sheet.data_validation(row, UNIT, row, UNIT, {"validate": "list", "source": list(units)})
    words = _help(entry, us)
    sheet.set_row(row, _LINE_POINTS * max(1, math.ceil(len(words) / _LINE_LETTERS)))
    sheet.write_string(row, HELP, words, looks["help"])
    sheet.write_string(row, KEY, f"{entry.table}.{entry.key}", looks["key"])
    rule = _rule(entry)
    if rule:
        sheet.data_validation(row, VALUE, row, VALUE, rule)


def needed(entry: Entry) -> bool:
    """Tell whether a site cannot do without a key.

    Parameters
    ----------
    entry : Entry
        The key. [-]

    Returns
    -------
    bool
        True of what the file of a new site has without #, the lab report aside. [-]
    """
    return entry.toml == "start" and entry.key not in {"analysis", "name"}


def offered(entry: Entry, us: bool) -> tuple[str, ...]:
    """Return the units to choose from, the usual one of the site first.

    Parameters
    ----------
    entry : Entry
        The key. [-]
    us : bool
        Whether the site has US units. [-]

    Returns
    -------
    tuple of str
        Units; none of a value without unit. [-]
    """
    if not entry.unit:
        return ()
    known = layout.UNITS.get(entry.unit, (entry.unit,))
    found = re.match(r"^[-\d.,\s]+(.*)$", entry.shown(us))
    first = {"C": "°C", "F": "°F"}.get(found[1], found[1]) if found else known[0]
    return (first, *(unit for unit in known if unit != first)) if first in known else known


def _of_form(words: str) -> str:
    """Return a help without what holds for the text file alone."""
    return re.sub(r";? ?write the number after = .*$|^relative to this file\. ", "", words)


def _help(entry: Entry, us: bool) -> str:
    example = entry.shown(us).strip("[]")
    said = [_of_form(entry.help)] if entry.help else []
    if entry.choices and entry.help.count(",") + entry.help.count(" or ") < len(entry.choices) - 1:
        said.append(", ".join(entry.choices))
    bounds = entry.bounds
    if bounds is not None and bounds[1] < POSITIVE:
        said.append(f"{bounds[0]:g} to {bounds[1]:g} {entry.unit}".strip())
    if example and not entry.choices:
        said.append(f"for example {example}")
    return "; ".join(said)


def _rule(entry: Entry) -> dict[str, Any] | None:
    """Return the validation of a value: words of a list, or a number within its bounds."""
    if entry.choices:
        return {"validate": "list", "source": list(entry.choices)}
    bounds = entry.bounds
    if bounds is None or entry.unit:  # a value with a unit may be a text, in any unit
        return None
    words = f"A number from {bounds[0]:g} to {bounds[1]:g}."
    return {
        "validate": "decimal",
        "criteria": "between",
        "minimum": bounds[0],
        "maximum": bounds[1],
        "error_title": entry.label[:_LONGEST_TITLE],
        "error_message": words[:_LONGEST_MESSAGE],
    }
