"""Writes the value of a figure into its cell, as a number, a formula, a word or a blank."""

from typing import Any

from pretreat.core.basis import Figure
from pretreat.core.units import US_CUSTOMARY, unit_shown, us_customary
from pretreat.report.digits import decimals, format_of, number_format
from pretreat.report.workbook.bench import Bench
from pretreat.report.workbook.formulas import reference, si_formula, us_formula
from pretreat.report.workbook.pages import MARK_COLUMN, Place
from pretreat.report.workbook.stale import STALE

_FRACTIONS = ("recovery", "reserve", "capacity_factor", "fraction", "salt_passage", "efficiency")
_AS_GIVEN = ("site.", "water.")  # names and notes of the user and of the laboratory
_HOTTEST = {"°C": 100, "°F": 212}


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
    elif figure.unit in _HOTTEST:
        high = _HOTTEST[figure.unit]
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
    typed = bench.marks.is_input(figure.key)
    here = typed and bench.book.shown(figure.key) == place
    style = bench.styles("input" if here else "number", format_of(figure))
    formula = bench.marks.formulas.get(figure.key)
    if typed and not here:
        formula = si_formula(reference(bench.book.shown(figure.key), place.sheet), _unit(figure))
    if formula is None:
        sheet.write_number(place.row, place.column, value, style)
    else:
        sheet.write_formula(place.row, place.column, formula, style, value)
    if here:
        _validate(place, figure, sheet)


def _unit(figure: Figure) -> str:
    return unit_shown(figure.key, figure.unit)


def write_us_value(bench: Bench, figure: Figure, sheet: Any) -> None:
    """Write a figure in US customary units into the cell that a reader sees, and its unit.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    figure : Figure
        A figure with a twin in US units. [-]
    sheet : object
        The worksheet. [-]
    """
    place, source = bench.book.shown(figure.key), bench.book.places[figure.key]
    typed = bench.marks.is_input(figure.key)
    unit = US_CUSTOMARY[_unit(figure)].unit
    sheet.write_string(place.row, place.column + 1, unit, bench.styles("unit"))
    if not isinstance(figure.value, float):
        _blank_us(bench, figure, sheet, unit)
        return
    value = us_customary(figure.value, _unit(figure))[0]
    twin = Figure(figure.key, value, unit, figure.label)
    style = bench.styles("input" if typed else "number", number_format(decimals(twin), value))
    if typed:
        sheet.write_number(place.row, place.column, value, style)
        _validate(place, twin, sheet)
        return
    cell = reference(source, place.sheet)
    shown = us_formula(cell, _unit(figure))
    safe = f'=IF(ISNUMBER({cell}),{shown[1:]},{cell}&"")'
    sheet.write_formula(place.row, place.column, safe, style, value)


def _blank_us(bench: Bench, figure: Figure, sheet: Any, unit: str) -> None:
    place = bench.book.shown(figure.key)
    if bench.marks.is_input(figure.key):
        sheet.write_blank(place.row, place.column, None, bench.styles("input", "0.00"))
        _validate(place, Figure(figure.key, None, unit, figure.label), sheet)
        return
    cell = reference(bench.book.places[figure.key], place.sheet)
    shown = f'=IF(ISNUMBER({cell}),{us_formula(cell, _unit(figure))[1:]},"")'
    style = bench.styles("number", "#,##0.00")
    if figure.key in bench.marks.formulas:
        sheet.write_formula(place.row, place.column, shown, style, "")
    else:
        sheet.write_blank(place.row, place.column, None, style)


def write_mark(bench: Bench, sheet: Any, row: int, key: str, word: str) -> None:
    """Write the mark of a figure: input, live, or a word for a gap; it tells when it is stale.

    Parameters
    ----------
    bench : Bench
        Study, cells and styles. [-]
    sheet : object
        The worksheet. [-]
    row : int
        Row, from zero. [-]
    key : str
        Key of the figure. [-]
    word : str
        What stands there where the figure has no mark. [-]
    """
    mark = bench.marks.marks.get(key, "") or word
    style = bench.styles("mark")
    changed = bench.marks.stale_name(key)
    if changed:
        sheet.write_formula(row, MARK_COLUMN, f'=IF({changed},"{STALE}","{mark}")', style, mark)
    else:
        sheet.write_string(row, MARK_COLUMN, mark, style)


def _validate(place: Place, figure: Figure, sheet: Any) -> None:
    cell = (place.row, place.column)
    sheet.data_validation(*cell, *cell, validation_of(figure))


def _write_words(bench: Bench, place: Place, figure: Figure, sheet: Any) -> None:
    row, column, style = place.row, place.column, bench.styles("words")
    sheet.merge_range(row, column, row, column + 1, "", style)
    formula = bench.marks.formulas.get(figure.key)
    if formula is None:
        text = str(figure.value)
        own = figure.key.startswith(_AS_GIVEN)
        sheet.write_string(row, column, text if own else bench.words(text), style)
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
        shown = bench.book.shown(figure.key)
        if shown != place:
            cell = reference(shown, place.sheet)
            back = si_formula(cell, _unit(figure))[1:]
            style = styles("number", "0.00")
            sheet.write_formula(row, column, f'=IF({cell}="","",{back})', style, "")
            return ""
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
