"""Merged cells of a workbook read back get their look in a fraction of the time.

openpyxl hands the edges and the protection of the first cell of a merged area on to the others as
objects, each looked up anew in the lists of the workbook: half of what reading a workbook takes.
Here their numbers in those lists are handed on; what comes out is the same, cell by cell.
"""

from typing import Any

import openpyxl
from openpyxl.styles import Border
from openpyxl.styles.cell_style import StyleArray
from openpyxl.worksheet.merge import MergedCell, MergedCellRange

EDGES = ("top", "left", "right", "bottom")
SLOW = MergedCellRange.format


def look(area: Any) -> None:
    """Do what ``MergedCellRange.format`` does."""
    own = area.start_cell
    for edge in EDGES:
        side = getattr(own.border, edge)
        if not side or side.style is not None:
            _draw(area, edge, Border(**{edge: side}))
    protection = own._style.protectionId
    for coord in area.cells:
        _cell_at(area.ws, coord)._style.protectionId = protection


def _draw(area: Any, edge: str, border: Border) -> None:
    """Draw an edge; what a border becomes by it is remembered in the workbook."""
    known = area.ws.parent.__dict__.setdefault("edges_known", {})
    lead = area.start_cell._style.borderId
    for coord in getattr(area, edge):
        cell = _cell_at(area.ws, coord)
        asked = edge, lead, cell._style.borderId
        if asked not in known:
            cell.border += border
            known[asked] = cell._style.borderId
        cell._style.borderId = known[asked]


def _cell_at(sheet: Any, coord: tuple[int, int]) -> Any:
    cell = sheet._cells.get(coord)
    if cell is None:
        cell = sheet._cells[coord] = MergedCell(sheet, *coord)
    if cell._style is None:
        cell._style = StyleArray()
    return cell


def quicken() -> None:
    """Let openpyxl use it."""
    if openpyxl.__version__.startswith("3.1."):
        MergedCellRange.format = look  # type: ignore[method-assign]
