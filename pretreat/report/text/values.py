"""A figure, a column or a sentence as text, in the units of the reader."""

from typing import Literal

from pretreat.core.basis import Figure, Series, Value
from pretreat.core.units import US_CUSTOMARY, unit_shown, us_customary
from pretreat.report.digits import column_decimals, decimals, main_decimals, shown
from pretreat.report.workbook.marks import NO_PRICE

Units = Literal["si", "us"]


def value_and_unit(figure: Figure, units: Units) -> tuple[str, str]:
    """Return the value of a figure and its unit as text.

    Parameters
    ----------
    figure : Figure
        The figure. [-]
    units : str
        "si" or "us". [-]

    Returns
    -------
    tuple of str
        Value and unit; words where there is no number. [-]
    """
    value, unit = figure.value, "" if figure.unit == "-" else figure.unit
    measured = unit_shown(figure.key, figure.unit)
    us = units == "us" and measured in US_CUSTOMARY
    if isinstance(value, float):
        if us:
            value, unit = us_customary(value, measured)
            return shown(value, decimals(Figure(figure.key, value, unit, figure.label))), unit
        return shown(value, main_decimals(figure)), unit
    if isinstance(value, str):
        return value, ""
    if figure.below is not None:
        limit, unit = us_customary(figure.below, measured) if us else (figure.below, unit)
        return f"< {limit:.4g}", unit
    if NO_PRICE in figure.flags:
        return "no price", ""
    return ("not measured" if "not_measured" in figure.flags else "not computed"), ""


def column_text(series: Series, index: int, units: Units) -> tuple[str, str, tuple[str, ...]]:
    """Return a column of a table as text: heading, unit, cells.

    Parameters
    ----------
    series : Series
        The table. [-]
    index : int
        Which column. [-]
    units : str
        "si" or "us". [-]

    Returns
    -------
    tuple of str, str and tuple of str
        Heading, unit (empty where there is none) and cells. [-]
    """
    name, unit = series.columns[index], series.units[index]
    values = series.column(name)
    measured = unit_shown(f"{series.key}.{name}", unit)
    if units == "us" and measured in US_CUSTOMARY:
        values = tuple(us_customary(v, measured)[0] if isinstance(v, float) else v for v in values)
        unit = US_CUSTOMARY[measured].unit
    heading = series.headings[index] if series.headings else name.replace("_", " ")
    places = column_decimals(name, values)
    cells = tuple(cell_text(value, places[i]) for i, value in enumerate(values))
    return heading, "" if unit == "-" else unit, cells


def cell_text(value: Value, places: int) -> str:
    """Return a cell of a table as text.

    Parameters
    ----------
    value : float, str or None
        The cell. [any]
    places : int
        Decimals of a number. [-]

    Returns
    -------
    str
        Text, empty for a gap. [-]
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value if isinstance(value, str) else shown(value, places)
