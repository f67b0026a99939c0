"""Whatever is handed to the chemistry: a sound number, a gap, or one clear line."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pretreat.chemistry.speciation import molal_totals, speciate
from pretreat.core.errors import PretreatError
from pretreat.core.tables import analytes
from pretreat.core.water import WaterAnalysis
from pretreat.membrane.concentrate import concentrate
from pretreat.membrane.feed import feed_water
from pretreat.membrane.permeate import permeate
from pretreat.membrane.recovery import default_limits, recovery_limit
from pretreat.study import run_scaling

WATER = {"ca": 90.0, "mg": 25.0, "na": 40.0, "cl": 60.0, "so4": 80.0, "sio2": 20.0}
ANYTHING = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True), st.none(), st.text(max_size=5),
    st.just(True), st.lists(st.floats(), max_size=2),
)  # fmt: skip


def _one_line(refused):
    assert len(refused.faults) == 1
    assert len(refused.faults[0].splitlines()) == 1


@settings(max_examples=300, deadline=None, derandomize=True)
@given(
    key=st.one_of(st.sampled_from(sorted(analytes())), st.text(max_size=6)),
    amount=ANYTHING,
    alkalinity=st.one_of(st.just(180.0), ANYTHING),
    ph=st.one_of(st.just(7.4), ANYTHING),
    temp=st.one_of(st.just(15.0), st.floats()),
)
def test_a_feed_is_sound_or_refused_in_one_line(key, amount, alkalinity, ph, temp):
    try:
        feed = feed_water({**WATER, key: amount}, alkalinity, ph, temp)
    except PretreatError as refused:
        _one_line(refused)
        return
    assert key in analytes()
    one = np.ndim(feed.ph) == 0
    if one:
        assert isinstance(amount, float | bool)
        assert math.isfinite(amount)
        assert amount >= 0
        assert 0 <= ph <= 14
    sound = np.asarray(feed.speciation.converged)
    assert np.all(np.isfinite(np.asarray(feed.ph)) == sound)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(
    recovery=ANYTHING,
    rho=st.one_of(st.just(0.3), st.floats()),
    key=st.one_of(st.just("cl"), st.sampled_from(sorted(analytes())), st.text(max_size=6)),
    share=ANYTHING,
    wall=st.one_of(st.just(1.0), st.floats()),
)
def test_a_machine_is_sound_or_refused_in_one_line(recovery, rho, key, share, wall):
    feed = feed_water(WATER, 180.0, 7.4, 15.0)
    try:
        brine = concentrate(feed, recovery, {"default": 0.01, key: share}, rho, wall)
    except PretreatError as refused:
        _one_line(refused)
        return
    assert 0 <= rho < 1
    assert wall >= 1
    if np.ndim(recovery) == 0:
        assert 0 <= recovery < 1
    done = np.isfinite(np.asarray(brine.ph))
    asked = np.broadcast_to(np.asarray(recovery, float), done.shape)
    assert np.all((asked[done] >= 0) & (asked[done] < 1))


@pytest.mark.parametrize(
    ("mg_l", "alkalinity", "ph", "says"),
    [
        ({"ca": -80.0}, 100.0, 7.0, "calcium is -80 mg/L"),
        ({"ca": float("nan")}, 100.0, 7.0, "calcium is nan"),
        ({"calcium": 80.0}, 100.0, 7.0, "'calcium' is not an ion.*did you mean"),
        ({"ca": "eighty"}, 100.0, 7.0, "not a number"),
        ({"ca": 80.0}, -5.0, 7.0, "alkalinity is -5"),
        ({"ca": 80.0}, 100.0, 74.0, "pH is 74"),
        ({"ca": 80.0}, 100.0, float("nan"), "pH is nan"),
        ({"na": 4e5, "cl": 6e5}, 100.0, 7.0, "check the units"),
    ],
)
def test_what_is_wrong_and_what_to_do(mg_l, alkalinity, ph, says):
    with pytest.raises(PretreatError, match=says):
        feed_water(mg_l, alkalinity, ph, 15.0)


@pytest.mark.parametrize("recovery", [float("nan"), -0.1, 1.0, 65.0, float("inf")])
def test_no_machine_has_that_recovery(recovery):
    with pytest.raises(PretreatError, match="recovery is"):
        concentrate(feed_water(WATER, 180.0, 7.4, 15.0), recovery)


def test_an_unknown_ion_or_component_is_never_dropped():
    with pytest.raises(PretreatError, match="'chloride' is not an ion"):
        molal_totals({"chloride": 80.0})
    with pytest.raises(PretreatError, match="'Calcium' is not a component"):
        speciate({"Calcium": 1e-3}, temp_c=25.0, ph=7.0)
    with pytest.raises(PretreatError, match=r"total of Ca is -0\.001"):
        speciate({"Ca": -1e-3}, temp_c=25.0, ph=7.0)
    feed = feed_water(WATER, 180.0, 7.4, 15.0)
    with pytest.raises(PretreatError, match="salt passage of 'chlorid'"):
        permeate(feed, concentrate(feed, 0.5), {"chlorid": 0.1})


@pytest.mark.parametrize(
    ("change", "recovery", "says"),
    [
        ({"ca": -80.0}, 0.5, "calcium"),
        ({"ca": float("nan")}, 0.5, "calcium"),
        ({"calcium": 80.0}, 0.5, "calcium"),
        ({}, float("nan"), "recovery"),
    ],
)
def test_the_whole_run_refuses_in_one_line(change, recovery, says):
    water = WaterAnalysis(source="own", sample="", mg_l={**WATER, **change}, ph=7.4,
                          alkalinity_mg_l_caco3=180.0, temperature_c=15.0)  # fmt: skip
    with pytest.raises(PretreatError, match=says):
        run_scaling(water, recovery)


def test_a_limit_that_is_no_number_is_refused():
    from msgspec.structs import replace

    feed = feed_water(WATER, 180.0, 7.4, 15.0)
    with pytest.raises(PretreatError, match="limit of calcite"):
        recovery_limit(feed, replace(default_limits(False), lsi=float("nan")))


def test_in_a_batch_what_no_water_has_is_a_gap_of_its_own():
    ca = np.array([90.0, -90.0, np.nan, 90.0, 90.0])
    ph = np.array([7.4, 7.4, 7.4, 15.0, 7.4])
    feed = feed_water({**WATER, "ca": ca}, 180.0, ph, 15.0)
    assert np.isfinite(feed.ph).tolist() == [True, False, False, False, True]
    brine = concentrate(feed, np.array([0.5, 0.5, 0.5, 0.5, 1.2]))
    assert np.isfinite(brine.ph).tolist() == [True, False, False, False, False]
    assert float(feed.ph[0]) == pytest.approx(float(feed_water(WATER, 180.0, 7.4, 15.0).ph))


def test_a_recycle_next_to_nothing_is_none():
    """The balance of the loop holds no division by the share of the recycle."""
    feed = feed_water(WATER, 180.0, 7.4, 15.0)
    loop = concentrate(feed, 0.6, {"default": 0.01}, 5e-324)
    once = concentrate(feed, 0.6, {"default": 0.01}, 0.0)
    assert float(loop.ph) == pytest.approx(float(once.ph), abs=1e-6)
