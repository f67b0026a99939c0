"""Laws: an equation written once and read in four ways.

A law is a plain function of numbers. With floats it returns the value of a figure, with numpy
arrays thousands of values at once, with symbols the formula of a spreadsheet cell, and with
symbols and values the line that a checker works through. So that one text serves all four, a
law uses the words of this module instead of ``if``, ``and``, ``min``, ``max`` and ``round``.

Blank (None, NaN, empty text) in makes blank out, `total` aside, which skips blanks. Numbers
within 1e-12 of each other count as equal, and `whole` first snaps to a whole number that near:
a spreadsheet does the same, Python alone does not.
"""

import functools
import math
import operator
import threading
from collections.abc import Callable, Iterable, Mapping
from typing import Any, Generic, ParamSpec, TypeVar

import numpy as np

from pretreat.core.basis import Citation
from pretreat.core.errors import OutOfRangeError, PretreatError
from pretreat.core.names import refuse_cut, unit_of, words_of
from pretreat.core.readings import (
    BLANK,
    Number,
    above,
    at_least,
    at_most,
    below,
    both,
    cents,
    either,
    exponential,
    least,
    log_10,
    log_e,
    most,
    negate,
    reading,
    root,
    same,
    test,
    total,
    when,
    whole,
    whole_up,
)
from pretreat.core.terms import (
    Term,
    formula,
    in_words,
    keys,
    lift,
    needed,
    short,
    symbol,
)
from pretreat.core.validity import Range, valid

P = ParamSpec("P")
R = TypeVar("R")

LAWS: "dict[str, Law[..., Any]]" = {}
_state = threading.local()
_FLOATS = frozenset({float})
_FLOAT = np.dtype(float)


# --- the law itself ---------------------------------------------------------------------------


class Law(Generic[P, R]):
    """An equation that is read with floats, arrays, or symbols."""

    validity: Mapping[str, Range]
    citations: tuple[Citation, ...]

    def __init__(self, function: Callable[P, R]) -> None:
        self.validity, self.citations = {}, ()
        functools.update_wrapper(self, function)
        self.function = function
        code = function.__code__
        self.names = code.co_varnames[: code.co_argcount + code.co_kwonlyargcount]
        self.positional = code.co_argcount
        self._known = frozenset(self.names)
        self.name = f"{function.__module__}:{function.__name__}"
        LAWS[self.name] = self

    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> Any:
        """Return the law's result in the reading that its arguments ask for."""
        return self.of(self.bound(args, kwargs))

    def of(self, given: dict[str, Any]) -> Any:
        """Return the result for arguments that are bound already."""
        plain = _all_floats(given.values())  # most often, and soon told
        kind = "float" if plain else reading(*_leaves(given.values()))
        if kind == "symbol":
            return self.function(**given)  # type: ignore[call-arg]
        inner = getattr(_state, "depth", 0)
        _state.depth = inner + 1
        try:
            if kind == "array":
                return self._arrays(given)
            return self._floats(given, inner, plain=plain)
        finally:
            _state.depth = inner

    def bound(self, args: tuple[Any, ...], kwargs: Mapping[str, Any]) -> dict[str, Any]:
        """Return the arguments by name, in the order of the law, defaults filled in."""
        if len(args) == len(self.names) == self.positional and not kwargs:
            return dict(zip(self.names, args, strict=True))
        if not args and kwargs.keys() == self._known:
            return {n: kwargs[n] for n in self.names}
        given: dict[str, Any] = dict(zip(self.names[: self.positional], args, strict=False))
        if len(args) > self.positional:
            raise TypeError(f"{self.name} takes {self.positional} arguments, {len(args)} given")
        given.update(kwargs)
        missing = [n for n in self.names if n not in given and n not in self._defaults]
        unknown = [n for n in given if n not in self.names]
        if missing or unknown:
            raise TypeError(f"{self.name}: missing {missing}, unknown {unknown}")
        return {n: given[n] if n in given else self._defaults[n] for n in self.names}

    @functools.cached_property
    def _defaults(self) -> dict[str, Any]:
        function: Any = self.function
        plain = function.__defaults__ or ()
        found = dict(
            zip(self.names[self.positional - len(plain) : self.positional], plain, strict=True)
        )
        return {**found, **(function.__kwdefaults__ or {})}

    def _floats(self, given: dict[str, Any], depth: int, *, plain: bool) -> Any:
        if not plain:
            given = {name: _as_float(value) for name, value in given.items()}
        if depth:
            self.check(given)
            return self.function(**given)  # type: ignore[call-arg]
        leaves = given.values() if plain else _leaves(given.values())
        if any(map(math.isnan, leaves)) and self._lacks(given):
            return None
        self.check(given)
        try:
            found: Any = self.function(**given)  # type: ignore[call-arg]
        except (ZeroDivisionError, OverflowError) as problem:
            raise OutOfRangeError(
                f"{self.name} divides by zero or overflows at {given}"
            ) from problem
        return None if isinstance(found, float) and not math.isfinite(found) else found

    def _lacks(self, given: dict[str, Any]) -> bool:
        """Tell whether a blank stands where a number is needed."""
        tree = self.tree({name: _symbols(name, value) for name, value in given.items()})
        values = {
            key: leaf
            for name, value in given.items()
            for key, leaf in zip(_named(name, value), _leaves((value,)), strict=True)
        }
        return any(math.isnan(values[key]) for key in needed(tree))

    def _arrays(self, given: dict[str, Any]) -> Any:
        given = {name: _as_arrays(value) for name, value in given.items()}
        with np.errstate(all="ignore"):
            found: Any = self.function(**given)  # type: ignore[call-arg]
            found = np.where(np.isfinite(found), found, np.nan)
            for name, allowed in self.validity.items():
                for leaf in _leaves((given[name],)):
                    out = allowed.outside(leaf)
                    found = found if out is False else np.where(out, np.nan, found)
        return found

    def check(self, given: Mapping[str, Any]) -> None:
        """Refuse numbers outside the range in which the law holds.

        Parameters
        ----------
        given : mapping
            Arguments by name. [any]

        Raises
        ------
        OutOfRangeError
            If one lies outside, with its range.
        """
        for name, allowed in self.validity.items():
            one = given[name]
            for value in (one,) if isinstance(one, float) else _leaves((one,)):
                if isinstance(value, float) and allowed.outside(value):
                    unit = unit_of(name) or ""
                    raise OutOfRangeError(
                        f"{words_of(name)} is {value:g} {unit}".rstrip(" -")
                        + f"; {words_of(self.__name__)} holds {allowed}"  # type: ignore[attr-defined]
                        + (f" {unit}" if unit not in {"", "-"} else "")
                    )

    def tree(self, given: Mapping[str, Any]) -> Term:
        """Return the law as a tree; arguments are symbols or numbers."""
        return lift(self.function(**given))  # type: ignore[call-arg]


def law(function: Callable[P, R]) -> Law[P, R]:
    """Make a function of numbers a law.

    Parameters
    ----------
    function : callable
        Arguments end in their units; the body uses the words of this module. [-]

    Returns
    -------
    Law
        Called like the function. [-]

    Raises
    ------
    ValueError
        If a name ends in a unit of which only a part is known.
    """
    made = Law(function)
    for name in (*made.names, function.__name__):
        refuse_cut(name)
    return made


def _all_floats(values: Iterable[Any]) -> bool:
    return {*map(type, values)} <= _FLOATS


def _leaves(values: Iterable[Any]) -> list[Any]:
    found = []
    for value in values:
        if isinstance(value, (list, tuple)):
            found += _leaves(value)
        else:
            found.append(value)
    return found


def _as_float(value: Any) -> Any:
    if type(value) is float:
        return value
    if isinstance(value, (list, tuple)):
        return tuple(_as_float(v) for v in value)
    if value is None or value == "":
        return BLANK
    if isinstance(value, str):
        raise PretreatError(f"'{value}' is text, a law takes numbers")
    return float(value)


def _as_arrays(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return value if value.dtype == _FLOAT else value.astype(float)
    return (
        tuple(_as_arrays(v) for v in value) if isinstance(value, list | tuple) else _as_float(value)
    )


def _named(name: str, value: Any) -> tuple[str, ...]:
    if isinstance(value, list | tuple):
        return tuple(f"{name}.{i}" for i in range(len(value)))
    return (name,)


def _symbols(name: str, value: Any) -> Any:
    if isinstance(value, list | tuple):
        return tuple(symbol(n) for n in _named(name, value))
    return symbol(name)


def evaluate(tree: Term, value: Callable[[str], Any]) -> Any:
    """Return the value of a tree for the values of its figures.

    Parameters
    ----------
    tree : Term
        Tree of a law. [-]
    value : callable
        Value of a figure by its key. [any]

    Returns
    -------
    float or bool
        The value; NaN where it rests on a blank. [any]
    """
    op, parts = tree.op, tree.parts
    if op == "key":
        return _as_float(value(parts[0]))
    if op == "number":
        return parts[0]
    if op == "call" and parts[0] == "IF":
        return when(
            evaluate(parts[1], value),
            lambda: evaluate(parts[2], value),
            lambda: evaluate(parts[3], value),
        )
    if op == "compare":
        return test(parts[0], evaluate(parts[1], value), evaluate(parts[2], value))
    found = [evaluate(p, value) for p in parts if isinstance(p, Term)]
    return (_CALLS[parts[0]] if op == "call" else _OPERATORS[op])(*found)


_CALLS: dict[str, Callable[..., Any]] = {
    "MIN": least,
    "MAX": most,
    "SQRT": root,
    "EXP": exponential,
    "LN": log_e,
    "LOG10": log_10,
    "ABS": abs,
    "AND": both,
    "OR": either,
    "NOT": negate,
    "ROUND": lambda x, _: cents(x),
}
_OPERATORS: dict[str, Callable[..., Any]] = {
    "+": operator.add,
    "-": operator.sub,
    "*": operator.mul,
    "/": operator.truediv,
    "^": operator.pow,
    "neg": operator.neg,
    "whole": whole,
    "whole_up": whole_up,
    "total": total,
}


# --- a law on the figures of a study ------------------------------------------------------------


class _Read:
    """A law read with the names of figures: the same for every study in which they stand."""

    def __init__(self, law: Law[..., Any], arguments: Mapping[str, Any]) -> None:
        self.tree = law.tree({n: _referred(n, a) for n, a in arguments.items()})
        self.inputs = tuple(
            dict.fromkeys(a for a in _leaves(arguments.values()) if isinstance(a, str))
        )
        self.needed = needed(self.tree)

    @functools.cached_property
    def formula(self) -> str:
        return formula(self.tree, wanted=self.needed)


@functools.lru_cache(maxsize=8192)
def _read(law: Law[..., Any], arguments: tuple[tuple[str, Any], ...]) -> _Read:
    return _Read(law, dict(arguments))


class Applied:
    """A law with the keys of the figures that it takes: a node of the study's graph."""

    __slots__ = ("_read", "arguments", "law")

    def __init__(self, law: Law[..., Any], arguments: Mapping[str, Any]) -> None:
        self.law = law
        self.arguments = law.bound((), arguments)
        self._read = _read(law, tuple((n, _fixed(a)) for n, a in self.arguments.items()))

    @property
    def tree(self) -> Term:
        """The law as a tree over the figures."""
        return self._read.tree

    @property
    def inputs(self) -> tuple[str, ...]:
        """Keys of the figures that the law takes."""
        return self._read.inputs

    @property
    def formula(self) -> str:
        """Spreadsheet formula over keys in braces."""
        return self._read.formula

    def compute(self, value: Callable[[str], Any]) -> Any:
        """Return the result from the values of other figures, floats or arrays."""
        found = {key: value(key) for key in self._read.inputs}
        lacking = [found[key] for key in self._read.needed]
        if any(map(math.isnan if _all_floats(lacking) else _is_blank, lacking)):
            return None
        result = self.law.of(
            {
                name: found[a] if type(a) is str else a if type(a) is float else _filled(a, found)
                for name, a in self.arguments.items()
            }
        )
        if isinstance(result, np.ndarray):
            for v in lacking:
                if isinstance(v, np.ndarray):
                    result = np.where(np.isnan(v), np.nan, result)
        return result

    def worked(self, name: str, value: Callable[[str], Any], unit: str, result: Any = None) -> str:
        """Return the worked line: "interval = usable / load = 19.4 kg / 17.1 kg/d = 1.13 d".

        ``result`` is the value it ends with, where that is known.
        """

        def number(term: Term) -> str:
            found = value(term.parts[0])
            if _is_blank(found) or isinstance(found, np.ndarray):
                return "blank"
            own = unit_of(term.parts[1]) or unit_of(term.parts[0]) or ""
            return f"{short(found)} {own}".rstrip(" -")

        def written(term: Term) -> str:
            return words_of(term.parts[1])

        asked: dict[int, bool | None] = {}  # for the line of names, then for that of numbers

        def holds(condition: Term) -> bool | None:
            if id(condition) not in asked:
                found = evaluate(condition, value)
                asked[id(condition)] = None if _is_blank(found) else bool(found)
            return asked[id(condition)]

        result = self.compute(value) if result is None else result
        end = "blank" if _is_blank(result) else f"{short(result)} {unit}".rstrip(" -")
        steps = [name, in_words(self.tree, written, holds), in_words(self.tree, number, holds), end]
        return " = ".join(dict.fromkeys(steps))


def _is_blank(value: Any) -> bool:
    if isinstance(value, np.ndarray):
        return False
    return value is None or value == "" or value != value  # noqa: PLR0124


def _referred(name: str, argument: Any) -> Any:
    if isinstance(argument, list | tuple):
        return tuple(_referred(a if isinstance(a, str) else name, a) for a in argument)
    return symbol(argument, name) if isinstance(argument, str) else _as_float(argument)


def _fixed(argument: Any) -> Any:
    """Return an argument as one that cannot change."""
    if type(argument) is str or type(argument) is float:
        return argument
    if isinstance(argument, (list, tuple)):
        return tuple(_fixed(a) for a in argument)
    return argument if argument is None or isinstance(argument, str) else float(argument)


def _filled(argument: Any, found: Mapping[str, Any]) -> Any:
    if isinstance(argument, list | tuple):
        return tuple(_filled(a, found) for a in argument)
    return found[argument] if isinstance(argument, str) else argument


__all__ = [
    "BLANK",
    "LAWS",
    "Applied",
    "Law",
    "Number",
    "above",
    "at_least",
    "at_most",
    "below",
    "both",
    "cents",
    "either",
    "exponential",
    "keys",
    "law",
    "least",
    "log_10",
    "log_e",
    "most",
    "negate",
    "root",
    "same",
    "total",
    "valid",
    "when",
    "whole",
    "whole_up",
]
