"""A line that appears where an input cell was changed since the run."""

from typing import Any

from pretreat.core.units import unit_shown, us_customary
from pretreat.report.workbook.bench import Bench
from pretreat.report.workbook.formulas import reference

CHANGED = "inputs_changed"  # name of the formula that tells whether any input was changed
STALE = "stale"  # mark of a result that does not follow what was changed
_ON_SHEET = "changed_on_"
_PRICE = "prices."  # everything that rests on a price follows it
_MOST_ARGUMENTS = 200  # a spreadsheet's OR takes 255
WORDS = (
    "Input cells were changed since the run: results marked 'live' follow; those marked 'stale', "
    "tables, charts and chemistry are still those of the run. Run the program again."
)


def define_changed(bench: Bench) -> None:
    """Name formulas that compare input cells with the values of the run.

    One formula for each set of inputs that some result does not follow, and one for all inputs
    but prices.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    """
    for keys, name in bench.marks.names.items():
        _define(bench, name, sorted(keys))
    every = [k for k in bench.book.places if bench.marks.is_input(k)]
    _define(bench, CHANGED, [k for k in every if not k.startswith(_PRICE)])


def _define(bench: Bench, name: str, keys: list[str]) -> None:
    tests = [_differs(bench, key) for key in keys]
    parts = [tests[i : i + _MOST_ARGUMENTS] for i in range(0, len(tests), _MOST_ARGUMENTS)]
    if len(parts) > 1:
        for i, part in enumerate(parts, start=1):
            bench.workbook.define_name(f"{name}_{_ON_SHEET}{i}", f"=OR({','.join(part)})")
        tests = [f"{name}_{_ON_SHEET}{i}" for i in range(1, len(parts) + 1)]
    bench.workbook.define_name(name, f"=OR({','.join(tests or ['FALSE'])})")


def _differs(bench: Bench, key: str) -> str:
    place, value = bench.book.shown(key), bench.study.number(key)
    cell = reference(place, "")
    if value is None:
        return f'{cell}<>""'
    if key in bench.book.shown_us:
        figure = bench.study[key]
        value = us_customary(value, unit_shown(key, figure.unit))[0]
    return f"{cell}<>{value!r}"


def is_live(bench: Bench) -> bool:
    """Tell whether the workbook has input cells that may be changed."""
    return any(bench.marks.is_input(key) for key in bench.book.places)


def write_changed(bench: Bench, sheet: Any, row: int, last: int, words: str = WORDS) -> None:
    """Write the line that shows itself once an input cell was changed.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    sheet : object
        The worksheet. [-]
    row : int
        Row, from zero; it stays empty until then. [-]
    last : int
        Last column in use, from zero. [-]
    words : str
        The line. [-]
    """
    if not is_live(bench):
        return
    style = bench.styles("changed")
    sheet.merge_range(row, 0, row, last, "", style)
    sheet.write_formula(row, 0, f'=IF({CHANGED},"{words}","")', style, "")
