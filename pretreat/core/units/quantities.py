"""Quantity strings ("40 m3/d", "6 gpm"), and temperatures.

A unit is read by a grammar of its own: names known here, their squares and cubes, products and
quotients. Nothing that a user writes is ever evaluated.
"""

import math
import re
from functools import lru_cache
from typing import TYPE_CHECKING, Any, TypeVar

from pretreat.core.errors import UnitError
from pretreat.core.text import lazy
from pretreat.core.units.formulas import ZERO_C_IN_K

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Number = TypeVar("Number", float, "NDArray[np.float64]")

Dimension = tuple[int, int, int, int, int]  # of length, mass, time, pressure, power
_NONE: Dimension = (0, 0, 0, 0, 0)
_LENGTH: Dimension = (1, 0, 0, 0, 0)
_VOLUME: Dimension = (3, 0, 0, 0, 0)
_MASS: Dimension = (0, 1, 0, 0, 0)
_TIME: Dimension = (0, 0, 1, 0, 0)
_FLOW: Dimension = (3, 0, -1, 0, 0)
_PRESSURE: Dimension = (0, 0, 0, 1, 0)
_POWER: Dimension = (0, 0, 0, 0, 1)
_LITRE, _MINUTE, _HOUR, _DAY = 1e-3, 60.0, 3600.0, 86400.0
_US_GALLON, _IMPERIAL_GALLON = 3.785411784e-3, 4.54609e-3
_DEFINED: tuple[tuple[str, float, Dimension], ...] = (
    ("percent pct", 0.01, _NONE),
    ("m metre meter", 1.0, _LENGTH),
    ("mm millimeter millimetre", 1e-3, _LENGTH),
    ("cm centimeter centimetre", 1e-2, _LENGTH),
    ("dm decimeter decimetre", 0.1, _LENGTH),
    ("km kilometer kilometre", 1e3, _LENGTH),
    ("ft foot feet", 0.3048, _LENGTH),
    ("in inch inches", 0.0254, _LENGTH),
    ("kg kilogram", 1.0, _MASS),
    ("g gram", 1e-3, _MASS),
    ("mg milligram", 1e-6, _MASS),
    ("ug microgram", 1e-9, _MASS),
    ("t tonne", 1e3, _MASS),
    ("lb lbs pound", 0.45359237, _MASS),
    ("oz ounce", 0.028349523125, _MASS),
    ("gr grain", 6.479891e-5, _MASS),
    ("s sec second", 1.0, _TIME),
    ("min minute minutes", _MINUTE, _TIME),
    ("h hr hour hours", _HOUR, _TIME),
    ("d day days", _DAY, _TIME),
    ("wk week weeks", 7 * _DAY, _TIME),
    ("mo month months", 30.4375 * _DAY, _TIME),
    ("yr year years a", 365.25 * _DAY, _TIME),
    ("L l liter litre", _LITRE, _VOLUME),
    ("mL ml milliliter millilitre", 1e-3 * _LITRE, _VOLUME),
    ("gal gallon gallons us_gallon USgal", _US_GALLON, _VOLUME),
    ("imp_gallon impgal igal", _IMPERIAL_GALLON, _VOLUME),
    ("gpm USgpm", _US_GALLON / _MINUTE, _FLOW),
    ("gph", _US_GALLON / _HOUR, _FLOW),
    ("gpd", _US_GALLON / _DAY, _FLOW),
    ("igpm", _IMPERIAL_GALLON / _MINUTE, _FLOW),
    ("cfm", 0.3048**3 / _MINUTE, _FLOW),
    ("lpm", _LITRE / _MINUTE, _FLOW),
    ("lph", _LITRE / _HOUR, _FLOW),
    ("Pa pascal", 1.0, _PRESSURE),
    ("kPa kilopascal", 1e3, _PRESSURE),
    ("MPa megapascal", 1e6, _PRESSURE),
    ("bar", 1e5, _PRESSURE),
    ("mbar millibar", 100.0, _PRESSURE),
    ("psi", 6894.757293168, _PRESSURE),
    ("kgf_cm at", 98066.5, _PRESSURE),
    ("atm", 101325.0, _PRESSURE),
    ("mwc mWC", 9806.65, _PRESSURE),
    ("W watt", 1.0, _POWER),
    ("kW kilowatt", 1e3, _POWER),
    ("hp horsepower", 745.6998715822702, _POWER),
)
LONGEST = 80  # characters of a quantity with its unit
_HIGHEST_POWER = 3

_FLOATING = lazy(
    r"^\s*([-+]?(?:\d{1,3}(?:,\d{3})+\.\d+|\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][-+]?\d+)?)"
    r"\s*(.*?)\s*$"
)
_EITHER = lazy(r"^[-+]?[1-9]\d{0,2},\d{3}$")  # 1,500: one and a half, or fifteen hundred?
_ANY_CASE = "gpm|gph|gpd|igpm|usgpm|psi|lpm|lph|cfm|gal|lbs?|kpa|bar|mbar|inch|inches|feet"
_AS_DEFINED = {"kpa": "kPa", "usgpm": "USgpm", "inch": "in", "inches": "in", "feet": "ft"}
_SPELT: tuple[tuple[str, Any], ...] = (
    (rf"\b({_ANY_CASE})\b", lambda m: _AS_DEFINED.get(m[0].casefold(), m[0].casefold())),
    (r"\bpsig\b|\bpsi\(g\)", "psi"),
    (r"\bkgf?/cm(?:2|\^2)", "kgf_cm"),
    (r"\b(?:cu(?:bic)?\.?\s*f(?:ee)?t\.?|cuft|cf|foot3)(?![a-z])", "ft3"),
    (r"\b(?:imp(?:erial)?\.?|uk)\s*gal\w*", "imp_gallon"),
    (r"\bus\s+gal\w*", "us_gallon"),
    (r"\bus\s+(?=gp[mhd]\b)", ""),
    (r"^(?:\"|''|″|”)$", "in"),
    (r"^(?:'|′|’)$", "ft"),
    (r"\s+per\s+", "/"),
    (r"\b(?:square|sq\.?)\s+([a-z]+)", r"\g<1>2"),
    (r"\bcubic\s+([a-z]+)", r"\g<1>3"),
    (r"\b([a-z]+)\s+(squared|cubed)\b", lambda m: f"{m[1]}{2 if m[2][0] in 'sS' else 3}"),
)
USUAL_UNITS = {
    "m3/h": "m3/h, L/min, gpm or gpd",
    "L/min": "L/min, gpm or m3/h",
    "m3/d": "m3/d, gpd or m3/h",
    "bar": "bar, kPa or psi",
    "m3": "m3, L, gal or ft3",
    "L": "L, m3, gal or ft3",
    "m": "in, ft, mm or m",
    "kg": "kg, g or lb",
    "g/L": "g/L or lb/ft3",
    "min": "min or h",
    "°C": "C or F",
    "mg/L": "mg/L",
    "mg/L as CaCO3": "gpg, mg/L or °dH",
}


@lru_cache(maxsize=1)
def _units() -> dict[str, tuple[float, Dimension]]:
    return {name: (size, kind) for names, size, kind in _DEFINED for name in names.split()}


class _UnknownUnitError(UnitError):
    """A word inside a unit that is not known."""


_TOKEN = lazy(r"\s*(?:(?P<name>[A-Za-z_]+)(?:(?:\*\*|\^)?(?P<power>-?\d))?|(?P<sign>[*·/()])|$)")


def _tokens(text: str) -> list[tuple[str, int]]:
    """Return names with their powers, and signs with 0."""
    found: list[tuple[str, int]] = []
    end = 0
    while end < len(text):
        match = _TOKEN.match(text, end)
        if match is None:
            raise UnitError(f"'{text}' is not written as a unit")
        if match["name"]:
            found.append((match["name"], int(match["power"] or 1)))
        elif match["sign"]:
            found.append((match["sign"], 0))
        end = match.end()
    return found


def _size(text: str) -> tuple[float, Dimension]:
    """Return the size of a unit in the base units, and what it measures."""
    tokens = _tokens(text)
    size, kind, rest = _product(tokens, text)
    if rest or not tokens:
        raise UnitError(f"'{text}' is not written as a unit")
    return size, kind


def _product(
    tokens: list[tuple[str, int]], text: str
) -> tuple[float, Dimension, list[tuple[str, int]]]:
    """Read factors up to the end or a closing bracket; return size, kind and what is left."""
    size, kind, direction, expected = 1.0, _NONE, 1, True
    while tokens and tokens[0][0] != ")":
        word, power = tokens[0]
        if power == 0 and word in "*·/":
            if expected:
                break
            direction, expected = (-1 if word == "/" else 1), True
            tokens = tokens[1:]
            continue
        if word == "(":
            own, of, tokens = _product(tokens[1:], text)
            if not tokens:
                break
            power = 1
        else:
            own, of = _named(word)
        if abs(power) > _HIGHEST_POWER:
            break
        size *= own ** (power * direction)
        kind = _times(kind, of, power * direction)
        tokens, direction, expected = tokens[1:], 1, False
    if expected:
        raise UnitError(f"'{text}' is not written as a unit")
    return size, kind, tokens


def _times(kind: Dimension, other: Dimension, power: int) -> Dimension:
    a, b, c, d, e = (own + power * more for own, more in zip(kind, other, strict=True))
    return a, b, c, d, e


def _named(word: str) -> tuple[float, Dimension]:
    found = _units().get(word) or (_units().get(word[:-1]) if word.endswith("s") else None)
    if found is None:
        raise _UnknownUnitError(f"'{word}' is not a unit known here")
    return found


def split_quantity(text: str) -> tuple[float, str]:
    """Split a quantity string into its number and its unit.

    Parameters
    ----------
    text : str
        For example "40 m3/d". A decimal comma is accepted. [-]

    Returns
    -------
    tuple of float and str
        The number and the text behind it. [-]

    Raises
    ------
    UnitError
        If the text does not start with a number, or its comma can be read in two ways.
    """
    match = _FLOATING.match(text) if len(text) <= LONGEST else None
    if match is None:
        raise UnitError(
            f"'{text[:LONGEST]}' is not a quantity; write a number and a unit, as in '1.6 m3/h'"
        )
    number, unit = match.groups()
    if _EITHER.match(number):
        plain, point = number.replace(",", ""), number.replace(",", ".")
        raise UnitError(f"'{number}' can be read as {plain} or as {point}: write one of the two")
    if "," in number and "." in number:
        number = number.replace(",", "")
    value = float(number.replace(",", "."))
    if not math.isfinite(value):
        raise UnitError(f"'{text}' is a number too large to be a quantity; write a smaller one")
    return value, unit


def quantity(text: str, unit: str) -> float:
    """Read a quantity string and return its value in ``unit``.

    Parameters
    ----------
    text : str
        A number and a unit, such as "6 gpm" or "3.5 bar". [-]
    unit : str
        The unit wanted, such as "m3/h". [-]

    Returns
    -------
    float
        The value. [unit]

    Raises
    ------
    UnitError
        If there is no unit, the unit is unknown, or it measures something else.
    """
    number, given = split_quantity(text)
    if not given:
        raise UnitError(f"'{text}' has no unit; write it as '{text} {unit}' if that is meant")
    if given == unit:
        return number
    try:
        own, kind = _size(_spelt(given))
    except _UnknownUnitError:
        raise _refused(text, unit, f"'{given}' is not a unit known here") from None
    except UnitError:
        raise _refused(text, unit, "the unit is not written as expected") from None
    wanted, of = _size(_spelt(unit))
    if kind != of:
        raise _refused(text, unit, "the unit measures something else")
    return number * own / wanted


def _refused(text: str, unit: str, reason: str) -> UnitError:
    hint = f"; write {USUAL_UNITS[unit]}" if unit in USUAL_UNITS else ""
    return UnitError(f"'{text}' cannot be read in {unit}: {reason}{hint}")


def _spelt(unit: str) -> str:
    """Return a unit in the spelling of the table: powers as digits, words as signs."""
    text = unit.strip().replace("µ", "u").replace("³", "3").replace("²", "2")
    text = text.replace("%", "percent")
    for written, meant in _SPELT:
        text = re.sub(written, meant, text, flags=re.IGNORECASE)
    return text


def temperature_c(value: Number, unit: str) -> Number:
    """Return a temperature in degrees Celsius.

    Parameters
    ----------
    value : float or array
        Temperature. [unit]
    unit : str
        "C", "F" or "K", with or without a degree sign or "deg". [-]

    Returns
    -------
    float or array
        Temperature. [°C]

    Raises
    ------
    UnitError
        If the unit is none of the three.
    """
    letter = re.sub(r"deg(rees?)?|[°º˚\s.]|elsius|ahrenheit|elvin", "", unit.casefold())
    if letter in {"c", ""}:
        return value
    if letter == "f":
        return (value - 32) / 1.8
    if letter == "k":
        return value - ZERO_C_IN_K
    raise UnitError(f"'{unit}' is not a unit of temperature; use C, F or K")
