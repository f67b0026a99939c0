"""Sentences in US customary units: quantities that stand in words, in place."""

import re
from collections.abc import Callable

from pretreat.core.text import lazy
from pretreat.core.units import US_CUSTOMARY, us_customary
from pretreat.core.units.display import SOLUTION
from pretreat.core.units.formulas import GRAM_PER_GRAIN, GRAM_PER_POUND, LITRE_PER_US_GALLON

_POUND_PER_KG = US_CUSTOMARY["kg"].factor
_POUND_PER_G_PER_KILOGALLON = LITRE_PER_US_GALLON / GRAM_PER_POUND
_WHOLE_FROM, _FEET_FROM_M = 100.0, 3.0


def _scaled(unit: str, factor: float) -> Callable[[float], tuple[float, str]]:
    return lambda value: (value * factor, unit)


def _as(canonical: str, spoken: str = "") -> Callable[[float], tuple[float, str]]:
    def shown(value: float) -> tuple[float, str]:
        found, unit = us_customary(value, canonical)
        return found, spoken or unit

    return shown


def _length(value: float) -> tuple[float, str]:
    inches = us_customary(value, "m")[0]
    return (inches, "in") if abs(value) < _FEET_FROM_M else (inches / 12.0, "ft")


# What a unit of a sentence is in US units; the longest spelling is looked for first.
_SHOWN: dict[str, Callable[[float], tuple[float, str]]] = {
    "m3/h": _as("m3/h", "US gpm"),
    "m3/d": _as("m3/d", "US gpd"),
    "m3 a day": _as("m3/d", "US gpd"),
    "m3": _as("m3", "US gal"),
    "L/min": _as("L/min", "US gpm"),
    "L/h": _as("L/h", "US gph"),
    "L/d": _as("L/d", "US gpd"),
    "L of water": _as("L of water", "US gal of water"),
    "L": _as("L"),
    "mg/L as CaCO3": _as("mg/L as CaCO3"),
    "g CaCO3/L": _as("g/L as CaCO3"),
    "g/L as CaCO3": _as("g/L as CaCO3"),
    "g/L": _as("g/L"),
    "g/m2": _as("g/m2"),
    "g/h": _as("g/h"),
    "g": _as("g"),
    "L/m2/h/bar": _as("L/(m2·h·bar)"),
    "L/(m2·h·bar)": _as("L/(m2·h·bar)"),
    "L/m2/h": _as("L/(m2·h)"),
    "L/(m2·h)": _as("L/(m2·h)"),
    "kg a day as CaCO3": _as("kg/d as CaCO3", "grains a day as CaCO3"),
    "kg": _as("kg"),
    "t": _scaled("lb", 1000.0 * _POUND_PER_KG),
    "kWh/m3": _as("kWh/m3", "kWh per 1,000 US gal"),
    "kg/m3": _scaled("lb per 1,000 US gal", 1000.0 * _POUND_PER_G_PER_KILOGALLON),
    "m/h": _as("m/h"),
    "m2": _as("m2"),
    "m": _length,
    "bar": _as("bar"),
    "kPa": _as("kPa"),
    "°C": _as("°C"),
    "BV/h": _as("BV/h"),
}
_NUMBER = r"\d[\d,]*(?:\.\d+)?"
_UNIT = "|".join(re.escape(unit) for unit in sorted(_SHOWN, key=len, reverse=True))
_QUANTITY = lazy(
    rf"(?<![\w.,])(?<!pH )([-+]?{_NUMBER})"
    rf"(?:( to | of | and | or |, at most )({_NUMBER}))? ({_UNIT})"
    r"(?![\w/]|\^)(?! per litre)"
)
_SIZE = lazy(rf"({_NUMBER}) (kg|L)")
_PACKAGE = lazy(rf"\b((?:bag|drum|carboy|pail|sack|box)s? of )({_NUMBER} (?:kg|L))\b")
_NOMINAL = 0.03  # of a size: a bag of 14 L is the trade's bag of 0.5 ft3
_US_UNIT = (
    r"(?:US )?(?:gpm/ft2|gpm|gpd|gfd|gal|ft3|kgr/ft3|lb/ft3|lb|psi|gpg(?: as CaCO3)?|in|ft|°F)"
)
# A quantity that stands in both systems already keeps its US half.
_BOTH = (
    (lazy(rf"({_NUMBER} {_US_UNIT}) \({_NUMBER} (?:{_UNIT})\)"), r"\1"),
    (lazy(rf"({_NUMBER} {_US_UNIT}) \({_NUMBER} (?:{_UNIT}), "), r"\1 ("),
    (lazy(rf"{_NUMBER} (?:{_UNIT}) \(({_NUMBER} {_US_UNIT})\)"), r"\1"),
)
_STANDARD = ("at ", "25", "°C")  # the temperature that tables and meters refer to
# Two measures at once: what a word names besides is turned with it.
_VALUE = rf"(?<![\w.,])(?P<value>{_NUMBER})"
_PER_KILOGALLON = "1,000 US gal"
_TOGETHER = (
    (
        lazy(rf"{_VALUE} kg (?P<of>)(?:for each|per) m3\b"),
        f" lb for each {_PER_KILOGALLON}",
        1000.0 * _POUND_PER_G_PER_KILOGALLON,
    ),
    (
        lazy(rf"{_VALUE} g (?:(?P<of>of \w+) )?per m3\b"),
        f" lb {{}}per {_PER_KILOGALLON}",
        _POUND_PER_G_PER_KILOGALLON,
    ),
    (
        lazy(rf"{_VALUE} g (?:(?P<of>of [\w +]+?) )?per litre\b"),
        " lb {}per ft3",
        us_customary(1.0, "g/L")[0],
    ),
    (
        lazy(
            rf"(?P<of>)(?:(?<=solution of )|(?<=diluted to )|(?<=hydrolyses below about ))"
            rf"{_VALUE} g/L"
        ),
        " lb/gal",
        us_customary(1.0, SOLUTION)[0],
    ),
    (
        lazy(rf"(?<=\bkilogram of salt takes ){_VALUE} g (?P<of>)of hardness"),
        " grains of hardness",
        1.0 / (GRAM_PER_GRAIN * _POUND_PER_KG),
    ),
)
_ALONE = (
    # A ratio of like quantities is the same in any unit.
    (lazy(rf"({_NUMBER}) g (of [\w ]+? (?:for a|per) )(?:gram|g)\b"), r"\1 lb \2pound"),
    (lazy(rf"({_NUMBER}) kg (of [\w ]+? (?:for a|per) )(?:kilogram|kg)\b"), r"\1 lb \2pound"),
    (lazy(r"\bA kilogram of salt\b"), "A pound of salt"),
    (lazy(r"\ba kilogram of salt\b"), "a pound of salt"),
    (lazy(r"\bper m3\b"), "per 1,000 US gal"),
    (lazy(r"\b(?:a m3|a cubic metre)\b"), "1,000 US gal"),
    (lazy(r"\bper cubic metre\b"), "per 1,000 US gal"),
    (lazy(r"\beach m3\b"), "each 1,000 US gal"),
    (lazy(r"\bper litre of (?=medium|resin)"), "per ft3 of "),
    (lazy(r"\ba litre of\b"), "a cubic foot of"),
    (lazy(r"\bper kg\b"), "per lb"),
    (lazy(r"\bwith a kilogram\b"), "with a pound"),
    (lazy(rf"{_NUMBER} g \(({_NUMBER}) grains a pound\)"), r"\1 grains a pound"),
)


def _digits(value: float) -> str:
    three = float(f"{value:.3g}")
    return f"{three:,.0f}" if abs(three) >= _WHOLE_FROM else f"{three:.3g}"


def _shown(text: str, unit: str) -> tuple[str, str]:
    """Return a number and its unit in US units, with three digits."""
    value, shown = _SHOWN[unit](float(text.replace(",", "")))
    sign = "+" if text.startswith("+") else ""
    return sign + _digits(value), shown


def package_in_us_words(size: str) -> str:
    """Return what a package holds as the trade names it: whole pounds, cubic feet with one decimal.

    Parameters
    ----------
    size : str
        Such as "25 kg" or "14 L"; a size that is in US units stays as it is. [-]

    Returns
    -------
    str
        Such as "55 lb" or "0.5 ft3". [-]
    """
    found = _SIZE.fullmatch(size)
    if found is None:
        return in_us_words(size)
    value, unit = us_customary(float(found[1].replace(",", "")), found[2])
    coarse = round(value, 0 if unit == "lb" else 1)
    if not coarse or abs(coarse - value) > _NOMINAL * value:
        return f"{_digits(value)} {unit}"
    return f"{coarse:g} {unit}"


def package_as_priced(size: str) -> str:
    """Return what a package holds in US units, so that a price of a pound times it is its price.

    Parameters
    ----------
    size : str
        Such as "25 kg"; a size that is in US units stays as it is. [-]

    Returns
    -------
    str
        "55.1 lb", which the trade's "55 lb" are not. [-]
    """
    found = _SIZE.fullmatch(size)
    if found is None:
        return in_us_words(size)
    value, unit = us_customary(float(found[1].replace(",", "")), found[2])
    return f"{_digits(value)} {unit}"


def package_in_both(size: str) -> str:
    """Return what a package holds as its list has it, a metric one in the trade's US size too.

    Parameters
    ----------
    size : str
        Such as "25 kg" or "50 lb". [-]

    Returns
    -------
    str
        Such as "25 kg (55 lb)": that many bags of 55 lb even would hold less; "50 lb". [-]
    """
    shown = package_in_us_words(size)
    return size if shown == size else f"{size} ({shown})"


def in_us_words(text: str) -> str:
    """Return a sentence with its quantities in US customary units.

    Parameters
    ----------
    text : str
        Words with quantities such as "9.5 bar" or "0.7 to 1.0 bar". [-]

    Returns
    -------
    str
        The same words; a concentration in mg/L and "at 25 °C" stay as they are. [-]
    """
    text = _PACKAGE.sub(lambda found: found[1] + package_in_us_words(found[2]), text)
    for pattern, kept in _BOTH:
        text = pattern.sub(kept, text)
    for pattern, unit, factor in _TOGETHER:
        text = pattern.sub(_together(unit, factor), text)
    for pattern, words in _ALONE:
        text = pattern.sub(words, text)
    return _QUANTITY.sub(_turned, text)


def _together(unit: str, factor: float) -> Callable[[re.Match[str]], str]:
    def turned(found: re.Match[str]) -> str:
        value = float(found["value"].replace(",", "")) * factor
        return _digits(value) + unit.format(f"{found['of']} " if found["of"] else "")

    return turned


def _turned(found: re.Match[str]) -> str:
    first, between, second, unit = found.groups()
    before = found.string[max(0, found.start() - len(_STANDARD[0])) : found.start()]
    if (before, first, unit) == _STANDARD:
        return found.group()
    number, shown = _shown(first, unit)
    if between is None:
        return f"{number} {shown}"
    return f"{number}{between}{_shown(second, unit)[0]} {shown}"
