"""A machine that recycles concentrate: what is set is not taken for what has changed.

The small machine here is a mass balance of its own, with full rejection and one known
permeability; it shares no equation with the program but the log-mean of the standard.
"""

import datetime
import math

import pytest

from pretreat.membrane.gauges.pressure import OsmoticCurve
from pretreat.record.findings import findings
from pretreat.record.normalise import normalise
from pretreat.record.readings import reading
from pretreat.record.reference import Reference

START = datetime.datetime(2031, 3, 3, 8, 0)
CURVE = OsmoticCurve((0.5, 1.0, 20.0), (28.0, 56.0, 1120.0), 15.0)
REFERENCE = Reference(CURVE, 1.6, 0.65, recycle_m3_h=0.6)
PERMEABILITY = 1.6 / 900.0  # m3/h per kPa at 15 °C
PASSAGE = 0.02  # salt passing at the mean concentration and 1.6 m3/h


def machine(day, product=1.6, recovery=0.65, recycle=0.6, loss=1.0):
    """Return what the gauges show, by the mass balance of drain, recycle and fresh feed."""
    feed = product / recovery
    drain = feed - product
    behind = feed / drain  # concentrate over fresh feed, nothing passes
    ahead = (feed + recycle * behind) / (feed + recycle)
    share = product / (feed + recycle)
    mean = ahead * math.log(1.0 / (1.0 - share)) / share
    drop = 120.0 * ((feed + recycle - product / 2.0) / 2.4) ** 1.5
    pressure = product / (PERMEABILITY * loss) + drop / 2.0 + 30.0 + 56.0 * mean * (1.0 - 0.02)
    return reading(START + datetime.timedelta(days=day), {
        "temperature_c": 15.0, "feed_pressure_bar": pressure / 100.0,
        "concentrate_pressure_bar": (pressure - drop) / 100.0, "product_pressure_bar": 0.3,
        "feed_flow_m3_h": feed, "product_flow_m3_h": product, "drain_flow_m3_h": drain,
        "recycle_flow_m3_h": recycle, "feed_conductivity_us_cm": 1200.0,
        "product_conductivity_us_cm": 1200.0 * PASSAGE * mean * 1.6 / product,
    })  # fmt: skip


SETTINGS = [
    {"recycle": 0.0}, {"recycle": 1.5}, {"recovery": 0.5}, {"recovery": 0.75, "recycle": 1.2},
    {"product": 1.3}, {"product": 1.9, "recovery": 0.6, "recycle": 0.3},
]  # fmt: skip


@pytest.mark.parametrize("settings", SETTINGS, ids=str)
def test_another_setting_normalises_to_the_same_machine(settings):
    base = normalise(machine(0), machine(0), CURVE)
    found = normalise(machine(7, **settings), machine(0), CURVE)
    assert found.flow_m3_h == pytest.approx(base.flow_m3_h, rel=0.005)
    assert found.passage == pytest.approx(base.passage, rel=0.005)
    assert found.drop_bar == pytest.approx(base.drop_bar, rel=1e-9)


def test_a_real_loss_shows_through_another_recycle():
    base = normalise(machine(0), machine(0), CURVE)
    found = normalise(machine(7, recycle=1.5, loss=0.9), machine(0), CURVE)
    assert found.flow_m3_h / base.flow_m3_h == pytest.approx(0.9, abs=0.005)


def test_without_recycle_in_the_sum_it_would_not():
    """The check of the check: leave the recycle out of the reading, and the flow is off."""
    high = machine(7, recycle=1.5)
    bare = reading(high.when, {**high.values, "recycle_flow_m3_h": 0.0})
    base = normalise(machine(0), machine(0), CURVE)
    assert abs(normalise(bare, machine(0), CURVE).drop_bar / base.drop_bar - 1.0) > 0.5


def test_a_recycle_meter_not_read_once_is_taken_as_at_the_baseline():
    values = {k: v for k, v in machine(7).values.items() if k != "recycle_flow_m3_h"}
    base = normalise(machine(0), machine(0), CURVE)
    found = normalise(reading(machine(7).when, values), machine(0), CURVE)
    assert found.flow_m3_h == pytest.approx(base.flow_m3_h, rel=1e-9)


def test_a_changed_setting_is_no_finding_and_a_loss_is():
    weeks = [machine(7 * n, recycle=0.6 if n < 12 else 1.2) for n in range(24)]
    assert findings(weeks, REFERENCE) == ()
    losing = [*weeks[:12], *(machine(7 * n, recycle=1.2, loss=0.88) for n in range(12, 24))]
    (found,) = findings(losing, REFERENCE)
    assert found.key in {"fouling", "scaling"}
