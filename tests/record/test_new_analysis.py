"""A new analysis against the old one, on the invented demo site: what changes, in words."""

import shutil
from functools import partial
from pathlib import Path

import pytest
from msgspec.structs import replace

from pretreat import study as whole
from pretreat.lab import read_analysis
from pretreat.record.figures import run_record
from pretreat.record.new_analysis import two_waters
from pretreat.record.running import as_standing, mode_of, run_running
from pretreat.record.store.book import Book
from pretreat.stages.site import read_site

SITES = Path(__file__).resolve().parents[2] / "water_analyses"
run_study = partial(whole.run_study, draws=64)  # what is compared does not hang on the draws
KEPT = ("softener.interval_d", "softener.programme_days", "softener.meter_setting_m3",
        "softener.salt_kg_per_regeneration", "iron_filter.interval_governing_d",
        "iron_filter.programme_days", "recovery.max")  # fmt: skip


@pytest.fixture(scope="module")
def site():
    design = read_site(SITES / "quarrow_vale.toml")
    return design, read_analysis(design.water.analysis)


def told(old, new, design):
    waters = two_waters(old, new, design, "new.csv", run_study)
    study = run_record(Book((), ()), run_running(old, design, run_study), waters)
    table = study.series["record.new_analysis"]
    rows = {row[0]: row[1:] for row in table.rows}
    return {f.code: f.text for f in study.flags if f.code.startswith("new_water")}, rows


def test_the_same_water_changes_nothing(site):
    design, water = site
    flags, rows = told(water, water, design)
    assert {row[-1] for row in rows.values()} == {"same"}
    assert not {c for c in flags if c not in {"new_water_replace", "new_water_softener"}}


def test_the_vessels_of_a_sized_site_stand(site):
    design, water = site
    sized = run_study(water, design)
    rated = run_study(water, as_standing(design, sized), "rate")
    for key in KEPT:
        assert rated.number(key) == pytest.approx(sized.number(key), rel=1e-6), key


def test_harder_water_shortens_the_interval_by_its_share(site):
    """The interval goes with one over the hardness load; the vessel stays the same."""
    design, water = site
    harder = replace(water, mg_l={**water.mg_l, "ca": 1.5 * water.mg_l["ca"]})
    flags, rows = told(water, harder, design)
    loads = rows["Softener: hardness load"]
    days = rows["Softener: interval: usable capacity used up"]
    assert days[1] / days[2] == pytest.approx(loads[2] / loads[1], rel=1e-9)
    assert "set the timer to every 0.5 days instead of every day" in flags["new_water_softener"]
    assert "the hardness load rises by" in flags["new_water_load"]
    assert "instead of" in flags["new_water_meter"]


def test_more_silica_lowers_the_recovery_and_says_so(site):
    design, water = site
    silica = replace(water, mg_l={**water.mg_l, "sio2": 3.0 * water.mg_l["sio2"]})
    flags, _ = told(water, silica, design)
    assert "falls" in flags["new_water_recovery"]
    assert "silica" in flags["new_water_recovery"]
    assert "product to drain" in flags["new_water_above_limit"]


def test_another_scale_is_named(site):
    design, water = site
    fluoride = replace(water, mg_l={**water.mg_l, "sio2": 1.0})
    flags, rows = told(water, fluoride, design)
    assert rows["Limited by"][2] != "silica"
    assert "before by silica" in " ".join(flags.values())


def test_installed_vessels_are_rated(site):
    assert mode_of(read_site(SITES / "quarrow_vale_installed.toml")) == "rate"
    assert mode_of(site[0]) == "size"


def test_the_command_shows_it(site, tmp_path):
    from test_commands import run

    for name in ("quarrow_vale.toml", "quarrow_vale_well_2.csv"):
        shutil.copy(SITES / name, tmp_path / name)
    text = (tmp_path / "quarrow_vale_well_2.csv").read_text("utf-8")
    (tmp_path / "new.csv").write_text(text.replace("Silica,24", "Silica,40"), "utf-8")
    done = run("record", tmp_path / "quarrow_vale.toml", "--analysis", tmp_path / "new.csv",
               "-o", tmp_path / "r.xlsx")  # fmt: skip
    said = " ".join(done.stdout.split())
    assert "Silica: 24 to 40 mg/L, 67 % up" in said
    assert "the maximum recovery falls" in said
    assert max(len(x) for x in done.stdout.splitlines() if str(tmp_path) not in x) <= 80
    assert (tmp_path / "r.xlsx").stat().st_size > 0
