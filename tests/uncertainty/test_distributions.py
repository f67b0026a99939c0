"""Inverse distribution functions against scipy.stats and printed closed forms."""

import numpy as np
import pytest
from scipy import stats

from pretreat.core.errors import OutOfRangeError
from pretreat.plant.uncertainty.distributions import (
    Lognormal,
    Normal,
    Rectangular,
    Triangular,
    lognormal_from_p10_p90,
)
from pretreat.plant.uncertainty.sobol import scrambled_sobol

P = np.linspace(0.001, 0.999, 999)


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        (Normal(3.0, 0.4), stats.norm(3.0, 0.4)),
        (Lognormal(5.0, 0.3), stats.lognorm(0.3, scale=5.0)),
        (Rectangular(2.0, 6.0), stats.uniform(2.0, 4.0)),
        (Triangular(2.0, 4.0, 5.0), stats.triang(2.0 / 3.0, 2.0, 3.0)),
        (Triangular(2.0, 2.0, 5.0), stats.triang(0.0, 2.0, 3.0)),
        (Triangular(2.0, 5.0, 5.0), stats.triang(1.0, 2.0, 3.0)),
    ],
)
def test_inverse_and_spread_are_the_library_s(ours, theirs):
    assert ours.at(P) == pytest.approx(theirs.ppf(P), abs=1e-12, rel=1e-12)
    assert ours.u == pytest.approx(theirs.std(), rel=1e-12)


@pytest.mark.parametrize(
    ("triangle", "mean", "sd", "percentiles"),
    [  # closed forms, printed to four digits
        (Triangular(2, 4, 5), 3.6667, 0.6236, (2.7746, 3.7321, 4.4523)),
        (Triangular(3.3, 3.9, 8.8), 5.3333, 1.2318, (3.8745, 5.1292, 7.1584)),
    ],
)
def test_triangular_closed_forms(triangle, mean, sd, percentiles):
    assert triangle.mean == pytest.approx(mean, abs=5e-5)
    assert triangle.u == pytest.approx(sd, abs=5e-5)
    assert triangle.at(np.array([0.1, 0.5, 0.9])) == pytest.approx(percentiles, abs=6e-5)


def test_lognormal_from_two_percentiles():
    """Median sqrt(ab) 5.3889, sigma ln(b/a)/2.5631 = 0.38267 for 3.3 and 8.8."""
    found = lognormal_from_p10_p90(3.3, 8.8)
    assert (found.centre, found.sigma) == pytest.approx((5.3889, 0.38267), abs=5e-5)
    assert found.at(np.array([0.1, 0.9])) == pytest.approx((3.3, 8.8))


def test_a_non_detect_drawn_uniformly():
    """Below 0.05: mean 0.025, standard uncertainty L/sqrt(12) = 0.014434."""
    found = Rectangular(0.0, 0.05)
    assert (found.centre, found.u) == pytest.approx((0.025, 0.014434), abs=1e-6)


def test_a_concentration_is_never_negative():
    assert Normal(0.1, 1.0, 1e-9).at(P).min() == 1e-9


def test_narrowing_keeps_the_centre():
    for whole in (Normal(3, 0.4), Lognormal(5, 0.3), Rectangular(2, 6), Triangular(2, 4, 5)):
        half = whole.narrowed(0.5)
        assert half.centre == pytest.approx(whole.centre)
        assert half.u == pytest.approx(0.5 * whole.u, rel=0.05)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: Normal(1, -1),
        lambda: Normal(1, float("nan")),
        lambda: Lognormal(0, 1),
        lambda: Rectangular(2, 1),
        lambda: Triangular(1, 3, 2),
        lambda: lognormal_from_p10_p90(2, 1),
    ],
)
def test_refuses_what_is_no_distribution(wrong):
    with pytest.raises(OutOfRangeError, match="uncertain input"):
        wrong()


def test_sum_of_four_normals():
    """JCGM 101:2008, 9.2.2 (clause from memory): u 2.00, 95 % interval +-3.92."""
    z = Normal(0, 1).at(scrambled_sobol(2**16, 4)).sum(axis=1)
    assert z.std() == pytest.approx(2.00, abs=0.005)
    assert np.quantile(z, [0.025, 0.975]) == pytest.approx((-3.92, 3.92), abs=0.01)


def test_sum_of_four_rectangles():
    """JCGM 101:2008, 9.2.3 (clause from memory): exact end 2 sqrt(3) (2 - 0.6^(1/4)) = 3.8794."""
    half = np.sqrt(3.0)
    z = Rectangular(-half, half).at(scrambled_sobol(2**16, 4)).sum(axis=1)
    assert np.quantile(z, [0.025, 0.975]) == pytest.approx((-3.8794, 3.8794), abs=0.01)


def test_sum_of_four_rectangles_one_of_them_wide():
    """JCGM 101:2008, 9.2.4 (clause from memory): u 10.15, +-17.0; first order would give 19.9."""
    p = scrambled_sobol(2**16, 4)
    half = np.sqrt(3.0)
    z = Rectangular(-half, half).at(p[:, :3]).sum(axis=1)
    z = z + Rectangular(-10 * half, 10 * half).at(p[:, 3])
    assert z.std() == pytest.approx(10.15, abs=0.01)
    assert np.quantile(z, [0.025, 0.975]) == pytest.approx((-17.0, 17.0), abs=0.05)


def test_mass_calibration():
    """JCGM 101:2008, 9.3 (inputs from memory): 1.2340 mg, u 0.0754, shortest 95 % 1.084 to 1.383.

    First order gives u 0.0539, 29 % short: the derivative vanishes at the nominal air density.
    """
    p = scrambled_sobol(2**17, 5)
    m_r, d = Normal(1e5, 0.050).at(p[:, 0]), Normal(1.234, 0.020).at(p[:, 1])
    air = Rectangular(1.10, 1.30).at(p[:, 2])
    weight = Rectangular(7000, 9000).at(p[:, 3])
    reference = Rectangular(7950, 8050).at(p[:, 4])
    y = (m_r + d) * (1 + (air - 1.2) * (1 / weight - 1 / reference)) - 1e5
    assert y.mean() == pytest.approx(1.2340, abs=3e-4)
    assert y.std() == pytest.approx(0.0754, abs=3e-4)
    ordered = np.sort(y)
    q = int(0.95 * y.size)
    r = int(np.argmin(ordered[q:] - ordered[:-q]))
    assert (ordered[r], ordered[r + q]) == pytest.approx((1.084, 1.383), abs=0.003)
