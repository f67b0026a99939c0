"""Worksheets that are written quickly: the same file, without the library's longest detours."""

import re
from functools import lru_cache
from itertools import product
from typing import Any

from msgspec import Struct
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
_MARKUP = re.compile(r"[&<>]")
_ERRORS = frozenset({"#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!"})
_KINDS = frozenset({"Blank", "String", "Number", "Formula"})  # of usual cells
SPAN_ROWS = 16  # rows that share the note of their first and last column


class QuickSheet(Worksheet):  # type: ignore[misc]
    """A worksheet whose usual formulas and cells take a short way; all else goes the library's.

    A cell is named by its row and column, counted from 0, never as "A1".
    """

    # Where the library arrives once it has seen that a cell is not named as "A1".
    write_string = Worksheet._write_string
    write_number = Worksheet._write_number
    write_blank = Worksheet._write_blank

    def merge_range(
        self,
        first_row: int,
        first_col: int,
        last_row: int,
        last_col: int,
        data: Any,
        cell_format: Any = None,
    ) -> Any:
        """Merge cells that no others were merged with; what is odd about them the library says."""
        ends = first_row, first_col, last_row, last_col
        rows, columns = range(first_row, last_row + 1), range(first_col, last_col + 1)
        cells = dict.fromkeys(product(rows, columns), True)
        taken = bool(self.table_cells) or not self.merged_cells.keys().isdisjoint(cells)
        if len(cells) < 2 or taken or cell_format is None or self.constant_memory:
            return super().merge_range(*ends, data, cell_format)
        if self._check_dimensions(*ends[2:]) or self._write_blank(*ends[:2], "", cell_format):
            return -1
        self.merged_cells.update(cells)
        self.merge.append([*ends])
        blank = self.table[first_row][first_col]
        for row in rows:
            self.table[row].update(dict.fromkeys(columns, blank))
        return 0 if data == "" else self._write(first_row, first_col, data, cell_format)

    def write_blanks(self, row: int, first_col: int, last_col: int, cell_format: Any) -> None:
        """Write empty cells side by side."""
        self._write_blank(row, first_col, None, cell_format)
        self._write_blank(row, last_col, None, cell_format)
        cells = self.table[row]
        cells.update(dict.fromkeys(range(first_col, last_col), cells[last_col]))

    def write_formula(
        self, row: int, col: int, formula: str, cell_format: Any = None, value: Any = 0
    ) -> Any:
        """Write a formula; one of plain functions has none to rename and fills no other cells."""
        if not _is_plain(formula) or self.constant_memory or self._check_dimensions(row, col):
            return self._write_formula(row, col, formula, cell_format, value)
        self.table[row][col] = Formula(formula[1:], cell_format, value)
        return 0

    def _write_rows(self) -> None:
        """Write the rows, looking only at cells that are there."""
        info = getattr(self, "row_info", None)  # as releases before 3.2.1 do not call it
        if info is None or self.comments:
            super()._write_rows()
            return
        columns = {row: sorted(cells) for row, cells in self.table.items() if cells}
        spans, styles = _spans(columns), dict[Any, str]()
        for row in range(self.dim_rowmin, self.dim_rowmax + 1):
            span = spans.get(row // SPAN_ROWS)
            if row in columns:
                self._write_row(row, span, info.get(row))
                self._write_cells(row, columns[row], styles)
                self._xml_end_tag("row")
            elif row in info:
                self._write_empty_row(row, span, info[row])

    def _write_cells(self, row: int, columns: list[int], styles: dict[Any, str]) -> None:
        """Write the cells of a row; the attributes of usual ones hold nothing to escape."""
        text: list[str] = []
        cells, number = self.table[row], str(row + 1)
        for col in columns:
            cell = cells[col]
            kind, look = type(cell).__name__, cell.format
            style = styles.get(look)
            if style is None:
                style = styles[look] = f'" s="{look._get_xf_index()}"' if look else ""
            head = f'<c r="{_letters(col)}{number}{style}'
            if not style or kind not in _KINDS:
                self.fh.write("".join(text))
                text.clear()
                self._write_cell(row, col, cell)
            elif kind == "Blank":
                text.append(f"{head}/>")
            elif kind == "String":
                text.append(f'{head} t="s"><v>{cell.string}</v></c>')
            elif kind == "Number":
                text.append(f"{head}><v>{cell.number:.16G}</v></c>")
            else:
                text.append(f"{head}{_formula(cell)}")
        self.fh.write("".join(text))


def _spans(columns: dict[int, list[int]]) -> dict[int, str]:
    """Return the first and the last column in use of every 16 rows."""
    ends: dict[int, tuple[int, int]] = {}
    for row, used in columns.items():
        low, high = ends.get(row // SPAN_ROWS, (used[0], used[-1]))
        ends[row // SPAN_ROWS] = min(low, used[0]), max(high, used[-1])
    return {at: f"{low + 1}:{high + 1}" for at, (low, high) in ends.items()}


class Formula(Struct, frozen=True):
    """A cell with a formula, as the library keeps it."""

    formula: str
    format: Any
    value: Any


@lru_cache(maxsize=1024)
def _is_plain(formula: str) -> bool:
    """Tell whether a formula is of functions that are stored under the names they are known by."""
    inside = formula[:1] == "=" and formula[-1] != "}"
    return inside and _PLAIN.issuperset(_FUNCTION.findall(formula))


_letters = lru_cache(maxsize=None)(xl_col_to_name)


def _formula(cell: Any) -> str:
    value, kind = cell.value, ""
    if isinstance(value, bool):
        value, kind = int(value), ' t="b"'
    elif isinstance(value, str) and value:
        value, kind = _escaped(value), ' t="e"' if value in _ERRORS else ' t="str"'
    return f"{kind}><f>{_escaped(cell.formula)}</f><v>{value}</v></c>"


def _escaped(text: str) -> str:
    if not _MARKUP.search(text):
        return text
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


class QuickWorkbook(Workbook):  # type: ignore[misc]
    """A workbook of such sheets."""

    worksheet_class = QuickSheet
