"""The recovery limit of the draws: against the exact search, closed forms and known widths.

References: the exact search of the program draw by draw; closed forms u(R) = 0.88 (1 - R) u(pH)
for calcite and (1 - R) u_rel for silica (derived from the slope of the index against the
concentration factor); widths of a separate computation with 2,048 draws (regression values).
"""

import numpy as np
import pytest

from pretreat.membrane.limits import MembranePoint
from pretreat.membrane.recovery import recovery_limit
from pretreat.plant.uncertainty.bands import COLUMNS, limit_band, one_limit
from pretreat.plant.uncertainty.spread import drivers, measurements, spread_of
from pretreat.plant.uncertainty.water_draws import balance_test, conditioned
from pretreat.site.design import LimitChoices

from .waters import BARE, analysis, around, run

QUARROW, DROVER = "quarrow_vale_well_2", "drover_flat"


@pytest.mark.parametrize(
    ("name", "p5_p95", "p10_p90", "median"),
    [(QUARROW, 0.104, 0.081, 0.648), (DROVER, 0.123, 0.094, 0.592)],
)
def test_widths_of_the_raw_waters(name, p5_p95, p10_p90, median):
    """With inhibitor, LSI limit 1.5, u(pH) 0.1, no spread of the constants; within a tenth."""
    found = spread_of(run(analysis(name), ph_u=0.1)[2].maximum["likely"])
    assert found.p95 - found.p5 == pytest.approx(p5_p95, rel=0.1)
    assert found.width == pytest.approx(p10_p90, rel=0.1)
    assert found.p50 == pytest.approx(median, abs=0.004)


@pytest.mark.parametrize(("ph_u", "width"), [(0.05, 0.056), (0.20, 0.206)])
def test_width_follows_the_ph(ph_u, width):
    found = spread_of(run(analysis(QUARROW), ph_u=ph_u)[2].maximum["likely"])
    assert found.p95 - found.p5 == pytest.approx(width, rel=0.1)


def test_closed_form_of_calcite():
    """3.29 x 0.88 (1 - R) u(pH) = 0.102 at R 0.6479; the other inputs add a little."""
    found = spread_of(run(analysis(QUARROW), ph_u=0.1)[2].maximum["likely"])
    assert found.p95 - found.p5 == pytest.approx(0.102, rel=0.06)


def test_shares_kept_at_two_recoveries():
    """0.93 at 60 % and 0.47 at 65 % by the separate computation."""
    for recovery, share in ((0.60, 0.927), (0.65, 0.473)):
        found = run(analysis(QUARROW), ph_u=0.1, point=MembranePoint(recovery, {}))[2]
        assert found.probability("likely") == pytest.approx(share, abs=0.015)


def test_ph_drives_what_calcite_limits():
    draws, _, found = run(analysis(QUARROW), ph_u=0.1)
    first = drivers(draws, found.worst("likely"))[0]
    assert first.key == "ph"
    assert first.share > 0.85
    assert first.rank_correlation == pytest.approx(-0.97, abs=0.02)
    kept = {c: found.all_kept(c) for c in COLUMNS}
    assert measurements(draws, found.worst("likely"), kept, banded=False)[0].key == "ph"


@pytest.mark.parametrize("inhibitor", [False, True])
@pytest.mark.parametrize("name", [QUARROW, DROVER])
@pytest.mark.parametrize(
    "point",
    [
        pytest.param(MembranePoint(0.6, {}), marks=pytest.mark.thorough),
        pytest.param(MembranePoint(0.7, {"default": 0.05}), marks=pytest.mark.thorough),
        MembranePoint(0.75, {"default": 0.05}),
        MembranePoint(0.6, {"default": 0.02}, rho=0.3),
        MembranePoint(0.5, {}, wall_factor=1.15),
    ],
    ids=["plain", "passage", "high", "recycle", "wall"],
)
def test_every_draw_agrees_with_the_exact_search(name, inhibitor, point):
    """The exact search closes at 2e-4 of an index; the cubic must be right to 0.001."""
    water, band = analysis(name), limit_band(LimitChoices(inhibitor=inhibitor))
    seasons = around(water, -8.0, 0.0, 10.0)
    _, feed, found = run(water, seasons, band, point, count=64)
    for column in COLUMNS:
        limits, membrane = band.of(column), (point.passage, point.rho, None, point.wall_factor)
        exact = recovery_limit(feed, limits, *membrane)
        assert found.maximum[column] == pytest.approx(exact.maximum[:, 1:], abs=1e-3)
        assert found.nominal_maximum[column] == pytest.approx(exact.maximum[:, 0], abs=5e-4)
        assert found.nominal_limited_by[column] == tuple(exact.limited_by[:, 0])
        if inhibitor is False:
            break


def test_kept_is_what_the_maximum_says():
    _, _, found = run(analysis(QUARROW), around(analysis(QUARROW), -4.0, 0.0, 4.0))
    kept = np.all([found.kept["likely"][k] for k in found.scales], axis=0)
    assert np.array_equal(kept, found.maximum["likely"] >= 0.6)
    assert found.probability("likely") <= min(found.probability("likely", s) for s in range(3))
    assert found.kept_in(0.9, "likely") == pytest.approx(
        np.quantile(found.worst("likely"), 0.1), abs=0.002
    )


def test_the_error_of_the_constants_widens_and_does_not_shift():
    plain = spread_of(run(analysis(QUARROW), ph_u=0.02)[2].maximum["likely"])
    wider = spread_of(run(analysis(QUARROW), ph_u=0.02, engine=True)[2].maximum["likely"])
    assert wider.u > plain.u
    assert wider.p50 == pytest.approx(plain.p50, abs=0.002)


def test_two_runs_give_the_same_bytes():
    first, second = (run(analysis(DROVER), engine=True)[2] for _ in range(2))
    for column in COLUMNS:
        assert first.maximum[column].tobytes() == second.maximum[column].tobytes()


def test_a_feed_over_its_limit_has_no_recovery():
    found = run(analysis(QUARROW), band=one_limit(BARE))[2]
    assert found.nominal_maximum["likely"][0] == 0.0
    assert found.kept_in(0.9) == 0.0
    assert found.probability("low") < 0.01


class TestBand:
    def test_own_limit_has_no_width(self):
        band = limit_band(LimitChoices(inhibitor=True, lsi=1.5))
        assert (band.low.lsi, band.likely.lsi, band.high.lsi) == (1.5, 1.5, 1.5)
        assert band.low.sdsi == band.high.sdsi == 1.5
        assert band.low.si["barite"] < band.likely.si["barite"] < band.high.si["barite"]

    def test_without_inhibitor_saturation(self):
        band = limit_band(LimitChoices())
        assert band.low.lsi == band.high.lsi == 0.0
        minerals = ("gypsum", "barite", "celestite", "fluorite")
        assert {band.of(c).si[k] for c in COLUMNS for k in minerals} == {0.0}

    def test_likely_values(self):
        """Common practice, no source: LSI 1.8, gypsum 230, barite 6000 %."""
        band = limit_band(LimitChoices(inhibitor=True)).likely
        assert band.lsi == 1.8
        percent = {k: round(100 * 10**v) for k, v in band.si.items()}
        assert (percent["gypsum"], percent["barite"]) == (230, 6000)

    def test_an_inhibitor_never_lowers_a_limit(self):
        plain = limit_band(LimitChoices()).low
        dosed = limit_band(LimitChoices(inhibitor=True)).low
        assert all(dosed.si[k] >= plain.si[k] for k in plain.si)
        asked = limit_band(LimitChoices(inhibitor=False, lsi=2.0), inhibitor=True)
        assert (asked.low.lsi, asked.high.lsi) == (2.0, 2.5)


class TestBalance:
    """Least squares under one condition; b 0.400, T 1.2525 and the moved ions by closed form."""

    x = np.array([5.0, 2.0, 3.0, 4.5, 2.5, 2.6])
    u = np.array([0.200, 0.080, 0.150, 0.180, 0.125, 0.104])
    z = np.array([1.0, 1, 1, -1, -1, -1])

    def test_balance_and_its_test(self):
        assert balance_test(self.x, self.u, self.z) == pytest.approx((0.400, 1.2525), abs=5e-4)

    def test_moved_ions(self):
        moved = conditioned(self.x[:, None], self.u, self.z)[:, 0]
        assert moved == pytest.approx((4.8747, 1.9800, 2.9295, 4.6015, 2.5489, 2.6339), abs=1e-4)
        assert self.z @ moved == pytest.approx(0.0, abs=1e-12)

    def test_spread_and_correlation_afterwards(self):
        p = np.random.default_rng(5).standard_normal((6, 200_000))
        moved = conditioned(self.x[:, None] + self.u[:, None] * p, self.u, self.z)
        assert moved.std(axis=1) == pytest.approx(
            (0.1658, 0.0780, 0.1362, 0.1555, 0.1171, 0.0995), rel=0.01
        )
        after = np.corrcoef(moved)
        assert (after[0, 3], after[0, 2]) == pytest.approx((0.394, -0.312), abs=0.01)
