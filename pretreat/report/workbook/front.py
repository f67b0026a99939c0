"""The front page: does this train work here, why, and where the rest stands."""

import itertools
import math
from collections.abc import Sequence
from typing import Any

from pretreat.core.basis import Figure
from pretreat.core.results import Study
from pretreat.core.units import US_CUSTOMARY, unit_shown, us_customary
from pretreat.report.digits import decimals, number_format
from pretreat.report.main_results import FRONT, FRONT_MOST
from pretreat.report.workbook.bench import (
    Bench,
    governing,
    is_standing,
    sentence,
    stages_behind,
    stages_in,
    wrapped_lines,
)
from pretreat.report.workbook.charts import front_chart
from pretreat.report.workbook.formulas import reference, us_formula
from pretreat.report.workbook.layout import CAUTIONS, RESULTS, SUMMARY, VERDICT
from pretreat.report.workbook.stale import write_changed
from pretreat.report.workbook.summary import format_of_main, words_of_head
from pretreat.stages import ORDER, trains_in_words

COLUMNS, LAST = 24, 23
WIDTH = 3.55  # of each column, in digits; the page prints at its own size
_LINE, _CHARS, _GAP = 12.0, 128, 5.0
_MOST_WARNINGS, _MOST_LINES = 3, 14  # of warnings; lines of the points of the verdict
OPEN = ("summary.not_measured", "summary.analysis")  # beside the verdict
POINTS, CONDITION = "verdict.decides", "condition"
_MOST_BOXES = 6  # of the train in a row: the longest word of a stage then has room
_CHART_ROWS, _CHART_PX = 16, (715, 230)  # some points lower than its rows
_OPERATING = "operating"  # the season that is none
_PERCENT, _NEAR = 100.0, 1e-6
_HALF, _LABEL, _NUMBER, _LINK = COLUMNS // 2, 4, 6, 3
# What a number is of, where its label does not say.
_OF = {
    "water": "Raw water",
    "concentrate": "Concentrate",
    "scaling": "Concentrate",
    "product": "Product",
    **{stage.key: stage.label for stage in ORDER},
}


def write_front(bench: Bench, sheet: Any, day: str, others: Sequence[str]) -> None:
    """Write the front page.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    sheet : object
        The worksheet. [-]
    day : str
        Date of the report, may be empty. [-]
    others : sequence of str
        Names of the other sheets, in order, for the links. [-]
    """
    sheet.set_column(0, LAST, WIDTH)
    page = _Front(bench, sheet)
    page.head(day)
    page.verdict()
    page.strip()
    page.facts()
    page.warnings()
    page.chart()
    page.numbers()
    page.links(others)
    page.signatures()


def points_of(study: Study) -> tuple[tuple[str, str], ...]:
    """Return the points of the verdict, as the sheet Verdict lists them.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    tuple of tuple
        What each is, "reason" or "condition", and its words; gravest first. [-]
    """
    table = study.series.get(POINTS)
    if table is None:
        return ()
    return tuple((str(is_a), str(text)) for _, is_a, text in table.rows)


def _share(value: float) -> str:
    """Return a recovery in whole percent, as the other pages round it: never up."""
    return f"{math.floor(value * _PERCENT + _NEAR)} %"


class _Front:
    """The page as it grows downwards."""

    def __init__(self, bench: Bench, sheet: Any) -> None:
        self._bench, self._sheet, self._row = bench, sheet, 0
        self._lines: dict[int, int] = {}

    def head(self, day: str) -> None:
        """Write site, kind of study and date."""
        name, line = words_of_head(self._bench, day)
        self._sheet.write_string(0, 0, name, self._bench.styles("title"))
        self._sheet.set_row(0, 22)
        self._row = 1
        self._wide(line, "front", 1.0)
        write_changed(self._bench, self._sheet, self._row, LAST)
        self._row += 1

    def verdict(self) -> None:
        """Write the answer, then the reasons, gravest first."""
        study = self._bench.study
        answer = study.value("verdict.answer")
        if isinstance(answer, str):
            self._wide(sentence(answer), "front_answer", 1.6, height=20.0)
        elif isinstance(study.value("summary.verdict"), str):
            self._wide(str(study.value("summary.verdict")), "front_strong", 1.1)
        self._points(points_of(study))
        for key in OPEN:
            told = study.figures.get(key)
            if told is not None and isinstance(told.value, str):
                self._wide(f"{told.label}: {told.value}", "front", 1.0)
        self._gap()

    def _points(self, points: Sequence[tuple[str, str]]) -> None:
        """Write the points that the page has room for, and how many are left."""
        shown, lines = 0, 0
        for _, text in points:
            words = f"\u2013 {sentence(self._bench.words(text))}"
            lines += wrapped_lines(words, _CHARS)
            if shown and lines > _MOST_LINES:
                break
            self._wide(words, "front", 1.0)
            shown += 1
        left = len(points) - shown
        if left:
            every = sum(is_a == CONDITION for is_a, _ in points)
            words = f"and {left} more: see the sheet {VERDICT}"
            words += f", {every} conditions in all" if every else ""
            self._wide(f"\u2013 {words}", "front_strong", 1.0)

    def strip(self) -> None:
        """Draw the train as a strip of boxes in the order of flow."""
        study = self._bench.study
        stages, behind = stages_in(study), stages_behind(study)
        if not stages and not behind:
            return
        chain = ["well", *(f"\u25b8 {word}" for word in (*stages, "membranes", *behind, "product"))]
        rows = -(-len(chain) // _MOST_BOXES)
        each = -(-len(chain) // rows)
        for first in range(0, len(chain), each):
            self._boxes(chain[first : first + each], each)
        self._gap()

    def _boxes(self, words: Sequence[str], each: int) -> None:
        """Draw a row of boxes over the width of the page."""
        ends = [COLUMNS * i // each for i in range(each + 1)]
        spans = [(a, b - 1) for a, b in itertools.pairwise(ends)]
        room = 4 * (COLUMNS // each) - 1
        lines = max(wrapped_lines(word, room) for word in words)
        self._sheet.set_row(self._row, _LINE * lines + 6)
        style = self._bench.styles("front_box")
        for (start, end), word in zip(spans, words, strict=False):
            self._merge(self._row, start, end, word, style)
        self._row += 1

    def facts(self) -> None:
        """Write the three facts that decide: recovery, water supply, the other way."""
        self._heading("What decides")
        self._recovery()
        self._supply()
        study = self._bench.study
        runner = study.value("train.runner_up") or study.value("compare.conclusion")
        if isinstance(runner, str) and runner:
            label = "Runner-up" if study.value("train.runner_up") else "Other ways"
            costs = [
                study.number(f"choices.{which}_cost_per_year") for which in ("runner_up", "chosen")
            ]
            beside = (
                f": {costs[0]:,.0f} a year, the train chosen {costs[1]:,.0f}"
                if label == "Runner-up" and costs[0] is not None and costs[1] is not None
                else ""
            )
            self._fact(label, trains_in_words(runner) + beside)
        self._gap()

    def _recovery(self) -> None:
        study = self._bench.study
        largest, set_to = study.figures.get("recovery.max"), study.number("concentrate.recovery")
        season, worst = study.value("recovery.worst_season"), "recovery.max_worst_season"
        of_season = isinstance(season, str) and worst in study.figures
        largest = study.figures[worst] if of_season else largest
        if largest is None or not isinstance(largest.value, float) or set_to is None:
            return
        named = f"in the worst season, {season}," if of_season else ""
        where = f" {named}" if named and not str(season).startswith(_OPERATING) else ""
        text = f"set to {_share(set_to)}, this feed allows{where} {_share(largest.value)}"
        if largest.p10 is not None and largest.p90 is not None:
            text += f" (P10 to P90: {_share(largest.p10)} to {_share(largest.p90)})"
        by = study.value("recovery.worst_limited_by" if of_season else "recovery.limited_by")
        text += f", limited by {by}" if isinstance(by, str) and by != "none" else ""
        self._fact("Recovery", text)

    def _supply(self) -> None:
        study = self._bench.study
        needed, given = study.number("pump.largest_flow_m3_h"), self._given("pump_flow_m3_h")
        if needed is None:
            return
        text = f"the largest flow needed is {needed:.3g} m3/h"
        text += f", the pump gives {given:.3g} m3/h" if given is not None else ", pump not given"
        well = self._given("well_yield_m3_h")
        text += f"; the well yields {well:.3g} m3/h" if well is not None else ""
        self._fact("Pump and well", text)

    def _given(self, name: str) -> float | None:
        for prefix in ("supply.", "pump.", "well."):
            found = self._bench.study.number(prefix + name)
            if found is not None:
                return found
        return None

    def _fact(self, label: str, text: str) -> None:
        styles = self._bench.styles
        shown = self._bench.words(text)
        self._merge(self._row, 0, _LABEL - 1, label, styles("front_label"))
        self._merge(self._row, _LABEL, LAST, sentence(shown), styles("front_rule"))
        room = _CHARS * (COLUMNS - _LABEL) // COLUMNS
        self._sheet.set_row(self._row, _LINE * wrapped_lines(shown, room) + 1)
        self._row += 1

    def warnings(self) -> None:
        """Write the gravest remarks; the rest stands on its own sheet."""
        flags = [f for f in self._bench.study.flags_of("warning", "caution") if not is_standing(f)]
        flags.sort(key=lambda flag: flag.level != "warning")
        self._heading("Points to note")
        said = str(self._bench.study.value("verdict.reasons") or "")
        fresh = [f for f in flags if f.text not in said]
        for flag in fresh[:_MOST_WARNINGS]:
            self._fact(flag.level, flag.text)
        left = len(self._bench.study.flags) - min(len(fresh), _MOST_WARNINGS)
        if left > 0:
            words = f"{left} more, rules of safe work among them, on the sheet {CAUTIONS}"
            self._wide(f"{words}: read them before work.", "front_strong", 1.0)
        self._gap()

    def chart(self) -> None:
        """Draw saturation against recovery."""
        chart = front_chart(self._bench)
        if chart is None:
            return
        width, height = _CHART_PX
        chart.set_size({"width": width, "height": height})
        words = "Percent saturation of each scale against recovery, with limits and design point"
        options = {"description": words, "object_position": 1}
        self._sheet.insert_chart(self._row, 0, chart, options)
        self._row += _CHART_ROWS
        self._gap()

    def numbers(self) -> None:
        """Write about a dozen numbers in two columns, in the units of the reader."""
        study, places = self._bench.study, self._bench.book.places
        keys = [k for k in governing(study, FRONT) if k in places and study.number(k) is not None]
        keys = keys[:FRONT_MOST]
        rows = -(-len(keys) // 2)
        for i, key in enumerate(keys):
            self._number(self._row + i % rows, _HALF * (i // rows), study[key])
        self._row += rows
        self._gap()

    def _number(self, row: int, column: int, figure: Figure) -> None:
        styles, place = self._bench.styles, self._bench.book.places[figure.key]
        label = sentence(figure.label)
        of = _OF.get(figure.key.partition(".")[0], "")
        label = f"{of}: {figure.label}" if of and not label.startswith(of) else label
        label, _, gaps = self._bench.words(label).partition(", without ")
        label += ", of what has a price" if gaps else ""
        self._merge(row, column, column + _NUMBER - 1, label, styles("front_rule"))
        measured, unit = unit_shown(figure.key, figure.unit), figure.unit
        value, formula = float(figure.value or 0.0), "=" + reference(place, SUMMARY)
        style = styles("strong_number", format_of_main(figure))
        if self._bench.us and measured in US_CUSTOMARY:
            value, unit = us_customary(value, measured)
            formula = us_formula(reference(place, SUMMARY), measured)
            twin = Figure(figure.key, value, unit, figure.label)
            style = styles("strong_number", number_format(decimals(twin), value))
        at = column + _NUMBER
        self._sheet.merge_range(row, at, row, at + 1, "", style)
        self._sheet.write_formula(row, at, formula, style, value)
        shown = "" if unit == "-" else unit
        self._merge(row, at + 2, column + _HALF - 1, shown, styles("unit"))
        self._lines[row] = max(self._lines.get(row, 1), wrapped_lines(label, 28))
        self._sheet.set_row(row, _LINE * self._lines[row])

    def links(self, others: Sequence[str]) -> None:
        """Write a link to each other sheet."""
        style = self._bench.styles("front_link")
        per_row = COLUMNS // _LINK
        for i, name in enumerate((RESULTS, *(n for n in others if n != RESULTS))):
            row, column = self._row + i // per_row, _LINK * (i % per_row)
            self._merge(row, column, column + _LINK - 1, "", style)
            self._sheet.write_url(row, column, f"internal:'{name}'!A1", style, name)
        self._row += 1 + len(others) // per_row

    def signatures(self) -> None:
        """Leave room for two names."""
        style = self._bench.styles("signature")
        self._row += 1
        self._merge(self._row, 0, _HALF - 3, "calculated by, date", style)
        self._merge(self._row, _HALF, LAST - 2, "checked by, date", style)

    def _gap(self) -> None:
        self._sheet.set_row(self._row, _GAP)
        self._row += 1

    def _heading(self, text: str) -> None:
        self._merge(self._row, 0, LAST, text, self._bench.styles("heading"))
        self._row += 1

    def _wide(self, text: str, role: str, size: float, height: float = _LINE) -> None:
        shown = self._bench.words(text)
        self._merge(self._row, 0, LAST, shown, self._bench.styles(role))
        self._sheet.set_row(self._row, height * wrapped_lines(shown, int(_CHARS / size)))
        self._row += 1

    def _merge(self, row: int, first: int, last: int, text: str, style: Any) -> None:
        if last > first:
            self._sheet.merge_range(row, first, row, last, "", style)
        self._sheet.write_string(row, first, text, style)
