"""Scrambled Sobol points against a general library and against known integrals.

References: scipy.stats.qmc (an independent implementation with the same published direction
numbers) and closed integrals.
"""

import numpy as np
import pytest
import scipy
from scipy.stats import qmc

from pretreat.core.errors import OutOfRangeError
from pretreat.plant.uncertainty.sobol import (
    most_dimensions,
    scrambled_sobol,
    sobol_words,
)

N = 1024


def seeded(k):
    """Return the seed under the name that the library has for it: rng from 1.15 on."""
    return {"rng" if tuple(map(int, scipy.__version__.split(".")[:2])) >= (1, 15) else "seed": k}


def test_the_plain_sequence_is_the_library_s():
    ours = sobol_words(N, most_dimensions()) / 2.0**32
    assert np.array_equal(ours, qmc.Sobol(most_dimensions(), scramble=False).random(N))


def test_every_coordinate_keeps_one_point_in_each_of_n_slices():
    points = scrambled_sobol(N, most_dimensions())
    slices = np.sort((points * N).astype(int), axis=0)
    assert np.array_equal(slices, np.tile(np.arange(N)[:, None], most_dimensions()))


@pytest.mark.parametrize("digits", range(11))
def test_two_coordinates_stay_a_net(digits):
    """The first two dimensions have quality t = 0: one point in every elementary interval."""
    points = scrambled_sobol(N, 2)
    cell = np.stack([points[:, 0] * 2**digits, points[:, 1] * 2 ** (10 - digits)], axis=1)
    assert len({tuple(c) for c in cell.astype(int)}) == N


@pytest.mark.parametrize("dimensions", [3, 10, 25, 40])
def test_discrepancy_is_as_low_as_the_library_s(dimensions):
    ours = qmc.discrepancy(scrambled_sobol(N, dimensions), method="CD")
    theirs = [
        qmc.discrepancy(qmc.Sobol(dimensions, scramble=True, **seeded(k)).random(N), method="CD")
        for k in range(5)
    ]
    plain = qmc.discrepancy(np.random.default_rng(1).random((N, dimensions)), method="CD")
    assert ours < 1.15 * max(theirs)
    assert ours < plain


@pytest.mark.parametrize("dimensions", [5, 20, 40])
def test_known_integrals(dimensions):
    """Product of 1 + (x - 1/2) / j^2 over the dimensions has the integral 1; sum has d/2."""
    points = scrambled_sobol(N, dimensions)
    weights = 1.0 / np.arange(1, dimensions + 1) ** 2
    assert np.prod(1.0 + weights * (points - 0.5), axis=1).mean() == pytest.approx(1.0, abs=2e-4)
    assert points.sum(axis=1).mean() == pytest.approx(dimensions / 2.0, abs=1e-3)
    assert (points**2).mean() == pytest.approx(1.0 / 3.0, abs=1e-5)


def test_coordinates_are_not_correlated():
    points = scrambled_sobol(N, 40)
    off = np.corrcoef(points.T) - np.eye(40)
    assert np.abs(off).max() < 0.08


def test_same_seed_same_points_other_seed_others():
    assert scrambled_sobol(64, 7).tobytes() == scrambled_sobol(64, 7).tobytes()
    assert not np.array_equal(scrambled_sobol(64, 7), scrambled_sobol(64, 7, seed=1))
    points = scrambled_sobol(N, 40)
    assert points.min() > 0.0
    assert points.max() < 1.0


@pytest.mark.parametrize(("count", "dimensions"), [(0, 3), (8, 0), (8, 65), (2**21, 2)])
def test_refuses_what_it_does_not_hold(count, dimensions):
    with pytest.raises(OutOfRangeError, match="must be from 1 to"):
        scrambled_sobol(count, dimensions)
