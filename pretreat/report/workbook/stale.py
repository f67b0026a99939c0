"""A line that appears where an input cell was changed since the run."""

from typing import Any

from pretreat.report.workbook.bench import Bench
from pretreat.report.workbook.formulas import reference
from pretreat.report.workbook.pages import Place

CHANGED = "inputs_changed"  # name of the formula that tells whether any input was changed
_ON_SHEET = "changed_on_"
_MOST_ARGUMENTS = 200  # a spreadsheet's OR takes 255
WORDS = (
    "Input cells were changed since the run: marked results follow, but words, tables, charts and "
    "chemistry are still those of the run. Run the program again before anyone relies on them."
)


def define_changed(bench: Bench) -> None:
    """Name formulas that compare every input cell with the value of the run.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    """
    tests: dict[str, list[str]] = {}
    for key, place in bench.book.places.items():
        if bench.marks.is_input(key):
            tests.setdefault(place.sheet, []).append(_differs(bench, key, place))
    names: list[str] = []
    for found in tests.values():
        for start in range(0, len(found), _MOST_ARGUMENTS):
            names.append(f"{_ON_SHEET}{len(names) + 1}")
            part = ",".join(found[start : start + _MOST_ARGUMENTS])
            bench.workbook.define_name(names[-1], f"=OR({part})")
    if names:
        bench.workbook.define_name(CHANGED, f"=OR({','.join(names)})")


def _differs(bench: Bench, key: str, place: Place) -> str:
    cell, value = reference(place, ""), bench.study.number(key)
    return f'{cell}<>""' if value is None else f"{cell}<>{value!r}"


def write_changed(bench: Bench, sheet: Any, row: int, last: int) -> None:
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
    """
    if not any(bench.marks.is_input(key) for key in bench.book.places):
        return
    style = bench.styles("changed")
    sheet.merge_range(row, 0, row, last, "", style)
    sheet.write_formula(row, 0, f'=IF({CHANGED},"{WORDS}","")', style, "")
