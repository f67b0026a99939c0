"""Regenerations counted against load, by hand: 40 m3 a day at 400 g/m3 into 20 kg is 0.8 a day.

What is off enough to be told is our own choice; no source.
"""

import datetime

import pytest

from pretreat.membrane.gauges.pressure import OsmoticCurve
from pretreat.record.findings import findings
from pretreat.record.readings import reading
from pretreat.record.reference import Reference
from pretreat.record.rules.regenerations import last_span, regenerations_of

START = datetime.datetime(2031, 3, 3, 8, 0)
CURVE = OsmoticCurve((0.5, 1.0, 20.0), (28.0, 56.0, 1120.0), 15.0)
REFERENCE = Reference(CURVE, 1.6, 0.64, raw_hardness_mg_l_caco3=395.0, load_mg_l_caco3=400.0,
                      usable_capacity_kg=20.0, regenerations_per_week=7.0, hours_per_day=16.0,
                      salt_per_regeneration_kg=60.0)  # fmt: skip
STEADY = {
    "temperature_c": 15.0, "feed_pressure_bar": 11.0, "concentrate_pressure_bar": 10.0,
    "product_flow_m3_h": 1.6, "drain_flow_m3_h": 0.9, "feed_conductivity_us_cm": 1200.0,
    "product_conductivity_us_cm": 20.0,
}  # fmt: skip


def weeks(per_week, count=10, hours=112.0, **more):
    return [
        reading(START + datetime.timedelta(weeks=n),
                {**STEADY, "regenerations": float(round(per_week * n)),
                 "machine_hours_h": 500.0 + hours * n, **more})
        for n in range(count)
    ]  # fmt: skip


def keys(taken):
    return {f.key for f in findings(taken, REFERENCE)}


def test_the_sum_by_hand():
    """One week: 112 h x 2.5 m3/h = 280 m3; x 400 g/m3 = 112 kg; / 20 kg = 5.6."""
    found = regenerations_of(weeks(7, 2), REFERENCE)
    assert (found.treated_m3, found.by_load) == (pytest.approx(280.0), pytest.approx(5.6))
    assert (found.counted, found.by_programme, found.by_salt) == (7.0, pytest.approx(7.0), None)
    salted = regenerations_of(weeks(7, 2, salt_filled_kg=420.0), REFERENCE)
    assert salted.by_salt == pytest.approx(7.0)


def test_measured_hardness_counts_and_the_iron_of_the_design_stays_on_top():
    found = regenerations_of(weeks(7, 2, raw_hardness_mg_l_caco3=495.0), REFERENCE)
    assert found.by_load == pytest.approx(280.0 * 500.0 / 1000.0 / 20.0)


def test_without_an_hour_counter_the_hours_of_the_design_count():
    taken = [reading(r.when, {k: v for k, v in r.values.items() if k != "machine_hours_h"})
             for r in weeks(7, 2)]  # fmt: skip
    assert regenerations_of(taken, REFERENCE).treated_m3 == pytest.approx(7 * 16.0 * 2.5)


def test_as_the_programme_says_is_no_finding():
    assert keys(weeks(7)) == set()


def test_too_few_for_the_load():
    (found,) = findings(weeks(3.5), REFERENCE)
    assert found.key == "regenerations_few"
    assert "called for" in " ".join(found.evidence)


def test_far_more_than_programme_and_load():
    assert keys(weeks(14)) == {"regenerations_many"}


def test_an_idle_machine_needs_none():
    assert keys(weeks(0, hours=0.0)) == set()


@pytest.mark.parametrize("place", range(10))
@pytest.mark.parametrize("off", [-30.0, 30.0, 300.0])
def test_a_single_misread_counter_raises_nothing(place, off):
    taken = weeks(7)
    one = taken[place]
    value = max(one.get("regenerations") + off, 0.0)
    taken[place] = reading(one.when, {**one.values, "regenerations": value})
    assert keys(taken) == set()


@pytest.mark.parametrize("place", range(10))
def test_a_single_misread_hour_counter_raises_nothing(place):
    taken = weeks(7)
    one = taken[place]
    taken[place] = reading(one.when, {**one.values, "machine_hours_h": 5000.0})
    assert keys(taken) == set()


def test_a_counter_set_back_starts_anew():
    taken = weeks(7, 16)
    taken = taken[:6] + [
        reading(r.when, {**r.values, "regenerations": r.get("regenerations") - 40.0})
        for r in taken[6:]
    ]
    assert keys(taken) == set()
    assert last_span(taken, REFERENCE)[0].when >= taken[6].when
