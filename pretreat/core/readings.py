"""The words that a law is written with, each read with floats, arrays or symbols alike."""

import functools
import math
from collections.abc import Callable
from typing import Any, TypeAlias

import numpy as np

from pretreat.core.terms import TIE, Term, compare, lift

Number: TypeAlias = Any  # a float, an array of floats, or a symbol
BLANK = math.nan
_HOLDS: dict[str, Callable[[Any, Any], Any]] = {
    ">": lambda gap, slack: gap > slack,
    ">=": lambda gap, slack: gap >= -slack,
    "<": lambda gap, slack: gap < -slack,
    "<=": lambda gap, slack: gap <= slack,
    "=": lambda gap, slack: abs(gap) <= slack,
}

MOST_TIE_CENTS = 1e-3


def reading(*values: Any) -> str:
    """Tell whether symbols, arrays or floats are read.

    Parameters
    ----------
    *values : float, array or symbol
        Arguments. [any]

    Returns
    -------
    str
        "symbol", "array" or "float". [-]
    """
    array = False
    for value in values:
        if isinstance(value, Term):
            return "symbol"
        array = array or isinstance(value, np.ndarray)
    return "array" if array else "float"


def test(sign: str, a: Number, b: Number) -> Number:
    """Return a comparison in which numbers within 1e-12 of each other are equal.

    Parameters
    ----------
    sign : str
        One of > >= < <= =. [-]
    a, b : float, array or symbol
        What is compared. [any]

    Returns
    -------
    bool, array or symbol
        A condition. [-]
    """
    kind = reading(a, b)
    if kind == "symbol":
        return compare(sign, a, b)
    if kind == "float" and (a != a or b != b):  # noqa: PLR0124 - NaN is a blank
        return BLANK
    gap = a - b
    found = _HOLDS[sign](gap, TIE * abs(b))
    if kind == "float":
        return bool(found)
    return np.where(np.isnan(gap), np.nan, np.where(found, 1.0, 0.0))


def above(a: Number, b: Number) -> Number:
    """Tell whether a > b; equal within 1e-12 is not above.

    Parameters
    ----------
    a, b : float, array or symbol
        What is compared. [any]

    Returns
    -------
    bool, array or symbol
        A condition for `when`. [-]
    """
    return test(">", a, b)


def at_least(a: Number, b: Number) -> Number:
    """Tell whether a >= b; equal within 1e-12 is enough.

    Parameters
    ----------
    a, b : float, array or symbol
        What is compared. [any]

    Returns
    -------
    bool, array or symbol
        A condition for `when`. [-]
    """
    return test(">=", a, b)


def below(a: Number, b: Number) -> Number:
    """Tell whether a < b; equal within 1e-12 is not below.

    Parameters
    ----------
    a, b : float, array or symbol
        What is compared. [any]

    Returns
    -------
    bool, array or symbol
        A condition for `when`. [-]
    """
    return test("<", a, b)


def at_most(a: Number, b: Number) -> Number:
    """Tell whether a <= b; equal within 1e-12 is enough.

    Parameters
    ----------
    a, b : float, array or symbol
        What is compared. [any]

    Returns
    -------
    bool, array or symbol
        A condition for `when`. [-]
    """
    return test("<=", a, b)


def same(a: Number, b: Number) -> Number:
    """Tell whether two numbers are equal within 1e-12.

    Parameters
    ----------
    a, b : float, array or symbol
        What is compared. [any]

    Returns
    -------
    bool, array or symbol
        A condition for `when`. [-]
    """
    return test("=", a, b)


def when(condition: Number, then: Callable[[], Number], other: Callable[[], Number]) -> Number:
    """Return one of two branches; of floats only the branch taken is computed.

    Parameters
    ----------
    condition : bool, array or symbol
        From `above`, `at_least`, `below`, `at_most`, `same`, `both`, `either`, `negate`. [-]
    then, other : callable
        Functions without arguments that return the branches. [any]

    Returns
    -------
    float, array or symbol
        The branch; blank where the condition rests on a blank. [any]
    """
    if isinstance(condition, Term):
        return Term("call", "IF", condition, lift(then()), lift(other()))
    if isinstance(condition, np.ndarray):
        if condition.dtype == bool:
            condition = condition.astype(float)
        yes, no = then(), other()
        return np.where(condition == 1.0, yes, np.where(condition == 0.0, no, np.nan))
    if condition != condition:  # noqa: PLR0124 - NaN is a blank
        return BLANK
    return then() if condition else other()


def _joined(name: str, conditions: tuple[Number, ...]) -> Number:
    kind = reading(*conditions)
    if kind == "symbol":
        return Term("call", name, *(_condition(c) for c in conditions))
    if kind == "array":
        stack = np.broadcast_arrays(*(np.asarray(c, dtype=float) for c in conditions))
        found = np.min(stack, axis=0) if name == "AND" else np.max(stack, axis=0)
        return np.asarray(found)
    if any(c != c for c in conditions):  # noqa: PLR0124 - NaN is a blank
        return BLANK
    return all(conditions) if name == "AND" else any(conditions)


def _condition(value: Any) -> Term:
    if isinstance(value, Term):
        return value
    return compare("=", 1.0, 1.0 if value else 0.0)


def both(*conditions: Number) -> Number:
    """Tell whether all conditions hold.

    Parameters
    ----------
    *conditions : bool, array or symbol
        Conditions. [-]

    Returns
    -------
    bool, array or symbol
        A condition. [-]
    """
    return _joined("AND", conditions)


def either(*conditions: Number) -> Number:
    """Tell whether any condition holds.

    Parameters
    ----------
    *conditions : bool, array or symbol
        Conditions. [-]

    Returns
    -------
    bool, array or symbol
        A condition. [-]
    """
    return _joined("OR", conditions)


def negate(condition: Number) -> Number:
    """Tell whether a condition does not hold.

    Parameters
    ----------
    condition : bool, array or symbol
        Condition. [-]

    Returns
    -------
    bool, array or symbol
        A condition. [-]
    """
    if isinstance(condition, Term):
        return Term("call", "NOT", condition)
    if isinstance(condition, np.ndarray):
        return 1.0 - condition
    return condition if condition != condition else not condition  # noqa: PLR0124


def _flat(values: tuple[Any, ...]) -> tuple[Any, ...]:
    """Return the values given one by one or as one list of them."""
    if len(values) == 1 and isinstance(values[0], list | tuple):
        return tuple(values[0])
    return values


def _extreme(name: str, values: tuple[Any, ...]) -> Number:
    values = _flat(values)
    kind = reading(*values)
    if kind == "symbol":
        return Term("call", name, *(lift(v) for v in values))
    if kind == "array":
        return functools.reduce(np.minimum if name == "MIN" else np.maximum, values)
    if any(v != v for v in values):  # noqa: PLR0124 - NaN is a blank
        return BLANK
    return min(values) if name == "MIN" else max(values)


def least(*values: Number) -> Number:
    """Return the smallest.

    Parameters
    ----------
    *values : float, array or symbol
        Numbers, or one list of them. [any]

    Returns
    -------
    float, array or symbol
        The smallest. [any]
    """
    return _extreme("MIN", values)


def most(*values: Number) -> Number:
    """Return the largest.

    Parameters
    ----------
    *values : float, array or symbol
        Numbers, or one list of them. [any]

    Returns
    -------
    float, array or symbol
        The largest. [any]
    """
    return _extreme("MAX", values)


def whole(value: Number) -> Number:
    """Round down to a whole number, after snapping to one within 1e-12.

    Parameters
    ----------
    value : float, array or symbol
        Number. [any]

    Returns
    -------
    float, array or symbol
        Whole number. [any]
    """
    if isinstance(value, Term):
        return Term("whole", value)
    if isinstance(value, np.ndarray):
        return np.floor(value + TIE * np.abs(value))
    return BLANK if not math.isfinite(value) else float(math.floor(value + TIE * abs(value)))


def whole_up(value: Number) -> Number:
    """Round up to a whole number, after snapping to one within 1e-12.

    Parameters
    ----------
    value : float, array or symbol
        Number. [any]

    Returns
    -------
    float, array or symbol
        Whole number. [any]
    """
    if isinstance(value, Term):
        return Term("whole_up", value)
    if isinstance(value, np.ndarray):
        return np.ceil(value - TIE * np.abs(value))
    return BLANK if not math.isfinite(value) else float(math.ceil(value - TIE * abs(value)))


def cents(value: Number) -> Number:
    """Round money half up to the cent.

    Parameters
    ----------
    value : float, array or symbol
        Amount. [currency]

    Returns
    -------
    float, array or symbol
        Amount in whole cents. [currency]
    """
    if isinstance(value, Term):
        return Term("call", "ROUND", value, lift(2.0))
    in_cents = np.abs(value) * 100.0
    # A tie is met within rounding, and never by a share of a cent that a large sum would feel.
    size = np.floor(in_cents + np.minimum(TIE * in_cents, MOST_TIE_CENTS) + 0.5) / 100.0
    rounded = np.copysign(size, value)
    return rounded if isinstance(value, np.ndarray) else float(rounded)


def total(*values: Number) -> Number:
    """Add up what is known; blank only where all are blank.

    Parameters
    ----------
    *values : float, array or symbol
        Numbers, or one list of them. [any]

    Returns
    -------
    float, array or symbol
        Sum. [any]
    """
    values = _flat(values)
    kind = reading(*values)
    if kind == "symbol":
        return Term("total", *(lift(v) for v in values))
    if kind == "array":
        stack = np.array(np.broadcast_arrays(*(np.asarray(v, dtype=float) for v in values)))
        known = ~np.isnan(stack)
        return np.where(known.any(axis=0), np.where(known, stack, 0.0).sum(axis=0), np.nan)
    known_values = [v for v in values if v is not None and v == v]  # noqa: PLR0124
    return sum(known_values) if known_values else BLANK


def root(value: Number) -> Number:
    """Return the square root.

    Parameters
    ----------
    value : float, array or symbol
        Number from 0. [any]

    Returns
    -------
    float, array or symbol
        Root. [any]
    """
    return _function("SQRT", np.sqrt, value)


def exponential(value: Number) -> Number:
    """Return e to a power.

    Parameters
    ----------
    value : float, array or symbol
        Power. [-]

    Returns
    -------
    float, array or symbol
        e ** value. [-]
    """
    return _function("EXP", np.exp, value)


def log_10(value: Number) -> Number:
    """Return the decimal logarithm.

    Parameters
    ----------
    value : float, array or symbol
        Number above 0. [any]

    Returns
    -------
    float, array or symbol
        Logarithm. [-]
    """
    return _function("LOG10", np.log10, value)


def log_e(value: Number) -> Number:
    """Return the natural logarithm.

    Parameters
    ----------
    value : float, array or symbol
        Number above 0. [any]

    Returns
    -------
    float, array or symbol
        Logarithm. [-]
    """
    return _function("LN", np.log, value)


def _function(name: str, compute: Callable[[Any], Any], value: Number) -> Number:
    if isinstance(value, Term):
        return Term("call", name, value)
    found = compute(value)
    return found if isinstance(value, np.ndarray) else float(found)
