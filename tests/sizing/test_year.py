"""The simulated year: balances, the steady state it must agree with, and hand-made cases."""

from math import inf

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from pretreat.core.errors import OutOfRangeError
from pretreat.plant.calendar.simulated import Plant, Wash, night_is_due
from pretreat.plant.calendar.year import simulate
from pretreat.plant.water.product_tank import most_product_m3_d, smallest_product_tank_m3

PLANT = Plant(
    1.6,
    1.6 / 0.65,
    12.0,
    ((0.0, 1.6 * 16.0 / 24.0),),
    (
        Wash("iron filter", 60.0, 3.45, 1.0, permanganate_g=693.0),
        Wash("softener", 102.0, 4.65, 1.0, salt_kg=68.0, softens=True),
        Wash("carbon", 15.0, 1.7, 7.0, first_night=2),
    ),
    raw_tank_m3=5.0,
    well_m3_h=5.0,
    flush_m3=0.05,
    hardness_mg_l_caco3=350.0,
    leakage_mg_l_caco3=1.0,
)
ROUNDING = 1e-9


def closes(year, total):
    balances = (year.raw_balance_m3, year.product_balance_m3, year.hardness_balance_kg)
    return all(abs(b) <= ROUNDING * max(1.0, total) for b in balances)


def test_flat_demand_agrees_with_the_steady_state():
    """16 h/d of running make the demand; flushes and the first filling are the difference."""
    year = simulate(PLANT)
    made = 16.0 * 365.0 + year.flush_m3 / 1.6
    assert year.hours_run == pytest.approx(made, rel=2e-3)
    assert year.regenerations == {"iron filter": 365, "softener": 365, "carbon": 52}
    assert year.salt_kg == 365 * 68.0
    assert year.permanganate_kg == pytest.approx(365 * 0.693)
    assert year.served_m3 == pytest.approx(1.6 * 16.0 * 365.0, rel=1e-9)
    assert year.unmet_m3 == 0.0
    assert year.raw_m3 == pytest.approx(year.feed_m3 + year.wash_m3, abs=5.0)
    assert closes(year, year.raw_m3)


@settings(max_examples=30, deadline=None)
@given(
    st.floats(0.5, 40.0), st.floats(0.0, 3.0), st.floats(0.0, 3.0), st.floats(2.6, 9.0),
    st.sampled_from([0.5, 1.0, 2.0, 3.0, 4.0, 7.0, inf]),
)  # fmt: skip
def test_balances_close_whatever_the_plant(tank, day_demand, night_demand, well, gap):
    soft = Wash("softener", 100.0, 4.0, gap, 30.0 if gap == inf else inf, softens=True)
    plant = replace(
        PLANT, product_tank_m3=tank, well_m3_h=well, washes=(PLANT.washes[0], soft),
        demand_m3_h=((0.0, night_demand), (6.5, day_demand), (20.0, night_demand)),
    )  # fmt: skip
    year = simulate(plant, 90)
    assert closes(year, year.raw_m3)
    wanted = 90 * (13.5 * day_demand + 10.5 * night_demand)
    assert year.served_m3 + year.unmet_m3 == pytest.approx(wanted, rel=1e-9, abs=1e-9)
    assert year.lowest_product_m3 >= -1e-9
    assert 0.0 <= year.hours_run <= 90 * 24.0


def test_meter_regenerates_by_volume():
    """Every 30 m3 of feed: as many regenerations as the feed holds thirties."""
    plant = replace(PLANT, washes=(Wash("softener", 60.0, 3.0, meter_m3=30.0, softens=True),))
    year = simulate(plant)
    assert year.regenerations["softener"] == pytest.approx(year.feed_m3 / 30.0, abs=1.0)
    assert year.most_softened_m3 == pytest.approx(30.0, rel=1e-6)


def test_a_duplex_does_not_stop_the_machine():
    washes = (Wash("softener", 600.0, 4.0, 0.5, stops=False),)
    year = simulate(replace(PLANT, washes=washes))
    assert year.regenerations["softener"] == 730
    assert year.unmet_m3 == 0.0


def test_a_small_tank_runs_dry_by_the_amount_of_the_hand():
    """No machine for 10 h a night at 1 m3/h of demand: a 4 m3 tank lacks 10 - 0.95 x 4 m3 or more.

    Between 0.6 and 0.95 of the tank it starts anywhere, so the first night, from full, is exact.
    """
    plant = Plant(2.0, 3.0, 4.0, ((0.0, 1.0),), (Wash("all", 600.0, 1.0, 1.0),))
    first = simulate(plant, 1)
    assert first.unmet_m3 == pytest.approx(10.0 - 3.8, rel=1e-9)
    assert first.hours_without_water == pytest.approx(10.0 - 3.8, rel=1e-9)


def test_a_regeneration_waits_for_the_well():
    """5 m3 from an empty 1 m3 tank with 1 m3/h: 4 h instead of 30 min."""
    plant = Plant(1.0, 1.5, 50.0, ((0.0, 0.1),), (Wash("all", 30.0, 5.0, 7.0),), raw_tank_m3=1.0,
                  well_m3_h=1.0)  # fmt: skip
    year = simulate(plant, 1)
    assert year.lowest_raw_m3 == pytest.approx(0.0, abs=1e-9)
    assert closes(year, year.raw_m3)


def test_smallest_tank_serves_and_a_smaller_one_does_not():
    tank = smallest_product_tank_m3(PLANT)
    assert simulate(replace(PLANT, product_tank_m3=tank)).unmet_m3 == 0.0
    assert simulate(replace(PLANT, product_tank_m3=0.9 * tank)).unmet_m3 > 0.0


def test_no_tank_serves_a_demand_above_the_product():
    with pytest.raises(OutOfRangeError, match="makes at most"):
        smallest_product_tank_m3(replace(PLANT, demand_m3_h=((0.0, 1.7),)))


def test_most_product_of_a_day():
    """By hand: 24 h less 60 + 102 min a day and 15 min a week, at 1.6 m3/h."""
    expected = 1.6 * (24.0 - 162.0 / 60.0 - 15.0 / 60.0 / 7.0)
    assert most_product_m3_d(PLANT) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("gap", "nights"),
    [
        (1.0, [0, 1, 2, 3, 4, 5, 6]),
        (2.0, [0, 2, 4, 6]),
        (3.0, [0, 3, 6]),
        (4.0, [0, 3]),
        (7.0, [0]),
    ],
)
def test_nights(gap, nights):
    assert [day for day in range(7) if night_is_due(gap, day)] == nights


@pytest.mark.parametrize(
    "changes",
    [
        {"product_m3_h": 0.0}, {"product_m3_h": 3.0}, {"product_tank_m3": 0.0},
        {"start_share": 0.95}, {"demand_m3_h": ()}, {"demand_m3_h": ((1.0, 1.0),)},
        {"demand_m3_h": ((0.0, -1.0),)}, {"raw_tank_m3": 0.0, "well_m3_h": 1.0},
        {"washes": (Wash("odd", 1.0, 1.0, 5.0),)},
    ],
)  # fmt: skip
def test_plants_that_cannot_be(changes):
    with pytest.raises(OutOfRangeError):
        simulate(replace(PLANT, **changes))


def test_the_study_agrees_with_its_own_year(study_of, design_of, well):
    """Steady state against the simulated year: within 2 % or one regeneration."""
    machine = {"product_flow_m3_h": 1.6, "recovery": 0.65, "hours_per_day": 16.0,
               "days_per_year": 330}  # fmt: skip
    study, _ = study_of(well, design_of(machine=machine))
    pairs = (
        ("tanks.year_salt_kg", "softener.salt_kg_per_year", "softener.salt_kg_per_regeneration"),
        ("tanks.year_permanganate_kg", "iron_filter.permanganate_kg_per_year", None),
        ("tanks.year_regenerations_softener", "softener.regenerations_per_year", None),
        ("tanks.year_regenerations_iron_filter", "iron_filter.regenerations_per_year", None),
        ("tanks.year_raw_m3", "water_balance.raw_m3_year", None),
    )
    for simulated, steady, one in pairs:
        slack = 1.0 if one is None else study.number(one)
        assert study.number(simulated) == pytest.approx(study.number(steady), rel=0.02, abs=slack)
    assert study.number("tanks.year_hours_run_h") == pytest.approx(16.0 * 330.0, rel=0.02)
    assert study.number("tanks.year_unmet_m3") == 0.0


STEP_H = 1.0 / 1024.0  # exact in binary, so that midnights are met


def night_of_steps(plant: Plant, now: float, raw: float) -> tuple[float, float]:
    """Return when the regenerations of a midnight end, and the raw tank after them."""
    for wash in plant.washes:
        if night_is_due(wash.gap_d, round(now / 24.0) - wash.first_night):
            hours = wash.minutes / 60.0
            now += hours
            raw = min(raw + plant.well_m3_h * hours - wash.water_m3, plant.raw_tank_m3)
    return now, raw


def stepped(plant: Plant, days: int) -> dict[str, float]:
    """A plain simulation by small steps, written apart from the program's own."""
    start, stop = (s * plant.product_tank_m3 for s in (plant.start_share, plant.stop_share))
    p, r, running, locked, hours, unmet, low_r = stop, plant.raw_tank_m3, 0.0, 0.0, 0.0, 0.0, 1e9
    for n in range(round(days * 24.0 / STEP_H)):
        now = n * STEP_H
        demand = [rate for hour, rate in plant.demand_m3_h if hour <= now % 24.0][-1]
        if now % 24.0 == 0.0:
            locked, r = night_of_steps(plant, now, r)
        if now < locked or p >= stop:
            running = 0.0
        elif p <= start:
            running = 1.0
        p += (running * plant.product_m3_h - demand) * STEP_H
        unmet, p = unmet - min(p, 0.0), max(p, 0.0)
        hours += running * STEP_H
        if now >= locked:
            gain = (plant.well_m3_h - running * plant.feed_m3_h) * STEP_H
            r = min(r + gain, plant.raw_tank_m3)
        low_r = min(low_r, r)
    return {"hours": hours, "unmet": unmet, "low_r": low_r}


@pytest.mark.parametrize("tank", [2.0, 12.0])
def test_events_agree_with_small_steps(tank):
    """Steps of 3.5 s of an independent simulation, a day profile, ten days.

    The steps overshoot each switch; the error shrinks in proportion to the step.
    """
    profile = ((0.0, 0.3), (6.0, 2.0), (9.0, 0.9), (17.0, 2.2), (21.0, 0.5))
    plant = replace(PLANT, product_tank_m3=tank, flush_m3=0.0, demand_m3_h=profile)
    year, other = simulate(plant, 10), stepped(plant, 10)
    assert year.hours_run == pytest.approx(other["hours"], rel=1e-3)
    assert year.unmet_m3 == pytest.approx(other["unmet"], rel=2e-2, abs=1e-9)
    assert year.lowest_raw_m3 == pytest.approx(other["low_r"], abs=1e-2)


def test_a_tank_smaller_than_a_flush_starts_again():
    """Level 0 after each flush: the machine restarts after 4 min (15 starts an hour at most).

    It runs 0.35 x 0.1 m3 / 0.5 m3/h = 0.07 h from 60 to 95 % and, from empty, 0.19 h: at most
    24/(0.067 + 0.19) = 93 starts a day, and it delivers most of what is drawn.
    """
    plant = Plant(1.5, 2.5, 0.1, ((0.0, 1.0),), flush_m3=0.1)
    year = simulate(plant, 10)
    assert 88.0 <= year.starts / 10.0 <= 94.0
    assert year.hours_run == pytest.approx(year.starts * 0.19, rel=2e-2)
    assert closes(year, year.raw_m3)


def test_a_well_without_limit_and_a_raw_tank():
    """Not knowing the well's yield must not make a number that is none."""
    washes = (Wash("softener", 600.0, 4.0, 0.5, stops=False),)
    year = simulate(replace(PLANT, well_m3_h=inf, washes=washes), 20)
    assert year.raw_m3 == pytest.approx(year.feed_m3 + year.wash_m3, abs=10.0)
    assert closes(year, year.raw_m3)


def test_a_simulation_may_end_with_the_first_dry_day():
    short = replace(PLANT, product_tank_m3=1.0)
    ended, whole = simulate(short, 90, until_dry=True), simulate(short, 90)
    assert ended.unmet_m3 > 0.0
    assert ended.days < whole.days
    assert closes(ended, ended.raw_m3)
    assert simulate(PLANT, 90, until_dry=True) == simulate(PLANT, 90)


@settings(max_examples=15, deadline=None, phases=(Phase.explicit, Phase.generate))
@given(
    st.floats(0.2, 8.0), st.floats(0.4, 0.8), st.floats(1.0, 18.0), st.floats(30.0, 400.0),
    st.floats(0.0, 3.0), st.sampled_from(["calendar", "meter"]),
    st.sampled_from(["simplex", "duplex", "lead-lag"]),
)  # fmt: skip
def test_any_study_agrees_with_its_own_year(flow, recovery, hours, calcium, iron, control, vessels):
    """A level demand of what is made: within 2 % and one regeneration, whatever the plant.

    The year counts whole regenerations, and the last may still be running up at its end.
    """
    from pathlib import Path

    from pretreat.core.results import Ledger
    from pretreat.plant.machine import enter_machine
    from pretreat.plant.train import enter_train
    from pretreat.stages.site import design_from
    from pretreat.stages.stream import RawWater

    machine = {"product_flow_m3_h": flow, "recovery": recovery, "hours_per_day": hours,
               "days_per_year": 330}  # fmt: skip
    tables = {"machine": machine, "water": {"analysis": "x.csv"},
              "softener": {"control": control, "arrangement": vessels}}  # fmt: skip
    ledger, design = Ledger(), design_from(tables, Path())
    raw = RawWater({"ca": calcium, "na": 50.0, "fe": iron, "mn": 0.1}, ph=7.3)
    enter_machine(ledger, design)
    try:
        enter_train(ledger, raw, design, "size")
    except OutOfRangeError as problem:  # one vessel was asked for and none is large enough
        if "no vessel fits" in str(problem):
            return
        raise
    study = ledger.study()
    if "tanks.year_salt_kg" not in study.figures:
        assert "demand_not_met" in {flag.code for flag in study.flags}
        return
    number = study.number
    assert number("tanks.year_hours_run_h") == pytest.approx(
        hours * 330.0, rel=0.02, abs=number("tanks.product_m3") / flow
    )
    salt_kg = number("softener.salt_kg_per_year")
    allowed_kg = 0.02 * salt_kg + number("softener.salt_kg_per_regeneration")
    assert abs(number("tanks.year_salt_kg") - salt_kg) <= allowed_kg
    if "tanks.year_regenerations_iron_filter" in study.figures:
        yearly = number("iron_filter.regenerations_per_year")
        counted = number("tanks.year_regenerations_iron_filter")
        assert abs(counted - yearly) <= 0.02 * yearly + 1.0


def test_cycles_that_are_alike_are_counted_by_hand():
    """2 m3/h made, 1 drawn, switches at 0.6 and 0.95 of 2 m3: 0.7 h to fall, 0.7 h to fill."""
    year = simulate(Plant(2.0, 3.0, 2.0, ((0.0, 1.0),)), 70)
    assert year.starts == 70 * 24 / 1.4
    assert year.hours_run == pytest.approx(70 * 24 / 2)
    assert year.lowest_product_m3 == pytest.approx(1.2)
    assert (year.raw_m3, year.served_m3) == (pytest.approx(2520.0), pytest.approx(1680.0))


@pytest.mark.parametrize("tank", [0.15, 0.3, 1.4, 9.0])
@pytest.mark.parametrize("flush", [0.0, 0.05])
@pytest.mark.parametrize(("raw_tank", "well"), [(0.0, 5.0), (4.0, 5.0), (4.0, 2.0)])
@pytest.mark.parametrize(
    "washes",
    [
        (),
        (Wash("softener", 70.0, 1.0, meter_m3=33.0, softens=True),),
        (Wash("carbon", 15.0, 0.7, 3.0), Wash("softener", 90.0, 1.0, 1.0, softens=True)),
    ],
)
def test_cycles_passed_at_once_are_those_followed_one_by_one(tank, flush, raw_tank, well, washes):
    """With the levels kept every switch is followed; without, cycles that are alike are not."""
    demand = ((0.0, 0.31), (7.0, 0.83), (22.0, 0.31))
    plant = Plant(
        1.5, 2.4, tank, demand, washes, raw_tank, well, flush_m3=flush, hardness_mg_l_caco3=300.0
    )
    followed, passed = simulate(plant, 40, trace=True), simulate(plant, 40)
    assert (passed.starts, passed.regenerations) == (followed.starts, followed.regenerations)
    for name in ("hours_run", "raw_m3", "served_m3", "flush_m3", "unmet_m3", "wash_m3"):
        assert getattr(passed, name) == pytest.approx(getattr(followed, name), rel=1e-7, abs=1e-7)
    assert passed.lowest_product_m3 == pytest.approx(followed.lowest_product_m3, abs=1e-7)
    assert closes(passed, passed.raw_m3)
