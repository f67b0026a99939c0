"""Lead, lag and the vessel that regenerates: places, balances, and the steps of a front.

No published worked example was found; the checks are the hand's mass balance, an independent
simulation by small steps, and the shares of Davis (2010), Example 8-3.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from pretreat.core.errors import OutOfRangeError
from pretreat.stages.softener.lead_lag import exhausted_capacity_g_l, places_of_turn, turns


def test_each_vessel_leads_lags_and_regenerates_in_turn():
    """DAVIS2010 p. 8-13, two in series: the lag leads next, the lead regenerates."""
    for number in range(9):
        lead, lag, out = places_of_turn(number)
        assert sorted((lead, lag)) == [0, 1]
        assert out == lead
        assert places_of_turn(number + 1)[0] == lag


def test_capacity_run_to_exhaustion():
    """DAVIS2010, Example 8-3: breakthrough at 67 %: by hand (1 + 1/0.67)/2 = 1.246 times.

    45.8 g/L at 96 g/L of salt then holds 57.1 g/L; a dose of 60 g/L cannot drive off more
    than 60/1.168 = 51.4 g/L (stoichiometry).
    """
    assert exhausted_capacity_g_l(45.8, 96.0) == pytest.approx(57.1, abs=0.05)
    assert exhausted_capacity_g_l(45.8, 60.0) == pytest.approx(51.4, abs=0.05)


def test_turns_by_hand():
    """1 kg/h, breakthrough at 8 kg, exhausted at 10 kg.

    The first vessel passes 2 kg while it takes up 10: 12 h. The second starts with those 2:
    it takes up 8 and passes 2 in 10 h, as do all that follow.
    """
    first, *others = turns(5, 1.0, 8.0, 10.0)
    assert (first.hours, first.lead_kg, first.lag_kg) == (12.0, 10.0, 2.0)
    for turn in others:
        assert (turn.hours, turn.lead_kg, turn.lag_kg) == (10.0, 8.0, 2.0)


@given(st.floats(0.01, 50.0), st.floats(0.1, 100.0), st.floats(1.0, 1.99), st.integers(1, 12))
def test_all_hardness_is_taken_up_and_washed_out(load, breakthrough, growth, count):
    """Balance: what enters is on the vessels or was washed out."""
    run = turns(count, load, breakthrough, breakthrough * growth)
    entered = sum(turn.hours for turn in run) * load
    taken = sum(turn.lead_kg + turn.lag_kg for turn in run)
    washed = sum(turn.washed_out_kg for turn in run)
    assert taken == pytest.approx(entered, rel=1e-9)
    assert taken == pytest.approx(washed + run[-1].lag_kg, rel=1e-9)


def test_turns_against_a_front_in_small_steps():
    """An independent simulation: outlet share by what a vessel holds, steps of 0.001 h."""
    breakthrough, exhausted, load, step = 8.0, 10.0, 1.0, 1e-3
    held, found, started = [0.0, 0.0, 0.0], [], 0.0
    lead, clock, past = 0, 0.0, 0.0
    while len(found) < 4:
        # a straight front: the share passed rises from 0 to 1 over 2 x (10 - 8) kg of water
        share = min(1.0, max(0.0, past / (2.0 * (exhausted - breakthrough))))
        held[lead] += (1.0 - share) * load * step
        held[(lead + 1) % 3] += share * load * step
        past += load * step if held[lead] >= breakthrough else 0.0
        clock += step
        if share >= 1.0:
            found.append(clock - started)
            held[lead], started, past, lead = 0.0, clock, 0.0, (lead + 1) % 3
    for hours, turn in zip(found, turns(4, load, breakthrough, exhausted), strict=True):
        assert hours == pytest.approx(turn.hours, rel=2e-3)


@pytest.mark.parametrize(
    "numbers", [(0.0, 8.0, 10.0), (1.0, 0.0, 10.0), (1.0, 10.0, 8.0), (float("nan"), 8.0, 10.0)]
)
def test_turns_refuse_nonsense(numbers):
    with pytest.raises(OutOfRangeError, match="rising order"):
        turns(1, *numbers)


def softer(well):
    return replace(well, mg_l={**well.mg_l, "fe": 0.0, "mn": 0.0}, total_mg_l={})


def test_the_study_shows_what_each_vessel_sees(study_of, design_of, well):
    table = {"arrangement": "lead-lag", "control": "meter", "salt_dose_g_l": 160}
    study, _ = study_of(softer(well), design_of(softener=table))
    rows = {row[0]: row[1:] for row in study.series["softener.positions"].rows}
    hard, leak = (
        study.number(f"softener.{name}_mg_l_caco3") for name in ("hardness_load", "leakage")
    )
    assert rows["lead"][0] == hard
    assert rows["lead"][1] == rows["lag"][0]  # what leaves the lead enters the lag
    assert rows["lag"][1] == leak < rows["lag"][0] < hard
    assert sum(row[2] for row in rows.values()) == pytest.approx(0.0, abs=1e-9)
    taken = rows["lead"][2] + rows["lag"][2]
    water = study.number("softener.turn_d") * study.number("machine.feed_m3_d")
    assert taken == pytest.approx(water * hard / 1000.0, rel=1e-9)  # leakage is not credited
    drop = study.number("softener.pressure_drop_kpa")
    assert study.number("softener.pressure_drop_series_kpa") == 2.0 * drop
    year = study.number("softener.regenerations_per_year")
    assert study.number("softener.regenerations_per_vessel_year") == pytest.approx(year / 2.0)


def test_lead_run_to_exhaustion_outlasts_the_interval_by_the_hand(study_of, design_of, well):
    """No reserve in either, and 1.246 times the capacity."""
    study, _ = study_of(softer(well), design_of(softener={"arrangement": "lead-lag"}))
    ratio = study.number("softener.turn_d") / study.number("softener.interval_d")
    assert ratio == pytest.approx(1.246, rel=1e-3)


def test_simplex_and_lead_lag_keep_one_interval(study_of, design_of, well):
    """One vessel serves in each: only the reserve differs, which lead and lag do without."""
    keys = ("interval_d", "salt_kg_per_regeneration", "leakage_mg_l_caco3", "meter_setting_m3")
    kept = {"reserve": 0.0}
    found = []
    for arrangement in ("simplex", "duplex", "lead-lag"):
        study, _ = study_of(softer(well), design_of(softener={"arrangement": arrangement, **kept}))
        found.append([study.number(f"softener.{key}") for key in keys])
    assert found[0] == found[1] == found[2]


def test_a_twin_that_cannot_be_ready_is_told(study_of, design_of, well):
    """A litre of resin for every few minutes: the twin still regenerates when it is called."""
    table = {"arrangement": "duplex", "control": "meter", "resin_volume_l": 20.0,
             "vessel_diameter_m": 0.2, "salt_dose_g_l": 100.0}  # fmt: skip
    study, _ = study_of(softer(well), design_of(softener=table), "rate")
    assert "twin_not_ready" in {flag.code for flag in study.flags}
