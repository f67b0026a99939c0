"""A and B of the elements from the readings of a record.

The gauges are those of a machine whose A, B and pressure drop are known, worked element by
element; what comes back through the command is compared with them. The water is feed B and the
array that of machine M2 (an own script; no measurement). Conductivity: McCleskey et al. 2012.
"""

import datetime
import itertools
import json

import pytest
from msgspec.structs import replace

from pretreat.core.tables import rows
from pretreat.membrane.elements.feed import element_feed
from pretreat.membrane.elements.operate import operate
from pretreat.membrane.elements.permeability import Membrane
from pretreat.record.fitted.gauges_of_fit import meter_us_cm, water_of_the_day
from pretreat.record.fitted.meaning import Movement, meaning
from pretreat.record.readings import reading
from pretreat.record.store.book import add_readings
from tests.cli.test_machine_elements import FEEDS
from tests.membrane.worked_machines import MACHINES

START = datetime.datetime(2031, 1, 5, 9)
MG_L, _, ARRAY, DUTY = MACHINES["M2"]
SITE = """[water]
analysis = "well.csv"
operating_temperature_c = 18
coldest_temperature_c = 8
warmest_temperature_c = 28
[machine]
product_flow = "0.5 m3/h"
recovery = 0.65
recycle_flow = "0.55 m3/h"
hours_per_day = 20
{elements}
[softener]
include = false
[train]
stages = ["inhibitor", "cartridge"]
{record}
"""
ELEMENTS = 'element = "4x40"\narray = [1]\nelements_per_vessel = 3'
NAMED = '[record]\nfile = "site.record.csv"\n'


def gauges(water, salt, drop, temp_c=18.0, strength=1.0):
    """Return what the gauges of the machine show."""
    feed = element_feed({k: v * strength for k, v in MG_L.items()}, temp_c)
    run = operate(ARRAY, Membrane(water, salt, drop_factor=drop), feed, DUTY)
    return {
        "temperature_c": temp_c,
        "feed_pressure_bar": run.feed_bar,
        "concentrate_pressure_bar": run.concentrate_bar,
        "product_pressure_bar": ARRAY.product_bar,
        "product_flow_m3_h": DUTY.product_m3_h,
        "drain_flow_m3_h": float(run.drain_m3_h),
        "recycle_flow_m3_h": DUTY.recycle_m3_h,
        "feed_conductivity_us_cm": meter_us_cm(feed, feed.amounts),
        "product_conductivity_us_cm": meter_us_cm(feed, run.march.permeate),
    }


@pytest.fixture
def site(tmp_path):
    """Return how to write a site, and readings so many days after the start."""

    def write(readings, record="", elements=ELEMENTS):
        made = [f"{k},{v},mg/L" for k, v in FEEDS["B"].items()]
        head = ["Parameter,Result,Unit", "pH,7.5,", "Temperature,18,C"]
        (tmp_path / "well.csv").write_text("\n".join([*head, *made]) + "\n", "utf-8")
        text = SITE.format(elements=elements, record=record)
        (tmp_path / "site.toml").write_text(text, "utf-8")
        for days, values in readings:
            when = START + datetime.timedelta(days=days)
            add_readings(tmp_path / "site.record.csv", reading(when, values))
        return "site.toml"

    return write


def _study(pretreat, command, *words):
    few = ("--draws", "64") if command in {"size", "rate"} else ()
    return json.loads(pretreat(command, *words, "--json", *few).stdout)


def _values(study):
    return {k: f["value"] for k, f in study["figures"].items()}


def test_both_readings_give_back_the_machine(site, pretreat):
    """A 3.9 to 3.3 and B 0.29 to 0.40, with water 6 degrees colder and 4 % saltier."""
    name = site([(0, gauges(3.9, 0.29, 1.05)), (200, gauges(3.3, 0.40, 1.1, 12.0, 1.04))])
    found = _study(pretreat, "record", name)
    value = _values(found)
    for state, water, salt, drop, strength in (
        ("baseline", 3.9, 0.29, 1.05, 1.0),
        ("last", 3.3, 0.40, 1.1, 1.04),
    ):
        assert value[f"fit.{state}_water_permeability_lmh_bar"] == pytest.approx(water, rel=1e-5)
        assert value[f"fit.{state}_salt_permeability_lmh"] == pytest.approx(salt, rel=1e-5)
        assert value[f"fit.{state}_drop_factor"] == pytest.approx(drop, rel=1e-4)
        assert value[f"fit.{state}_feed_salt_share"] == pytest.approx(strength, rel=1e-6)
    assert value["fit.last_water_moved_pct"] == pytest.approx(100 * (3.3 / 3.9 - 1), abs=0.01)
    assert value["fit.baseline_salt_moved_pct"] == pytest.approx(100 * (0.29 / 0.3 - 1), abs=0.01)
    assert str(value["fit.meaning"]).startswith("scaling (A -15 %, B +38 %")
    table = {row[0]: row[2:] for row in found["series"]["fit.permeability"]["rows"]}
    assert table["calcium, magnesium"][0] == 0.2  # divalent cations, common practice
    assert table["calcium, magnesium"][3] == pytest.approx(0.2 * 0.40, rel=1e-5)
    assert table["nitrate"][2] == pytest.approx(3.0 * 0.29, rel=1e-5)


def test_the_terminal_shows_the_three_states(site, pretreat):
    name = site([(0, gauges(3.9, 0.29, 1.05)), (200, gauges(3.3, 0.40, 1.1))])
    lines = pretreat("record", name).stdout.splitlines()
    head = next(i for i, line in enumerate(lines) if line.startswith("Elements, fitted"))
    assert lines[head].split()[-3:] == ["new", "baseline", "last"]
    assert lines[head + 1].split()[-4:-1] == ["4", "3.9", "3.3"]
    assert any("scaling (A -15 %" in line for line in lines)
    assert max(map(len, lines)) <= 80


def test_set_points_follow_the_reading_asked_for(site, pretreat):
    """The pressure to expect in cold water is that of the fitted machine, worked apart."""
    readings = [(0, gauges(3.9, 0.29, 1.05)), (200, gauges(3.3, 0.40, 1.1, 12.0, 1.04))]
    cold = element_feed(MG_L, 8.0)
    for wanted, water, salt, drop in (
        ("last", 3.3, 0.40, 1.1),
        ("baseline", 3.9, 0.29, 1.05),
        ("2031-07-24 09:00", 3.3, 0.40, 1.1),
    ):
        name = site(readings, NAMED + f'set_points_from = "{wanted}"')
        readings = []
        value = _values(_study(pretreat, "rate", name))
        true = operate(ARRAY, Membrane(water, salt, drop_factor=drop), cold, DUTY)
        pressure = value["settings.feed_pressure_coldest_bar"]
        # the study fills the charge balance of the analysis no further than it reads it
        assert pressure == pytest.approx(true.feed_bar, rel=2e-3), wanted
        assert value["machine.water_permeability_lmh_bar"] == pytest.approx(water, rel=1e-5)


@pytest.mark.thorough
def test_a_record_alone_moves_no_set_point(site, pretreat):
    plain = _values(_study(pretreat, "rate", site([(0, gauges(3.3, 0.40, 1.1))])))
    named = _values(_study(pretreat, "rate", site([], NAMED)))
    assert named["fit.baseline_water_permeability_lmh_bar"] == pytest.approx(3.3, rel=1e-5)
    for key in plain:
        assert named[key] == plain[key], key


def test_a_gauge_that_is_lacking_is_named_in_one_line(site, pretreat):
    last = gauges(3.3, 0.40, 1.1)
    del last["product_conductivity_us_cm"]
    name = site([(0, gauges(3.9, 0.29, 1.05)), (100, gauges(3.6, 0.33, 1.1)), (200, last)])
    found = _study(pretreat, "record", name)
    told = [f["text"] for f in found["flags"] if f["code"] == "fit_gauge_missing"]
    assert len(told) == 1
    assert "2031-07-24 09:00: it lacks product conductivity; that of 2031-04-15" in told[0]
    assert _values(found)["fit.last_water_permeability_lmh_bar"] == pytest.approx(3.6, rel=1e-5)


def test_feed_and_drain_meters_will_do(site, pretreat):
    last = gauges(3.3, 0.40, 1.1)
    last["feed_flow_m3_h"] = last.pop("product_flow_m3_h") + last["drain_flow_m3_h"]
    name = site([(0, gauges(3.9, 0.29, 1.05)), (200, last)])
    value = _values(_study(pretreat, "record", name))
    assert value["fit.last_water_permeability_lmh_bar"] == pytest.approx(3.3, rel=1e-5)


@pytest.mark.parametrize(
    ("record", "elements", "words"),
    [
        ('[record]\nset_points_from = "last"', ELEMENTS, "write file ="),
        pytest.param(
            NAMED + 'set_points_from = "2031-03-01"',
            ELEMENTS,
            "no reading of 2031-03-01",
            marks=pytest.mark.thorough,
        ),
        (NAMED + 'set_points_from = "yesterday"', ELEMENTS, "is not a date"),
        (NAMED + 'set_points_from = "last"', "", "no element is named"),
        pytest.param(
            NAMED + 'set_points_from = "last"',
            'element = "4x40"',
            "array",
            marks=pytest.mark.thorough,
        ),
        (
            '[record]\nfile = "none.csv"\nset_points_from = "last"',
            ELEMENTS,
            "no record none.csv yet",
        ),
    ],
)
def test_set_points_that_cannot_be_had(record, elements, words, site, pretreat):
    done = pretreat("rate", site([(0, gauges(3.9, 0.29, 1.05))], record, elements), code=1)
    assert words in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1


def test_gauges_that_contradict_each_other_are_a_flag(site, pretreat):
    last = gauges(3.3, 0.40, 1.1) | {"product_conductivity_us_cm": 5000.0}
    found = _study(pretreat, "record", site([(0, gauges(3.9, 0.29, 1.05)), (200, last)]))
    told = [f["text"] for f in found["flags"] if f["code"] == "fit_failed"]
    assert len(told) == 1
    assert "less than the feed" in told[0]


@pytest.mark.thorough
def test_a_water_of_another_strength_is_said(site, pretreat):
    name = site([(0, gauges(3.9, 0.29, 1.05)), (90, gauges(3.9, 0.29, 1.05, 18.0, 1.5))])
    assert any(f["code"] == "fit_other_water" for f in _study(pretreat, "record", name)["flags"])


def test_the_named_record_is_where_log_writes(site, pretreat, tmp_path):
    name = site([], '[record]\nfile = "gauges.csv"')
    pretreat("log", name, "temperature=15C", "--when", "2031-02-01 08:00")
    assert (tmp_path / "gauges.csv").exists()
    assert not (tmp_path / "site.record.csv").exists()


def test_no_fit_without_elements(site, pretreat):
    found = _study(pretreat, "record", site([(0, gauges(3.9, 0.29, 1.05))], elements=""))
    assert not any(k.startswith("fit.") for k in found["figures"])


def test_every_movement_has_a_meaning():
    """Signs of the trade: A falls and B rises is scaling, both rise wear, B alone a leak."""
    ratios = {"down": 0.7, "same": 1.0, "up": 1.5}
    for signs in itertools.product(ratios, repeat=3):
        found = meaning(Movement(*(ratios[s] for s in signs), 0.0))
        assert found.words, signs
    known = {row["key"] for row in rows("fit_meanings.csv")}
    for water, salt, drop, key in (
        (0.8, 1.4, 1.0, "scaling"),
        (0.85, 1.0, 1.3, "fouling_channel"),
        (0.85, 0.95, 1.0, "fouling_film"),
        (1.2, 1.6, 1.0, "wear"),
        (1.0, 1.5, 1.0, "leak"),
        (1.0, 1.0, 1.0, "unmoved"),
    ):
        assert meaning(Movement(water, salt, drop, 0.0)).key == key
        assert key in known


def test_age_alone_is_no_finding():
    """A falls 3 to 7 % and B rises 5 to 10 % a year in sound membranes (common practice)."""
    old = Movement(0.95**3, 1.075**3, 1.0, 3.0)
    assert meaning(old).key == "unmoved"
    assert meaning(replace(old, years=0.0)).key == "scaling"


def test_water_of_the_day_has_the_conductivity_read():
    analysis = element_feed(MG_L, 18.0)
    taken = reading(START, {"temperature_c": 9.0, "feed_conductivity_us_cm": 5000.0})
    found, share = water_of_the_day(analysis, taken)
    assert meter_us_cm(found, found.amounts) == pytest.approx(5000.0, rel=1e-9)
    assert float(found.temp_c) == 9.0
    assert share > 1.0
