"""What goes wrong when readings are written down by hand: dates, units, order, wrong readings.

The readings are invented. 1 grain per US gallon is 17.118 mg/L, 1 bar is 14.504 psi (exact
definitions of the units); soft water below one grain is common practice, no source.
"""

import datetime
import shutil
from pathlib import Path

import pytest
from msgspec.structs import replace

from pretreat.membrane.gauges.pressure import OsmoticCurve
from pretreat.record.alarms import alarms, standing_alarms
from pretreat.record.entry import joined, read_entries, us_units
from pretreat.record.findings import findings
from pretreat.record.order import doubtful_counters, doubtful_date, doubtful_order
from pretreat.record.readings import RecordError, baseline_of, gauges, reading
from pretreat.record.reference import Reference
from pretreat.record.store import book, lines
from pretreat.record.store.book import add_readings, read_book, strike_readings
from pretreat.report.text.us_words import in_us_words

SITES = Path(__file__).resolve().parents[2] / "water_analyses"
START = datetime.datetime(2025, 3, 3, 9, 30)
GOOD = {"temperature_c": 13.0, "feed_pressure_bar": 10.3, "concentrate_pressure_bar": 9.1,
        "product_flow_m3_h": 1.6, "drain_flow_m3_h": 0.86, "feed_conductivity_us_cm": 1150.0,
        "product_conductivity_us_cm": 22.0, "soft_hardness_mg_l_caco3": 2.0}  # fmt: skip
REFERENCE = Reference(OsmoticCurve((1.0, 20.0), (56.0, 1120.0), 15.0), 1.6, 0.65,
                      leakage_mg_l_caco3=2.0, iron_left_mg_l=0.1)  # fmt: skip


def week(number, line=0, **values):
    when = START + datetime.timedelta(days=7.0 * number)
    return reading(when, {**GOOD, **values}, "", line or number + 2)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "site.record.csv"


def test_a_struck_reading_stays_in_the_file_and_is_not_used(path):
    add_readings(path, week(0), week(1, feed_pressure_bar=9.5 / 14.504), week(2))
    before = path.read_bytes()
    strike_readings(path, week(1).when, "psi for bar")
    found = read_book(path)
    assert path.read_bytes().startswith(before)
    assert [r.when for r in found.readings] == [week(0).when, week(2).when]
    assert [(s.taken.when, s.why) for s in found.struck] == [(week(1).when, "psi for bar")]
    add_readings(path, week(1))  # written anew it stands
    assert len(read_book(path).readings) == 3


def test_a_strike_that_meets_nothing_names_the_nearest(path):
    add_readings(path, week(0))
    with pytest.raises(RecordError, match="nearest is 2025-03-03"):
        strike_readings(path, datetime.datetime(2025, 3, 4))


def test_a_record_with_fewer_gauges_is_read_and_goes_on(path, monkeypatch):
    few = {k: g for k, g in gauges().items() if "iron_filter" not in k and k != "raw_ph"}
    for module in (book, lines):
        monkeypatch.setattr(module, "gauges", lambda: few)
    add_readings(path, week(0))
    monkeypatch.undo()
    old = path.read_bytes()
    add_readings(path, week(1, raw_ph=7.2), week(2, iron_filter_in_bar=4.0))
    assert path.read_bytes().startswith(old)
    found = read_book(path)
    assert not found.damaged
    assert [len(r.values) for r in found.readings] == [8, 9, 9]
    assert path.read_text("utf-8").count("when,") == 2


def test_the_baseline_is_the_first_complete_reading_written():
    early = week(-500, line=9)  # a year written wrong
    readings = sorted([week(0), week(1), early], key=lambda r: r.when)
    assert baseline_of(readings).when == START
    assert baseline_of(readings, week(1).when).when == week(1).when
    with pytest.raises(RecordError, match="no complete reading"):
        baseline_of(readings, datetime.datetime(2025, 1, 1))


NOW = START + datetime.timedelta(days=8)


@pytest.mark.parametrize(
    ("taken", "words"),
    [
        (week(-600), "before the baseline"),
        (week(500), "today is 2025-03-11"),
        (week(0), "another reading of 2025-03-03 09:30 stands"),
    ],
)
def test_odd_dates_are_told(taken, words):
    assert words in " ".join(doubtful_date(taken, [week(0), week(1)], NOW))


def test_dates_in_order_are_not():
    assert doubtful_date(week(1), [week(0)], NOW) == ()


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"cartridge_in_bar": 3.0, "cartridge_out_bar": 3.6}, "above the pressure before the cart"),
        ({"iron_filter_in_bar": 3.0, "iron_filter_out_bar": 3.6}, "above the pressure before the"),
        ({"concentrate_pressure_bar": 10.9}, "pressure behind the last stage is 10.9 bar, above"),
        ({"product_conductivity_us_cm": 1300.0}, "product conductivity is 1300"),
        ({"raw_iron_mg_l": 1.0, "iron_out_mg_l": 1.2}, "above the iron of the raw water"),
        ({"product_flow_m3_h": 0.0}, "product flow is 0"),
    ],
)
def test_what_cannot_be_in_one_reading_is_told(values, words):
    assert words in " ".join(doubtful_order(week(0, **values)))
    assert doubtful_order(week(0)) == ()


@pytest.mark.parametrize(
    ("key", "values", "words"),
    [
        ("machine_hours_h", (1200.0, 1100.0), "read it again"),
        ("machine_hours_h", (1200.0, 1400.0), "200 h run in 168 h"),
        ("regenerations", (40.0, 39.0), "set back"),
    ],
)
def test_counters_do_not_go_back(key, values, words):
    before, after = (week(i, **{key: value}) for i, value in enumerate(values))
    assert words in " ".join(doubtful_counters(after, [before]))
    assert doubtful_counters(replace(after, values={key: values[0] + 100.0}), [before]) == ()


def test_one_alarming_reading_is_tested_again_and_no_finding():
    bad = week(6, soft_hardness_mg_l_caco3=300.0)
    readings = [*(week(i) for i in range(6)), bad]
    assert "test again now: hardness behind the softener is 300" in " ".join(alarms(bad, readings))
    assert not findings(readings, REFERENCE)
    assert len(standing_alarms(readings)) == 1
    assert standing_alarms([*readings, week(7)]) == ()  # tested again, and sound
    assert alarms(week(6, soft_hardness_mg_l_caco3=17.0)) == ()


def test_a_softener_faulty_from_the_beginning_does_not_set_its_own_level():
    hard = [2.0, 40.0, 40.0, 40.0, 41.0, 40.0, 40.0, 40.0, 40.0]
    readings = [week(i, soft_hardness_mg_l_caco3=h) for i, h in enumerate(hard)]
    (found,) = findings(readings, REFERENCE)
    assert found.key == "resin_capacity"
    assert "2 mg/L as CaCO3 in the programme" in found.evidence[0]


def test_a_bed_that_loads_up_ends_its_run():
    readings = [
        week(i, iron_filter_in_bar=4.0, iron_filter_out_bar=3.8 - (0.7 if i > 7 else 0.0))
        for i in range(12)
    ]
    (found,) = findings(readings, REFERENCE)
    assert found.key == "filter_pressure"
    assert "iron filter 0.9 bar, 0.7 bar above the lowest" in found.evidence[0]


def test_words_without_quotes_belong_together():
    words = joined(["feed_pressure=9.5", "bar", "raw_hardness=21", "gpg", "machine_hours=12"])
    assert words == ("feed_pressure=9.5 bar", "raw_hardness=21 gpg", "machine_hours=12")
    found = read_entries(words)
    assert found["raw_hardness_mg_l_caco3"] == pytest.approx(21 * 17.118, rel=1e-4)
    assert found["machine_hours_h"] == 12.0
    assert us_units(words)
    assert not us_units(["feed_pressure=9.5 bar", "product_flow=26 L/min"])


@pytest.mark.parametrize(
    ("si", "us"),
    [
        ("written as 9.5 bar, usual is 10 bar", "written as 138 psi, usual is 145 psi"),
        ("a rise of 0.7 to 1.0 bar", "a rise of 10.2 to 14.5 psi"),
        ("2.271 m3/h at 15 °C", "10 US gpm at 59 °F"),
        ("171.2 mg/L as CaCO3", "10 gpg as CaCO3"),
        ("at pH 7.3 and 18 °C", "at pH 7.3 and 64.4 °F"),
        ("conductivity at 25 °C", "conductivity at 25 °C"),
        ("a control of 25 gpm (94.6 L/min) is", "a control of 25 gpm is"),
        ("0.5 gpm (1.9 L/min, common practice)", "0.5 gpm (common practice)"),
        ("2.7 kg for each m3 of product", "22.5 lb for each 1,000 US gal of product"),
        ("46 g of Fe + 2 Mn per litre a year", "2.87 lb of Fe + 2 Mn per ft3 a year"),
        ("a kilogram of salt takes 142.86 g of hardness; best is 571 g (4000 grains a pound)",
         "a pound of salt takes 1,000 grains of hardness; best is 4000 grains a pound"),
        ("holds 28.32 L of the 56.63 L needed", "holds 1 ft3 of the 2 ft3 needed"),
        ("2031-05-18 09:30: iron 0.3 mg/L, 5 kg/year", "2031-05-18 09:30: iron 0.3 mg/L, 5 kg/year"),
    ],
)  # fmt: skip
def test_sentences_in_us_units(si, us):
    assert in_us_words(si) == us


def test_a_technician_in_us_units(tmp_path, capsys):
    from pretreat.cli import log
    from pretreat.cli.options import Units

    for name in ("quarrow_vale.toml", "quarrow_vale_well_2.csv"):
        shutil.copy(SITES / name, tmp_path / name)
    site = tmp_path / "quarrow_vale.toml"
    typed = ["temperature=59", "F", "feed_pressure=150 psi", "concentrate_pressure=132 psi",
             "product_flow=7 gpm", "drain_flow=3.8 gpm", "feed_conductivity=1150 uS/cm",
             "product_conductivity=22 uS/cm"]  # fmt: skip
    log.log(site, typed, when="2025-3-3 9:30")
    assert capsys.readouterr().err == ""
    log.log(site, ["feed_pressure=10.3", "psi", "soft_hardness=17 gpg"], when="2025-3-10 9:30")
    said = capsys.readouterr().err
    assert "usual is 150 psi: looks like bar written as psi" in said
    assert "--strike '2025-03-10 09:30'" in said
    assert "softener is 17 gpg" in said
    log.record(site, units=Units.us)
    shown = capsys.readouterr().out
    assert "test again now: hardness behind the softener is 17 gpg" in " ".join(shown.split())
    assert max(map(len, shown.splitlines())) <= 80
    assert "bar:" not in shown
    log.log(site, strike="2025-3-10 9:30", note="typed wrong")
    log.record(site, units=Units.us)
    shown = capsys.readouterr().out
    assert "test again" not in shown
    assert "was struck (typed wrong)" in " ".join(shown.split())
