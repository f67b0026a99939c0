"""How a grid is laid out: results down the rows, across the columns, or by parameter code."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from pretreat.core.errors import AnalysisError
from pretreat.core.tables import rows
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.numbers import printed_number
from pretreat.lab.read.report import Grid, PrintedResult
from pretreat.lab.read.unit_words import is_concentration, is_temperature

LISTED_ONLY = 0.2  # an analyte without a result counts a little for a layout
UNUSED_KEYS = frozenset({"", "other", *(row["key"] for row in rows("traces.csv"))})


@dataclass(frozen=True, slots=True)
class Layout:
    """What one way of reading a grid finds in it."""

    name: str
    results: tuple[PrintedResult, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def score(self) -> float:
        """How many results have a name that is known and a text that is a result."""
        return sum(_weight(result) for result in self.results)


def _weight(result: PrintedResult) -> float:
    known = bool(result.code) or named_analyte(result.name).key not in UNUSED_KEYS
    if not known:
        return 0.0
    kind = printed_number(result.text).kind
    return (
        1.0
        if kind in {"value", "below", "above", "date"}
        else LISTED_ONLY
        if kind == "missing"
        else -0.5
    )


def best_layout(grids: Iterable[Grid], wanted: str | None = None) -> tuple[Grid, Layout] | None:
    """Return the grid and the layout in which most results are understood.

    Parameters
    ----------
    grids : iterable of Grid
        Sheets, or candidate cuttings of one text. [-]
    wanted : str, optional
        Heading, letter or number of the column of results. [-]

    Returns
    -------
    tuple of Grid and Layout, or None
        The best reading; None where nothing is recognised. [-]

    Raises
    ------
    AnalysisError
        If no grid is clear and one could be read two ways.
    """
    best: tuple[Grid, Layout] | None = None
    problem: AnalysisError | None = None
    for grid in grids:
        try:
            found = _layouts(grid, wanted)
        except AnalysisError as unclear:  # another sheet may be clear
            problem = problem or unclear
            continue
        for layout in found:
            if layout.score > (best[1].score if best else 0.0):
                best = (grid, layout)
    if best is None and problem is not None:
        raise problem
    return best


def _layouts(grid: Grid, wanted: str | None) -> list[Layout]:
    from pretreat.lab.read.across import across
    from pretreat.lab.read.coded import coded
    from pretreat.lab.read.down import down

    return [coded(grid), down(grid, wanted), across(grid)] if grid.rows else []


def heading_unit(name: str, unit: str) -> str:
    """Return the unit that a heading gives to many analytes, unless it cannot be this one's."""
    other = named_analyte(name).key in {"temperature", "ec", "ph"}
    return "" if other and is_concentration(unit) and not is_temperature(unit) else unit


def looks_numeric(text: str) -> bool:
    """Tell whether a cell holds a number or a non-detect."""
    return printed_number(text).kind in {"value", "below", "above", "date"}


def group_heading(grid: Grid, row: int, column: int) -> str:
    """Return the text of a cell, or of the merged cell that covers it."""
    for span_row, first, last in grid.spans:
        if span_row == row and first <= column <= last:
            return grid.cell(row, first)
    return grid.cell(row, column)


def label_pairs(grid: Grid, before: int) -> dict[str, str]:
    """Return sample, site and date written as label and value above the table."""
    found: dict[str, str] = {}
    for row in grid.rows[:before]:
        found = {**row_labels(row), **found}
    return found


def row_labels(row: tuple[str, ...]) -> dict[str, str]:
    """Return sample, site and date that a row says as label and value."""
    from pretreat.lab.read.wording import column_role

    found: dict[str, str] = {}
    cells = [cell for cell in row if cell]
    if len(cells) == 1 and ":" in cells[0]:
        cells = [part.strip() for part in cells[0].split(":", 1)]
    for label, value in pairwise(cells):
        role = column_role(label.rstrip(" :"))
        if role in {"sample", "site", "date"} and value and not column_role(value):
            found.setdefault(role, re.sub(r"\s+", " ", str(value)))
    return found
