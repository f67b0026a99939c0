"""The maximum recovery is the first crossing, also where the index falls at its change."""

import numpy as np
import pytest

from pretreat.membrane.concentrate import concentrate
from pretreat.membrane.feed import feed_water, one_of_feed
from pretreat.membrane.recovery import Limits, default_limits, excesses, reaches, recovery_limit

# Sodic and soft, so that LSI reaches 0 just below 10,000 mg/L where S&DSI lies lower.
SODIC = {"ca": 60.0, "mg": 40.0, "na": 834.6, "k": 10.0, "so4": 60.0, "cl": 1383.7, "f": 0.1,
         "sio2": 5.0, "ba": 0.001, "sr": 0.1}  # fmt: skip


def _scanned(feed, limits, passage, rho):
    """Return the first crossing on a grid fine enough to see any dip (brute force)."""
    recoveries = np.linspace(0.0, 0.95, 4000)
    grid = feed_water(
        {k: np.full(recoveries.shape, float(v)) for k, v in feed.mg_l.items()},
        np.full(recoveries.shape, float(feed.alkalinity_mg_l_caco3)),
        float(feed.ph), float(feed.temp_c),
    )  # fmt: skip
    found = excesses(concentrate(grid, recoveries, passage, rho), limits)
    worst = np.nanmax(np.stack(list(found.values())), axis=0)
    return recoveries[np.argmax(worst > 0)]


@pytest.mark.parametrize(("temp_c", "ph", "sdsi"), [
    (5.0, 6.55, 0.0), (20.0, 6.33, 0.0), (20.0, 6.60, 1.0), (20.0, 6.45, 1.0),
])  # fmt: skip
@pytest.mark.parametrize(("passage", "rho"), [({}, 0.0), ({"default": 0.03}, 0.3)])
def test_no_crossing_is_jumped_over(temp_c, ph, sdsi, passage, rho):
    feed = feed_water(SODIC, 100.0, ph, temp_c)
    limits = Limits(0.0, sdsi, default_limits(False).si)
    found = float(recovery_limit(feed, limits, passage, rho).maximum)
    assert found == pytest.approx(_scanned(feed, limits, passage, rho), abs=3e-4)
    assert reaches(feed, [limits], passage, rho)[0].maximum == pytest.approx(found, abs=1e-6)


def test_a_water_reaches_the_same_alone_and_among_many():
    """Few are looked at everywhere at once, many place after place: one bracket, one answer."""
    draw, n = np.random.default_rng(7), 300
    centre = {"ca": 60.0, "mg": 20.0, "na": 50.0, "cl": 60.0, "so4": 60.0, "f": 0.4, "sio2": 15.0,
              "ba": 0.05, "sr": 0.4}  # fmt: skip
    mg_l = {ion: value * np.exp(draw.normal(0.0, 0.8, n)) for ion, value in centre.items()}
    feed = feed_water(mg_l, 200.0 * np.exp(draw.normal(0.0, 0.5, n)), draw.uniform(6.8, 8, n), 15.0)
    limits = default_limits(False)
    many = recovery_limit(feed, limits)
    for i in range(0, n, 7):
        alone = recovery_limit(one_of_feed(feed, i), limits)
        assert float(alone.maximum) == pytest.approx(many.maximum[i], rel=1e-9)
        assert str(alone.limited_by) == many.limited_by[i]
