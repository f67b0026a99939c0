"""Numbers that a report prints and nothing was made of, so that a person can see them."""

import re
from collections.abc import Iterable

from pretreat.lab.read.numbers import printed_number
from pretreat.lab.read.report import Grid, PrintedResult, column_letters, one_line

MOST_ROWS, MOST_COLUMNS, SHOWN = 2000, 60, 3


def unused_numbers(grid: Grid, results: Iterable[PrintedResult]) -> tuple[str, ...]:
    """List the printed numbers that are no result, by column.

    Parameters
    ----------
    grid : Grid
        The cells that were read. [-]
    results : iterable of PrintedResult
        What was taken from them. [-]

    Returns
    -------
    tuple of str
        One line per column, with its heading and its first numbers. [-]
    """
    if len(grid.rows) > MOST_ROWS or max((len(row) for row in grid.rows), default=0) > MOST_COLUMNS:
        return ()
    found = list(results)
    used = {(r.place, r.column.split(" ")[0]) for r in found}
    places = {place for place, _ in used}
    first = min((n for n in range(len(grid.rows)) if _row_used(grid, n, places)), default=0)
    columns: dict[int, list[str]] = {}
    for row in range(first, len(grid.rows)):
        for index, cell in enumerate(grid.rows[row]):
            if (grid.place(row, index), column_letters(index)) in used:
                continue
            if cell and len(cell) < 40 and printed_number(cell).kind in {"value", "below", "above"}:
                columns.setdefault(index, []).append(cell)
    return tuple(_listed(grid, index, first, cells) for index, cells in sorted(columns.items()))


def _row_used(grid: Grid, row: int, places: set[str]) -> bool:
    return any(grid.place(row, index) in places for index in range(len(grid.rows[row])))


def _listed(grid: Grid, index: int, first: int, cells: list[str]) -> str:
    heads = (grid.cell(row, index) for row in range(first - 1, max(first - 4, -1), -1))
    head = next((h for h in heads if re.search(r"[^\W\d_]", h)), "")
    numbers = ", ".join(one_line(cell, 20) for cell in cells[:SHOWN])
    more = " ..." if len(cells) > SHOWN else ""
    title = f" '{one_line(head, 40)}'" if head else ""
    return f"column {column_letters(index)}{title}: {numbers}{more} ({len(cells)})"
