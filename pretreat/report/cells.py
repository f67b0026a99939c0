"""Writes the value of a figure into its cell, as a number, a formula, a word or a blank."""

from typing import Any

from pretreat.basis import Figure
from pretreat.report.bench import Bench
from pretreat.report.digits import decimals, number_format
from pretreat.report.pages import Place

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
    row, column, styles = place.row, place.column, bench.styles
    value = figure.value
    role = "input" if bench.marks.is_input(figure.key) else "number"
    if isinstance(value, float):
        style = styles(role, number_format(decimals(figure), value))
        formula = bench.marks.formulas.get(figure.key)
        if formula is None:
            sheet.write_number(row, column, value, style)
        else:
            sheet.write_formula(row, column, formula, style, value)
        if role == "input":
            sheet.data_validation(row, column, row, column, validation_of(figure))
        return ""
    if isinstance(value, str):
        sheet.merge_range(row, column, row, column + 1, "", styles("words"))
        sheet.write_string(row, column, value, styles("words"))
        return ""
    if figure.below is not None:
        sheet.write_string(row, column, f"< {figure.below:g}", styles("word"))
        return "not detected"
    formula = bench.marks.formulas.get(figure.key)
    if formula is not None:
        sheet.write_formula(row, column, formula, styles("number", "0.00"), "")
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
