"""Recovery swept on the passage that the elements have at each recovery.

Compared with the elements run anew at every recovery (no table between), and the maximum recovery
with a bracketed root over such runs.
"""

import numpy as np
import pytest
from scipy.optimize import brentq

from pretreat.core.units import HCO3_PER_CACO3
from pretreat.membrane.balance import IonPassage
from pretreat.membrane.bands import default_limits
from pretreat.membrane.concentrate import concentrate
from pretreat.membrane.elements.checks import usual_limits
from pretreat.membrane.elements.energy import usual_pump
from pretreat.membrane.elements.feed import element_feed
from pretreat.membrane.elements.machine import Machine, marched
from pretreat.membrane.elements.operate import Duty, operate
from pretreat.membrane.elements.permeability import Membrane
from pretreat.membrane.feed import feed_water
from pretreat.membrane.limits import MembranePoint
from pretreat.membrane.permeate import permeate
from pretreat.membrane.recovery import excesses, recovery_limit
from tests.membrane.worked_machines import FEED_PH, MACHINES

LIMITS = default_limits(False)
WORN = Membrane(water_lmh_bar=3.0, salt_lmh=1.5)


def _swept(name, membrane):
    """Return the feed, the design point, and how the elements run at another recovery."""
    mg_l, temp_c, array, duty = MACHINES[name]
    water = element_feed(mg_l, temp_c)
    feed = feed_water(mg_l, mg_l["hco3"] / HCO3_PER_CACO3, FEED_PH, temp_c)
    machine = Machine(array, membrane, usual_pump(), usual_limits("well"), duty, False)
    rho = float(np.asarray(duty.rho))
    start = MembranePoint(duty.recovery, {}, rho)
    point = marched(start, operate(array, membrane, water, duty), machine)

    def run(recovery):
        fresh = duty.product_m3_h / recovery
        there = Duty(duty.product_m3_h, recovery, fresh * rho / (1.0 - rho))
        return operate(array, membrane, water, there)

    return feed, point, run


@pytest.mark.parametrize("membrane", [Membrane(), WORN], ids=["new", "worn"])
@pytest.mark.parametrize("name", sorted(MACHINES))
def test_concentrate_at_other_recoveries(name, membrane):
    feed, point, run = _swept(name, membrane)
    for recovery in (0.4, 0.56, 0.6375, 0.73, 0.8, 0.8875):
        direct = run(recovery)
        own = IonPassage((k, float(v)) for k, v in direct.passage.items())
        true = concentrate(feed, recovery, own, point.rho)
        found = concentrate(feed, recovery, point.passage, point.rho)
        for key in ("na", "cl", "ca", "so4", "sio2"):
            assert found.mg_l[key] == pytest.approx(float(true.mg_l[key]), rel=3e-3), recovery
        assert float(found.any_lsi()) == pytest.approx(float(true.any_lsi()), abs=3e-3)


@pytest.mark.parametrize("name", sorted(MACHINES))
def test_at_the_design_nothing_moves(name):
    feed, point, run = _swept(name, Membrane())
    fixed = IonPassage((k, float(v)) for k, v in run(point.recovery).passage.items())
    one = concentrate(feed, point.recovery, point.passage, point.rho)
    two = concentrate(feed, point.recovery, fixed, point.rho)
    for key, amount in two.mg_l.items():
        assert float(one.mg_l[key]) == pytest.approx(float(amount), rel=1e-9)
    assert float(one.ph) == pytest.approx(float(two.ph), abs=1e-9)


@pytest.mark.parametrize("name", ["M1", "M2"])
@pytest.mark.parametrize("membrane", [Membrane(), WORN], ids=["new", "worn"])
def test_largest_recovery(name, membrane):
    """The elements pass more salt at a higher recovery, so that it may go a little further."""
    feed, point, run = _swept(name, membrane)

    def over(recovery):
        own = IonPassage((k, float(v)) for k, v in run(recovery).passage.items())
        found = excesses(concentrate(feed, recovery, own, point.rho), LIMITS)
        return max(float(v) for v in found.values() if np.isfinite(v))

    found = float(recovery_limit(feed, LIMITS, point.passage, point.rho).maximum)
    assert found == pytest.approx(brentq(over, 0.5, 0.9), abs=3e-4)
    fixed = IonPassage(point.passage)
    before = float(recovery_limit(feed, LIMITS, fixed, point.rho).maximum)
    assert 0.0 < found - before < 0.005


def test_product_and_drain_close_at_every_recovery():
    feed, point, _ = _swept("M3", Membrane())
    for recovery in (0.3, 0.5, 0.7, 0.8):
        brine = concentrate(feed, recovery, point.passage, point.rho)
        made = permeate(feed, brine, point.passage, point.rho)
        for key in ("na", "cl", "ca", "sio2"):
            out = recovery * float(made.mg_l[key]) + (1 - recovery) * float(brine.mg_l[key])
            assert out == pytest.approx(float(feed.mg_l[key]), rel=1e-9), key


def test_recoveries_that_the_elements_cannot_run_at_keep_the_nearest():
    """M3 at 5 % would have to take 60 m3/h through two small vessels."""
    _, point, run = _swept("M3", Membrane())
    lowest = min(point.passage._recoveries)
    assert lowest > 0.05
    assert point.passage.at("na", 0.05) == pytest.approx(float(run(lowest).passage["na"]), rel=1e-6)
