"""The commands keep their names, columns, keys and exit codes."""

import csv
import io
import json
import math

import pytest

from tests.cli.conftest import ANALYSES

WELL = ANALYSES / "quarrow_vale_well_2.csv"
SCREEN_COLUMNS = (
    "id,recovery,status,ph,ionic_strength_mol_kg,tds_mg_l,ion_balance_pct,lsi,sdsi,si_calcite,"
    "si_aragonite,si_gypsum,si_barite,si_celestite,si_fluorite,si_silica,max_recovery,limited_by,flags"
).split(",")
TABLE = """\
id,pH,temperature_c,Ca,Mg,Na,K,Sr,Ba [ug/L],Alkalinity [mg/L as CaCO3],SO4,Cl,F,NO3,SiO2
first,7.35,15.2,118,34,86,6.2,1.9,85,285,146,138,0.9,6.2,24
no ph,,15.2,118,34,86,6.2,1.9,85,285,146,138,0.9,6.2,24
below,7.1,12,60,12,20,2,0.2,<10,180,30,20,0.2,3,12
part,7.6,20,80,15,30,,,,200,40,45,,,
"""


@pytest.fixture
def pretreat(pretreat_process):
    """As a person's shell runs it: streams and exit code are those of a process."""
    return pretreat_process


def _no_nan(text: str):
    def refuse(name):
        raise AssertionError(f"{name} in JSON")

    return json.loads(text, parse_constant=refuse)


@pytest.mark.parametrize("command", ["check", "scaling", "size", "rate", "screen", "new"])
def test_every_command_has_help_with_an_example(pretreat, command):
    assert f"Example: pretreat {command}" in pretreat(command, "--help").stdout


def test_check_json(pretreat):
    study = _no_nan(pretreat("check", WELL, "--json").stdout)
    figures = study["figures"]
    assert figures["water.ca_mg_l"]["value"] == 118
    assert figures["water.ba_mg_l"]["value"] == pytest.approx(0.085)
    assert figures["water.fe_mg_l"]["value"] == 1.5
    assert figures["water.fe_total_mg_l"]["value"] == 1.7
    assert figures["water.po4_mg_l"]["value"] is None
    assert figures["water.po4_mg_l"]["below"] == pytest.approx(0.05)
    assert figures["water.hco3_mg_l"]["value"] == pytest.approx(285 * 1.2193, rel=1e-4)
    for figure in figures.values():
        assert figure["origin"] in {"measured", "calculated", "assumed", "chosen"}
        assert figure["evidence"] in {
            "printed",
            "database",
            "computed",
            "memory",
            "common practice",
        }
        assert set(figure["inputs"]) <= set(figures)


def test_scaling_json_holds_the_named_keys(pretreat):
    figures = _no_nan(
        pretreat("scaling", WELL, "--recovery", "0.65", "--temperature", "18", "--json").stdout
    )["figures"]
    for key in (
        "concentrate.recovery concentrate.ph concentrate.ph_d3739 concentrate.tds_mg_l "
        "concentrate.ionic_strength_mol_kg concentrate.ca_mg_l scaling.lsi scaling.lsi_hand "
        "scaling.sdsi scaling.si_calcite scaling.si_gypsum scaling.si_barite "
        "scaling.si_celestite scaling.si_fluorite scaling.si_silica recovery.max "
        "recovery.max_inhibited recovery.limited_by water.ionic_strength_mol_kg"
    ).split():
        assert key in figures, key
    assert figures["concentrate.ca_mg_l"]["value"] == pytest.approx(118 / 0.35)
    assert figures["concentrate.recovery"]["value"] == 0.65


def test_scaling_in_us_units_changes_nothing_but_the_text(pretreat):
    si = pretreat("scaling", WELL, "--recovery", "0.6").stdout
    us = pretreat("scaling", WELL, "--recovery", "0.6", "--units", "us").stdout
    assert si != us
    a = pretreat("scaling", WELL, "--recovery", "0.6", "--json").stdout
    b = pretreat("scaling", WELL, "--recovery", "0.6", "--json", "--units", "us").stdout
    assert a == b


def test_text_fits_a_terminal_of_80_columns(pretreat):
    for words in (("check", WELL), ("scaling", WELL, "--recovery", "0.65")):
        assert max(map(len, pretreat(*words).stdout.splitlines())) <= 80


def test_screen_writes_a_row_per_water_and_recovery(pretreat, tmp_path):
    (tmp_path / "wells.csv").write_text(TABLE)
    done = pretreat("screen", "wells.csv", "--recovery", "0", "--recovery", "0.75")
    rows = list(csv.DictReader(io.StringIO(done.stdout)))
    assert list(rows[0]) == SCREEN_COLUMNS
    assert [r["id"] for r in rows] == [n for n in ("first", "no ph", "below", "part") for _ in "ab"]
    by = {(r["id"], float(r["recovery"])): r for r in rows}
    assert float(by["first", 0.0]["ph"]) == pytest.approx(7.35, abs=1e-4)
    assert by["no ph", 0.0]["status"] == "failed"
    assert by["no ph", 0.0]["si_gypsum"] == ""
    assert "ph_missing" in by["no ph", 0.0]["flags"].split(";")
    assert "non_detect" in by["below", 0.0]["flags"].split(";")
    assert by["below", 0.0]["si_barite"] != ""
    assert by["part", 0.0]["si_barite"] == ""
    assert "not_measured" in by["part", 0.0]["flags"].split(";")


def test_screen_agrees_with_scaling(pretreat, tmp_path):
    (tmp_path / "wells.csv").write_text(TABLE)
    screened = list(
        csv.DictReader(io.StringIO(pretreat("screen", "wells.csv", "--recovery", "0.65").stdout))
    )[0]
    figures = _no_nan(pretreat("scaling", "wells.csv", "--recovery", "0.65", "--json").stdout)[
        "figures"
    ]
    for column in ("lsi", "sdsi", "si_gypsum", "si_barite", "si_silica"):
        assert float(screened[column]) == pytest.approx(
            figures[f"scaling.{column}"]["value"], abs=2e-5
        )


def test_screen_into_a_file_says_nothing_on_stdout(pretreat, tmp_path):
    (tmp_path / "wells.csv").write_text(TABLE)
    done = pretreat("screen", "wells.csv", "--recovery", "0.5", "-o", "out/screened.csv")
    assert done.stdout == ""
    assert len((tmp_path / "out/screened.csv").read_text().splitlines()) == 5


def test_screen_goes_on_when_one_file_is_bad(pretreat, tmp_path):
    (tmp_path / "wells.csv").write_text(TABLE)
    done = pretreat("screen", "none.csv", "wells.csv", "--recovery", "0.5")
    assert "none.csv" in done.stderr
    assert len(done.stdout.splitlines()) == 5
    pretreat("screen", "none.csv", "--recovery", "0.5", code=1)


@pytest.mark.parametrize("site", ["quarrow_vale", "drover_flat", "ashfell_ridge"])
def test_size_writes_a_workbook(pretreat, tmp_path, site):
    done = pretreat("size", ANALYSES / f"{site}.toml")
    assert (tmp_path / "reports" / f"{site}.xlsx").stat().st_size > 5_000
    assert max(map(len, done.stdout.splitlines())) <= 80


def test_size_json_writes_no_workbook(pretreat, tmp_path):
    figures = _no_nan(pretreat("size", ANALYSES / "quarrow_vale.toml", "--json").stdout)["figures"]
    assert not (tmp_path / "reports").exists()
    for key in (
        "softener.load_kg_caco3_d softener.resin_volume_l softener.resin_filled_l "
        "softener.capacity_g_caco3_l softener.interval_d softener.programme_days "
        "softener.meter_setting_m3 softener.salt_kg_per_regeneration softener.salt_kg_per_year "
        "softener.leakage_mg_l_caco3 softener.waste_m3_per_regeneration iron_filter.area_m2 "
        "iron_filter.media_volume_l iron_filter.interval_d iron_filter.interval_all_water_d "
        "iron_filter.programme_days iron_filter.permanganate_g_per_regeneration "
        "iron_filter.backwash_flow_m3_h machine.feed_flow_m3_h machine.concentrate_flow_m3_h "
        "machine.product_flow_m3_h machine.recycle_flow_m3_h scaling.lsi untreated.scaling.lsi "
        "recovery.max untreated.recovery.max concentrate.ca_mg_l"
    ).split():
        assert key in figures, key
    assert figures["machine.feed_flow_m3_h"]["value"] == pytest.approx(1.6 / 0.65)
    for figure in figures.values():
        assert set(figure["inputs"]) <= set(figures)
        assert figure["value"] is None or not (
            isinstance(figure["value"], float) and math.isnan(figure["value"])
        )


def test_rate_works_from_a_test_kit(pretreat, tmp_path):
    (tmp_path / "kit.toml").write_text(
        '[water]\nhardness = "21 gpg"\niron = "1.5 mg/L"\nmanganese = "0.2 mg/L"\n'
        '[machine]\nproduct_flow = "1.6 m3/h"\nrecovery = 0.65\nhours_per_day = 16\n'
        '[softener]\nresin_volume = "283 L"\nvessel_diameter = "24 in"\nsalt_dose_g_l = 160\n'
        '[iron_filter]\nvessel_diameter = "24 in"\nmedia_depth = "0.76 m"\n'
    )
    study = _no_nan(pretreat("rate", "kit.toml", "--json").stdout)
    assert study["figures"]["softener.interval_d"]["value"] > 0
    assert "scaling.lsi" not in study["figures"]
    assert any(flag["code"] == "chemistry_absent" for flag in study["flags"])


def test_new_writes_a_form_and_a_site_file(pretreat, tmp_path):
    pretreat("new", "my_site")
    assert (tmp_path / "my_site/site.toml").exists()
    assert (tmp_path / "my_site/analysis_form.xlsx").exists()
    assert "exists already" in pretreat("new", "my_site", code=1).stderr
