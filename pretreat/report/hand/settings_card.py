"""The settings card: flows, pressure, timers, start-up and cautions on one upright page."""

import math

from pretreat.report.hand.card_lines import (
    NONE,
    TWICE_A_DAY,
    Line,
    blocks,
    packed,
    recovery_to_set,
)
from pretreat.report.hand.page import COLUMNS, HandPage
from pretreat.report.text.us_words import in_us_words
from pretreat.report.workbook.bench import Bench, wrapped_lines
from pretreat.report.workbook.paper import PrintRun
from pretreat.report.workbook.stale import write_changed
from pretreat.report.workbook.summary import site_name

NAME = "Settings card"
SERIES = "settings.by_recovery"
_LAST = COLUMNS - 1
_TITLE, _GAP, _ROW, _TIMER_ROW, _LINE = 24.0, 5.0, 14.5, 20.0, 11.7  # heights in points
_SCALE = {"a4": 1.0, "letter": 0.92}  # Letter is 50 points shorter
_FLOWS = ("feed", "product", "drain", "recycle")
_NAME, _VALUE, _UNIT, _BOX = (0, 2), (3, 5), (6, 7), (8, 10)
_TABLE = ((11, 12), (13, 14), (15, 16), (17, 18), (19, 20), (21, 23))
_PRESSURES = ("", "_coldest", "_warmest")
_SLOT = 8  # columns of one stage; three stand side by side
_TIMER_NAME, _TIMER_VALUE, _TIMER_BOX = (0, 3), (4, 5), (6, 7)
_NAME_CHARS, _WHY_CHARS = 21, 46  # on a line of a name, and of the words beside the order
_NAME_LINE, _WHY_LINE = 10.4, 12.6  # heights in points
TWICE = f'[=0.5]"{TWICE_A_DAY}";0.##;0.##'  # half a day, as the cell shows it
CHANGED_CARD = (
    "Inputs were changed since the run: framed numbers follow; the table, words and clock times "
    "are of the run. Run again."
)
DO_NOT_RUN = "DO NOT RUN"
_LINE_CHARS = 63  # of half the page
_LEFT, _TICK, _RIGHT = (0, 10), (11, 11), (12, _LAST)


def add_settings_card(bench: Bench, print_run: PrintRun) -> None:
    """Add the settings card, if the study has set points.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    print_run : PrintRun
        Paper, site and day. [-]
    """
    if SERIES not in bench.study.series:
        return
    page = HandPage(bench, NAME)
    page.scale = _SCALE[print_run.paper]
    page.text(0, (0, 11), "Settings card", "title")
    page.text(0, (12, _LAST), "Set by, date:", "name")
    page.height(0, _TITLE)
    page.text(
        1, (0, _LAST), f"{site_name(bench)}   |   write into the boxes what was really set", "site"
    )
    bottom = max(_flows(page, 2), _table(page, 2))
    for row in range(2, bottom):
        page.height(row, _ROW)
    page.height(2, 2 * _LINE)
    write_changed(bench, page.sheet, bottom, _LAST, CHANGED_CARD)
    page.height(bottom, _LINE)
    bottom = _timers(page, bottom + 1)
    page.height(bottom, _GAP)
    last = max(_start_up(page, bottom + 1), _stop_and_care(page, bottom + 1))
    for row in range(bottom + 1, last):
        page.height(row, _LINE)
    page.finish(print_run)


def _flows(page: HandPage, row: int) -> int:
    """Write flows, split and pressure at the left; return the row below."""
    page.text(row, (_NAME[0], _NAME[1]), "Flow", "head")
    page.text(row, (_VALUE[0], _UNIT[1]), "Set to", "head_right")
    page.text(row, _BOX, "As set", "head_right")
    row += 1
    order, why = (page.bench.study.value(f"settings.{w}") for w in ("order", "order_why"))
    stopped = order == DO_NOT_RUN
    if isinstance(order, str):
        page.tall((row, row + 1), (0, _BOX[1]), order, "value_strong")
        words = page.bench.words(str(why or ""))
        needed = max(
            3, math.ceil(wrapped_lines(words, _WHY_CHARS) * _WHY_LINE / (_ROW * page.scale))
        )
        page.tall((row + 2, row + 1 + needed), (0, _BOX[1]), words, "name")
        row += 2 + needed
    for flow in _FLOWS:
        rows = row, row + 1
        key = f"settings.{flow}_{'gpm' if page.bench.us else 'l_min'}"
        page.tall(rows, _NAME, flow.capitalize(), "name_strong")
        if stopped:
            page.tall(rows, _VALUE, "-", "value_strong")
            unit = ""
        else:
            unit = page.figure(rows, _VALUE, key, "value_large") or ""
        page.tall(rows, _UNIT, f"US {unit}" if unit == "gpm" else unit or "", "unit")
        page.tall(rows, _BOX, "", "box")
        row += 2
    page.text(row, (0, 4), "Product : drain", "name_strong")
    page.text(
        row,
        (5, _BOX[1]),
        "" if stopped else str(page.bench.study.value("settings.split") or ""),
        "value_strong",
    )
    row += 1
    page.text(row, (0, 4), "Recovery", "name_strong")
    ordered = "settings.recovery" in page.bench.study.figures
    key = "settings.recovery" if ordered else "machine.recovery"
    if stopped:
        page.text(row, (5, 7), DO_NOT_RUN, "value")
    else:
        page.figure((row, row), (5, 7), key, "value", "0.0 %")
    page.text(row, _BOX, "", "box")
    return _pressures(page, row + 1)


def _pressures(page: HandPage, row: int) -> int:
    keys = [f"settings.feed_pressure{end}" for end in _PRESSURES]
    known = [key for key in keys if page.bench.study.number(f"{key}_bar") is not None]
    for stem in known:
        key = f"{stem}_bar"
        page.text(row, (0, 4), f"Pressure at {page.shown(f'{stem}_temp_c')}", "name")
        page.figure((row, row), (5, 6), key, "value_strong")
        page.text(row, (7, 7), page.unit_of(key), "unit")
        page.text(row, _BOX, "", "box")
        row += 1
    if not known:
        page.tall((row, row + 1), (0, 7), "Feed pressure when set; none known to expect", "name")
        page.tall((row, row + 1), _BOX, "", "box")
        row += 2
    return row


def _table(page: HandPage, row: int) -> int:
    """Write the settings against recovery at the right; return the row below."""
    series = page.bench.study.series[SERIES]
    gauge = "gpm" if page.bench.us else "l_min"
    unit = "US gpm" if page.bench.us else "L/min"
    heads = (
        "Recovery",
        "Prod. : drain",
        f"Feed {unit}",
        f"Drain {unit}",
        f"Press. {page.unit_as('bar')}",
        "Allowed",
    )
    for columns, words in zip(_TABLE, heads, strict=True):
        page.text(row, columns, words, "head_right")
    names = ("recovery", "split", f"feed_{gauge}", f"drain_{gauge}", "feed_pressure_bar", "card")
    units = dict(zip(series.columns, series.units, strict=True))
    chosen = recovery_to_set(page.bench.study)
    for point in series.rows:
        row += 1
        values = dict(zip(series.columns, point, strict=True))
        role = "value_strong" if values["recovery"] == chosen else "value"
        page.number(row, _TABLE[0], (values["recovery"], "-"), role, "0.# %")
        for columns, name in zip(_TABLE[1:-1], names[1:-1], strict=True):
            page.number(row, columns, (values[name], units[name]), role)
        page.text(row, _TABLE[-1], str(values["card"]), role.replace("value", "words"))
    return row + 1


def _timers(page: HandPage, top: int) -> int:
    """Write what is set at every stage, in three columns; return the row below."""
    columns = packed(blocks(page.bench.study, page.bench.us), (_LAST + 1) // _SLOT)
    most = max(len(column) for column in columns)
    for number, column in enumerate(columns):
        start = number * _SLOT
        for row, entry in enumerate(column, start=top):
            if isinstance(entry, str):
                page.text(row, (start, start + _SLOT - 1), entry, "head")
            else:
                _timer(page, row, start, entry)
        free = most - len(column)
        if free:
            rows = top + len(column), top + most - 1
            page.tall(rows, (start, start + _SLOT - 1), "Notes:", "notes")
    for row in range(top, top + most):
        beside = (column[row - top] for column in columns if row - top < len(column))
        names = [entry.words for entry in beside if isinstance(entry, Line)]
        lines = max((wrapped_lines(name, _NAME_CHARS) for name in names), default=1)
        least = _TIMER_ROW if row > top else _ROW
        page.height(row, max(least, _NAME_LINE * lines / page.scale))
    return top + most


def _timer(page: HandPage, row: int, start: int, line: Line) -> None:
    name, shown, box = (
        (start + first, start + last) for first, last in (_TIMER_NAME, _TIMER_VALUE, _TIMER_BOX)
    )
    page.text(row, name, line.words, "words")
    value = page.bench.study.value(line.key)
    if isinstance(value, str):
        page.text(row, shown, value, "value_fit")
    else:
        digits = TWICE if line.in_days else ""
        page.figure_or_words((row, row), shown, line.key, ("value_fit", digits, NONE))
    page.text(row, box, "", "box")


def _start_up(page: HandPage, row: int) -> int:
    page.text(row, _LEFT, "Start-up: tick when done", "head")
    page.text(row, _TICK, "", "head")
    row += 1
    for number, words in enumerate(_words(page, "settings.start_up", "card"), start=1):
        page.tall((row, row + 1), _LEFT, f"{number}  {words}", "step")
        page.tall((row, row + 1), _TICK, "", "tick")
        row += 2
    page.text(row, (_LEFT[0], _TICK[1]), "Before a longer stop", "head")
    row += 1
    for words in _words(page, "settings.vacation", "card"):
        lines = math.ceil(len(words) / _LINE_CHARS)
        page.tall((row, row + lines - 1), (_LEFT[0], _TICK[1]), words, "step")
        row += lines
    return row


def _stop_and_care(page: HandPage, row: int) -> int:
    for heading, key, name in (
        ("Shutdown", "settings.shutdown", "card"),
        ("Stop at once, and opening", "settings.stop", "card"),
        ("After a longer stop", "settings.restart", "card"),
        ("Careful: maker and local codes come first", "settings.careful", "text"),
    ):
        page.text(row, _RIGHT, heading, "head")
        row += 1
        for words in _words(page, key, name):
            lines = math.ceil(len(words) / _LINE_CHARS)
            page.tall((row, row + lines - 1), _RIGHT, words, "step")
            row += lines
    return row


def _words(page: HandPage, key: str, column: str) -> tuple[str, ...]:
    series = page.bench.study.series.get(key)
    if series is None:
        return ()
    words = (str(value) for value in series.column(column))
    return tuple(in_us_words(text) if page.bench.us else text for text in words)
