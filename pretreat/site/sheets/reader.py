"""The form read back: the same tables as a site file in TOML has, and the cell of every key."""

import datetime
import re
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct

from pretreat.core.errors import DesignError, PretreatError, one_of
from pretreat.core.sheets import ERRORS, Sheet, read_sheets
from pretreat.core.text import lazy
from pretreat.site.keys import Table, date, flag, text
from pretreat.site.readers import PERCENT, Number, Word
from pretreat.site.readers import path as file_name
from pretreat.site.sheets.catalogue import Entry, catalogue
from pretreat.site.sheets.layout import ANALYSIS, HEADINGS, KEY, SHEETS, UNIT, VALUE

_YES, _NO = ("yes", "true", "y", "x", "1"), ("no", "false", "n", "0")
_PLAIN = lazy(r"^[-+]?[\d.,\s]+$")
_LONGEST_TABLE = 2_000  # characters
_FIRST_RESULT = 9  # row of the sheet Analysis


class _Form(Struct, frozen=True):
    """What was found so far: the catalogue, values by table, cells by key, faults."""

    known: Mapping[str, Entry]
    content: dict[str, dict[str, Any]]
    places: dict[str, str]
    faults: list[str]

    def take(self, sheet: Sheet, row: int, columns: Sequence[int]) -> None:
        """Take one line of a sheet."""
        name, cell = sheet.text(row, columns[KEY]), (row, columns[VALUE])
        entry, where = self.known.get(name), sheet.place(*cell)
        if entry is None:
            hint = one_of(name, list(self.known))
            place = sheet.place(row, columns[KEY])
            self.faults.append(f"{place}: '{name}' is not a key of the site{hint}")
            return
        if cell in sheet.lost:
            self.faults.append(f"{where}: a formula without a result; type the value")
        if cell not in sheet.cells:
            self.places.setdefault(name, where)
            self.places.setdefault(f"{entry.table}.{entry.field}", where)
            return
        if entry.key in self.content.get(entry.table, {}):
            self.faults.append(f"{where}: {name} stands twice; keep one")
            return
        self.places.update({name: where, f"{entry.table}.{entry.field}": where})
        try:
            found = _found(entry, sheet.cells[cell], sheet.text(row, columns[UNIT]))
        except DesignError as problem:
            self.faults.append(f"{where}: {problem}")
        else:
            self.content.setdefault(entry.table, {})[entry.key] = found


def read_form(path: Path, tables: Mapping[str, Table]) -> tuple[dict[str, Any], dict[str, str]]:
    """Read the form that the command ``new`` writes.

    Parameters
    ----------
    path : Path
        The workbook. [-]
    tables : mapping of str to Table
        Tables of the unit processes by their keys. [-]

    Returns
    -------
    tuple of dict and dict
        Tables of the site file, and where each key stands, by "table.key" and "table.field". [-]

    Raises
    ------
    DesignError
        If it is no such form, or a cell cannot be used; one line per cell.
    """
    try:
        sheets = read_sheets(path, (*SHEETS, ANALYSIS))
    except PretreatError as problem:
        raise DesignError(*problem.faults) from None
    form = _Form({f"{e.table}.{e.key}": e for e in catalogue(tables) if e.key}, {}, {}, [])
    heads = [(sheet, columns) for sheet in sheets if (columns := _columns(sheet)) is not None]
    for sheet, columns in heads:
        for row in sheet.rows():
            if row > columns[-1] and sheet.text(row, columns[KEY]):
                form.take(sheet, row, columns)
    if not heads:
        raise DesignError(
            f"{path}: not the form that 'pretreat new' writes (no sheet has the headings "
            f"{', '.join(HEADINGS)}); its sheets are {', '.join(SHEETS)}"
        )
    faults = [*form.faults, *_analysis(path, sheets, form.content, form.places)]
    if faults:
        raise DesignError(*(f"{path.name}: {fault}" for fault in faults))
    form.content.setdefault("machine", {})
    return form.content, form.places


def _columns(sheet: Sheet) -> list[int] | None:
    """Return the columns of the headings and, last, their row; None where it is no form."""
    for row, cells in sheet.rows().items():
        words = {str(value).strip().casefold(): column for column, value in cells.items()}
        if {HEADINGS[VALUE].casefold(), HEADINGS[KEY].casefold()} <= set(words):
            return [words.get(name.casefold(), 0) for name in HEADINGS] + [row]
    return None


def _analysis(
    path: Path, sheets: tuple[Sheet, ...], content: dict[str, Any], places: dict[str, str]
) -> list[str]:
    """Take the sheet of results in the same workbook for the lab report, where it is filled in."""
    page = next((sheet for sheet in sheets if sheet.title == ANALYSIS), None)
    filled = page is not None and any(
        row >= _FIRST_RESULT and column == 2 for row, column in page.cells
    )
    if not filled:
        return []
    water = content.setdefault("water", {})
    if "analysis" in water:
        return [
            f"{places['water.analysis']}: a file of the lab report is named, and the sheet "
            f"'{ANALYSIS}' is filled in: keep one"
        ]
    water |= {"analysis": path.name, "sheet": ANALYSIS}
    return []


def _found(entry: Entry, value: Any, unit: str) -> Any:
    """Return the value of a cell as TOML would have it."""
    if isinstance(value, datetime.date) and entry.read is date:
        return value
    if isinstance(value, datetime.date | datetime.time):
        raise DesignError(
            f"{entry.label} is a date ({value:%Y-%m-%d}): the spreadsheet made it of what was "
            "typed; type it with an apostrophe before it"
            if isinstance(value, datetime.date)
            else f"{entry.label} is a time: type a number or a text"
        )
    if isinstance(value, str) and value.strip() in ERRORS:
        raise DesignError(f"{entry.label} is {value.strip()}: type the value")
    if entry.read is flag:
        return _yes(entry, value)
    if isinstance(value, bool):
        raise DesignError(f"{entry.label} is {value}: write a value")
    if isinstance(value, float):
        return _of_number(entry, value, unit)
    return _of_text(entry, value.strip(), unit)


def _yes(entry: Entry, value: Any) -> bool:
    word = f"{value:g}" if isinstance(value, float) else str(value).strip().casefold()
    if word in _YES or word in _NO:
        return word in _YES
    raise DesignError(f"{entry.label} is '{value}': write yes or no")


def _of_number(entry: Entry, value: float, unit: str) -> Any:
    whole = int(value) if value.is_integer() else value
    if isinstance(entry.read, Word) or entry.read in (text, file_name):
        return f"{whole}"
    if entry.unit:
        return f"{whole!r} {unit}" if unit else whole
    return whole


def _of_text(entry: Entry, value: str, unit: str) -> Any:
    if entry.unit:
        return f"{value} {unit}".strip() if _PLAIN.match(value) else value
    if isinstance(entry.read, Number):
        return _number(entry, value)
    if isinstance(entry.read, Word) or entry.read in (text, file_name):
        return value
    return _listed(entry, value)


def _listed(entry: Entry, value: str) -> Any:
    """Return a table, a list or a word of a text; a lone number stays one."""
    if value.startswith(("{", "[{")) and len(value) <= _LONGEST_TABLE:
        try:
            return tomllib.loads(f"v = {value}")["v"]
        except (tomllib.TOMLDecodeError, ValueError, RecursionError):
            raise DesignError(f"{entry.label}: write {entry.example}") from None
    if entry.key == "stages":
        return [word for word in re.split(r"[,;+\s]+", value.strip("[]")) if word]
    parts = [part for part in re.split(r"[;,\s]+", value.strip("[]")) if part]
    if "%" in value and (shares := _in_percent(entry, value)):
        listed = len(shares) > 1 or value.startswith("[")
        return shares if listed else shares[0]
    if parts and all(re.fullmatch(r"\d+(\.\d+)?", part) for part in parts):
        numbers = [float(part) if "." in part else int(part) for part in parts]
        listed = len(numbers) > 1 or value.startswith("[") or entry.key == "array"
        return numbers if listed else numbers[0]
    return value


def _number(entry: Entry, value: str) -> float:
    """Return a number that was typed as a text: with a decimal comma, or in percent."""
    clean, in_percent = value.removesuffix("%").strip(), value.endswith("%")
    try:
        found = float(clean.replace(",", "."))
    except ValueError:
        raise DesignError(f"{entry.label} is '{value}': write a number without a unit") from None
    if in_percent and not entry.percent:
        if not (isinstance(entry.read, Number) and entry.read.share):
            raise DesignError(
                f"{entry.label} is '{value}': is no share of something; write a number without %"
            )
        return found / PERCENT
    return int(found) if found.is_integer() else found


def _in_percent(entry: Entry, value: str) -> list[float]:
    """Return numbers typed with a percent sign; empty where something else stands there."""
    parts = re.findall(r"(\d+(?:[.,]\d+)?)\s*%", value)
    left = re.sub(r"\d+(?:[.,]\d+)?\s*%", "", value)
    if re.sub(r"[\[\];,\s]|to|-", "", left):
        return []
    found = [float(part.replace(",", ".")) for part in parts]
    return found if entry.percent else [one / PERCENT for one in found]


def value_of(entry: Entry, typed: str, unit: str) -> Any:
    """Return what was typed for a key as TOML would have it.

    Parameters
    ----------
    entry : Entry
        The key. [-]
    typed : str
        What was typed; a number alone is in ``unit``. [-]
    unit : str
        Unit of a number typed without one. [-]

    Returns
    -------
    object
        Text, number, list or yes and no. [as the key]

    Raises
    ------
    DesignError
        If it cannot be used.
    """
    return _found(entry, typed, unit)
