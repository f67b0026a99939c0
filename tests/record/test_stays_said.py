"""A fault that grows stays said; what cannot be told is said as such. No source: our own aims."""

import datetime

import pytest

from pretreat.membrane.gauges.pressure import OsmoticCurve
from pretreat.record.alarms import alarms, standing_alarms
from pretreat.record.findings import findings
from pretreat.record.readings import reading
from pretreat.record.reference import Reference

START = datetime.datetime(2025, 3, 3, 9, 30)
GRAIN = 17.118
GOOD = {"temperature_c": 13.0, "feed_pressure_bar": 10.3, "concentrate_pressure_bar": 9.1,
        "product_flow_m3_h": 1.6, "drain_flow_m3_h": 0.86, "feed_conductivity_us_cm": 1150.0,
        "product_conductivity_us_cm": 22.0, "soft_hardness_mg_l_caco3": 2.0}  # fmt: skip
REFERENCE = Reference(OsmoticCurve((1.0, 20.0), (56.0, 1120.0), 15.0), 1.6, 0.65,
                      leakage_mg_l_caco3=2.0, iron_left_mg_l=0.1,
                      salt_per_regeneration_kg=40.0, raw_hardness_mg_l_caco3=380.0)  # fmt: skip


def week(number, **values):
    return reading(
        START + datetime.timedelta(days=7.0 * number), {**GOOD, **values}, "", number + 2
    )


@pytest.mark.parametrize("step", [0.1, 0.25, 0.5])
def test_a_leak_that_grows_is_said_at_every_reading_after_the_first_alarm(step):
    gpg = [0.5 + step * n for n in range(1 + round(3.5 / step))]
    readings = [week(n, soft_hardness_mg_l_caco3=g * GRAIN) for n, g in enumerate(gpg)]
    told = []
    for n in range(len(readings)):
        at_once = alarms(readings[n], readings[:n])
        found = findings(readings[: n + 1], REFERENCE)
        standing = {f.key for f in found if f.standing}
        later = standing_alarms(readings[: n + 1], standing, REFERENCE)
        told.append(bool(at_once))
        assert bool(at_once) <= bool(later or "resin_capacity" in standing)
    first = told.index(True)
    assert gpg[first] <= 1.6
    assert all(told[first:])


def test_a_steep_fall_is_raised_at_the_second_reading_that_agrees():
    sound = [week(n) for n in range(6)]
    low = {"product_flow_m3_h": 1.2, "drain_flow_m3_h": 1.0}
    assert not findings([*sound, week(6, **low)], REFERENCE)
    found = findings([*sound, week(6, **low), week(7, **low)], REFERENCE)
    assert found
    assert found[0].first == week(7).when


def test_without_a_gauge_between_the_stages_no_place_is_named():
    sound = [week(n) for n in range(10)]
    fouled = [week(10 + n, product_flow_m3_h=1.3, drain_flow_m3_h=0.95) for n in range(4)]
    (found,) = [
        f for f in findings([*sound, *fouled], REFERENCE) if f.key in {"fouling", "scaling"}
    ]
    assert "first" not in found.name
    assert "last" not in found.name


def test_causes_that_the_record_speaks_for_come_first():
    def at(n, hard, salt, raw):
        return week(n, soft_hardness_mg_l_caco3=hard, salt_filled_kg=salt,
                    regenerations=100.0 + 4 * n, raw_hardness_mg_l_caco3=raw)  # fmt: skip

    less_salt = [at(n, 2.0, 160.0, 380.0) for n in range(8)]
    less_salt += [at(n, 40.0, 90.0, 380.0) for n in range(8, 16)]
    harder = [at(n, 2.0, 160.0, 380.0) for n in range(8)]
    harder += [at(n, 40.0, 160.0, 470.0) for n in range(8, 16)]
    for readings, cause in ((less_salt, "less salt than set or a salt bridge"),
                            (harder, "raw water harder")):  # fmt: skip
        found = next(f for f in findings(readings, REFERENCE) if f.key == "resin_capacity")
        assert found.causes[0] == cause
