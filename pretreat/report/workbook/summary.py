"""The first sheet: one page with the verdict, the main results, the train and the cautions."""

from typing import Any

from pretreat.core.basis import Figure
from pretreat.core.units import US_CUSTOMARY, unit_shown, us_customary
from pretreat.report.digits import decimals, format_of, is_money, main_decimals, number_format
from pretreat.report.main_results import MAIN
from pretreat.report.workbook.bench import (
    INTERNAL,
    MONTHS,
    Bench,
    at_own_cost,
    governing,
    label_under,
    range_shown,
    ranges,
    sentence,
    wrapped_lines,
)
from pretreat.report.workbook.formulas import reference, us_formula
from pretreat.report.workbook.layout import RESULTS
from pretreat.report.workbook.links import repeated
from pretreat.report.workbook.stale import write_changed
from pretreat.report.workbook.styles import LINE_HEIGHT

WIDTHS = (43.0, 11.0, 15.0, 10.0, 14.0, 10.5, 13.5)
LAST = len(WIDTHS) - 1
_LINE_CHARS = 112
_LABEL_CHARS = 50
MOST_FLAGS = 12
_WHOLE_FROM = 10.0
_KIND = {
    "check": "Check of the water analysis",
    "scaling": "Scaling study",
    "size": "Sizing of the pretreatment",
    "rate": "Rating of the installed pretreatment",
}


def write_summary(bench: Bench, sheet: Any, date: str) -> tuple[int, int]:
    """Write the summary; its words print on the first sheet, its table prints here.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    sheet : object
        The worksheet. [-]
    date : str
        Date of the report, may be empty. [-]

    Returns
    -------
    tuple of int
        First and last row of the table, from zero. [-]
    """
    for column, width in enumerate(WIDTHS):
        sheet.set_column(column, column, width)
    row = _head(bench, sheet, date)
    write_changed(bench, sheet, row - 1, LAST)
    row = _verdict(bench, sheet, row)
    return row, _results(bench, sheet, row)


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


def words_of_head(bench: Bench, date: str) -> tuple[str, str]:
    """Return the name of the site, and the line under it.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    date : str
        Date of the report, may be empty. [-]

    Returns
    -------
    tuple of str
        Name, and kind of study, date, place and people. [-]
    """
    kind = bench.study.value("study.kind")
    words = [_KIND.get(kind, kind) if isinstance(kind, str) else "", date]
    words += [
        f"{sentence(figure.label)}: {figure.value}"
        for key, figure in bench.study.figures.items()
        if key.startswith(("site.", "study."))
        and key not in {"site.name", "study.kind"}
        and isinstance(figure.value, str)
        and figure.value
    ]
    if at_own_cost(bench.study):
        words.append(f"Costs are {INTERNAL}")
    return site_name(bench) or "Well water", "   |   ".join(w for w in words if w)


def _head(bench: Bench, sheet: Any, date: str) -> int:
    name, line = words_of_head(bench, date)
    sheet.write_string(0, 0, name, bench.styles("title"))
    sheet.set_row(0, 22)
    sheet.write_string(1, 0, line, bench.styles("plain"))
    return 3


def _verdict(bench: Bench, sheet: Any, row: int) -> int:
    answer = bench.study.value("verdict.answer")
    said = str(bench.study.value("summary.verdict") or "").lower()
    if isinstance(answer, str) and not said.startswith(answer):
        row = _wide(sheet, row, answer, bench.styles("verdict_strong"), _LINE_CHARS)
    lines = [
        figure
        for key, figure in bench.study.figures.items()
        if key.startswith("summary.") and isinstance(figure.value, str)
    ]
    for figure in lines:
        main = figure.key == "summary.verdict"
        text = str(figure.value) if main else f"{sentence(figure.label)}: {figure.value}"
        text = bench.words(text)
        style = bench.styles("verdict_strong" if main else "verdict")
        row = _wide(sheet, row, text, style, int(_LINE_CHARS * (0.8 if main else 0.9)))
    return row + 1 if lines else row


def _wide(sheet: Any, row: int, text: str, style: Any, chars: int) -> int:
    sheet.merge_range(row, 0, row, LAST, "", style)
    sheet.write_string(row, 0, text, style)
    sheet.set_row(row, 14.5 * wrapped_lines(text, chars))
    return row + 1


def _results(bench: Bench, sheet: Any, row: int) -> int:
    styles = bench.styles
    heads = (
        ("Main results", "head"),
        ("SI", "head_number"),
        ("unit", "head_unit"),
        ("US", "head_number"),
        ("unit", "head_unit"),
        ("tag", "head"),
        ("sheet", "head"),
    )
    for column, (text, role) in enumerate(heads):
        sheet.write_string(row, column, text, styles(role))
    row += 1
    for heading, keys in MAIN:
        here = [bench.study[k] for k in governing(bench.study, keys) if k in bench.book.places]
        if not here:
            continue
        sheet.merge_range(row, 0, row, LAST, "", styles("group"))
        sheet.write_string(row, 0, heading, styles("group"))
        row += 1
        for figure, high in ranges(here):
            label, _, gaps = label_under(heading, figure.label).partition(", without ")
            label += ", of what has a price" if gaps else ""
            _result_row(bench, sheet, row, figure, label)
            if high is not None:
                _range_end(bench, sheet, row, (figure, high))
            row += 1
    return row - 1


def _range_end(bench: Bench, sheet: Any, row: int, ends: tuple[Figure, Figure]) -> None:
    """Write a range, low to high, as words in one cell that follow the two figures."""
    low, high = ends
    styles = bench.styles
    label = label_under("Media life", low.label).replace(", low", "").replace(", estimated", "")
    sheet.write_string(row, 0, f"{label}, estimated", styles("label"))
    if not (isinstance(low.value, float) and isinstance(high.value, float)):
        return
    *values, unit = range_shown(low, high)
    times = "*12" if unit == MONTHS else ""
    forms = ["0" if value >= _WHOLE_FROM else "0.0" for value in values]
    cells = [reference(bench.book.places[f.key], RESULTS) for f in ends]
    parts = [f'TEXT({cell}{times},"{form}")' for cell, form in zip(cells, forms, strict=True)]
    shown = [f"{value:.{form.count('0') - 1}f}" for value, form in zip(values, forms, strict=True)]
    sheet.write_formula(
        row, 1, f'={parts[0]}&" to "&{parts[1]}', styles("strong_number"), " to ".join(shown)
    )
    sheet.write_string(row, 2, unit, styles("unit"))


def _result_row(bench: Bench, sheet: Any, row: int, figure: Figure, label: str) -> None:
    styles, place = bench.styles, bench.book.places[figure.key]
    sheet.write_string(row, 0, label, styles("label"))
    lines = wrapped_lines(label, _LABEL_CHARS)
    if lines > 1:
        sheet.set_row(row, LINE_HEIGHT * lines)
    sheet.write_blanks(row, 1, 4, styles("text"))
    link = repeated(bench, RESULTS, figure.key)
    value = figure.value
    if isinstance(value, float):
        formula = link[0] if link else "=" + reference(place, RESULTS)
        style = styles("strong_number", format_of_main(figure))
        sheet.write_formula(row, 1, formula, style, value)
        sheet.write_string(row, 2, figure.unit if figure.unit != "-" else "", styles("unit"))
        _us_twin(bench, sheet, row, figure)
    elif isinstance(value, str):
        sheet.write_string(row, 1, value, styles("word"))
    elif link is not None:
        sheet.write_formula(row, 1, link[0], styles("strong_number", "0.00"), link[1])
        sheet.write_string(row, 2, figure.unit if figure.unit != "-" else "", styles("unit"))
    else:
        word = "not computed" if figure.below is None else f"< {figure.below:.4g} {figure.unit}"
        sheet.write_string(row, 2, word, styles("text"))
    sheet.write_string(row, 5, figure.origin, styles("text"))
    sheet.write_string(row, 6, place.sheet, styles("text"))


def _us_twin(bench: Bench, sheet: Any, row: int, figure: Figure) -> None:
    measured = unit_shown(figure.key, figure.unit)
    if not isinstance(figure.value, float) or measured not in US_CUSTOMARY:
        return
    shown, unit = us_customary(figure.value, measured)
    twin = Figure(figure.key, shown, unit, figure.label)
    style = bench.styles("number", number_format(decimals(twin), shown))
    cell = reference(bench.book.places[figure.key], RESULTS)
    formula = f'=IF(ISNUMBER({cell}),{us_formula(cell, measured)[1:]},"")'
    sheet.write_formula(row, 3, formula, style, shown)
    sheet.write_string(row, 4, unit, bench.styles("unit"))


def format_of_main(figure: Figure) -> str:
    """Return the format of a main result; an estimated total of money shows no cents.

    Parameters
    ----------
    figure : Figure
        The figure. [-]

    Returns
    -------
    str
        Format of a spreadsheet. [-]
    """
    whole = is_money(figure) and main_decimals(figure) == 0
    return "#,##0" if whole else format_of(figure)
