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

_TITLE, _SMALL, _STEP = Look(17, bold=True, frame=0), Look(8.5, frame=0), Look(7.5)
_HEAD, _HEAD_C = Look(8.5, bold=True, shaded=True), Look(7.5, bold=True, align="C", shaded=True)
_NAME, _VALUE = Look(8), Look(10, bold=True, align="C", shaded=True)
_PLAIN, _LARGE = Look(8.5, align="C"), Look(14, bold=True, align="C")
_ROW_MM, _BOX_MM, _LINE_MM, _GAP_MM = 5.4, 7.0, 4.1, 2.0
_FLOWS = ("feed", "product", "drain", "recycle")
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
        _card(sheet, site)
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


def _card(sheet: Sheet, site: str) -> None:
    x, w = MARGIN_MM, sheet.width
    sheet.words(Box(x, 9, w / 2, 9), "Settings card", _TITLE)
    sheet.words(Box(x + w / 2, 9, w / 2, 8), "  Set by, date:", _NAME)
    said = f"{site}   |   write into the boxes what was really set"
    sheet.words(Box(x, 18, w, 5), said, _SMALL)
    bottom = max(_flows(sheet, 23.5), _table(sheet, 23.5)) + _GAP_MM
    bottom = _settings(sheet, bottom) + _GAP_MM
    half = w / 2 - 1
    left = _list(sheet, Box(x, bottom, half, 0), "Start-up: tick when done", "start_up", tick=True)
    _list(sheet, Box(x, left, half, 0), "Before a longer stop", "vacation")
    y = bottom
    for heading, key in (
        ("Shutdown", "shutdown"),
        ("Stop at once, and opening", "stop"),
        ("After a longer stop", "restart"),
        ("Careful: maker and local codes come first", "careful"),
    ):
        y = _list(sheet, Box(x + half + 2, y, half, 0), heading, key)


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
        sheet.words(Box(x, y + 8, wide, 8), str(why or ""), Look(8))
        y += 16
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


def _settings(sheet: Sheet, y: float) -> float:
    """Write what is set at every stage in three columns; return where the longest ends."""
    columns = packed(blocks(sheet.study, sheet.us), _SAY_ALL)
    wide = sheet.width / _SAY_ALL
    most = max(len(column) for column in columns)
    for number, column in enumerate(columns):
        x = MARGIN_MM + number * wide
        for row, entry in enumerate(column):
            top = y + row * _BOX_MM
            if isinstance(entry, str):
                sheet.words(Box(x, top, wide, _BOX_MM), entry, _HEAD)
            else:
                _setting(sheet, Box(x, top, wide, _BOX_MM), entry)
        free = most - len(column)
        if free:
            rest = Box(x, y + len(column) * _BOX_MM, wide, free * _BOX_MM)
            sheet.frame(rest, 1)
            sheet.words(Box(x, rest.y, wide, 5), "Notes:", Look(8, frame=0))
    return y + most * _BOX_MM


def _setting(sheet: Sheet, box: Box, line: Line) -> None:
    value, _ = sheet.figure(line.key)
    if line.in_days and sheet.study.number(line.key) == 0.5:
        value = TWICE_A_DAY
    sheet.words(Box(box.x, box.y, box.w * 0.44, box.h), line.words, _NAME)
    sheet.words(Box(box.x + box.w * 0.44, box.y, box.w * 0.28, box.h), value or NONE, _VALUE)
    sheet.frame(Box(box.x + box.w * 0.72, box.y, box.w * 0.28, box.h), 2)


def _list(sheet: Sheet, box: Box, heading: str, key: str, tick: bool = False) -> float:
    """Write a list of steps; return where it ends."""
    series = sheet.study.series.get(f"settings.{key}")
    if series is None:
        return box.y
    y = box.y
    sheet.words(Box(box.x, y, box.w, _LINE_MM + 0.6), heading, _HEAD)
    y += _LINE_MM + 0.6
    column = "text" if key == "careful" else "card"
    for number, words in enumerate(series.column(column), start=1):
        text = in_us_words(str(words)) if sheet.us else str(words)
        wide = box.w - (8.0 if tick else 0.0)
        tall = _LINE_MM if len(text) * 1.22 < wide else 1.6 * _LINE_MM
        tall = max(tall, 5.6) if tick else tall
        sheet.words(Box(box.x, y, wide, tall), f"{number}  {text}" if tick else text, _STEP)
        if tick:
            sheet.frame(Box(box.x + wide, y, 8.0, tall), 2)
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
