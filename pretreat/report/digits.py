"""How many digits a number is shown with, in a cell and in text."""

import math
import re
from collections.abc import Sequence
from functools import lru_cache

from pretreat.core.basis import Figure, Value

_TWO_DECIMALS = re.compile(
    r"(?:^|[._])(?:ph|phs|lsi|sdsi|si|ryznar|puckorius|ccpp_index|d3739)(?:[._]|$)"
)
_MONEY = re.compile(
    r"(?:quote|costs?|prices?)\."
    r"|(?:amount|unit_price|consumables|media|total|discounted|accumulated|cost_per_year)$"
)
_SECOND_OPINION = re.compile(r"(?:own|wateq4f|pitzer|less_\w+)$")
_GIVEN = ("measured", "chosen", "assumed")
_SIGNIFICANT = 3
_CENTS = 2
_MILLIMETRE, _SHORT_M = 3, 0.1  # decimals of a length in metres that is not short
_YEAR, _ESTIMATED = "year", 2  # a life is an estimate: two digits say all there is
_MOST_DECIMALS = 6
_MOST_GIVEN_DIGITS = 5
_WIDE_SPAN = 20.0
_MOST_OF = {"d": 2, "m": 3, "-": 3}  # decimals that say enough in a column, by its unit
_THOUSAND, _NO_CENTS_FROM = 1000.0, 100.0
SCIENTIFIC = -1  # stands for a number too small for decimals


def decimals_of(value: float, significant: int = _SIGNIFICANT) -> int:
    """Return the decimals that show a number with a few significant digits.

    Parameters
    ----------
    value : float
        The number. [any]
    significant : int
        Digits wanted. [-]

    Returns
    -------
    int
        Decimals; ``SCIENTIFIC`` if decimals would not do. [-]
    """
    if value == 0:
        return 0
    needed = significant - 1 - math.floor(math.log10(abs(value)))
    return SCIENTIFIC if needed > _MOST_DECIMALS + 2 else min(max(needed, 0), _MOST_DECIMALS)


def decimals(figure: Figure) -> int:
    """Return the decimals a figure is shown with.

    A value that was given is shown as it was given, an index or a price with two decimals,
    any other result with three significant digits.

    Parameters
    ----------
    figure : Figure
        A figure whose value is a number. [-]

    Returns
    -------
    int
        Decimals. [-]
    """
    value = figure.value
    if not isinstance(value, float):
        return 0
    if figure.origin in _GIVEN:
        least = _CENTS if is_money(figure) else 0
        most = _MILLIMETRE if figure.unit == "m" and value > _SHORT_M else _MOST_DECIMALS
        return max(least, min(most, _decimals_given(value)))
    if _is_index(figure.key) or is_money(figure):
        return 2
    if figure.unit == _YEAR:
        return min(_decimals_as_given(value), decimals_of(value, _ESTIMATED))
    return min(_decimals_as_given(value), decimals_of(value))


@lru_cache(maxsize=4096)
def _is_index(key: str) -> bool:
    """Tell by its key or name whether a number is a pH or an index."""
    return _TWO_DECIMALS.search(key) is not None


def is_money(figure: Figure) -> bool:
    """Tell money by its key and its unit: three capital letters, alone or by the piece."""
    return bool(_MONEY.match(figure.key)) and figure.unit.partition("/")[0].isupper()


def _decimals_given(value: float) -> int:
    """Show a given value as given, unless a conversion has left it with a tail of digits."""
    places = _decimals_as_given(value)
    digits = len(f"{abs(value):.10g}".replace(".", "").lstrip("0"))
    if places == SCIENTIFIC or digits > _MOST_GIVEN_DIGITS:
        return decimals_of(value, _SIGNIFICANT + 1)
    return places


def _decimals_as_given(value: float) -> int:
    text = f"{value:.10g}"
    if "e" in text:
        return decimals_of(value)
    return len(text.partition(".")[2])


def column_decimals(name: str, values: Sequence[Value], unit: str = "") -> tuple[int, ...]:
    """Return the decimals of each cell of a column, alike where the numbers are near.

    Parameters
    ----------
    name : str
        Name of the column. [-]
    values : sequence of float, str or None
        Its cells. [any]
    unit : str
        Unit of the column. [-]

    Returns
    -------
    tuple of int
        Decimals per cell, 0 where there is no number. [-]
    """
    numbers = [abs(v) for v in values if isinstance(v, float) and v != 0]
    if numbers and _MONEY.match(name):
        return (_CENTS,) * len(values)
    if not numbers or all(n.is_integer() for n in numbers):
        return (0,) * len(values)
    if _is_index(name):
        return (2,) * len(values)
    if _SECOND_OPINION.match(name):
        return (_SIGNIFICANT,) * len(values)
    significant = _ESTIMATED if unit == _YEAR else _SIGNIFICANT
    if unit != _YEAR and max(numbers) < _WIDE_SPAN * min(numbers):
        most = max(min(_decimals_as_given(n), decimals_of(n)) for n in numbers)
        most = min(most, _MOST_OF.get(unit, most))
        return (most,) * len(values)
    return tuple(
        min(_decimals_as_given(v), decimals_of(v, significant)) if isinstance(v, float) else 0
        for v in values
    )


def number_format(places: int, value: float) -> str:
    """Return the spreadsheet format of a number.

    Parameters
    ----------
    places : int
        Decimals. [-]
    value : float
        The number, which decides on the thousands separator. [any]

    Returns
    -------
    str
        Such as "0.00" or "#,##0". [-]
    """
    if places == SCIENTIFIC:
        return "0.00E+00"
    whole = "#,##0" if abs(value) >= _THOUSAND else "0"
    return whole + ("." + "0" * places if places else "")


def main_decimals(figure: Figure) -> int:
    """Return the decimals of a main result; an estimated total of money shows no cents.

    Parameters
    ----------
    figure : Figure
        A figure whose value is a number. [-]

    Returns
    -------
    int
        Decimals. [-]
    """
    value = figure.value
    total = is_money(figure) and isinstance(value, float) and value >= _NO_CENTS_FROM
    return 0 if total and figure.origin == "calculated" else decimals(figure)


def format_of(figure: Figure) -> str:
    """Return the spreadsheet format of a figure; money keeps its separator when it is changed.

    Parameters
    ----------
    figure : Figure
        A figure whose value is a number. [-]

    Returns
    -------
    str
        Such as "0.00" or "#,##0". [-]
    """
    value = figure.value if isinstance(figure.value, float) else 0.0
    places = decimals(figure)
    return number_format(places, _THOUSAND if is_money(figure) and places else value)


def column_format(name: str, places: int, value: float) -> str:
    """Return the spreadsheet format of a number in a column; money keeps its separator.

    Parameters
    ----------
    name : str
        Name of the column. [-]
    places : int
        Decimals. [-]
    value : float
        The number. [any]

    Returns
    -------
    str
        Such as "0.00" or "#,##0". [-]
    """
    return number_format(places, _THOUSAND if _MONEY.match(name) else value)


def shown(value: float, places: int) -> str:
    """Return a number as text.

    Parameters
    ----------
    value : float
        The number. [any]
    places : int
        Decimals. [-]

    Returns
    -------
    str
        Text with a thousands separator. [-]
    """
    if places == SCIENTIFIC:
        return f"{value:.2e}"
    text = f"{value:,.{places}f}"
    return text.lstrip("-") if float(text.replace(",", "")) == 0 else text
