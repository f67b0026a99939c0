"""The sheets at the back: cautions, and the basis with the sources this study used."""

from typing import Any

from pretreat.core.basis import Figure
from pretreat.core.results import Study, source_keys
from pretreat.core.tables import sources
from pretreat.core.units import US_CUSTOMARY, unit_shown, us_customary
from pretreat.report.digits import decimals, number_format
from pretreat.report.workbook.bench import Bench, is_standing, sentence, wrapped_lines
from pretreat.report.workbook.cells import evidence_of
from pretreat.report.workbook.formulas import reference, us_formula
from pretreat.report.workbook.layout import BASIS, CAUTIONS
from pretreat.report.workbook.styles import LINE_HEIGHT

HEAD_ROW = 2
_SOURCE_CHARS, _FLAG_CHARS = 165, 122
_LEVELS = ("warning", "caution", "info")
CAUTION_WIDTHS = (9.0, 26.0, 105.0, 33.0)
SOURCES_WIDTHS = (32.0, 140.0)
_GIVEN, _UNCHECKED = ("assumed", "chosen"), ("memory",)
BASIS_WIDTHS = (64.0, 12.0, 15.0, 16.0, 18.0, 13.0, 62.0)
BASIS_PRINTED = 4
_TAGS = (
    ("measured", "read from the laboratory report or the site file"),
    ("calculated", "follows from other figures by the method named beside it"),
    ("assumed", "a default of this program, not given for this site; replace it if you can"),
    ("chosen", "a choice of the engineer in the site file"),
    ("printed, database, computed", "evidence: read in print; from a data base; recomputed here"),
    ("memory, common practice", "evidence: not checked in print; trade practice without a source"),
    ("read on site", "evidence: a reading of a gauge, a meter or a test kit, or a count"),
)


def write_cautions(bench: Bench, sheet: Any) -> tuple[int, int]:
    """Write every flag of the study, warnings first; information stays on the screen.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    sheet : object
        The worksheet. [-]

    Returns
    -------
    tuple of int
        Last column, and last row that prints, from zero. [-]
    """
    styles, study = bench.styles, bench.study
    _columns(sheet, CAUTION_WIDTHS)
    sheet.write_string(0, 0, CAUTIONS, styles("title"))
    sheet.set_row(0, 22)
    for column, text in enumerate(("Level", "Code", "Point to note", "Concerns")):
        sheet.write_string(HEAD_ROW, column, text, styles("head"))
    row = HEAD_ROW + 1
    flags = [f for level in _LEVELS for f in study.flags_of(level)]
    flags.sort(key=lambda f: f.level == "info" and not is_standing(f))
    printed = sum(f.level != "info" or is_standing(f) for f in flags)
    for flag in flags:
        concerns, said = bench.words(_label(study, flag.figure)), bench.words(flag.text)
        cells = (
            (flag.level, "level"),
            (flag.code, "wrapped"),
            (sentence(said), "wrapped"),
            (concerns, "wrapped"),
        )
        for column, (text, role) in enumerate(cells):
            sheet.write_string(row, column, text, styles(role))
        lines = max(wrapped_lines(said, _FLAG_CHARS), wrapped_lines(concerns, 37))
        sheet.set_row(row, LINE_HEIGHT * lines)
        row += 1
    if not study.flags:
        sheet.write_string(row, 0, "none", styles("level"))
    return len(CAUTION_WIDTHS) - 1, HEAD_ROW + max(printed, 1)


def _label(study: Study, key: str | None) -> str:
    if key is None:
        return ""
    if key in study.figures:
        return sentence(study[key].label)
    return study.series[key].label if key in study.series else ""


def write_basis(bench: Bench, sheet: Any) -> tuple[int, int]:
    """Write what was assumed or chosen for this study.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    sheet : object
        The worksheet. [-]

    Returns
    -------
    tuple of int
        Last column and last row that print: what was chosen stands in the site file. [-]
    """
    _columns(sheet, BASIS_WIDTHS)
    sheet.write_string(0, 0, "What was assumed or chosen", bench.styles("title"))
    sheet.set_row(0, 22)
    sheet.set_default_row(LINE_HEIGHT)
    return BASIS_PRINTED, _assumptions(bench, sheet, HEAD_ROW)


def write_sources(bench: Bench, sheet: Any) -> int:
    """Write what the tags mean and the sources this study used; return the last column.

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
    _columns(sheet, SOURCES_WIDTHS)
    sheet.write_string(0, 0, "Sources used in this study", bench.styles("title"))
    sheet.set_row(0, 22)
    row = _lines(bench, sheet, 2, "What the tags mean", _TAGS)
    known = sources()
    used = source_keys(bench.study.figures.values(), bench.study.series.values())
    cited = tuple((key, known.get(key, "no citation on file")) for key in used)
    _lines(bench, sheet, row + 1, "Key, and where it stands in print", cited)
    return len(SOURCES_WIDTHS) - 1


def _assumptions(bench: Bench, sheet: Any, row: int) -> int:
    """Write the rows, those from memory first; return the last of these."""
    styles = bench.styles
    heads = (
        ("Assumed or chosen", "head"),
        ("Value", "head_number"),
        ("Unit", "head_unit"),
        ("Evidence", "head"),
        ("Sheet", "head"),
        ("Tag", "head"),
        ("Method", "head"),
    )
    for column, (text, role) in enumerate(heads):
        sheet.write_string(row, column, text, styles(role))
    given = [bench.study[k] for k in bench.book.places if bench.study[k].origin in _GIVEN]
    for figure in sorted(given, key=_rank):
        row += 1
        _assumption(bench, sheet, row, figure)
    return HEAD_ROW + sum(not _rank(figure) for figure in given)


def _rank(figure: Figure) -> int:
    """Return 0 for what nobody has checked for this site, then other defaults, then choices."""
    if figure.origin == "chosen":
        return 2
    return 0 if figure.evidence in _UNCHECKED else 1


def _assumption(bench: Bench, sheet: Any, row: int, figure: Figure) -> None:
    styles, place = bench.styles, bench.book.places[figure.key]
    sheet.write_string(row, 0, bench.words(sentence(figure.label)), styles("label"))
    unit = figure.unit
    if isinstance(figure.value, float):
        formula, value = "=" + reference(place, BASIS), figure.value
        if bench.us and (measured := unit_shown(figure.key, figure.unit)) in US_CUSTOMARY:
            formula = us_formula(reference(place, BASIS), measured)
            value, unit = us_customary(figure.value, measured)
        twin = Figure(figure.key, value, unit, figure.label)
        style = styles("number", number_format(decimals(twin), value))
        sheet.write_formula(row, 1, formula, style, value)
    else:
        sheet.merge_range(row, 1, row, 2, "", styles("words"))
        sheet.write_string(row, 1, bench.words(figure.value or ""), styles("words"))
    texts = (
        unit if isinstance(figure.value, float) else "",
        evidence_of(figure),
        place.sheet,
        figure.origin,
    )
    for column, text in enumerate(texts, start=2):
        if not text and column == 2:
            continue
        sheet.write_string(row, column, text, styles("unit" if column == 2 else "wrapped_small"))
    sheet.write_string(row, len(BASIS_WIDTHS) - 1, bench.words(figure.method), styles("small"))
    lines = wrapped_lines(figure.label, 74)
    if isinstance(figure.value, str):
        lines = max(lines, wrapped_lines(figure.value, 27))
    sheet.set_row(row, LINE_HEIGHT * lines)


def _lines(
    bench: Bench, sheet: Any, row: int, heading: str, pairs: tuple[tuple[str, str], ...]
) -> int:
    styles = bench.styles
    sheet.write_blanks(row, 0, len(SOURCES_WIDTHS) - 1, styles("head"))
    sheet.write_string(row, 0, heading, styles("block"))
    for lead, text in pairs:
        row += 1
        sheet.write_string(row, 0, lead, styles("level"))
        sheet.write_string(row, 1, text, styles("wrapped"))
        sheet.set_row(row, LINE_HEIGHT * wrapped_lines(text, _SOURCE_CHARS))
    return row + 1


def _columns(sheet: Any, widths: tuple[float, ...]) -> None:
    for column, width in enumerate(widths):
        sheet.set_column(column, column, width)
