"""When in the day the product is drawn: profiles, the storage for peaks, and the year on them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from pretreat.core.errors import DesignError, OutOfRangeError
from pretreat.plant.calendar.simulated import Plant
from pretreat.plant.calendar.year import simulate
from pretreat.plant.water.demand import (
    hourly_demand_m3_h,
    peak_storage_m3,
    profile_rows,
    profile_shares,
)
from pretreat.plant.water.product_tank import smallest_product_tank_m3

NIGHT_AND_DAY = [0.0] * 12 + [1.0] * 12
weights = st.lists(st.floats(0.0, 50.0), min_size=24, max_size=24).filter(lambda w: sum(w) > 1e-3)


@given(weights, st.floats(0.01, 500.0))
def test_a_profile_draws_the_demand_of_the_day(numbers, demand):
    hourly = hourly_demand_m3_h(demand, profile_shares(numbers))
    ends = [hour for hour, _ in hourly[1:]] + [24.0]
    drawn = sum(flow * (end - hour) for (hour, flow), end in zip(hourly, ends, strict=True))
    assert drawn == pytest.approx(demand, rel=1e-9)
    assert hourly[0][0] == 0.0


def test_the_unit_of_the_numbers_does_not_matter():
    half = profile_shares([w / 2.0 for w in NIGHT_AND_DAY])
    assert half == profile_shares(NIGHT_AND_DAY)
    assert max(half) == 2.0


@pytest.mark.parametrize("name", list(profile_rows()))
def test_named_profiles(name):
    """Shapes of common practice or from memory; their mean is 1 by definition."""
    assert sum(profile_shares(name)) == pytest.approx(24.0)


def test_storage_for_peaks_by_hand():
    """24 m3/d drawn in 12 h: 2 m3/h. Made at 1.5 m3/h: 12 x 0.5 = 6 m3 short; at 2: none.

    Made at 1 m3/h, just the mean: 12 x 1 = 12 m3, half of the day's demand, as a level
    production always needs for it.
    """
    hourly = hourly_demand_m3_h(24.0, profile_shares(NIGHT_AND_DAY))
    assert peak_storage_m3(hourly, 1.5) == pytest.approx(6.0)
    assert peak_storage_m3(hourly, 2.0) == 0.0
    assert peak_storage_m3(hourly, 1.0) == pytest.approx(12.0)


def test_a_peak_over_midnight_is_one_peak():
    numbers = [1.0] * 3 + [0.0] * 18 + [1.0] * 3
    hourly = hourly_demand_m3_h(12.0, profile_shares(numbers))
    assert peak_storage_m3(hourly, 1.0) == pytest.approx(6.0)  # 6 h at 2 less 1 m3/h


@pytest.mark.parametrize("numbers", [[1.0] * 23, [0.0] * 24, [-1.0] + [1.0] * 23])
def test_a_profile_that_makes_no_sense(numbers):
    with pytest.raises(OutOfRangeError, match="24 numbers"):
        profile_shares(numbers)


def test_a_profile_that_is_not_known():
    with pytest.raises(OutOfRangeError, match="working day"):
        profile_shares("sundays")


@pytest.mark.parametrize(
    "value", ["sundays", [1.0] * 25, [0.0] * 24, ["a"] * 24, [-1.0] * 24, 7, [True] * 24]
)
def test_the_site_file_refuses_such_a_profile(design_of, value):
    with pytest.raises(DesignError, match="demand_profile"):
        design_of(supply={"demand_profile": value})


def test_the_site_file_reads_both_forms(design_of):
    assert design_of(supply={"demand_profile": "Working Day"}).supply.demand_profile == (
        "working day"
    )
    numbers = design_of(supply={"demand_profile": list(range(24))}).supply.demand_profile
    assert numbers == tuple(float(n) for n in range(24))


def test_a_profile_sizes_the_tank(study_of, design_of, well):
    """All of it drawn by day: the tank must hold the peak, and the smallest one serves."""
    machine = {"product_flow_m3_h": 1.6, "recovery": 0.65, "hours_per_day": 16.0}
    hours = {"demand": "25.6 m3/d", "demand_profile": [0] * 8 + [1] * 8 + [0] * 8}
    level, _ = study_of(well, design_of(machine=machine))
    shift, _ = study_of(well, design_of(machine=machine, supply=hours))
    peak = shift.number("storage.peak_m3")
    assert peak == pytest.approx((25.6 / 8.0 - 1.6) * 8.0)  # 3.2 m3/h drawn, 1.6 made, 8 h
    assert shift.number("tanks.smallest_product_m3") > peak
    assert shift.number("tanks.smallest_product_m3") > level.number("tanks.smallest_product_m3")
    assert shift.number("storage.product_needed_m3") == pytest.approx(
        level.number("storage.product_needed_m3") + peak
    )
    assert shift.number("storage.lowest_demand_m3_h") == 0.0
    assert shift.number("storage.peak_demand_m3_h") == pytest.approx(3.2)
    assert shift.number("tanks.year_unmet_m3") == 0.0
    assert shift.number("tanks.year_served_m3") == pytest.approx(25.6 * 365.0, rel=1e-9)
    rows = shift.series["storage.demand_hours"].rows
    assert rows == ((0.0, 0.0), (8.0, pytest.approx(3.2)), (16.0, 0.0))


def test_the_profile_is_named(study_of, design_of, well):
    study, _ = study_of(well, design_of(supply={"demand_profile": "household"}))
    assert study.value("storage.demand_profile") == "household"
    assert study["storage.demand_profile"].evidence == "memory"
    level, _ = study_of(well, design_of())
    assert level.value("storage.demand_profile") == "level"
    assert level["storage.demand_profile"].origin == "assumed"
    assert "storage.peak_m3" not in level.figures


def test_smallest_tank_by_the_hand():
    """2 m3/h for 12 h, 1.5 made, no regenerations: at noon the tank V stands at 0.95 V.

    It falls by 2 m3/h to 0.6 V, where the machine starts, in 0.35 V/2 h; from then on by
    0.5 m3/h: 0.5 (12 - 0.175 V) = 0.6 V gives V = 6/0.6875 = 8.73 m3.
    """
    hourly = hourly_demand_m3_h(24.0, profile_shares(NIGHT_AND_DAY))
    tank = smallest_product_tank_m3(Plant(1.5, 2.0, 1.0, hourly))
    assert tank == pytest.approx(8.727, rel=0.011)  # the search narrows to 1 %
    plant = Plant(1.5, 2.0, tank, hourly)
    assert simulate(plant).unmet_m3 == 0.0
    assert simulate(replace(plant, product_tank_m3=0.98 * tank)).unmet_m3 > 0.0
