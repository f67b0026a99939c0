"""Readers of values of the site file: a number with its bounds, a word, a text, a file name."""

import datetime
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

from msgspec import Struct

from pretreat.core import units
from pretreat.core.doors import quoted
from pretreat.core.errors import DesignError, UnitError

Read = Callable[[str, Any, Path], Any]
PERCENT = 100.0
MOST_GRAINS = 120.0  # about 2,000 mg/L: no well of this trade is harder


class Number(Struct, frozen=True):
    """Reads a bare number, or a quantity string when there is a unit, within its bounds."""

    low: float
    high: float
    unit: str
    open_low: bool = False

    def __call__(self, where: str, value: Any, _base: Path) -> float:
        """Return the number in the unit; raise DesignError outside the bounds."""
        if isinstance(value, str) and value.rstrip().endswith("%"):
            found = self._percent(where, value)
        elif isinstance(value, str) and self.unit:
            found = _from_text(where, value, self.unit)
        elif isinstance(value, int | float) and not isinstance(value, bool):
            found = _as_float(value)
        else:
            raise DesignError(f"{where} = {quoted(value)}: write a number{_unit_hint(self.unit)}")
        inside = self.low < found <= self.high if self.open_low else self.low <= found <= self.high
        if not inside:
            bound = "above" if self.open_low else "from"
            as_percent = self.share and 1 < found <= PERCENT * self.high
            raise DesignError(
                f"{where} is {found:g} {self.unit}".rstrip()
                + f": must be {bound} {self.low:g} to {self.high:g}{_unit_hint(self.unit, ' ')}"
                + (f"; write {found / PERCENT:g} for {found:g} %" if as_percent else "")
            )
        return found

    @property
    def share(self) -> bool:
        """Whether it is a fraction of one, so that 65 % is 0.65."""
        return not self.unit and self.low >= 0.0 and self.high <= 1.0

    def _percent(self, where: str, value: str) -> float:
        if self.unit != "%" and not self.share:
            raise DesignError(
                f"{where} = {quoted(value)}: is no share of something; write a number"
                f"{_unit_hint(self.unit)}"
            )
        found = percent(where, value)
        return found / PERCENT if self.share else found


def percent(where: str, value: str) -> float:
    """Return the number of a text such as "21 %" or "12,5 %".

    Parameters
    ----------
    where : str
        Place, for messages. [-]
    value : str
        The text; it ends in the sign. [-]

    Returns
    -------
    float
        The number before the sign. [%]

    Raises
    ------
    DesignError
        If there is no number before the sign.
    """
    try:
        return float(value.rstrip().removesuffix("%").strip().replace(",", "."))
    except ValueError:
        raise DesignError(f"{where} = {quoted(value)}: write a number before the %") from None


def number(low: float, high: float, unit: str, *, open_low: bool = False) -> Number:
    """Return a reader of a bare number, or of a quantity string when the field has a unit.

    Parameters
    ----------
    low, high : float
        Bounds, ends included. [unit]
    unit : str
        Unit of bounds and result; empty for a plain number. [-]
    open_low : bool
        Leave the lower end out. [-]

    Returns
    -------
    callable
        Takes place, value and folder; raises DesignError outside the bounds. [-]
    """
    return Number(low, high, unit, open_low)


def _as_float(value: float) -> float:
    """Return a number of the site file; one of hundreds of digits as infinity, out of any range."""
    try:
        return float(value)
    except OverflowError:
        return math.inf if value > 0 else -math.inf


def _unit_hint(unit: str, lead: str = " in ") -> str:
    return f"{lead}{unit}" if unit else ""


def _not_mg_l_as_grains(text: str) -> None:
    """Refuse a hardness in grains that only makes sense in mg/L."""
    amount, given = units.split_quantity(text)
    if given.casefold().startswith(("gpg", "gr")) and amount > MOST_GRAINS:
        raise UnitError(
            f"'{text}' is {units.hardness_mg_l_caco3(text):,.0f} mg/L as CaCO3: "
            f"is {amount:g} mg/L meant? If it is right, write it in mg/L"
        )


OVER, UNDER = (">", "≥"), ("<", "≤")


def _refuse_bound(where: str, given: str) -> None:
    """Refuse a result that only a bound is known of: a site file holds measured values."""
    said = given.strip()
    if said.startswith(OVER):
        raise DesignError(
            f"{where} = {quoted(given)}: over the range of the test, so more than that; dilute the "
            "sample, measure again and write what is found (in a lab report the bound is taken as "
            "the least)"
        )
    if said.startswith(UNDER):
        raise DesignError(
            f"{where} = {quoted(given)}: not found by the test; write the limit itself, "
            "the most that there can be (in a lab report it is read as printed)"
        )


def _from_text(where: str, given: str, unit: str) -> float:
    _refuse_bound(where, given)
    try:
        if unit == "mg/L as CaCO3":
            _not_mg_l_as_grains(given)
            return units.hardness_mg_l_caco3(given)
        if unit == "mg/L":
            return units.mg_l(given)
        if unit == "°C":
            amount, sign = units.split_quantity(given)
            return units.temperature_c(amount, sign)
        if unit == "µS/cm":
            amount, sign = units.split_quantity(given)
            return units.conductivity_us_cm(amount, sign)
        return units.quantity(given, unit)
    except UnitError as problem:
        raise DesignError(f"{where}: {problem}") from problem


def text(where: str, value: Any, _base: Path) -> str:
    """Read a text.

    Parameters
    ----------
    where : str
        Place, for messages. [-]
    value : object
        Value of the site file. [-]
    _base : Path
        Folder of the site file. [-]

    Returns
    -------
    str
        The text. [-]
    """
    if not isinstance(value, str):
        raise DesignError(f"{where} = {quoted(value)}: write a text in quotes")
    return value


def date(where: str, value: Any, _base: Path) -> datetime.date:
    """Read a day.

    Parameters
    ----------
    where : str
        Place, for messages. [-]
    value : object
        Value of the site file: a date, or a text such as "2031-05-14". [-]
    _base : Path
        Folder of the site file. [-]

    Returns
    -------
    date
        The day. [-]
    """
    if isinstance(value, datetime.datetime):
        return value.date()
    if isinstance(value, datetime.date):
        return value
    try:
        return datetime.date.fromisoformat(value)
    except (TypeError, ValueError):
        raise DesignError(f"{where} = {quoted(value)}: write a date as in 2031-05-14") from None


def flag(where: str, value: Any, _base: Path) -> bool:
    """Read true or false.

    Parameters
    ----------
    where : str
        Place, for messages. [-]
    value : object
        Value of the site file. [-]
    _base : Path
        Folder of the site file. [-]

    Returns
    -------
    bool
        The value. [-]
    """
    if not isinstance(value, bool):
        raise DesignError(f"{where} = {quoted(value)}: write true or false")
    return value


def path(where: str, value: Any, base: Path) -> Path:
    """Read a file name, relative to the site file.

    Parameters
    ----------
    where : str
        Place, for messages. [-]
    value : object
        Value of the site file. [-]
    base : Path
        Folder of the site file. [-]

    Returns
    -------
    Path
        The file. [-]
    """
    name = text(where, value, base)
    if not name.strip() or not name.isprintable():
        raise DesignError(
            f"{where} = {quoted(value)}: is not a name of a file; write one in quotes"
        )
    return base / name


class Word(Struct, frozen=True):
    """Reads one of a few words, upper or lower case."""

    known: tuple[str, ...]

    def __call__(self, where: str, value: Any, base: Path) -> str:
        """Return the word in lower case; raise DesignError where it is none of them."""
        found = text(where, value, base).casefold()
        if found not in self.known:
            raise DesignError(f"{where} = {quoted(value)}: must be one of {', '.join(self.known)}")
        return found


def word(*known: str) -> Word:
    """Return a reader of one of a few words, upper or lower case.

    Parameters
    ----------
    *known : str
        The words, in lower case. [-]

    Returns
    -------
    callable
        Takes place, value and folder. [-]
    """
    return Word(known)


def measured(
    stem: str, suffix: str, unit: str, low: float, high: float, **k: bool
) -> dict[str, Any]:
    """Accept both ``stem = "1.6 m3/h"`` and ``stem_suffix = 1.6``.

    Parameters
    ----------
    stem, suffix : str
        Name of the key, and its ending where the number is bare. [-]
    unit : str
        Unit of bounds and result. [-]
    low, high : float
        Bounds. [unit]
    **k : bool
        ``open_low`` leaves the lower end out. [-]

    Returns
    -------
    dict
        Entries for a table of keys. [-]
    """
    name = f"{stem}_{suffix}"
    read = number(low, high, unit, **k)
    return {stem: (name, read, unit), name: (name, read, "bare")}


def plain(name: str, low: float, high: float, **k: bool) -> dict[str, Any]:
    """Accept a bare number.

    Parameters
    ----------
    name : str
        Name of the key. [-]
    low, high : float
        Bounds. [as the key]
    **k : bool
        ``open_low`` leaves the lower end out. [-]

    Returns
    -------
    dict
        Entry for a table of keys. [-]
    """
    return {name: (name, number(low, high, "", **k), "bare")}


def temperature(stem: str) -> dict[str, Any]:
    """Accept a temperature of water.

    Parameters
    ----------
    stem : str
        Name of the key. [-]

    Returns
    -------
    dict
        Entries for a table of keys. [-]
    """
    return measured(stem, "c", "°C", 0.0, 60.0)
