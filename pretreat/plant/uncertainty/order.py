"""Draws put in order: their quantiles and their ranks.

The library's functions for both load its masked arrays first, which takes longer than a
thousand draws do.
"""

from collections.abc import Sequence
from math import ceil
from typing import Literal

import numpy as np

from pretreat.chemistry.species import Array
from pretreat.core.basis import cites

Between = Literal["on the line", "lower", "higher"]


@cites("JCGM101", "7.7: quantiles of the ordered draws")
def quantiles(
    values: Array, shares: Sequence[float], between: Between = "on the line"
) -> list[float]:
    """Return the values that shares of some numbers lie below.

    Parameters
    ----------
    values : array, shape (n,)
        Numbers, at least one, none of them NaN. [any unit]
    shares : sequence of float
        0 to 1. [-]
    between : str
        What is taken where a share falls between two numbers. [-]

    Returns
    -------
    list of float
        One per share. [same unit]
    """
    ordered = np.sort(values).tolist()
    return [_at(ordered, share * (len(ordered) - 1), between) for share in shares]


def _at(ordered: list[float], place: float, between: Between) -> float:
    below = ceil(place) if between == "higher" else int(place)
    if between != "on the line" or below + 1 >= len(ordered):
        return ordered[below]
    a, b, part = ordered[below], ordered[below + 1], place - below
    return a + (b - a) * part if part < 0.5 else b - (b - a) * (1.0 - part)


@cites("STATISTICS", "Spearman's rank correlation")
def ranks(values: Array) -> Array:
    """Return ranks from 1 up; equal values share the mean of theirs.

    Parameters
    ----------
    values : array, shape (n,)
        Numbers, none of them NaN. [any unit]

    Returns
    -------
    array, shape (n,)
        Ranks. [-]
    """
    order = np.argsort(values, kind="stable")
    ordered = values[order]
    new = np.append(True, ordered[1:] != ordered[:-1])[: values.size]
    counts = np.diff(np.append(np.flatnonzero(new), values.size))
    middle = np.cumsum(counts) - 0.5 * (counts - 1)
    found = np.empty(values.size)
    found[order] = np.repeat(middle, counts)
    return found
