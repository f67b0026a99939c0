"""Seeded points at which every law is read in each of its ways, ties and blanks among them."""

import importlib
import pkgutil
import random
from collections.abc import Iterator, Mapping
from typing import Any

import pretreat
from pretreat.core.errors import OutOfRangeError
from pretreat.core.law import LAWS, Law

POINTS = 10
SEQUENCE = 3  # terms of an argument that takes a list
TIES = (0.5, 1.0, 2.0, 3.0, 0.1 + 0.2, 7.0, 2.9999999999999996, 4.0)


def laws() -> dict[str, Law[..., Any]]:
    """Return every law of the program by its name."""
    for module in pkgutil.walk_packages(pretreat.__path__, "pretreat."):
        if not module.name.startswith(("pretreat.cli", "pretreat.data")):
            importlib.import_module(module.name)
    return {name: LAWS[name] for name in sorted(LAWS)}


def takes_a_list(law: Law[..., Any], name: str) -> bool:
    """Tell by the annotation whether an argument is a list of numbers."""
    said = str(law.function.__annotations__.get(name, ""))
    return any(word in said for word in ("Sequence", "tuple", "list"))


def points(law: Law[..., Any]) -> Iterator[dict[str, Any]]:
    """Yield arguments inside the range of a law: drawn, on ties, and with one of them blank."""
    source = random.Random(law.name)
    found = 0
    for _ in range(POINTS * 40):
        kind = ("drawn", "ties", "drawn", "ties", "blank")[found % 5]
        given = {name: _argument(law, name, kind, source) for name in law.names}
        if kind == "blank" and law.names:
            name = source.choice(law.names)
            given[name] = _blank(given[name], source)
        try:
            law(**given)
        except OutOfRangeError:
            continue
        yield given
        found += 1
        if found == POINTS:
            return


def _argument(law: Law[..., Any], name: str, kind: str, source: random.Random) -> Any:
    if takes_a_list(law, name):
        return tuple(_number(law, name, kind, source) for _ in range(SEQUENCE))
    return _number(law, name, kind, source)


def _number(law: Law[..., Any], name: str, kind: str, source: random.Random) -> float:
    allowed = law.validity.get(name)
    low = 0.1 if allowed is None or allowed.low is None else allowed.low
    high = low + 20.0 if allowed is None or allowed.high is None else allowed.high
    inside = [t for t in TIES if low <= t <= high and (allowed is None or not allowed.outside(t))]
    if kind == "ties" and inside:
        return source.choice(inside)
    return low + (high - low) * source.uniform(0.02, 0.98)


def _blank(value: Any, source: random.Random) -> Any:
    if isinstance(value, tuple):
        at = source.randrange(len(value))
        return tuple(None if i == at else v for i, v in enumerate(value))
    return None


def keyed(given: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return the arguments as keys of figures, and the values of those keys."""
    arguments: dict[str, Any] = {}
    values: dict[str, Any] = {}
    for name, value in given.items():
        if isinstance(value, tuple):
            arguments[name] = tuple(f"law.{name}_{i}" for i in range(len(value)))
            values.update(zip(arguments[name], value, strict=True))
        else:
            arguments[name] = f"law.{name}"
            values[arguments[name]] = value
    return arguments, values
