"""The commands log and record, run as a person would; the demo site is invented."""

import datetime
import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from simulator import START, simulate

from pretreat.record.readings import reading
from pretreat.record.store.book import add_readings, read_book

PROJECT = Path(__file__).resolve().parents[2]


@pytest.fixture
def site(tmp_path):
    for name in ("quarrow_vale.toml", "quarrow_vale_well_2.csv"):
        shutil.copy(PROJECT / "water_analyses" / name, tmp_path / name)
    return tmp_path / "quarrow_vale.toml"


def run(*words, code=0):
    done = subprocess.run(
        [sys.executable, "-c", "from pretreat.cli import main; main()", *map(str, words)],
        capture_output=True, text=True, check=False, cwd=PROJECT,
    )  # fmt: skip
    assert "Traceback" not in done.stderr + done.stdout, done.stderr
    assert done.returncode == code, done.stderr or done.stdout
    return done


def test_a_reading_is_written_in_any_unit(site):
    run("log", site, "temperature=59 F", "product_flow=7.0 gpm", "feed_pressure=150 psi",
        "soft_hardness=0.2 gpg", "--when", "2031-05-14 09:30", "--note", "new cartridge")  # fmt: skip
    (one,) = read_book(site.with_name("quarrow_vale.record.csv")).readings
    assert one.values["temperature_c"] == pytest.approx(15.0)
    assert one.values["product_flow_m3_h"] == pytest.approx(1.58988, rel=1e-5)
    assert one.values["feed_pressure_bar"] == pytest.approx(10.342, rel=1e-4)
    assert one.values["soft_hardness_mg_l_caco3"] == pytest.approx(3.42, rel=1e-2)
    assert one.note == "new cartridge"


def test_a_slip_of_units_is_said_at_once(site):
    done = run("log", site, "product_flow=26.7 gpm", "--when", "2031-05-14 09:30")
    assert "L/min written as US gallons per minute" in done.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["temperatur=15C"], "did you mean 'temperature'"),
        (["product_flow=26"], "has no unit"),
        (["temperature=150 C"], "look at its unit"),
        (["temperature=15C", "temperature=16C"], "given twice"),
        (["product_flow=3 bar"], "measures something else"),
    ],
)
def test_a_reading_that_cannot_be_is_refused(site, words, said):
    done = run("log", site, *words, code=1)
    assert said in done.stderr
    assert not site.with_name("quarrow_vale.record.csv").exists()


def test_gauges_are_listed(site):
    assert "* product_flow" in run("log", site).stdout


def test_the_record_is_judged(site, tmp_path):
    year = simulate(100_002, "scaling")
    path = site.with_name("quarrow_vale.record.csv")
    add_readings(path, *(reading(START + datetime.timedelta(days=float(day)), one)
                         for day, one in zip(year.days, year.readings, strict=True)))  # fmt: skip
    with path.open("ab") as file:
        file.write(b"2031-01-0")
    book = tmp_path / "r.xlsx"
    done = run("record", site, "--json", "-o", book)
    found = json.loads(done.stdout)
    codes = {flag["code"] for flag in found["flags"]}
    assert {"finding_scaling", "damaged_line", "safety_lock_out", "safety_acid"} <= codes
    assert "osmotic_from_conductivity" not in codes
    assert found["figures"]["record.last_flow_m3_h"]["value"] < 1.5
    assert len(found["series"]["record.trend_membranes"]["rows"]) == len(year.days)
    assert book.stat().st_size > 0
    assert "Scaling of the last membranes" in run("record", site).stdout


def test_no_record_is_one_line(site):
    assert "no such record" in run("record", site, code=1).stderr


def test_findings_that_tell_to_open_or_soak_carry_their_cautions():
    """Lock-out before opening, acid into water: common practice, no source."""
    from pretreat.core.tables import rows
    from pretreat.plant.cautions import cautions_on

    acts = ("soak", "look into", "into the bed", "regenerat", "change", "open", "weigh")
    for row in rows("findings.csv"):
        steps = row["next"].lower()
        if any(word in steps for word in acts) and row["key"] != "regenerations_many":
            cautions = cautions_on(set(row["safety"].split()))
            assert cautions, row["key"]
            assert all("local codes" in c.text.lower() for c in cautions)
    soak = next(r for r in rows("findings.csv") if "acid soak" in r["next"])
    (acid,) = cautions_on({"acid"})
    assert "acid" in soak["safety"].split()
    assert "hypochlorite" in acid.text
    assert "sulfide" in acid.text
