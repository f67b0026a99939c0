"""Quantity strings ("40 m3/d", "6 gpm") through pint, and temperatures, which pint never sees."""

import re
from functools import lru_cache
from typing import Any

from pretreat.core.errors import UnitError
from pretreat.core.units.formulas import ZERO_C_IN_K

_DEFINITIONS = """\
meter = [length] = m = metre
kilogram = [mass] = kg
second = [time] = s = sec
pascal = [pressure] = Pa
watt = [power] = W
percent = 0.01 = _ = pct
gram = 0.001 * kilogram = g
milligram = 1e-6 * kilogram = mg
microgram = 1e-9 * kilogram = ug
tonne = 1000 * kilogram = t
pound = 0.45359237 * kilogram = lb = lbs
ounce = 0.028349523125 * kilogram = oz
grain = 6.479891e-5 * kilogram = gr
millimeter = 0.001 * meter = mm = millimetre
centimeter = 0.01 * meter = cm = centimetre
kilometer = 1000 * meter = km
foot = 0.3048 * meter = ft = feet
inch = 0.0254 * meter = in = inches
minute = 60 * second = min = minutes
hour = 3600 * second = h = hr = hours
day = 86400 * second = d = days
week = 604800 * second = wk = weeks
month = 2629800 * second = mo = months
year = 31557600 * second = yr = years = a
liter = 0.001 * meter ** 3 = L = l = litre
milliliter = 1e-6 * meter ** 3 = mL = ml
us_gallon = 3.785411784e-3 * meter ** 3 = gal = gallon = USgal = gallons
imp_gallon = 4.54609e-3 * meter ** 3 = impgal = igal
gpm = us_gallon / minute = USgpm
gph = us_gallon / hour
gpd = us_gallon / day
igpm = imp_gallon / minute
cfm = foot ** 3 / minute
lpm = liter / minute
lph = liter / hour
bar = 1e5 * pascal
millibar = 100 * pascal = mbar
kilopascal = 1000 * pascal = kPa
megapascal = 1e6 * pascal = MPa
psi = 6894.757293168 * pascal
kgf_cm2 = 98066.5 * pascal = at
atm = 101325 * pascal
mwc = 9806.65 * pascal = mWC
kilowatt = 1000 * watt = kW
horsepower = 745.6998715822702 * watt = hp
"""

_FLOATING = re.compile(
    r"^\s*([-+]?(?:\d{1,3}(?:,\d{3})+\.\d+|\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][-+]?\d+)?)"
    r"\s*(.*?)\s*$"
)
_EITHER = re.compile(r"^[-+]?[1-9]\d{0,2},\d{3}$")  # 1,500: one and a half, or fifteen hundred?
_ANY_CASE = "gpm|gph|gpd|igpm|usgpm|psi|lpm|lph|cfm|gal|lbs?|kpa|bar|mbar|inch|inches|feet"
_AS_DEFINED = {"kpa": "kPa", "usgpm": "USgpm", "inch": "in", "inches": "in", "feet": "ft"}
_SPELT: tuple[tuple[str, Any], ...] = (
    (rf"\b({_ANY_CASE})\b", lambda m: _AS_DEFINED.get(m[0].casefold(), m[0].casefold())),
    (r"\bpsig\b|\bpsi\(g\)", "psi"),
    (r"\bkgf?/cm(?:2|\^2)", "kgf_cm2"),
    (r"\b(?:cu(?:bic)?\.?\s*f(?:ee)?t\.?|cuft|cf|foot3)(?![a-z])", "ft3"),
    (r"\b(?:imp(?:erial)?\.?|uk)\s*gal\w*", "imp_gallon"),
    (r"\bus\s+gal\w*", "us_gallon"),
    (r"\bus\s+(?=gp[mhd]\b)", ""),
    (r"^(?:\"|''|″|”)$", "in"),
    (r"^(?:'|′|’)$", "ft"),
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
def _registry() -> Any:
    import pint

    registry: Any = pint.UnitRegistry(None, cache_folder=None)
    for line in _DEFINITIONS.splitlines():
        registry.define(line)
    return registry


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
    match = _FLOATING.match(text)
    if match is None:
        raise UnitError(f"'{text}' is not a quantity; write a number and a unit, as in '1.6 m3/h'")
    number, unit = match.groups()
    if _EITHER.match(number):
        plain, point = number.replace(",", ""), number.replace(",", ".")
        raise UnitError(f"'{number}' can be read as {plain} or as {point}: write one of the two")
    if "," in number and "." in number:
        number = number.replace(",", "")
    return float(number.replace(",", ".")), unit


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
        return number  # nothing to convert, so pint is not loaded
    try:
        return float(_registry().Quantity(number, _pint_text(given)).m_as(_pint_text(unit)))
    except UnitError:
        raise
    except Exception as problem:
        reason = _reason(problem, given)
        hint = f"; write {USUAL_UNITS[unit]}" if unit in USUAL_UNITS else ""
        raise UnitError(f"'{text}' cannot be read in {unit}: {reason}{hint}") from problem


def _reason(problem: Exception, given: str) -> str:
    kind = type(problem).__name__
    if kind == "UndefinedUnitError":
        return f"'{given}' is not a unit known here"
    if kind == "DimensionalityError":
        return "the unit measures something else"
    return "the unit is not written as expected"


def _pint_text(unit: str) -> str:
    text = unit.strip().replace("µ", "u").replace("³", "3").replace("²", "2")
    text = text.replace("%", "percent")
    for written, meant in _SPELT:
        text = re.sub(written, meant, text, flags=re.IGNORECASE)
    return re.sub(r"\b(m|cm|mm|ft|in|dm)\^?([23])\b", r"\1**\2", text)


def temperature_c(value: float, unit: str) -> float:
    """Return a temperature in degrees Celsius.

    Parameters
    ----------
    value : float
        Temperature. [unit]
    unit : str
        "C", "F" or "K", with or without a degree sign or "deg". [-]

    Returns
    -------
    float
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
