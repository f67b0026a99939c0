"""Writes the value of a figure into its cell, as a number, a formula, a word or a blank."""

from typing import Any

from pretreat.core.basis import Figure
from pretreat.report.digits import format_of
from pretreat.report.workbook.bench import Bench
from pretreat.report.workbook.pages import Place

_FRACTIONS = ("recovery", "reserve", "capacity_factor", "fraction", "salt_passage", "efficiency")


def validation_of(figure: Figure) -> dict[str, Any]:
    """Return the rule that a changed input cell must meet.

    Parameters
    ----------
    figure : Figure
        The input. [-]

    Returns
    -------
    dict
        Options of the spreadsheet's own validation. [-]
    """
    name, low, high = figure.key, 0, None
    if name.endswith(".recovery") or any(name.endswith(word) for word in _FRACTIONS):
        high = 1
    elif "hours_per_day" in name:
        high = 24
    elif "days_per_year" in name:
        high = 366
    elif figure.unit == "°C":
        high = 100
    limit = f"from {low:g} to {high:g}" if high is not None else "of zero or more"
    rule: dict[str, Any] = {
        "validate": "decimal",
        "criteria": "between" if high is not None else ">=",
        "error_title": "Value not possible",
        "error_message": f"Enter a number {limit}"
        + ("." if figure.unit == "-" else f", in {figure.unit}."),
    }
    rule |= {"minimum": low, "maximum": high} if high is not None else {"value": low}
    return rule


def write_value(bench: Bench, place: Place, figure: Figure, sheet: Any) -> str:
    """Write the value of a figure into its cell; return a word where there is none.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    place : Place
        The cell. [-]
    figure : Figure
        The figure. [-]
    sheet : object
        The worksheet. [-]

    Returns
    -------
    str
        A word for the mark column, empty where there is a value. [-]
    """
    if isinstance(figure.value, float):
        _write_number(bench, place, figure, sheet)
        return ""
    if isinstance(figure.value, str):
        _write_words(bench, place, figure, sheet)
        return ""
    return _write_gap(bench, place, figure, sheet)


def _write_number(bench: Bench, place: Place, figure: Figure, sheet: Any) -> None:
    value = float(figure.value or 0.0)
    role = "input" if bench.marks.is_input(figure.key) else "number"
    style = bench.styles(role, format_of(figure))
    formula = bench.marks.formulas.get(figure.key)
    if formula is None:
        sheet.write_number(place.row, place.column, value, style)
    else:
        sheet.write_formula(place.row, place.column, formula, style, value)
    if role == "input":
        _validate(place, figure, sheet)


def _validate(place: Place, figure: Figure, sheet: Any) -> None:
    cell = (place.row, place.column)
    sheet.data_validation(*cell, *cell, validation_of(figure))


def _write_words(bench: Bench, place: Place, figure: Figure, sheet: Any) -> None:
    row, column, style = place.row, place.column, bench.styles("words")
    sheet.merge_range(row, column, row, column + 1, "", style)
    formula = bench.marks.formulas.get(figure.key)
    if formula is None:
        sheet.write_string(row, column, figure.value, style)
    else:
        sheet.write_formula(row, column, formula, style, figure.value)


def _write_gap(bench: Bench, place: Place, figure: Figure, sheet: Any) -> str:
    row, column, styles = place.row, place.column, bench.styles
    if figure.below is not None:
        sheet.write_string(row, column, f"< {figure.below:.4g}", styles("word"))
        return "not detected"
    formula = bench.marks.formulas.get(figure.key)
    if formula is not None:
        sheet.write_formula(row, column, formula, styles("number", "#,##0.00"), "")
        return ""
    if bench.marks.is_input(figure.key):
        sheet.write_blank(row, column, None, styles("input", "0.00"))
        _validate(place, figure, sheet)
        return ""
    sheet.write_blank(row, column, None, styles("number"))
    return "not measured" if "not_measured" in figure.flags else "not computed"


def evidence_of(figure: Figure) -> str:
    """Return the evidence behind a figure; a choice without a source needs none.

    Parameters
    ----------
    figure : Figure
        The figure. [-]

    Returns
    -------
    str
        Words for the column of evidence, may be empty. [-]
    """
    return "" if figure.origin == "chosen" and not figure.cites else figure.evidence
