"""The sheets at the back: cautions, and the basis with the sources this study used."""

import math
from typing import Any

from pretreat.basis import Figure
from pretreat.report.bench import Bench, sentence
from pretreat.report.digits import decimals, number_format
from pretreat.report.formulas import reference
from pretreat.report.layout import BASIS, CAUTIONS
from pretreat.report.styles import LINE_HEIGHT
from pretreat.results import Study, source_keys
from pretreat.tables import sources

_LEVELS = ("warning", "caution", "info")
CAUTION_WIDTHS = (11.0, 30.0, 92.0, 40.0)
BASIS_WIDTHS = (40.0, 12.0, 15.0, 13.0, 16.0, 18.0, 62.0)
_TAGS = (
    ("measured", "read from the laboratory report or the site file"),
    ("calculated", "follows from other figures by the method named beside it"),
    ("assumed", "a default of this program, not given for this site; replace it if you can"),
    ("chosen", "a choice of the engineer in the site file"),
    ("printed, database, computed", "evidence: read in print; from a data base; recomputed here"),
    ("memory, common practice", "evidence: not checked in print; trade practice without a source"),
)  # fmt: skip


def write_cautions(bench: Bench, sheet: Any) -> int:
    """Write every flag of the study, warnings first; return the last column.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    sheet : object
        The worksheet. [-]

    Returns
    -------
    int
        Last column in use, from zero. [-]
    """
    styles, study = bench.styles, bench.study
    _columns(sheet, CAUTION_WIDTHS)
    sheet.write_string(0, 0, CAUTIONS, styles("title"))
    sheet.set_row(0, 22)
    for column, text in enumerate(("Level", "Code", "What to mind", "Concerns")):
        sheet.write_string(2, column, text, styles("head"))
    row = 3
    for flag in (f for level in _LEVELS for f in study.flags_of(level)):
        concerns = _label(study, flag.figure)
        cells = ((flag.level, "level"), (flag.code, "wrapped"), (flag.text, "wrapped"),
                 (concerns, "wrapped"))  # fmt: skip
        for column, (text, role) in enumerate(cells):
            sheet.write_string(row, column, text, styles(role))
        lines = max(len(flag.text) / 102, len(concerns) / 44, len(flag.code) / 33)
        sheet.set_row(row, LINE_HEIGHT * max(1, math.ceil(lines)))
        row += 1
    if not study.flags:
        sheet.write_string(row, 0, "none", styles("level"))
    return len(CAUTION_WIDTHS) - 1


def _label(study: Study, key: str | None) -> str:
    if key is None:
        return ""
    if key in study.figures:
        return study[key].label
    return study.series[key].label if key in study.series else key


def write_basis(bench: Bench, sheet: Any) -> int:
    """Write the assumptions, the tags and the sources this study used; return the last column.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    sheet : object
        The worksheet. [-]

    Returns
    -------
    int
        Last column in use, from zero. [-]
    """
    styles = bench.styles
    _columns(sheet, BASIS_WIDTHS)
    sheet.write_string(0, 0, BASIS, styles("title"))
    sheet.set_row(0, 22)
    row = _assumptions(bench, sheet, 2)
    row = _lines(bench, sheet, row + 1, "What the tags mean", _TAGS)
    known = sources()
    used = source_keys(bench.study.figures.values(), bench.study.series.values())
    cited = tuple((key, known.get(key, "no citation on file")) for key in used)
    _lines(bench, sheet, row + 1, "Sources used in this study", cited)
    return len(BASIS_WIDTHS) - 1


def _assumptions(bench: Bench, sheet: Any, row: int) -> int:
    styles = bench.styles
    heads = (("Assumed or chosen", "head"), ("Value", "head_number"), ("Unit", "head_unit"),
             ("Tag", "head"), ("Evidence", "head"), ("Sheet", "head"),
             ("Method", "head"))  # fmt: skip
    for column, (text, role) in enumerate(heads):
        sheet.write_string(row, column, text, styles(role))
    for origin in ("assumed", "chosen"):
        for key in bench.book.places:
            if bench.study[key].origin == origin:
                row += 1
                _assumption(bench, sheet, row, bench.study[key])
    return row + 1


def _assumption(bench: Bench, sheet: Any, row: int, figure: Figure) -> None:
    styles, place = bench.styles, bench.book.places[figure.key]
    sheet.write_string(row, 0, sentence(figure.label), styles("label"))
    if isinstance(figure.value, float):
        style = styles("number", number_format(decimals(figure), figure.value))
        sheet.write_formula(row, 1, "=" + reference(place, BASIS), style, figure.value)
    else:
        sheet.merge_range(row, 1, row, 2, "", styles("words"))
        sheet.write_string(row, 1, figure.value or "", styles("words"))
    texts = (figure.unit if isinstance(figure.value, float) else "", figure.origin,
             figure.evidence, place.sheet, figure.method)  # fmt: skip
    for column, text in enumerate(texts, start=2):
        if not text and column == 2:
            continue
        sheet.write_string(row, column, text, styles("unit" if column == 2 else "wrapped_small"))
    lines = max(len(figure.method) / 80, len(figure.label) / 46)
    if isinstance(figure.value, str):
        lines = max(lines, len(figure.value) / 27)
    sheet.set_row(row, LINE_HEIGHT * max(1, math.ceil(lines)))


def _lines(
    bench: Bench, sheet: Any, row: int, heading: str, pairs: tuple[tuple[str, str], ...]
) -> int:
    styles, last = bench.styles, len(BASIS_WIDTHS) - 1
    for column in range(last + 1):
        sheet.write_blank(row, column, None, styles("head"))
    sheet.write_string(row, 0, heading, styles("head"))
    for lead, text in pairs:
        row += 1
        sheet.write_string(row, 0, lead, styles("level"))
        sheet.merge_range(row, 1, row, last, "", styles("wrapped"))
        sheet.write_string(row, 1, text, styles("wrapped"))
        sheet.set_row(row, LINE_HEIGHT * max(1, math.ceil(len(text) / 145)))
    return row + 1


def _columns(sheet: Any, widths: tuple[float, ...]) -> None:
    for column, width in enumerate(widths):
        sheet.set_column(column, column, width)
