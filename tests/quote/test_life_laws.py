"""Laws of the life model: no load lengthens a life, low <= likely <= high."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from pretreat.core.errors import OutOfRangeError
from pretreat.life.laws import cycles_life_years, resin_life_years
from pretreat.life.lives import (
    CarbonDuty,
    CartridgeDuty,
    FilterDuty,
    SoftenerDuty,
    carbon_lives,
    cartridge_lives,
    filter_lives,
    governing,
    softener_lives,
)
from pretreat.life.wear import CASES, wear

LOAD = st.floats(0.0, 1e4)
VOLUME = st.floats(10.0, 2000.0)
SOME = st.just(0.0) | st.floats(0.001, 1e4)
SMALL = st.floats(0.0, 20.0)
RESIN = st.builds(SoftenerDuty, LOAD, LOAD, VOLUME, SMALL, SMALL, st.floats(0.0, 1.0))
BED = st.builds(FilterDuty, LOAD, LOAD, VOLUME, SMALL,
                st.sampled_from(["iron_filter_age", "iron_filter_age_small", "multimedia_age"]), st.booleans())  # fmt: skip
CARBON = st.builds(CarbonDuty, LOAD, LOAD, VOLUME, SMALL, SMALL, SMALL)
CARTRIDGE = st.builds(CartridgeDuty, LOAD, st.floats(1.0, 20.0), SMALL)
MODELS = [
    pytest.param(softener_lives, RESIN, ("cycles_per_year", "water_m3_year", "metals_mg_l",
                                         "chlorine_mg_l", "running_share"), id="softener"),
    pytest.param(filter_lives, BED, ("backwashes_per_year", "water_m3_year", "solids_mg_l"),
                 id="filter"),
    pytest.param(carbon_lives, CARBON, ("backwashes_per_year", "water_m3_year", "metals_mg_l",
                                        "chlorine_mg_l", "organics_mg_l"), id="carbon"),
    pytest.param(cartridge_lives, CARTRIDGE, ("water_m3_year", "metals_mg_l"), id="cartridge"),
]  # fmt: skip


@pytest.mark.parametrize(("lives", "duties", "loads"), MODELS)
@settings(max_examples=60, deadline=None)
@given(data=st.data(), factor=st.floats(1.0, 4.0), case=st.sampled_from(CASES))
def test_no_load_lengthens_a_life(lives, duties, loads, data, factor, case):
    duty = data.draw(duties)
    before = lives(duty, case)
    for load in loads:
        after = lives(replace(duty, **{load: getattr(duty, load) * factor}), case)
        assert all(after[name] <= before[name] * (1 + 1e-12) for name in before), load


@pytest.mark.parametrize(("lives", "duties", "loads"), MODELS)
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_low_likely_and_high_are_in_order(lives, duties, loads, data):
    duty = data.draw(duties)
    low, likely, high = (lives(duty, case) for case in CASES)
    for name in low:
        assert 0 < low[name] <= likely[name] <= high[name], name
    assert math.isfinite(min(low.values()))
    assert likely[governing(likely)] == min(likely.values())


@settings(max_examples=60, deadline=None)
@given(RESIN)
def test_a_larger_bed_bears_its_metals_longer(duty):
    larger = replace(duty, resin_l=duty.resin_l * 2.0)
    assert softener_lives(larger)["iron"] >= softener_lives(duty)["iron"]


def test_nothing_wears_nothing_out():
    idle = SoftenerDuty(0.0, 0.0, 100.0, 0.0, 0.0, 0.0)
    worn = {name for name, years in softener_lives(idle).items() if math.isfinite(years)}
    assert worn == {"capacity", "age"}


@pytest.mark.parametrize(("allowed", "used"), [(0.0, 1.0), (1.0, -1.0), (1.0, 0.0)])
def test_a_life_that_makes_no_sense_is_refused(allowed, used):
    with pytest.raises(OutOfRangeError, match="holds above 0"):
        cycles_life_years(allowed, used)


@pytest.mark.parametrize("case", CASES)
@settings(max_examples=40, deadline=None)
@given(duty=st.builds(SoftenerDuty, SOME, SOME, VOLUME, SOME, SOME, st.floats(0.01, 1.0)))
def test_the_life_of_resin_is_its_shortest_mechanism(duty, case):
    """One law for the cell of the life, one for each mechanism: the same years."""
    c = {key: row.at(case) for key, row in wear().items()}
    whole = resin_life_years(
        age_years=c["softener_age"], loss_allowed_pct=c["softener_loss_allowed"],
        loss_pct_per_year=c["softener_loss_per_year"], dose_mg_l_years=c["softener_chlorine_dose"],
        chlorine_mg_l=duty.chlorine_mg_l * duty.running_share, running_share=1.0,
        bearable_cycles=c["softener_cycles"], regenerations_per_year=duty.cycles_per_year,
        beds_taking_turns=1.0, loss_per_backwash_pct=c["softener_loss_per_backwash"],
        backwashes_per_year=duty.cycles_per_year, metals_mg_l=duty.metals_mg_l * duty.water_m3_year,
        water_m3_year=1.0, metals_kept=c["softener_metals_kept"], resin_l=duty.resin_l)  # fmt: skip
    assert whole == pytest.approx(min(softener_lives(duty, case).values()), rel=1e-12)
