"""Two ways of cutting the same print, held against each other."""

from collections.abc import Iterable

from msgspec.structs import replace

from pretreat.core.errors import AnalysisError
from pretreat.lab.read.layout import Layout, best_layout
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.numbers import printed_number
from pretreat.lab.read.report import Grid, PrintedResult

Place = tuple[str, str]  # where a result stands, and its analyte


def with_rivals(grids: Iterable[Grid], read: Grid, layout: Layout) -> Layout:
    """Return a layout with doubts on results that another cutting reads otherwise.

    Parameters
    ----------
    grids : iterable of Grid
        All cuttings of the file. [-]
    read : Grid
        The one that is read. [-]
    layout : Layout
        What was found in it. [-]

    Returns
    -------
    Layout
        The same with doubts added. [-]
    """
    if not read.from_text or layout.name != "vertical":
        return layout
    own = _single(layout.results)
    results = list(layout.results)
    for grid in grids:
        if grid is read or not grid.from_text or not grid.texts:
            continue
        for place, other in _single(_results(grid)).items():
            mine = own.get(place)
            if mine is None or other.doubt or mine.doubt or _agree(mine, other):
                continue
            at = next(n for n, r in enumerate(results) if r is mine)
            results[at] = replace(mine, doubt=f"it may also be {other.text}")
            own.pop(place)
    return replace(layout, results=tuple(results))


def _agree(mine: PrintedResult, other: PrintedResult) -> bool:
    """Tell two readings of which none speaks against the other."""
    one, two = printed_number(mine.text), printed_number(other.text)
    if two.kind not in {"value", "below"} or (one.kind, one.number) == (two.kind, two.number):
        return True
    cut = other.text in mine.text or mine.text in other.text
    return not cut


def _results(grid: Grid) -> tuple[PrintedResult, ...]:
    try:
        found = best_layout([grid])
    except AnalysisError:
        return ()
    return found[1].results if found and found[1].name == "vertical" else ()


def _single(results: Iterable[PrintedResult]) -> dict[Place, PrintedResult]:
    """Return the results of which a line holds one."""
    found: dict[Place, PrintedResult] = {}
    several: set[Place] = set()
    for result in results:
        key = named_analyte(result.name).key
        if not key:
            continue
        place = (result.place, key)
        several |= {place} & set(found)
        found[place] = result
    return {place: r for place, r in found.items() if place not in several}
