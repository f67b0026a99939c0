"""Slips of units in readings and in the site file; the ratios are exact definitions.

1 psi = 6.894757 kPa, 1 US gallon = 3.785411784 L, 1 imperial gallon = 4.54609 L,
1 grain per US gallon = 17.118 mg/L.
"""

import shutil
from datetime import date, timedelta
from pathlib import Path

import pytest
from test_commands import run

from pretreat.lab import read_analysis
from pretreat.record.store.book import read_book
from pretreat.stages.site import read_site
from pretreat.study import run_study

SITES = Path(__file__).resolve().parents[2] / "water_analyses"
GOOD = ("temperature=15 C", "feed_pressure=11 bar", "concentrate_pressure=9.8 bar",
        "product_flow=26.7 L/min", "drain_flow=14.4 L/min", "feed_flow=41.1 L/min",
        "feed_conductivity=1200 uS/cm", "product_conductivity=21 uS/cm",
        "raw_hardness=435 mg/L as CaCO3", "softened=20 m3", "cartridge_in=3.3 bar")  # fmt: skip
SLIPS = [  # as typed, words that explain it
    ("temperature=59 C", "°F written as °C"),
    ("feed_pressure=160 kPa", "psi written as kPa"),
    ("feed_pressure=11 psi", "bar written as psi"),
    ("cartridge_in=3.3 psi", "bar written as psi"),
    ("cartridge_in=48 kPa", "psi written as kPa"),
    ("product_flow=26.7 gpm", "L/min written as US gallons per minute"),
    ("product_flow=26.7 igpm", "L/min written as imperial gallons per minute"),
    ("product_flow=7.05 L/min", "US gallons per minute written as L/min"),
    ("product_flow=26.7 L/h", "per minute written as per hour"),
    ("product_flow=1.6 m3/d", "per hour written as per day"),
    ("product_flow=7.05 gal/d", "per minute written as per day"),
    ("product_flow=1.6 gpm", "m3/h written as US gallons per minute"),
    ("product_flow=7.05 igpm", "US gallons read as imperial gallons"),
    ("feed_conductivity=1.2 uS/cm", "mS/cm written as µS/cm"),
    ("raw_hardness=25.4 mg/L as CaCO3", "grains per gallon (or German degrees) written as mg/L"),
    ("softened=5283 m3", "US gallons written as m3"),
    ("softened=20 gal", "m3 written as US gallons"),
    ("softened=20000 m3", "litres written as m3"),
]
REFUSED = [  # no gauge of this kind shows so much: refused, and the unit is pointed at
    "feed_pressure=160 bar", "feed_pressure=1100 bar", "temperature=150 C", "temperature=15 F",
    "cartridge_in=48 bar",
]  # fmt: skip


@pytest.fixture
def site(tmp_path):
    for name in ("quarrow_vale.toml", "quarrow_vale_well_2.csv"):
        shutil.copy(SITES / name, tmp_path / name)
    return tmp_path / "quarrow_vale.toml"


def entries(slip):
    name = slip.partition("=")[0]
    return [*(e for e in GOOD if not e.startswith(name + "=")), slip]


def list_of(site):
    path = site.with_name("quarrow_vale.record.csv")
    return read_book(path).readings if path.exists() else ()


def logged(capsys, site, words):
    """Run the command inside this process: a process for each slip would take minutes."""
    from pretreat.cli import log

    day = date(2025, 5, 1) + timedelta(days=len(list_of(site)))
    log.log(site, list(words), when=f"{day} 09:30")
    return capsys.readouterr()


def test_a_good_reading_says_nothing(capsys, site):
    assert logged(capsys, site, GOOD).err == ""
    assert logged(capsys, site, GOOD).err == ""


@pytest.mark.parametrize(("slip", "words"), SLIPS)
def test_a_slip_against_the_last_reading_is_named(capsys, site, slip, words):
    logged(capsys, site, GOOD)
    said = logged(capsys, site, entries(slip)).err
    assert words in said
    assert said.startswith("pretreat: written, but look again:")


@pytest.mark.parametrize("slip", ["temperature=59 C", "product_flow=26.7 gpm"])
def test_the_first_reading_is_held_against_the_site_file(capsys, site, slip):
    assert "looks like" in logged(capsys, site, [slip]).err


@pytest.mark.parametrize("slip", REFUSED)
def test_what_no_gauge_shows_is_refused(site, slip):
    assert "look at its unit" in run("log", site, slip, code=1).stderr


def test_pressure_rising_along_the_membranes_is_told(capsys, site):
    words = ["feed_pressure=9.8 bar", "concentrate_pressure=11 bar"]
    assert "read both again" in logged(capsys, site, words).err


def test_a_value_far_off_without_a_slip_is_to_be_read_again(capsys, site):
    logged(capsys, site, GOOD)
    assert "read it again" in logged(capsys, site, entries("feed_pressure=6 bar")).err


def flags(**changes):
    design = read_site(SITES / "quarrow_vale.toml")
    water = read_analysis(design.water.analysis)
    for section, values in changes.items():
        design = design.change(section, **values)
    return run_study(water, design, draws=64).flags


def codes(**changes):
    return {f.code: f.text for f in flags(**changes)}


def test_fahrenheit_in_the_site_file():
    found = flags(water={"operating_temperature_c": 59.0, "warmest_temperature_c": 60.0})
    text = " ".join(f.text for f in found if f.code == "temperature_unit_doubtful")
    assert 'write operating_temperature = "59 F"' in text
    assert "15.0 °C" in text


@pytest.mark.parametrize(("bar", "words"), [(90.0, '"90 psi"'), (1.5, '"150 psi"')])
def test_psi_in_the_site_file(bar, words):
    said = codes(machine={"feed_pressure_bar": bar, "reference_temperature_c": 15.0})
    assert words in said["pressure_unit_doubtful"]


def test_litres_a_minute_written_as_cubic_metres_an_hour():
    said = codes(machine={"product_flow_m3_h": 26.7})
    assert "L/min written as m3/h" in said["flow_unit_doubtful"]


def test_a_sound_site_file_has_no_doubts():
    assert not {c for c in codes() if c.endswith("unit_doubtful")}


@pytest.mark.parametrize("flow", ["26.667 L/min", "1.6 m3/h", "38.4 m3/d", "7.0446 gpm",
                                  "5.8659 igpm", "10144 gpd", "422.68 gph"])  # fmt: skip
def test_one_flow_in_every_unit_is_one_flow(tmp_path, flow):
    text = (SITES / "quarrow_vale.toml").read_text("utf-8").replace('"1.6 m3/h"', f'"{flow}"')
    for path in ("site.toml", "quarrow_vale_well_2.csv"):
        (tmp_path / path).write_text(text, "utf-8")
    shutil.copy(SITES / "quarrow_vale_well_2.csv", tmp_path)
    found = read_site(tmp_path / "site.toml").machine.product_flow_m3_h
    assert found == pytest.approx(1.6, rel=1e-4)
