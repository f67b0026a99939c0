"""Set points: flows close, ratios read as people say them, slips of units are named."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pretreat.core.errors import OutOfRangeError
from pretreat.membrane.gauges.gauge_laws import flow_gpm
from pretreat.membrane.gauges.setpoints import (
    SLIPS,
    FlowsRead,
    doubtful_flows,
    flow_settings,
    split,
    unit_slips,
)

SETTING = flow_settings(1.6, 0.65)


@given(st.floats(1e-3, 1e3), st.floats(0.01, 0.95), st.floats(0.0, 100.0))
def test_flows_close(product, recovery, recycle):
    flows = flow_settings(product, recovery, recycle)
    assert flows.product_m3_h + flows.drain_m3_h == pytest.approx(flows.feed_m3_h, rel=1e-9)
    assert flows.product_m3_h / flows.feed_m3_h == pytest.approx(recovery, rel=1e-9)
    assert flows.array_recovery <= recovery * (1 + 1e-9)


@pytest.mark.parametrize(
    ("recovery", "words"),
    [(0.5, "1:1"), (0.6, "3:2"), (0.7, "7:3"), (0.75, "3:1"), (0.65, "13:7"), (0.8, "4:1"),
     (0.333, "about 1:2")],
)  # fmt: skip
def test_split(recovery, words):
    assert str(split(recovery)) == words


@pytest.mark.parametrize("recovery", [0.0, 1.0, 65.0, float("nan")])
def test_impossible_recovery_is_refused(recovery):
    with pytest.raises(OutOfRangeError):
        flow_settings(1.6, recovery)
    with pytest.raises(OutOfRangeError):
        split(recovery)


def test_gallons():
    """3.785411784 L in a US gallon, exact."""
    assert flow_gpm(60 * 3.785411784 / 1000) == pytest.approx(1.0, rel=1e-12)


@pytest.mark.parametrize("slip", SLIPS, ids=lambda s: s.words)
def test_every_slip_of_one_flow_is_named(slip):
    """All three meters known, one written in the wrong unit; 1.20095 US per imperial gallon."""
    read = FlowsRead(SETTING.feed_m3_h, SETTING.product_m3_h * slip.factor, SETTING.drain_m3_h)
    (text,) = doubtful_flows(read, SETTING)
    assert text.startswith("product flow")
    assert text.endswith(slip.words)


@pytest.mark.parametrize("slip", SLIPS, ids=lambda s: s.words)
def test_a_slip_of_all_flows_is_named(slip):
    flows = (SETTING.feed_m3_h, SETTING.product_m3_h, SETTING.drain_m3_h)
    told = doubtful_flows(FlowsRead(*(f * slip.factor for f in flows)), SETTING)
    assert len(told) == 3
    assert all(slip.words in text for text in told)


@pytest.mark.parametrize("share", [0.80, 0.833, 0.9, 1.0, 1.1, 1.2])
def test_a_real_change_of_flow_is_no_slip(share):
    product = SETTING.product_m3_h * share
    read = FlowsRead(product + SETTING.drain_m3_h, product, SETTING.drain_m3_h)
    assert doubtful_flows(read, SETTING) == ()


def test_meters_that_disagree_are_told():
    (text,) = doubtful_flows(FlowsRead(2.4615, 1.6, 0.45), SETTING)
    assert "read the three meters again" in text


def test_agreement_is_no_slip():
    assert unit_slips(1.65, 1.6) == ()
    assert unit_slips(0.0, 1.6) == ()
