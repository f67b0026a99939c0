"""Limits of detection without a unit of their own that the results beside them contradict."""

from collections.abc import Sequence

from msgspec.structs import replace

from pretreat.lab.read.footnotes import has_no_number
from pretreat.lab.read.numbers import printed_number
from pretreat.lab.read.report import PrintedResult


def without_other_limits(results: Sequence[PrintedResult]) -> list[PrintedResult]:
    """Doubt the non-detects of a table whose limits lie far above most of what was found.

    Such limits are of another unit, or they are none of detection.

    Parameters
    ----------
    results : sequence of PrintedResult
        The results of one table. [-]

    Returns
    -------
    list of PrintedResult
        The same, with doubts. [-]
    """
    unseen = [r for r in results if _limit_is_bare(r) and has_no_number(r.text)]
    pairs = [p for r in results if unseen and _limit_is_bare(r) and (p := _found(r)) is not None]
    far = sum(value * FAR < limit for value, limit in pairs)
    if len(pairs) < FEWEST_FOUND or far < MOSTLY * len(pairs):
        return list(results)
    doubted = {id(r) for r in unseen}
    return [replace(r, doubt=r.doubt or _ABOVE_RESULTS) if id(r) in doubted else r for r in results]


FAR, FEWEST_FOUND, MOSTLY = 5.0, 3, 0.5  # an estimate below a limit is seldom so far below it
_ABOVE_RESULTS = "most results beside such limits are far below them, which may have another unit"


def _limit_is_bare(result: PrintedResult) -> bool:
    return bool(result.limit) and not result.limit_unit


def _found(result: PrintedResult) -> tuple[float, float] | None:
    """Return a result that was found and the limit beside it, as printed."""
    value, limit = printed_number(result.text), printed_number(result.limit)
    if value.kind != "value" or value.number is None or not limit.number:
        return None
    return value.number, limit.number
