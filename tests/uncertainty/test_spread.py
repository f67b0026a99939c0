"""Shares of variance, widths and digits against analytic values.

References: the Ishigami function (analytic indices), scipy.stats for rank correlation, GUM H.1
as reproduced in a metrology manual, closed forms.
"""

import math

import numpy as np
import pytest
from scipy import stats

from pretreat.plant.uncertainty.digits import (
    probability_words,
    recovery_shown,
    rounded_to,
    step_of,
    supported,
)
from pretreat.plant.uncertainty.distributions import Normal, Rectangular
from pretreat.plant.uncertainty.draws import Uncertain, drawn
from pretreat.plant.uncertainty.sobol import scrambled_sobol
from pretreat.plant.uncertainty.spread import (
    combined_u,
    drivers,
    first_order_share,
    measurements,
    rank_correlation,
    spread_of,
    undecided_after,
    width_after,
)


def ishigami(count):
    x = Rectangular(-math.pi, math.pi).at(scrambled_sobol(count, 3))
    return x, np.sin(x[:, 0]) + 7 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])


def test_ishigami():
    """Analytic: mean 3.5, variance 13.8446, S1 0.3139, S2 0.4424, S3 0."""
    x, y = ishigami(2**15)
    assert y.mean() == pytest.approx(3.5, abs=0.002)
    assert y.var() == pytest.approx(13.8446, abs=0.02)
    shares = [first_order_share(x[:, i], y, bins=64) for i in range(3)]
    assert shares == pytest.approx((0.3139, 0.4424, 0.0), abs=0.006)


def test_ishigami_with_the_usual_number_of_draws():
    x, y = ishigami(1024)
    shares = [first_order_share(x[:, i], y) for i in range(3)]
    assert shares == pytest.approx((0.3139, 0.4424, 0.0), abs=0.04)
    assert abs(rank_correlation(x[:, 1], y)) < 0.1  # blind where the share is not


def test_noise_explains_nothing():
    p = scrambled_sobol(1024, 2)
    assert first_order_share(p[:, 0], p[:, 1]) < 0.02


def test_a_linear_sum_has_the_shares_of_its_variances():
    inputs = [Uncertain(k, k, Normal(0, u), "test", k) for k, u in (("a", 3), ("b", 1), ("c", 0.1))]
    draws = drawn(inputs)
    found = drivers(draws, sum(draws.values.values()))
    assert [d.key for d in found] == ["a", "b"]
    assert [d.share for d in found] == pytest.approx(
        (9 / 10.01, 1 / 10.01), abs=0.03
    )  # a bin has a width


def test_rank_correlation_is_the_library_s():
    x, y = ishigami(512)
    y = np.round(y)  # ties too
    for i in range(3):
        expected = stats.spearmanr(x[:, i], y).statistic
        assert rank_correlation(x[:, i], y) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(("left", "expected"), [(0.0, 0.0253), (0.5, 0.0564)])
def test_width_after_a_measurement(left, expected):
    """Width 0.104, rank correlation 0.97: closed form w sqrt(1 - rho^2 (1 - r^2))."""
    assert width_after(0.104, 0.97**2, left) == pytest.approx(expected, abs=5e-4)


def test_two_results_together():
    """5 % and 2 % give 1.857 % (inverse variance)."""
    assert combined_u(5.0, 2.0) == pytest.approx(1.857, abs=0.001)


def test_gum_end_gauge_by_draws():
    """GUM H.1 (as reproduced): u 32 nm from six components by root sum of squares 31.66."""
    components = (25, 5.8, 3.9, 6.7, 2.88679, 16.599)
    inputs = [Uncertain(str(i), "", Normal(0.0, u), "GUM H.1") for i, u in enumerate(components)]
    total = sum(drawn(inputs, 2**14).values.values()) + 50_000_838.0
    found = spread_of(total)
    assert found.mean == pytest.approx(50_000_838, abs=0.5)
    assert found.u == pytest.approx(31.66, abs=0.1)


def test_percentiles_leave_out_what_is_not_known():
    assert spread_of([np.nan, 1.0, 3.0]).p50 == 2.0
    assert spread_of([np.nan]) is None


def test_a_measurement_that_decides_is_named_first():
    inputs = [Uncertain(k, k, Normal(0, u), "test", f"{k} again") for k, u in (("a", 3), ("b", 1))]
    draws = drawn(inputs)
    result = draws.values["a"] + draws.values["b"]
    kept = dict.fromkeys(("low", "likely", "high"), result > 0.0)
    found = measurements(draws, result, kept, banded=False)
    assert [m.key for m in found] == ["a", "b"]
    assert found[0].undecided < found[1].undecided <= 1.0


def test_a_measurement_of_what_does_not_matter_leaves_the_verdict_open():
    x = scrambled_sobol(1024, 2)
    kept = x[:, 1] > 0.5
    item = Uncertain("x", "x", Rectangular(0, 1), "test")
    assert undecided_after(item, x[:, 0], kept, kept) == 1.0
    assert undecided_after(item, x[:, 1], kept, kept, left=0.05) < 0.2


def test_the_limits_are_named_where_the_band_decides():
    inputs = [Uncertain("a", "a", Normal(0, 1), "test", "a again")]
    draws = drawn(inputs)
    yes, no = np.ones(1024, bool), np.zeros(1024, bool)
    kept = {"low": no, "likely": yes, "high": yes}
    assert measurements(draws, draws.values["a"], kept)[0].key == "limits"


@pytest.mark.parametrize(
    ("u", "step"), [(0.0316, 0.01), (0.012, 0.001), (0.2, 0.1), (3.0, 1.0), (12.0, 1.0), (0, 0)]
)
def test_step_of_an_uncertainty(u, step):
    """GUM 7.2.6 (from memory): at most two figures of u, the value to the same place."""
    assert step_of(u) == pytest.approx(step)


@pytest.mark.parametrize(
    ("value", "p10", "p90", "shown"),
    [(0.6479, 0.605, 0.686, 0.64), (0.65, None, None, 0.65), (0.2999999999999, None, None, 0.3),
     (0.6479, 0.2, 0.9, 0.6), (0.6479, 0.6479, 0.6479, 0.64), (0.0, 0.0, 0.0, 0.0)],
)  # fmt: skip
def test_recovery_is_rounded_down(value, p10, p90, shown):
    assert recovery_shown(value, p10, p90) == shown


def test_other_values_are_rounded_to_the_nearest():
    assert supported(4.47, 3.9, 5.1) == 4.5
    assert rounded_to(12_345.0, 100.0) == 12_300.0


@pytest.mark.parametrize(
    ("p", "words"),
    [(1.0, "at least 99 %"), (0.994, "at least 99 %"), (0.984, "about 98 %"),
     (0.934, "about 93 %"), (0.47, "about 47 %"), (0.0, "at most 1 %"), (0.02, "about 2 %"),
     (0.8916, "about 89 %"), (0.90, "about 90 %"), (0.957, "about 95 %"), (0.29, "about 29 %"), (0.097, "about 9 %"), (0.10, "about 10 %")],
)  # fmt: skip
def test_probability_in_words(p, words):
    assert probability_words(p) == words


def test_gum_end_gauge_to_second_order():
    """GUM H.1.7 (as reproduced): 50 000 838 nm, second-order u 34 nm; inputs from memory.

    l = ls + d - ls (da t + a dt): the products of da with t and of a with dt lift u from 32.
    """
    p = scrambled_sobol(2**16, 6)
    ls, d = Normal(50_000_623, 25).at(p[:, 0]), Normal(215, 9.7).at(p[:, 1])
    a, da = Rectangular(9.5e-6, 13.5e-6).at(p[:, 2]), Rectangular(-1e-6, 1e-6).at(p[:, 3])
    t, dt = Normal(-0.1, 0.41).at(p[:, 4]), Rectangular(-0.05, 0.05).at(p[:, 5])
    found = spread_of(ls + d - ls * (da * t + a * dt))
    assert found.mean == pytest.approx(50_000_838, abs=0.5)
    assert found.u == pytest.approx(34, abs=0.5)


def test_an_idle_input_drives_nothing():
    """The maximum recovery under silica rests on two inputs of thirty, the steep way 1 - s / k."""
    inputs = [Uncertain(f"x{i}", f"x{i}", Normal(0, 1), "test", f"x{i}") for i in range(30)]
    draws = drawn(inputs)
    for i, k in ((0, 11), (4, 17), (9, 22)):
        first, second = draws.values[f"x{i}"], draws.values[f"x{k}"]
        result = 1.0 - 0.3 * np.exp(0.25 * (first - second))
        assert {d.key for d in drivers(draws, result)} == {f"x{i}", f"x{k}"}
