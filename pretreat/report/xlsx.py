"""Worksheets that are written quickly: the same file, without the library's longest detours."""

import re
from functools import lru_cache
from typing import Any

from xlsxwriter import Workbook
from xlsxwriter.utility import xl_col_to_name
from xlsxwriter.worksheet import Worksheet

_FUNCTION = re.compile(r"[A-Z0-9.]+(?=\()")
# Functions that every spreadsheet has known under these names from the start.
_PLAIN = frozenset(
    {
        *("ABS", "AND", "CEILING", "COUNT", "EXP", "FLOOR", "IF", "IFERROR", "INDEX", "INT"),
        *("ISNUMBER", "LN", "LOG10", "MATCH", "MAX", "MID", "MIN", "MOD", "N", "NOT", "OR", "PI"),
        *("POWER", "ROUND", "ROUNDDOWN", "ROUNDUP", "SQRT", "SUM", "TEXT"),
    }
)


class QuickSheet(Worksheet):  # type: ignore[misc]
    """A worksheet whose usual formulas and cells take a short way; all else goes the library's."""

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> Any:
        """Return a formula as it is stored; one of plain functions has none to rename."""
        if formula[:1] == "=" and formula[-1] != "}" and _PLAIN.issuperset(_functions(formula)):
            return formula[1:]
        return super()._prepare_formula(formula, expand_future_functions)

    def _write_cell(self, row: int, col: int, cell: Any) -> None:
        """Write a text or a blank with its format; its attributes hold nothing to escape."""
        kind = type(cell).__name__
        if cell.format and not self.constant_memory:
            if kind == "String":
                self.fh.write(f'{_cell(row, col, cell)} t="s"><v>{cell.string}</v></c>')
                return
            if kind == "Blank":
                self.fh.write(f"{_cell(row, col, cell)}/>")
                return
            if kind == "Number":
                self.fh.write(f"{_cell(row, col, cell)}><v>{cell.number:.16G}</v></c>")
                return
        super()._write_cell(row, col, cell)


def _functions(formula: str) -> list[str]:
    return _FUNCTION.findall(formula)


_letters = lru_cache(maxsize=None)(xl_col_to_name)


def _cell(row: int, col: int, cell: Any) -> str:
    """Return the start of the tag of a cell."""
    return f'<c r="{_letters(col)}{row + 1}" s="{cell.format._get_xf_index()}"'


class QuickWorkbook(Workbook):  # type: ignore[misc]
    """A workbook of such sheets."""

    worksheet_class = QuickSheet
