"""UFC13FN: UFC 3-240-13FN, 25 May 2005, section 2-2.5.1.4, condition and life of softening resin;
beside it the ranges that practice gives for the other media."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pretreat.core.errors import OutOfRangeError
from pretreat.life.laws import capacity_loss_years, compounded_loss_years
from pretreat.life.lives import (
    CarbonDuty,
    CartridgeDuty,
    FilterDuty,
    SoftenerDuty,
    carbon_lives,
    cartridge_lives,
    filter_lives,
    softener_lives,
)
from pretreat.life.wear import CASES, wear
from pretreat.stages.softener.laws import END_OF_LIFE_CAPACITY

IDLE = SoftenerDuty(0.0, 0.0, 100.0, 0.0, 0.0, 0.0)


def test_resin_is_replaced_at_a_loss_of_a_quarter():
    """2-2.5.1.4.4, printed: 25 % of capacity or efficiency."""
    assert wear()["softener_loss_allowed"].likely == 25.0
    assert pytest.approx(1.0 - 0.25) == END_OF_LIFE_CAPACITY


@pytest.mark.parametrize(
    ("percent", "compounded", "years", "within"),
    [
        (5.0, False, 5.0, 0.001),  # printed: 5 years at 5 % a year
        (1.0, False, 25.0, 0.001),  # printed: 25 years at 1 % a year
        (5.0, True, 5.61, 0.002),  # computed from the printed rate
        (1.0, True, 28.6, 0.002),  # computed from the printed rate
    ],
)
def test_years_at_the_printed_losses(percent, compounded, years, within):
    found = (compounded_loss_years if compounded else capacity_loss_years)(percent)
    assert found == pytest.approx(years, rel=within)


def test_average_service_life():
    """2-2.5.1.4.4, printed: 5 to 25 years, 8 to 10 on average with good operation."""
    low, likely, high = (softener_lives(IDLE, case)["capacity"] for case in CASES)
    assert low == pytest.approx(5.0)
    assert likely == pytest.approx(9.0, abs=1.0)
    assert high == pytest.approx(25.0)


@given(st.floats(0.1, 60.0), st.floats(1.0, 90.0))
def test_compounded_loss_lasts_longer_than_linear(loss, allowed):
    linear = capacity_loss_years(loss, allowed)
    if loss < allowed:
        assert compounded_loss_years(loss, allowed) >= linear


@pytest.mark.parametrize("loss", [0.0, 100.0, -1.0])
def test_a_loss_that_makes_no_sense_is_refused(loss):
    with pytest.raises(OutOfRangeError, match="above 0"):
        capacity_loss_years(loss)


def test_cycles_of_three_years_daily_and_ten_years_twice_a_week():
    """Arithmetic: 1095 and 1040 regenerations, so the low count of data/wear.csv is both."""
    assert 3 * 365 == wear()["softener_cycles"].low == 1095
    assert 10 * 104 == 1040
    daily, twice = (SoftenerDuty(n, 0.0, 100.0, 0.0, 0.0, 0.0) for n in (365.0, 104.0))
    assert softener_lives(daily, "low")["cycles"] == pytest.approx(3.0)
    assert softener_lives(twice, "low")["cycles"] == pytest.approx(10.5, abs=0.1)


def test_free_chlorine_on_resin():
    """Common practice, no source: about 10 years at 1 mg/L all year, half at twice that; below
    0.5 mg/L chlorine does not usually limit."""

    def years(chlorine: float, case: str = "likely") -> float:
        duty = SoftenerDuty(100.0, 1000.0, 100.0, 0.0, chlorine, 1.0)
        return softener_lives(duty, case)["chlorine"]

    assert years(1.0) == pytest.approx(10.0)
    assert years(2.0) == pytest.approx(5.0)
    assert years(0.5) > softener_lives(IDLE)["capacity"]
    assert years(1.0, "high") <= 15.0


def test_manganese_greensand():
    """From memory: 5 to 10 years in municipal service; common practice, no source: 3 to 5 years
    in small units regenerated daily with permanganate."""
    municipal = FilterDuty(150.0, 0.0, 100.0, 0.0)
    ages = [filter_lives(municipal, case)["age"] for case in CASES]
    assert (ages[0], ages[-1]) == (5.0, 10.0)
    assert math.isinf(filter_lives(municipal)["cycles"])
    daily = FilterDuty(365.0, 0.0, 100.0, 0.0, regenerated=True)
    years = [filter_lives(daily, case)["cycles"] for case in CASES]
    assert years == pytest.approx([3.0, 4.0, 5.0])


def test_carbon_multimedia_and_cartridges():
    """Common practice, no source: 6 to 24 months; 5 to 10 years; 1 to 3 months."""
    carbon = CarbonDuty(52.0, 1000.0, 100.0, 0.0, 0.0)
    assert [carbon_lives(carbon, case)["age"] for case in CASES] == [0.5, 1.0, 2.0]
    sand = FilterDuty(365.0, 0.0, 100.0, 0.0, "multimedia_age")
    assert [filter_lives(sand, case)["age"] for case in CASES] == [5.0, 7.5, 10.0]
    cartridge = CartridgeDuty(1000.0, 1.0, 0.0)
    months = [cartridge_lives(cartridge, case)["age"] * 12 for case in CASES]
    assert months == pytest.approx([1.0, 2.0, 3.0])


def test_carbon_exhausted_by_chlorine():
    """Computed: 100 L at 0.48 kg/L and 1 g/g, half of it used, 1.488 m3/h round the clock with
    1 mg/L gives 672 d (1 g/g is common practice)."""
    duty = CarbonDuty(0.0, 1.488 * 24.0 * 365.0, 100.0, 0.0, 1.0)
    assert carbon_lives(duty)["chlorine"] * 365.0 == pytest.approx(672.0, rel=2e-3)


def test_organic_carbon_exhausts_carbon_in_months():
    """From memory: above 2 to 3 mg/L of organic carbon, carbon lasts months."""
    duty = CarbonDuty(0.0, 13_000.0, 283.0, 0.0, 0.0, organics_mg_l=3.0)
    assert 2.0 / 12.0 < carbon_lives(duty)["organics"] < 1.0
