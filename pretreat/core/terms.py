"""An equation as a tree: what a law leaves when it is read with symbols instead of numbers.

A tree is written down in two ways: as a spreadsheet formula over the keys of figures, and as a
line that a checker reads, first with names and then with the numbers in their place.
"""

import math
from collections.abc import Callable, Iterator
from typing import Any

TIE = 1e-12  # numbers closer than this, relative to the second, count as equal in every reading

_DECIDES = (
    "a law cannot decide by `if`, `and`, `or`, `not`, min, max, round or a chained comparison: "
    "write when(), both(), either(), negate(), least(), most(), whole()"
)
_LEVEL = {"+": 1, "-": 1, "*": 2, "/": 2, "neg": 3, "^": 4}
_ATOM = 9
_LEAVES = frozenset({"key", "number"})


class Term:
    """A node of the tree; arithmetic on it makes larger trees."""

    __slots__ = ("op", "parts")

    def __init__(self, op: str, *parts: Any) -> None:
        self.op, self.parts = op, parts

    def __add__(self, other: Any) -> "Term":
        return Term("+", self, lift(other))

    def __radd__(self, other: Any) -> "Term":
        return self if other == 0 else Term("+", lift(other), self)  # sum() begins with nought

    def __sub__(self, other: Any) -> "Term":
        return Term("-", self, lift(other))

    def __rsub__(self, other: Any) -> "Term":
        return Term("-", lift(other), self)

    def __mul__(self, other: Any) -> "Term":
        return Term("*", self, lift(other))

    def __rmul__(self, other: Any) -> "Term":
        return Term("*", lift(other), self)

    def __truediv__(self, other: Any) -> "Term":
        return Term("/", self, lift(other))

    def __rtruediv__(self, other: Any) -> "Term":
        return Term("/", lift(other), self)

    def __pow__(self, other: Any) -> "Term":
        return Term("^", self, lift(other))

    def __rpow__(self, other: Any) -> "Term":
        return Term("^", lift(other), self)

    def __neg__(self) -> "Term":
        return Term("neg", self)

    def __pos__(self) -> "Term":
        return self

    def __abs__(self) -> "Term":
        return Term("call", "ABS", self)

    def __gt__(self, other: Any) -> "Term":
        return compare(">", self, other)

    def __ge__(self, other: Any) -> "Term":
        return compare(">=", self, other)

    def __lt__(self, other: Any) -> "Term":
        return compare("<", self, other)

    def __le__(self, other: Any) -> "Term":
        return compare("<=", self, other)

    def __eq__(self, other: object) -> Any:
        return compare("=", self, other)

    def __ne__(self, other: object) -> Any:
        return Term("call", "NOT", compare("=", self, other))

    __hash__ = object.__hash__

    def __bool__(self) -> bool:
        raise TypeError(_DECIDES)

    def __float__(self) -> float:
        raise TypeError(
            "a law reads math.* with numbers only: write root(), exponential(), log_10()"
        )

    def _no_rounding(self, *_: Any) -> Any:
        raise TypeError(_DECIDES)

    __round__ = __floor__ = __ceil__ = __trunc__ = __int__ = __index__ = _no_rounding
    __array_ufunc__ = None  # numpy leaves the arithmetic to us, and its functions say so

    def __repr__(self) -> str:
        return f"<{formula(self, guard=False)}>"


def symbol(key: str, name: str = "") -> Term:
    """Return the symbol of a figure.

    Parameters
    ----------
    key : str
        Key of the figure. [-]
    name : str
        Its name in the worked line. [-]

    Returns
    -------
    Term
        A leaf. [-]
    """
    return Term("key", key, name or key)


def lift(value: Any) -> Term:
    """Return a number as a leaf; a tree as it is.

    Parameters
    ----------
    value : Term or float
        Tree or number; NaN and None are a blank. [-]

    Returns
    -------
    Term
        A tree. [-]
    """
    if isinstance(value, Term):
        return value
    return Term("number", math.nan if value is None else float(value))


def compare(sign: str, a: Any, b: Any) -> Term:
    """Return a comparison in which numbers within `TIE` are equal.

    Parameters
    ----------
    sign : str
        One of > >= < <= =. [-]
    a, b : Term or float
        What is compared. [-]

    Returns
    -------
    Term
        A condition. [-]
    """
    return Term("compare", sign, lift(a), lift(b))


def walk(term: Term) -> Iterator[Term]:
    """Yield a tree and all below it.

    Parameters
    ----------
    term : Term
        The tree. [-]

    Yields
    ------
    Term
        Nodes. [-]
    """
    yield term
    if term.op in _LEAVES:
        return
    for part in term.parts:
        if isinstance(part, Term):
            yield from walk(part)


def keys(term: Term) -> tuple[str, ...]:
    """Return the keys of the figures in a tree, in order, each once.

    Parameters
    ----------
    term : Term
        The tree. [-]

    Returns
    -------
    tuple of str
        Keys. [-]
    """
    return tuple(dict.fromkeys(t.parts[0] for t in walk(term) if t.op == "key"))


def needed(term: Term) -> tuple[str, ...]:
    """Return the keys without which a tree is blank: all that do not stand in a total.

    Parameters
    ----------
    term : Term
        The tree. [-]

    Returns
    -------
    tuple of str
        Keys. [-]
    """
    found: dict[str, None] = {}
    _needed(term, found)
    return tuple(found)


def _needed(term: Term, found: dict[str, None]) -> None:
    op = term.op
    if op == "key":
        found[term.parts[0]] = None
    if op in _LEAVES or op == "total":
        return
    for part in term.parts:
        if isinstance(part, Term):
            _needed(part, found)


def formula(term: Term, *, guard: bool = True, wanted: tuple[str, ...] | None = None) -> str:
    """Return a tree as a spreadsheet formula, each figure as its key in braces.

    Parameters
    ----------
    term : Term
        The tree. [-]
    guard : bool
        Whether a blank input makes a blank. [-]
    wanted : tuple of str, optional
        What `needed` says of the tree, where that is known already. [-]

    Returns
    -------
    str
        Formula without the leading equals sign. [-]
    """
    text = _sheet(term, 0)
    tests = _blank_tests(term, needed(term) if wanted is None else wanted) if guard else []
    if not tests:
        return text
    test = tests[0] if len(tests) == 1 else f"OR({','.join(tests)})"
    return f'IF({test},"",{text})'


def _blank_tests(term: Term, wanted: tuple[str, ...]) -> list[str]:
    """Return what makes the whole tree blank: a lacking input, a total of nothing but blanks."""
    tests = [_blank(wanted)] if wanted else []
    return tests + [_all_blank(t.parts) for t in _certain_totals(term)]


def _certain_totals(term: Term) -> Iterator[Term]:
    """Yield the totals that are always added up and may be blank: in no branch or other total."""
    if term.op in _LEAVES:
        return
    if term.op == "total":
        if not any(_is_known(part) for part in term.parts):
            yield term
        return
    if term.op == "call" and term.parts[0] == "IF":
        yield from _certain_totals(term.parts[1])
        return
    for part in term.parts:
        if isinstance(part, Term):
            yield from _certain_totals(part)


def _is_known(part: Term) -> bool:
    """Tell whether a part of a total is a number whatever the figures are."""
    if part.op == "key":
        return False
    return not keys(part) and not (part.op == "number" and math.isnan(part.parts[0]))


def _blank(wanted: tuple[str, ...]) -> str:
    return f"COUNT({','.join(f'{{{key}}}' for key in wanted)})<{len(wanted)}"


def _all_blank(parts: tuple[Any, ...]) -> str:
    if all(p.op == "key" for p in parts):
        return f"COUNT({','.join(_sheet(p, 0) for p in parts)})=0"
    tests = [_blank(wanted) for p in parts if (wanted := keys(p))]
    return tests[0] if len(tests) == 1 else f"AND({','.join(tests)})"


def number_text(value: float) -> str:
    """Return a number as a formula holds it, to the last digit.

    Parameters
    ----------
    value : float
        The number. [-]

    Returns
    -------
    str
        Its shortest exact text. [-]
    """
    if math.isnan(value):
        return '""'
    if value == int(value) and abs(value) < 1e15:
        return str(int(value))
    return repr(value).replace("e", "E")


def _sheet(term: Term, level: int) -> str:
    """Return the formula of a tree that stands inside an operator of this level."""
    op, parts = term.op, term.parts
    if op in _LEVEL:
        return _sheet_operator(op, parts, level)
    return _SHEET[op](parts, level)


def _sheet_number(parts: tuple[Any, ...], level: int) -> str:
    text = number_text(parts[0])
    return f"({text})" if parts[0] < 0 and level else text


def _sheet_call(parts: tuple[Any, ...], _: int) -> str:
    if parts[0] == "IF":
        return _sheet_branch(*parts[1:])
    return f"{parts[0]}({','.join(_sheet(p, 0) for p in parts[1:])})"


def _sheet_whole(parts: tuple[Any, ...], _: int) -> str:
    return f"INT({_sheet(parts[0], 1)}+1E-12*ABS({_sheet(parts[0], 0)}))"


def _sheet_whole_up(parts: tuple[Any, ...], level: int) -> str:
    text = f"-INT(-{_sheet(parts[0], 3)}+1E-12*ABS({_sheet(parts[0], 0)}))"
    return f"({text})" if level else text


def _sheet_branch(condition: Term, then: Term, other: Term) -> str:
    branches = []
    for branch in (then, other):
        tests = [_all_blank(t.parts) for t in _certain_totals(branch)]
        text = _sheet(branch, 0)
        branches.append(f'IF(OR({",".join(tests)}),"",{text})' if tests else text)
    return f"IF({_sheet(condition, 0)},{branches[0]},{branches[1]})"


def _sheet_operator(op: str, parts: tuple[Any, ...], level: int) -> str:
    if op == "neg":
        # a sheet takes -2^2 for 4: the minus binds first there
        text = f"-{_sheet(parts[0], 5 if parts[0].op == '^' else 3)}"
        return f"({text})" if level else text
    own = _LEVEL[op]
    right = own + 1 if op in "-/^" else own
    left = own + 1 if op == "^" else own
    # a + (b - c) keeps its brackets, so that the sheet adds in the order of the law
    if op in "+*" and parts[1].op in _LEVEL:
        right = own + 1
    text = f"{_sheet(parts[0], left)}{op}{_sheet(parts[1], right)}"
    return f"({text})" if own < level else text


def _sheet_compare(sign: str, a: Term, b: Term) -> str:
    left, right = _sheet(a, 1), _sheet(b, 1)
    slack = _slack(b)
    if not slack:
        return f"{left}{sign}{right}"
    if sign == "=":
        return f"ABS({left}-{_sheet(b, 2)})<={slack}"
    return f"{left}{sign}{right}{'-' if sign in {'>=', '<'} else '+'}{slack}"


def _slack(b: Term) -> str:
    if b.op == "number":
        return "" if b.parts[0] == 0 else f"1E-12*{number_text(abs(b.parts[0]))}"
    return f"1E-12*ABS({_sheet(b, 0)})"


def _sheet_total(parts: tuple[Any, ...]) -> str:
    """Return a sum that skips blanks; whether all are blank is asked outside."""
    terms = []
    for part in parts:
        text, wanted = _sheet(part, 0), () if part.op == "key" else keys(part)
        terms.append(f"IF({_blank(wanted)},0,{text})" if wanted else text)
    return f"SUM({','.join(terms)})"


_SHEET: dict[str, Callable[[tuple[Any, ...], int], str]] = {
    "key": lambda parts, _: f"{{{parts[0]}}}",
    "number": _sheet_number,
    "call": _sheet_call,
    "compare": lambda parts, _: _sheet_compare(*parts),
    "total": lambda parts, _: _sheet_total(parts),
    "whole": _sheet_whole,
    "whole_up": _sheet_whole_up,
}
Writer = Callable[[Term], str]
Chooser = Callable[[Term], bool | None]  # whether a condition holds; None to show both branches
_WORDS = {
    "MIN": "smaller of",
    "MAX": "larger of",
    "SQRT": "root",
    "ABS": "size of",
    "EXP": "exp",
    "LN": "ln",
    "LOG10": "log10",
    "AND": "all of",
    "OR": "any of",
    "NOT": "not",
    "ROUND": "rounded",
}
_NAMED = {"whole": "whole", "whole_up": "next whole", "total": "sum of"}
_SIGNS = {"*": " x ", "/": " / ", "+": " + ", "-": " - ", "^": "^"}
_COMPARED = {">": "above", ">=": "at least", "<": "below", "<=": "at most", "=": "equal to"}


def in_words(term: Term, leaf: Writer, choose: Chooser = lambda _: None) -> str:
    """Return a tree as a line for a reader.

    Parameters
    ----------
    term : Term
        The tree. [-]
    leaf : callable
        What is written for the symbol of a figure. [-]
    choose : callable
        Which branch is taken; both are written where it answers None. [-]

    Returns
    -------
    str
        Such as "usable / load". [-]
    """
    return _words(term, 0, leaf, choose)


def _words(term: Term, level: int, leaf: Writer, choose: Chooser) -> str:
    op, parts = term.op, term.parts
    if op == "key":
        return leaf(term)
    if op in _LEVEL:
        return _words_operator(term, level, leaf, choose)
    if op == "number":
        return "blank" if math.isnan(parts[0]) else short(parts[0])
    if op == "compare":
        left, right = (_words(part, 1, leaf, choose) for part in parts[1:])
        return f"{left} {_COMPARED[parts[0]]} {right}"
    if op == "call":
        return _words_call(parts, level, leaf, choose)
    return f"{_NAMED[op]}({', '.join(_words(p, 0, leaf, choose) for p in parts)})"


def _words_operator(term: Term, level: int, leaf: Writer, choose: Chooser) -> str:
    op, parts = term.op, term.parts
    if op == "neg":
        text = f"-{_words(parts[0], 3, leaf, choose)}"
        return f"({text})" if level else text
    own = _LEVEL[op]
    right = own + 1 if op in "-/" else own
    text = _words(parts[0], own, leaf, choose) + _SIGNS[op] + _words(parts[1], right, leaf, choose)
    return f"({text})" if own < level else text


def _words_call(parts: tuple[Any, ...], level: int, leaf: Writer, choose: Chooser) -> str:
    if parts[0] == "IF":
        holds = choose(parts[1])
        if holds is not None:  # the branch taken stands alone
            return _words(parts[2 if holds else 3], level, leaf, choose)
    inner = [_words(p, 0, leaf, choose) for p in parts[1:]]
    if parts[0] == "IF":
        return f"(if {inner[0]}: {inner[1]}, else {inner[2]})"
    return f"{_WORDS[parts[0]]}({', '.join(inner)})"


def short(value: float) -> str:
    """Return a number to three digits, without an exponent where it has few zeros.

    Parameters
    ----------
    value : float
        The number. [-]

    Returns
    -------
    str
        Its text. [-]
    """
    if value == int(value) and abs(value) < 1e7:
        return str(int(value))
    return f"{value:.0f}" if 1000 <= abs(value) < 1e9 else f"{value:.3g}"
