"""Where a law holds: from and to, by the name of its argument."""

from collections.abc import Callable
from typing import Any, ParamSpec, TypeVar

P = ParamSpec("P")
R = TypeVar("R")
Bound = tuple[float | None, float | None] | list[float | None] | str


class Range:
    """Where a law holds: from and to, each end in or out."""

    __slots__ = ("high", "high_in", "low", "low_in")

    def __init__(self, bound: Bound) -> None:
        text = bound if isinstance(bound, str) else ""
        ends = [_end(part) for part in text[1:-1].split(",")] if text else list(bound)
        self.low, self.high = ends[0], ends[1]
        closed = isinstance(bound, list)
        self.low_in = text.startswith("[") if text else closed
        self.high_in = text.endswith("]") if text else closed

    def outside(self, value: Any) -> Any:
        """Tell which numbers lie outside."""
        out: Any = False
        if self.low is not None:
            out = value < self.low if self.low_in else value <= self.low
        if self.high is not None:
            out = out | (value > self.high if self.high_in else value >= self.high)
        return out

    def __str__(self) -> str:
        low = f"{'from' if self.low_in else 'above'} {self.low:g}" if self.low is not None else ""
        high = f"{'to' if self.high_in else 'below'} {self.high:g}" if self.high is not None else ""
        return " ".join(part for part in (low, high) if part)


def _end(part: str) -> float | None:
    part = part.strip()
    return None if part in {"", "inf", "-inf"} else float(part)


def valid(**ranges: Bound) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Say where a law holds: ``(0, None)`` leaves its ends out, ``[0, 1]`` holds them.

    Parameters
    ----------
    **ranges : tuple, list or str
        Range by name of the argument; as text "[0, 1)" for one end of each kind. [any]

    Returns
    -------
    callable
        A decorator that returns the function unchanged. [-]
    """

    def mark(function: Callable[P, R]) -> Callable[P, R]:
        function.validity = {k: Range(v) for k, v in ranges.items()}  # type: ignore[attr-defined]
        return function

    return mark
