"""Settings card and record sheet as a PDF of two pages, to be printed and written on."""

import datetime
from collections.abc import Iterator
from pathlib import Path

from pretreat.core.basis import Value
from pretreat.core.results import Study
from pretreat.report.files import replace_file
from pretreat.report.hand.card_lines import (
    NONE,
    TWICE_A_DAY,
    Line,
    blocks,
    packed,
    recovery_to_set,
)
from pretreat.report.hand.pdf_sheet import MARGIN_MM, Box, Look, Sheet
from pretreat.report.text.us_words import in_us_words
from pretreat.report.workbook.bench import wrapped_lines

_TITLE, _SMALL, _STEP = Look(17, bold=True, frame=0), Look(8.5, frame=0), Look(7.5)
_HEAD, _HEAD_C = Look(8.5, bold=True, shaded=True), Look(7.5, bold=True, align="C", shaded=True)
_NAME, _VALUE = Look(8), Look(10, bold=True, align="C", shaded=True)
_PLAIN, _LARGE = Look(8.5, align="C"), Look(14, bold=True, align="C")
_ROW_MM, _BOX_MM, _LINE_MM, _GAP_MM = 5.4, 7.0, 4.1, 2.0
_LEAST_BOX_MM, _FOOT_MM, _TICK_MM = 6.2, 14.0, 8.0
_NAMED, _SET = 0.5, 0.25  # shares of a setting: its name, its value and the box beside it
_TICKED = "start_up"
_LEFT = (("Start-up: tick when done", _TICKED), ("Before a longer stop", "vacation"))
_RIGHT = (
    ("Shutdown", "shutdown"),
    ("Stop at once, and opening", "stop"),
    ("After a longer stop", "restart"),
    ("Careful: maker and local codes come first", "careful"),
)
_FLOWS = ("feed", "product", "drain", "recycle")
_WHY_MM, _WHY_CHARS = 3.4, 56  # a line of the words beside the order
_SAY_ALL = 3  # columns of settings
_READINGS = 8
_NOTE = (
    "Read all gauges within ten minutes, the machine having run steadily for half an hour. * is "
    "needed for the baseline. Write the unit if the gauge shows another. Then type it in: pretreat "
    "log."
)


def card_bytes(study: Study, *, us: bool, day: datetime.date) -> bytes:
    """Return settings card and record sheet as a PDF.

    Parameters
    ----------
    study : Study
        Study of a site, sized or rated. [-]
    us : bool
        Whether the pages are in US units, on letter paper. [-]
    day : date
        Day printed at the foot. [-]

    Returns
    -------
    bytes
        The PDF. [-]
    """
    sheet = Sheet(study, us, day)
    site = str(study.value("site.name") or "")
    if "settings.by_recovery" in study.series:
        sheet.pdf.add_page()
        _card(sheet, site, day)
        sheet.foot("Settings card", site, day)
    sheet.pdf.add_page()
    _record(sheet, site)
    sheet.foot("Record sheet", site, day)
    return bytes(sheet.pdf.output())


def write_card(study: Study, path: str | Path, *, us: bool, day: datetime.date) -> Path:
    """Write settings card and record sheet as a PDF.

    Parameters
    ----------
    study : Study
        Study of a site, sized or rated. [-]
    path : str or Path
        The file; it is replaced whole. [-]
    us : bool
        Whether the pages are in US units. [-]
    day : date
        Day printed at the foot. [-]

    Returns
    -------
    Path
        The file. [-]

    Raises
    ------
    PretreatError
        If the file cannot be written.
    """
    return replace_file(Path(path), card_bytes(study, us=us, day=day))


def _card(sheet: Sheet, site: str, day: datetime.date) -> None:
    x, w = MARGIN_MM, sheet.width
    sheet.words(Box(x, 9, w / 2, 9), "Settings card", _TITLE)
    sheet.words(Box(x + w / 2, 9, w / 2, 8), "  Set by, date:", _NAME)
    said = f"{site}   |   write into the boxes what was really set"
    sheet.words(Box(x, 18, w, 5), said, _SMALL)
    bottom = max(_flows(sheet, 23.5), _table(sheet, 23.5)) + _GAP_MM
    half = w / 2 - 1
    steps = max(sum(_list_mm(sheet, half, key) for _, key in part) for part in (_LEFT, _RIGHT))
    rows = max((len(column) for column in _columns(sheet)), default=0)
    foot = sheet.paper[1] - _FOOT_MM
    room = (foot - bottom - _GAP_MM - steps) / max(rows, 1)
    fits = room >= _LEAST_BOX_MM
    bottom = _settings(sheet, bottom, min(_BOX_MM, room) if fits else _BOX_MM) + _GAP_MM
    if not fits:  # many stages: what is done stands on a page of its own
        sheet.foot("Settings card", site, day)
        sheet.pdf.add_page()
        sheet.words(Box(x, 9, w, 9), "Settings card: start, stop and care", _TITLE)
        bottom = 20.0
    for left, part in ((x, _LEFT), (x + half + 2, _RIGHT)):
        y = bottom
        for heading, key in part:
            y = _list(sheet, Box(left, y, half, 0), heading, key)


def _flows(sheet: Sheet, y: float) -> float:
    """Write flows and pressure at the left; return where they end."""
    x, wide = MARGIN_MM, sheet.width * 0.44
    study = sheet.study
    parts = (0.30, 0.27, 0.18, 0.25)
    at = [x + wide * sum(parts[:i]) for i in range(4)]
    sheet.words(Box(x, y, wide * 0.3, _ROW_MM), "Flow", _HEAD)
    sheet.words(Box(at[1], y, wide * 0.45, _ROW_MM), "Set to", _HEAD_C)
    sheet.words(Box(at[3], y, wide * 0.25, _ROW_MM), "As set", _HEAD_C)
    y += _ROW_MM
    order, why = (study.value(f"settings.{w}") for w in ("order", "order_why"))
    stopped = order == "DO NOT RUN"
    if isinstance(order, str):
        sheet.words(Box(x, y, wide, 8), order, Look(13, bold=True, align="C", shaded=True))
        said = in_us_words(str(why or "")) if sheet.us else str(why or "")
        high = max(8.0, _WHY_MM * wrapped_lines(said, _WHY_CHARS))
        sheet.words(Box(x, y + 8, wide, high), said, Look(8))
        y += 8 + high
    for flow in _FLOWS:
        value, unit = sheet.figure(f"settings.{flow}_{'gpm' if sheet.us else 'l_min'}")
        sheet.words(Box(x, y, wide * 0.3, 8), flow.capitalize(), Look(10, bold=True))
        sheet.words(Box(at[1], y, wide * 0.27, 8), "-" if stopped else value, _LARGE)
        unit = f"US {unit}" if unit == "gpm" else unit
        sheet.words(Box(at[2], y, wide * 0.18, 8), "" if stopped else unit, _PLAIN)
        sheet.frame(Box(at[3], y, wide * 0.25, 8), 2)
        y += 8
    for words, value in _below_flows(sheet, stopped):
        sheet.words(Box(x, y, wide * 0.4, 6.5), words, _NAME)
        sheet.words(Box(x + wide * 0.4, y, wide * 0.35, 6.5), value, _VALUE)
        sheet.frame(Box(at[3], y, wide * 0.25, 6.5), 2)
        y += 6.5
    return y


def _below_flows(sheet: Sheet, stopped: bool) -> Iterator[tuple[str, str]]:
    study = sheet.study
    yield "Product : drain", "" if stopped else str(study.value("settings.split") or "")
    recovery = recovery_to_set(study)
    known = "" if recovery is None else f"{100.0 * recovery:.1f} %"
    yield "Recovery", "DO NOT RUN" if stopped else known
    told = False
    for end in ("", "_coldest", "_warmest"):
        value, unit = sheet.figure(f"settings.feed_pressure{end}_bar")
        if value:
            temp, degree = sheet.figure(f"settings.feed_pressure{end}_temp_c")
            yield f"Pressure at {temp} {degree}".strip(), f"{value} {unit}"
            told = True
    if not told:
        yield "Feed pressure when set", ""


def _table(sheet: Sheet, y: float) -> float:
    """Write the settings against recovery at the right; return where it ends."""
    series, study = sheet.study.series["settings.by_recovery"], sheet.study
    gauge, unit = ("gpm", "US gpm") if sheet.us else ("l_min", "L/min")
    wide = sheet.width * 0.54
    x, parts = MARGIN_MM + sheet.width - wide, (0.16, 0.15, 0.14, 0.14, 0.14, 0.27)
    press = "psi" if sheet.us else "bar"
    heads = ("Recovery", "Prod. : drain", f"Feed {unit}", f"Drain {unit}", f"Press. {press}")
    names = ("recovery", "split", f"feed_{gauge}", f"drain_{gauge}", "feed_pressure_bar", "card")
    units = dict(zip(series.columns, series.units, strict=True))
    at = [x + wide * sum(parts[:i]) for i in range(len(parts))]
    for left, part, head in zip(at, parts, (*heads, "Allowed"), strict=True):
        sheet.words(Box(left, y, wide * part, 8), head, _HEAD_C)
    y += 8
    for row in series.rows:
        values: dict[str, Value] = dict(zip(series.columns, row, strict=True))
        chosen = values["recovery"] == recovery_to_set(study)
        for left, part, name in zip(at, parts, names, strict=True):
            text = sheet.number(values[name], units[name])
            if name == "recovery" and isinstance(values[name], float):
                text = f"{100.0 * float(values[name] or 0.0):.3g} %"
            look = _VALUE if chosen else _PLAIN
            sheet.words(Box(left, y, wide * part, _ROW_MM), text, look)
        y += _ROW_MM
    return y


def _columns(sheet: Sheet) -> tuple[tuple[str | Line, ...], ...]:
    return packed(blocks(sheet.study, sheet.us), _SAY_ALL)


def _settings(sheet: Sheet, y: float, box_mm: float) -> float:
    """Write what is set at every stage in three columns; return where the longest ends."""
    columns = _columns(sheet)
    wide = sheet.width / _SAY_ALL
    most = max(len(column) for column in columns)
    for number, column in enumerate(columns):
        x = MARGIN_MM + number * wide
        for row, entry in enumerate(column):
            top = y + row * box_mm
            if isinstance(entry, str):
                sheet.words(Box(x, top, wide, box_mm), entry, _HEAD)
            else:
                _setting(sheet, Box(x, top, wide, box_mm), entry)
        free = most - len(column)
        if free:
            rest = Box(x, y + len(column) * box_mm, wide, free * box_mm)
            sheet.frame(rest, 1)
            sheet.words(Box(x, rest.y, wide, 5), "Notes:", Look(8, frame=0))
    return y + most * box_mm


def _setting(sheet: Sheet, box: Box, line: Line) -> None:
    value, _ = sheet.figure(line.key)
    if line.in_days and sheet.study.number(line.key) == 0.5:
        value = TWICE_A_DAY
    sheet.words(Box(box.x, box.y, box.w * _NAMED, box.h), line.words, _NAME)
    sheet.words(Box(box.x + box.w * _NAMED, box.y, box.w * _SET, box.h), value or NONE, _VALUE)
    sheet.frame(Box(box.x + box.w * (_NAMED + _SET), box.y, box.w * _SET, box.h), 2)


def _steps(sheet: Sheet, wide: float, key: str) -> tuple[tuple[str, float], ...]:
    """Return the steps of a list, each with the height that it takes [mm]."""
    series = sheet.study.series.get(f"settings.{key}")
    if series is None:
        return ()
    found = []
    for words in series.column("text" if key == "careful" else "card"):
        text = in_us_words(str(words)) if sheet.us else str(words)
        room = wide - (_TICK_MM if key == _TICKED else 0.0)
        tall = _LINE_MM if len(text) * 1.22 < room else 1.6 * _LINE_MM
        found.append((text, max(tall, 5.6) if key == _TICKED else tall))
    return tuple(found)


def _list_mm(sheet: Sheet, wide: float, key: str) -> float:
    steps = _steps(sheet, wide, key)
    return sum(tall for _, tall in steps) + (_LINE_MM + 0.6 if steps else 0.0)


def _list(sheet: Sheet, box: Box, heading: str, key: str) -> float:
    """Write a list of steps; return where it ends."""
    steps = _steps(sheet, box.w, key)
    if not steps:
        return box.y
    y = box.y
    sheet.words(Box(box.x, y, box.w, _LINE_MM + 0.6), heading, _HEAD)
    y += _LINE_MM + 0.6
    tick = key == _TICKED
    wide = box.w - (_TICK_MM if tick else 0.0)
    for number, (text, tall) in enumerate(steps, start=1):
        sheet.words(Box(box.x, y, wide, tall), f"{number}  {text}" if tick else text, _STEP)
        if tick:
            sheet.frame(Box(box.x + wide, y, _TICK_MM, tall), 2)
        y += tall
    return y


def _record(sheet: Sheet, site: str) -> None:
    x, w = MARGIN_MM, sheet.width
    sheet.words(Box(x, 9, w / 2, 9), "Record sheet", _TITLE)
    sheet.words(Box(x + w / 2, 9, w / 2, 8), "  Sheet no.", _NAME)
    sheet.words(Box(x, 18, w, 4.5), site, _SMALL)
    sheet.words(Box(x, 22.5, w, 8), _NOTE, Look(8, frame=0))
    series = sheet.study.series["settings.record_sheet"]
    lines = [dict(zip(series.columns, row, strict=True)) for row in series.rows]
    y = 31.0
    tall = min(8.5, (sheet.paper[1] - 12.0 - y - 5.0) / (len(lines) + 3.3))
    parts = (0.21, 0.09, 0.08)
    each = (1 - sum(parts)) / _READINGS
    first = x + w * sum(parts)
    for part, words, at in zip(
        parts, ("Gauge", "Unit", "Expected"), (0.0, 0.21, 0.30), strict=True
    ):
        sheet.words(Box(x + w * at, y, w * part, 5), words, _HEAD_C)
    for n in range(_READINGS):
        sheet.words(Box(first + n * w * each, y, w * each, 5), str(n + 1), _HEAD_C)
    y += 5
    for line in (None, *lines):
        _gauge(sheet, Box(x, y, w, tall), parts, line)
        _boxes(sheet, Box(first, y, w * each, tall))
        y += tall
    for words, rows in (("Who", 1.0), ("What was done, seen or changed", 1.3)):
        sheet.words(Box(x, y, w * sum(parts), tall * rows), words, _NAME)
        _boxes(sheet, Box(first, y, w * each, tall * rows))
        y += tall * rows


def _boxes(sheet: Sheet, box: Box) -> None:
    for n in range(_READINGS):
        sheet.frame(Box(box.x + n * box.w, box.y, box.w, box.h), 2)


def _gauge(
    sheet: Sheet, box: Box, parts: tuple[float, float, float], line: dict[str, Value] | None
) -> None:
    if line is None:
        sheet.words(Box(box.x, box.y, box.w * sum(parts), box.h), "Date and time", _NAME)
        return
    unit = str(line["unit_us" if sheet.us else "unit"])
    expected, _ = sheet.figure(str(line["figure_us" if sheet.us else "figure"] or ""))
    told = ("" if unit == "-" else unit, expected or str(line["words"] or ""))
    name, wide, last = (box.w * part for part in parts)
    sheet.words(Box(box.x, box.y, name, box.h), str(line["gauge"]), Look(7.5))
    sheet.words(Box(box.x + name, box.y, wide, box.h), told[0], Look(8, align="C"))
    sheet.words(Box(box.x + name + wide, box.y, last, box.h), told[1], _PLAIN)
