"""The first sheet: one page with the verdict, the main results, the train and the cautions."""

import math
from typing import Any

from pretreat.basis import Figure, Flag
from pretreat.report.bench import Bench, sentence
from pretreat.report.digits import decimals, number_format
from pretreat.report.formulas import reference, us_formula
from pretreat.report.layout import CAUTIONS, MAIN, SUMMARY
from pretreat.report.styles import LINE_HEIGHT
from pretreat.units import US_CUSTOMARY, us_customary

WIDTHS = (44.0, 12.0, 15.0, 12.0, 10.0, 12.0, 17.0)
LAST = len(WIDTHS) - 1
_LINE_CHARS = 118
_NOTE_CHARS = 92
MOST_FLAGS = 12
_KIND = {
    "check": "Check of the water analysis",
    "scaling": "Scaling study",
    "size": "Sizing of the pretreatment",
    "rate": "Rating of the installed pretreatment",
}


def write_summary(bench: Bench, sheet: Any, date: str) -> None:
    """Write the summary.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    sheet : object
        The worksheet. [-]
    date : str
        Date of the report, may be empty. [-]
    """
    for column, width in enumerate(WIDTHS):
        sheet.set_column(column, column, width)
    row = _head(bench, sheet, date)
    row = _verdict(bench, sheet, row)
    row = _results(bench, sheet, row)
    row = _train(bench, sheet, row)
    row = _flags(bench, sheet, row)
    _signatures(bench, sheet, row + 1)


def site_name(bench: Bench) -> str:
    """Return the name of the site, or an empty text.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]

    Returns
    -------
    str
        Name. [-]
    """
    name = bench.study.value("site.name")
    return name if isinstance(name, str) else ""


def _head(bench: Bench, sheet: Any, date: str) -> int:
    styles, study = bench.styles, bench.study
    sheet.write_string(0, 0, site_name(bench) or "Well water", styles("title"))
    sheet.set_row(0, 22)
    kind = study.value("study.kind")
    words = [_KIND.get(kind, kind) if isinstance(kind, str) else "", date]
    words += [
        f"{sentence(figure.label)}: {figure.value}"
        for key, figure in study.figures.items()
        if key.startswith(("site.", "study.")) and key not in {"site.name", "study.kind"}
        and isinstance(figure.value, str) and figure.value
    ]  # fmt: skip
    sheet.write_string(1, 0, "   |   ".join(w for w in words if w), styles("plain"))
    return 3


def _verdict(bench: Bench, sheet: Any, row: int) -> int:
    lines = [
        figure
        for key, figure in bench.study.figures.items()
        if key.startswith("summary.") and isinstance(figure.value, str)
    ]
    for figure in lines:
        main = figure.key == "summary.verdict"
        text = str(figure.value) if main else f"{sentence(figure.label)}: {figure.value}"
        style = bench.styles("verdict_strong" if main else "verdict")
        row = _wide(sheet, row, text, style, _LINE_CHARS * (0.8 if main else 0.9))
    return row + 1 if lines else row


def _wide(sheet: Any, row: int, text: str, style: Any, chars: float) -> int:
    sheet.merge_range(row, 0, row, LAST, "", style)
    sheet.write_string(row, 0, text, style)
    sheet.set_row(row, 14.5 * max(1, math.ceil(len(text) / chars)))
    return row + 1


def _results(bench: Bench, sheet: Any, row: int) -> int:
    styles = bench.styles
    heads = (("Main results", "head"), ("SI", "head_number"), ("unit", "head_unit"),
             ("US", "head_number"), ("unit", "head_unit"), ("tag", "head"),
             ("sheet", "head"))  # fmt: skip
    for column, (text, role) in enumerate(heads):
        sheet.write_string(row, column, text, styles(role))
    row += 1
    for heading, keys in MAIN:
        here = [bench.study[k] for k in keys if k in bench.book.places]
        if not here:
            continue
        sheet.merge_range(row, 0, row, LAST, "", styles("group"))
        sheet.write_string(row, 0, heading, styles("group"))
        row += 1
        for figure in here:
            _result_row(bench, sheet, row, figure)
            row += 1
    return row + 1


def _result_row(bench: Bench, sheet: Any, row: int, figure: Figure) -> None:
    styles, place = bench.styles, bench.book.places[figure.key]
    sheet.write_string(row, 0, sentence(figure.label), styles("label"))
    for column in (1, 2, 3, 4):
        sheet.write_blank(row, column, None, styles("text"))
    link = "=" + reference(place, SUMMARY)
    value = figure.value
    if isinstance(value, float):
        style = styles("strong_number", number_format(decimals(figure), value))
        sheet.write_formula(row, 1, link, style, value)
        sheet.write_string(row, 2, figure.unit, styles("unit"))
        if figure.unit in US_CUSTOMARY:
            shown, unit = us_customary(value, figure.unit)
            twin = Figure(figure.key, shown, unit, figure.label)
            style = styles("number", number_format(decimals(twin), shown))
            sheet.write_formula(row, 3, us_formula(link[1:], figure.unit), style, shown)
            sheet.write_string(row, 4, unit, styles("unit"))
    elif isinstance(value, str):
        sheet.write_string(row, 1, value, styles("word"))
    elif figure.key in bench.marks.formulas:
        cell = link[1:]
        style = styles("strong_number", "0.00")
        sheet.write_formula(row, 1, f'=IF({cell}="","",{cell})', style, "")
        sheet.write_string(row, 2, figure.unit, styles("unit"))
        sheet.write_string(row, 3, "none now", styles("text"))
    else:
        word = "not computed" if figure.below is None else f"< {figure.below:g} {figure.unit}"
        sheet.write_string(row, 2, word, styles("text"))
    sheet.write_string(row, 5, figure.origin, styles("small"))
    sheet.write_string(row, 6, place.sheet, styles("small"))


def _train(bench: Bench, sheet: Any, row: int) -> int:
    stages = [
        figure
        for key, figure in bench.study.figures.items()
        if key.startswith("train.") and isinstance(figure.value, str)
    ]
    if not stages:
        return row
    _section(bench, sheet, row, "Train, in the order of flow")
    for figure in stages:
        row += 1
        _pair(bench, sheet, row, sentence(figure.label), str(figure.value))
    return row + 2


def _section(bench: Bench, sheet: Any, row: int, text: str) -> None:
    sheet.write_string(row, 0, text, bench.styles("heading"))
    for column in range(1, LAST + 1):
        sheet.write_blank(row, column, None, bench.styles("heading"))


def _pair(bench: Bench, sheet: Any, row: int, lead: str, text: str) -> None:
    sheet.write_string(row, 0, lead, bench.styles("level"))
    sheet.merge_range(row, 1, row, LAST, "", bench.styles("wrapped"))
    sheet.write_string(row, 1, text, bench.styles("wrapped"))
    sheet.set_row(row, LINE_HEIGHT * max(1, math.ceil(len(text) / _NOTE_CHARS)))


def _flags(bench: Bench, sheet: Any, row: int) -> int:
    study = bench.study
    flags = (*study.flags_of("warning"), *study.flags_of("caution"))
    _section(bench, sheet, row, "Cautions")
    if not flags:
        _pair(bench, sheet, row + 1, "none", "No warning and no caution was raised.")
        return row + 3
    for flag in flags[:MOST_FLAGS]:
        row += 1
        _pair(bench, sheet, row, _lead(flag), flag.text)
    left = len(study.flags) - min(len(flags), MOST_FLAGS)
    if left:
        row += 1
        _pair(bench, sheet, row, "more", f"{left} more remarks stand on the sheet {CAUTIONS}.")
    return row + 2


def _lead(flag: Flag) -> str:
    return f"{flag.level}: {flag.code}"


def _signatures(bench: Bench, sheet: Any, row: int) -> None:
    style = bench.styles("signature")
    row += 1
    sheet.write_string(row, 0, "calculated by, date", style)
    for column, text in ((2, "checked by, date"), (3, ""), (4, ""), (5, "")):
        sheet.write_string(row, column, text, style)
