"""How a grid is laid out: results down the rows, across the columns, or by parameter code."""

import re
from collections.abc import Iterable
from itertools import pairwise

from msgspec import Struct

from pretreat.core.errors import AnalysisError
from pretreat.core.tables import rows
from pretreat.core.text import lazy
from pretreat.lab.read.headings import heading_role
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.numbers import printed_number
from pretreat.lab.read.report import Grid, PrintedResult
from pretreat.lab.read.unit_words import is_concentration, is_conductivity, is_temperature
from pretreat.lab.read.wording import column_role, folded, words

LISTED_ONLY = 0.2  # an analyte without a result counts a little for a layout
LABEL_ROWS = 60  # above a table; a sheet that starts lower is searched no further up
UNUSED_KEYS = frozenset({"", "other", *(row["key"] for row in rows("traces.csv"))})


class Layout(Struct, frozen=True):
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
    most = 0.0
    problem: AnalysisError | None = None
    for grid in grids:
        try:
            found = _layouts(grid, wanted)
        except AnalysisError as unclear:  # another sheet may be clear
            problem = problem or unclear
            continue
        for layout in found:
            score = layout.score * grid.trust
            if score > most:
                best, most = (grid, layout), score
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
    key = named_analyte(name).key
    if is_conductivity(unit) and not is_concentration(unit):
        return unit if key == "ec" else ""
    other = key in {"temperature", "ec", "ph"}
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


_CONTINUED = lazy(
    r"(?i)\s*\(?\b(?:continued|cont['’.]?d?|fortsetzung|suite|continuaci[óo]n|continua[çc][ãa]o|segue|"
    r"forts\.?|vervolg|jatko|folytatás|продолжение)\)?\s*$",
    needs="aAeEoOuUпП",
)


def row_labels(row: tuple[str, ...]) -> dict[str, str]:
    """Return sample, site and date that a row says as label and value."""
    found: dict[str, str] = {}
    cells = [cell for cell in row if cell]
    if {"name", "value"} <= {column_role(cell) for cell in cells}:
        return found  # headings of columns, none of which is the value of the one before it
    if len(cells) == 1 and ":" in cells[0]:
        label, _, text = cells[0].partition(":")
        cells = [label.strip(), re.split(r"\s{2,}|\t", text.strip())[0]]
    for label, value in pairwise(cells):
        role = column_role(label.rstrip(" :"))
        if role == "date" and not any(map(str.isdigit, str(value))):
            continue  # the label of another date, cut from its own
        if role in {"sample", "site", "date"} and value and not column_role(value):
            found.setdefault(role, _CONTINUED.sub("", re.sub(r"\s+", " ", str(value))))
    return found


_FRACTIONS = words("dissolved") | words("total") | words("field") | words("lab")


def labels_above(grid: Grid, first_row: int, columns: list[int]) -> dict[int, dict[str, str]]:
    """Return sample, site and date of each value column from the labelled rows above.

    A row such as "Sample ID | | LW-1 | LW-2" speaks of each column; a pair such as
    "Site: | Harrow" of all of them.

    Parameters
    ----------
    grid : Grid
        The cells. [-]
    first_row : int
        Where the results begin. [-]
    columns : list of int
        The columns of results. [-]

    Returns
    -------
    dict
        Sample, site, date and the name of the sample of its own, by column. [-]
    """
    own: dict[int, dict[str, str]] = {c: {"sample": "", "site": "", "date": ""} for c in columns}
    for row in range(max(first_row - LABEL_ROWS, 0), first_row):
        if _names_only_samples(grid, row, columns):
            for column in columns:
                own[column]["sample"] = f"{own[column]['sample']} {grid.cell(row, column)}".strip()
            continue
        texts = {c: text for c in columns if (text := grid.cell(row, c))}
        heads = (
            column_role(cell.rstrip(" :")) for cell in grid.rows[row][: min(columns, default=0)]
        )
        role = next((r for r in heads if r), "")
        if role not in {"sample", "site", "date"} or len(texts) < 2:
            continue
        for column, text in texts.items():
            own[column][role] = f"{own[column][role]} {text}".strip()
    shared = label_pairs(grid, first_row)
    return {
        column: {
            **{role: text or shared.get(role, "") for role, text in said.items()},
            "own sample": said["sample"],
        }
        for column, said in own.items()
    }


def _names_only_samples(grid: Grid, row: int, columns: list[int]) -> bool:
    """Tell a row that holds but a text over each column of results, as "BORE 1 | BORE 2"."""
    filled = {n for n, cell in enumerate(grid.rows[row]) if cell}
    return (
        len(columns) > 1
        and filled == set(columns)
        and len({grid.cell(row, c) for c in columns}) > 1
        and not any(heading_role(grid.cell(row, c)) for c in columns)
        and not any(looks_numeric(grid.cell(row, c)) for c in columns)
        and not any(folded(grid.cell(row, c)) in _FRACTIONS for c in columns)
    )
