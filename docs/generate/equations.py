"""A law as mathematics: the tree that gives the workbook its formula, written as MathML."""

import html
import inspect
import math
from typing import Any

from pretreat.core.law import Law
from pretreat.core.names import unit_of, words_of
from pretreat.core.terms import Term, symbol

_SIGNS = {"+": "+", "-": "−", "*": "·"}
_COMPARED = {">": "&gt;", ">=": "≥", "<": "&lt;", "<=": "≤", "=": "="}
_LEVEL = {"+": 1, "-": 1, "*": 2, "/": 3, "neg": 2, "^": 4}
_NAMED = {
    "MIN": "min",
    "MAX": "max",
    "EXP": "exp",
    "LN": "ln",
    "LOG10": "log₁₀",
    "ROUND": "to the cent",
    "NOT": "not",
    "whole": "whole part",
    "whole_up": "next whole",
    "total": "sum",
}
_JOINED = {"AND": " and ", "OR": " or "}
LISTED = 3  # members of an argument that is a list


def arguments(law: Law[..., Any]) -> dict[str, Any]:
    """Return the arguments of a law as symbols; a list is shown by its first members."""
    given: dict[str, Any] = {}
    called = words(law)
    for name, parameter in inspect.signature(law.function).parameters.items():
        if "Sequence" in str(parameter.annotation) or "tuple" in str(parameter.annotation):
            given[name] = tuple(
                symbol(f"{name}.{i}", f"{called[name]}#{i}") for i in range(1, LISTED + 1)
            )
        else:
            given[name] = symbol(name, called[name])
    return given


def words(law: Law[..., Any]) -> dict[str, str]:
    """Return what each argument of a law is called; with its unit where two would be the same."""
    plain = [words_of(name) for name in law.names]
    return {
        name: f"{said} [{unit_of(name)}]" if plain.count(said) > 1 and unit_of(name) else said
        for name, said in zip(law.names, plain, strict=True)
    }


def equation(law: Law[..., Any], name: str) -> str:
    """Return the equation of a law as a block of MathML."""
    left = _text(words_of(name))
    right = _math(law.tree(arguments(law)), 0)
    return (
        '<div class="equation"><math display="block"><mrow>'
        f"{left}<mo>=</mo>{right}</mrow></math></div>"
    )


def _text(said: str) -> str:
    return f"<mtext>{html.escape(said)}</mtext>"


def _row(*parts: str) -> str:
    return f"<mrow>{''.join(parts)}</mrow>"


def _bracketed(inner: str) -> str:
    return _row("<mo>(</mo>", inner, "<mo>)</mo>")


def _number(value: float) -> str:
    if math.isnan(value):
        return _text("blank")
    text = f"{value:.6g}"
    if "e" in text:
        base, power = text.split("e")
        sup = f"<msup><mn>10</mn><mn>{int(power)}</mn></msup>"
        return sup if base == "1" else _row(f"<mn>{base}</mn><mo>·</mo>", sup)
    return f"<mn>{text}</mn>"


def _math(term: Term, level: int) -> str:
    op, parts = term.op, term.parts
    if op == "key":
        name, _, number = parts[1].partition("#")
        return f"<msub>{_text(name)}<mn>{number}</mn></msub>" if number else _text(name)
    if op == "number":
        return _number(parts[0])
    if op in _LEVEL:
        return _operator(op, parts, level)
    if op == "compare":
        return _row(_math(parts[1], 1), f"<mo>{_COMPARED[parts[0]]}</mo>", _math(parts[2], 1))
    name, inner = (parts[0], parts[1:]) if op == "call" else (op, parts)
    return _called(name, inner)


def _operator(op: str, parts: tuple[Any, ...], level: int) -> str:
    own = _LEVEL[op]
    if op == "/":
        return f"<mfrac>{_row(_math(parts[0], 0))}{_row(_math(parts[1], 0))}</mfrac>"
    if op == "^":
        return f"<msup>{_row(_math(parts[0], own + 1))}{_row(_math(parts[1], 0))}</msup>"
    if op == "*" and parts[0].op == "number" and parts[0].parts[0] == -1.0:
        op, parts = "neg", parts[1:]
    if op == "neg":
        inner = _row("<mo>−</mo>", _math(parts[0], 3))
    else:
        right = own + 1 if op == "-" else own
        inner = _row(_math(parts[0], own), f"<mo>{_SIGNS[op]}</mo>", _math(parts[1], right))
    return _bracketed(inner) if own < level else inner


def _called(name: str, inner: tuple[Any, ...]) -> str:
    if name == "IF":
        return _branches(*inner)
    if name == "SQRT":
        return f"<msqrt>{_math(inner[0], 0)}</msqrt>"
    if name == "ABS":
        return _row("<mo>|</mo>", _math(inner[0], 0), "<mo>|</mo>")
    if name in _JOINED:
        joint = _text(_JOINED[name].replace(" ", "\u00a0"))
        return _bracketed(joint.join(_math(p, 1) for p in inner))
    shown = inner[:1] if name == "ROUND" else inner
    return _row(_text(_NAMED[name]), _bracketed("<mo>,</mo>".join(_math(p, 0) for p in shown)))


def _branches(condition: Term, then: Term, other: Term) -> str:
    """Return the branches of a law below each other, those of a last branch among them."""
    lines = [(then, condition)]
    while other.op == "call" and other.parts[0] == "IF":
        lines.append((other.parts[2], other.parts[1]))
        other = other.parts[3]
    cells = [_line(value, _row(_text("where\u00a0"), _math(test, 0))) for value, test in lines]
    cells.append(_line(other, _text("else")))
    return f'<mtable class="cases">{"".join(cells)}</mtable>'


def _line(value: Term, test: str) -> str:
    return (
        f'<mtr><mtd><mstyle displaystyle="true">{_math(value, 0)}</mstyle>'
        f"<mspace width='1em'/></mtd><mtd>{test}</mtd></mtr>"
    )
