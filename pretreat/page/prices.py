"""Prices of a litre, a kilogram or a cubic metre, as they are typed and shown in either units."""

import re
from typing import Literal

from pretreat.core.errors import DesignError, UnitError
from pretreat.core.units import quantity

Units = Literal["si", "us"]
_PER = {"_per_l": ("L", "ft3"), "_per_kg": ("kg", "lb"), "_per_m3": ("m3", "gal")}
_AMOUNTS = {"gal": 1000.0}  # of water: it is sold by the thousand gallons
_TYPED = re.compile(
    r"^[^\d.,\w/]*\s*(?P<number>[\d.,]+)\s*[^\d/]{0,4}?\s*(?:/|\bper\b)\s*(?P<amount>[\d,.]*)\s*"
    r"(?P<unit>[A-Za-z]+\d?)$"
)


def _of(key: str) -> tuple[str, str] | None:
    return next((units for end, units in _PER.items() if key.endswith(end)), None)


def _amount(unit: str) -> float:
    return _AMOUNTS.get(unit, 1.0)


def price_unit(key: str, units: Units) -> str:
    """Return what a price is for, as in "per ft3"; empty where it is for a piece or a while.

    Parameters
    ----------
    key : str
        Key of a price, such as resin_per_l. [-]
    units : {"si", "us"}
        Units of the person. [-]

    Returns
    -------
    str
        Words. [-]
    """
    found = _of(key)
    if found is None:
        return ""
    unit = found[units == "us"]
    return f"per {_amount(unit):,.0f} {unit}" if unit in _AMOUNTS else f"per {unit}"


def price_shown(key: str, price: float, units: Units) -> float:
    """Return a price of the site file in the units of a person.

    Parameters
    ----------
    key : str
        Key of the price. [-]
    price : float
        The price. [currency per L, kg or m3]
    units : {"si", "us"}
        Units of the person. [-]

    Returns
    -------
    float
        The price. [currency per unit of `price_unit`]
    """
    found = _of(key)
    if found is None or units == "si":
        return price
    return price * quantity(f"{_amount(found[1]):g} {found[1]}", found[0])


def price_typed(key: str, typed: str, units: Units) -> str:
    """Return a price as the site file has it, of a number or of one with what it is for.

    Parameters
    ----------
    key : str
        Key of the price. [-]
    typed : str
        As in "150", "150 USD/ft3" or "3.2 per lb". [-]
    units : {"si", "us"}
        Units of a number alone. [-]

    Returns
    -------
    str
        The number, per L, kg or m3; any other text as it is. [-]

    Raises
    ------
    DesignError
        If it is the price of something else, such as of a length.
    """
    found, match = _of(key), _TYPED.match(typed.strip())
    plain = re.fullmatch(r"[\d.,\s]+", typed)
    if found is None or not (match or plain):
        return typed
    if match:
        number, unit = match["number"], match["unit"]
        many = float(match["amount"].replace(",", "") or 1.0)
    else:
        number, unit = typed, found[units == "us"]
        many = _amount(unit)
    if unit == found[0] and many == 1.0:
        return number
    try:
        base = quantity(f"{many:g} {unit}", found[0])
        return f"{float(number.replace(',', '.')) / base:.12g}"
    except (UnitError, ValueError, ZeroDivisionError):
        raise DesignError(f"'{typed}': write a price {price_unit(key, units)}") from None
