"""White between the columns of a print, seen across all its lines."""

from collections.abc import Sequence
from itertools import pairwise

STEP = 0.25  # widths of a letter
NARROWEST = 0.7  # gutter, widths of a letter
Span = tuple[float, float]


def white_between(bins: Sequence[int], stray: int) -> list[Span]:
    """Return where columns begin and end.

    Parameters
    ----------
    bins : sequence of int
        Lines that hold a letter at each place across the page, ``STEP`` apart. [-]
    stray : int
        Lines that may run through the white between two columns. [-]

    Returns
    -------
    list of tuple
        Left and right edges. [widths of a letter]
    """
    columns: list[Span] = []
    start: int | None = None
    blank = 0
    for k, count in enumerate([*bins, 0, 0, 0, 0]):
        if count > stray:
            if start is None:
                start = k
            blank = 0
        elif start is not None:
            blank += 1
            if blank * STEP >= NARROWEST:
                columns.append((start * STEP, (k - blank + 1) * STEP))
                start, blank = None, 0
    if start is not None:
        columns.append((start * STEP, len(bins) * STEP))
    return _widened(columns, bins)


def _widened(columns: list[Span], bins: Sequence[int]) -> list[Span]:
    """Move the edges of columns to where no line at all runs through the gutter."""
    found = list(columns)
    for n, (one, two) in enumerate(pairwise(columns)):
        low, high = int(one[1] / STEP), int(two[0] / STEP)
        blank = [k for k in range(low, high) if not bins[k]]
        runs = [k for k in blank if k - 1 not in blank]
        if runs:
            start = max(
                runs, key=lambda k: next(e for e in range(k, high + 1) if e not in blank) - k
            )
            end = next(e for e in range(start, high + 1) if e not in blank)
            found[n] = (found[n][0], start * STEP)
            found[n + 1] = (end * STEP, found[n + 1][1])
    return found
