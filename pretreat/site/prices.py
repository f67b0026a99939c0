"""Prices of a litre, a kilogram or a cubic metre, as they are typed and shown in either units."""

import re
from collections.abc import Mapping
from typing import Any, Literal

from pretreat.core.errors import DesignError, UnitError
from pretreat.core.text import lazy
from pretreat.core.units import quantity
from pretreat.site.quote_keys import sold

Units = Literal["si", "us"]
_PER = {"_per_l": ("L", "ft3"), "_per_kg": ("kg", "lb"), "_per_m3": ("m3", "gal")}
_AMOUNTS = {"gal": 1000.0}  # of water: it is sold by the thousand gallons
_US_KEYS = {"_per_lb": "lb", "_per_ft3": "ft3", "_per_gal": "gal", "_per_kgal": "kgal"}
_KGAL = "kgal"  # a thousand gallons
_TYPED = lazy(
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


def metric_prices(table: Mapping[str, Any]) -> dict[str, Any]:
    """Return the table [prices] with the keys and numbers of the site file, however it is typed.

    Parameters
    ----------
    table : mapping
        As typed: a key may end in _per_lb, _per_ft3, _per_gal or _per_kgal, and a price may be a
        text that says what it is for, as in "0.21 per lb". [-]

    Returns
    -------
    dict
        Prices per kg, L or m3; what is no such price is left for its reader. [-]

    Raises
    ------
    DesignError
        If a price is given twice, or is that of something else.
    """
    found: dict[str, Any] = {}
    faults: list[str] = []
    for name, value in table.items():
        key, unit = _metric_key(name)
        if key in found:
            faults.append(f"[prices] {name}: the price of {key} is given twice; leave one out")
            continue
        try:
            found[key] = _metric(key, unit, value)
        except DesignError as problem:
            faults += [f"[prices] {name}: {fault}" for fault in problem.faults]
    if faults:
        raise DesignError(*faults)
    return found


def _metric_key(name: str) -> tuple[str, str]:
    """Return the key of the site file and the US unit that a key names, empty where none."""
    end = next((end for end in _US_KEYS if name.endswith(end)), "")
    if not end:
        return name, ""
    stem, unit = name.removesuffix(end), _US_KEYS[end]
    by_volume = {f"{stem}_per_m3", f"{stem}_per_l"} & {item.price for item in sold().values()}
    usual = f"{stem}_per_kg" if unit == "lb" else f"{stem}_per_{'m3' if unit == _KGAL else 'l'}"
    return (usual if unit == "lb" or not by_volume else min(by_volume)), unit


def _metric(key: str, unit: str, value: Any) -> Any:
    """Return a price per unit of its key; a text without a unit is of the unit of the typed key."""
    if isinstance(value, str):
        shown = value.replace(f" {_KGAL}", " 1000 gal").replace(f"/{_KGAL}", "/1000 gal")
        typed = price_typed(key, shown, "si") if _TYPED.match(shown.strip()) else value
        try:
            return value if typed is value else float(typed.replace(",", "."))
        except ValueError:
            return value
    if not unit or isinstance(value, bool) or not isinstance(value, int | float):
        return value
    of = _of(key)
    if of is None:
        return value
    amount = "1000 gal" if unit == _KGAL else f"1 {unit}"
    return value / quantity(amount, of[0])
