"""Sentences in US customary units: quantities that stand in words, in place."""

import re

from pretreat.core.units import us_customary

_NUMBER = r"\d[\d,]*(?:\.\d+)?"
_UNITS = ("m3/h", "mg/L as CaCO3", "kg a day as CaCO3", "m3", "bar", "kg", "°C", "L/min")
_QUANTITY = re.compile(
    rf"(?<![\w.,])(-?{_NUMBER})( to | of | and )?(?(2)({_NUMBER}) )?(?(2)| )"
    rf"({'|'.join(map(re.escape, _UNITS))})(?![\w/])"
)
_SPOKEN = {"gpm": "US gpm", "gal": "US gal"}
_M3_H_PER_L_MIN = 0.06
_WHOLE_FROM = 100.0


def _shown(text: str, unit: str) -> tuple[str, str]:
    """Return a number and its unit in US units, with three digits."""
    value = float(text.replace(",", ""))
    if unit == "L/min":
        value, unit = value * _M3_H_PER_L_MIN, "m3/h"
    if unit == "kg a day as CaCO3":
        found, shown = us_customary(value, "kg/d as CaCO3")[0], "grains a day as CaCO3"
    else:
        found, shown = us_customary(value, unit)
    three = float(f"{found:.3g}")
    digits = f"{three:,.0f}" if abs(three) >= _WHOLE_FROM else f"{three:.3g}"
    return digits, _SPOKEN.get(shown, shown)


def in_us_words(text: str) -> str:
    """Return a sentence with its quantities in US customary units.

    Parameters
    ----------
    text : str
        Words with quantities such as "9.5 bar" or "0.7 to 1.0 bar". [-]

    Returns
    -------
    str
        The same words; a quantity of a unit that has no US twin stays. [-]
    """
    return _QUANTITY.sub(_turned, text)


def _turned(found: re.Match[str]) -> str:
    first, between, second, unit = found.groups()
    number, shown = _shown(first, unit)
    if between is None:
        return f"{number} {shown}"
    return f"{number}{between}{_shown(second, unit)[0]} {shown}"
