"""Ends around a zero: against zeros known in closed form."""

import numpy as np
import pytest

from pretreat.chemistry.ends import Ends


def looked(f, low, high, looks):
    ends = Ends(low, high, f(low), f(high))
    for _ in range(looks):
        place = ends.between()
        ends = ends.drawn(place, f(place))
    return ends, place


@pytest.mark.parametrize(
    ("f", "zero"),
    [
        (lambda x: np.exp(-x) - 0.2, np.log(5.0)),
        (lambda x: 2.0 - x**9, 2.0 ** (1 / 9)),
        (lambda x: np.cos(x), np.pi / 2),
        (lambda x: 1e-3 - np.log1p(x), np.expm1(1e-3)),
    ],
)
def test_the_zero_is_met(f, zero):
    ends, place = looked(f, np.array([0.0]), np.array([3.0]), 30)
    assert place[0] == pytest.approx(zero, rel=1e-9)
    assert (ends.low <= zero + 1e-12).all() or ends.low == pytest.approx(zero)
    assert ends.high >= ends.low


def test_many_are_each_their_own():
    levels = np.array([0.9, 0.5, 0.01])
    _, together = looked(lambda x: np.exp(-x) - levels, np.zeros(3), np.full(3, 9.0), 12)
    for i, level in enumerate(levels):
        alone = looked(lambda x, a=level: np.exp(-x) - a, np.zeros(1), np.full(1, 9.0), 12)[1]
        assert together[i] == alone[0]


def test_a_stubborn_end_gives_way():
    """A secant alone needs hundreds of looks at x^9 (one end never moves)."""
    _, place = looked(lambda x: 1e-3 - x**9, np.array([0.0]), np.array([1.0]), 20)
    assert place[0] == pytest.approx(10 ** (-1 / 3), rel=1e-6)
