"""Lime that a lift of the pH lays into tanks and beds ahead of the membranes, through the command.

The wells are invented. Index and calcium carbonate that can come down: `scaling` of the same water
with the pH behind the stage stands beside it (D3739; closed system of Standard Methods 2330); the
limits are common practice, no source.
"""

import json

import pytest
from typer.testing import CliRunner

from pretreat.cli import _register, app

_register()

BASE = {
    "pH (field)": "6.6,",
    "Temperature": "11,°C",
    "Calcium": "180,mg/L",
    "Magnesium": "38,mg/L",
    "Sodium": "50,mg/L",
    "Potassium": "4,mg/L",
    "Strontium": "0.6,mg/L",
    "Barium": "0.06,mg/L",
    "Iron": "2.5,mg/L",
    "Manganese": "1.2,mg/L",
    "Ammonium": "0.1,mg/L",
    "Alkalinity as CaCO3": "520,mg/L",
    "Sulfate": "40,mg/L",
    "Fluoride": "0.2,mg/L",
    "Nitrate as NO3": "1,mg/L",
    "Phosphate": "0.05,mg/L",
    "Chloride": "116.6,mg/L",
    "Silica": "12,mg/L",
    "Total organic carbon": "0.8,mg/L",
    "Turbidity": "0.4,NTU",
    "SDI": "2,",
}
SITE = """
[site]
name = "Carbonated hollow (invented)"
[water]
analysis = "report.csv"
[machine]
product_flow = "1.2 m3/h"
recovery = 0.6
hours_per_day = 16
element = "4x40"
"""
ALKALI = '[train]\nstages = ["aeration", "alkali", "chlorine", "contact_tank", "iron_filter", '
ALKALI += '"carbon", "softener", "inhibitor", "cartridge"]\n[iron_filter]\noxidant = "chlorine"\n'


def run(folder, more=None, site="", *, command=("size", "site.toml")):
    lines = BASE | (more or {})
    report = "Analyte,Result,Unit\n" + "".join(f"{k},{v}\n" for k, v in lines.items())
    (folder / "report.csv").write_text(report, encoding="utf-8")
    (folder / "site.toml").write_text(SITE + site, encoding="utf-8")
    first, name, *rest = command
    out = CliRunner().invoke(app, [first, str(folder / name), *rest, "--draws", "64", "--json"])
    assert out.exit_code == 0, out.output
    return json.loads(out.stdout)


def value(study, key):
    return study["figures"][key]["value"]


def test_alkali_on_a_hard_water_is_a_condition_and_says_how_much_lime(tmp_path):
    study = run(tmp_path, site=ALKALI)
    assert value(study, "verdict.answer") == "fits with conditions"
    # The filter works at 7.5; the acid of iron and manganese comes between.
    assert value(study, "iron_filter.ph") == pytest.approx(7.5, abs=0.01)
    ph = value(study, "alkali.ph")
    assert 7.5 < ph < 7.7
    # The same water at that pH, alkalinity 520 + what the caustic adds, with almost no product.
    added = value(study, "alkali.alkalinity_added_mg_l_caco3")
    sodium = 50 + value(study, "alkali.na_added_mg_l")
    raised = {
        "pH (field)": f"{ph},",
        "Alkalinity as CaCO3": f"{520 + added},mg/L",
        "Sodium": f"{sodium},mg/L",
    }
    beside = run(tmp_path, raised, command=("scaling", "report.csv", "--recovery", "0.0001"))
    lsi = value(beside, "scaling.lsi")
    assert value(study, "alkali.lsi") == pytest.approx(lsi, abs=0.02)
    ccpp = value(beside, "scaling.ccpp_mg_l_caco3")
    assert value(study, "alkali.ccpp_mg_l_caco3") == pytest.approx(ccpp, rel=0.03)
    assert f"index is {value(study, 'alkali.lsi'):+.2f}" in value(study, "verdict.reasons")
    assert "contact tank, iron filter, carbon, softener" in value(study, "verdict.reasons")
    assert "[alkali] target_ph" in value(study, "verdict.reasons")


def test_the_target_named_there_mends_it(tmp_path):
    study = run(tmp_path, site=ALKALI.replace('"aeration", ', "") + "[alkali]\ntarget_ph = 6.9\n")
    assert value(study, "alkali.lsi") <= 0.4
    assert "lime ahead" not in value(study, "verdict.reasons")


def test_a_water_of_few_bicarbonate_says_nothing(tmp_path):
    mild = {"Calcium": "80,mg/L", "Alkalinity as CaCO3": "260,mg/L", "pH (field)": "6.9,"}
    mild |= {"Chloride": "64,mg/L", "Magnesium": "25,mg/L"}
    study = run(tmp_path, mild, ALKALI)
    assert 0.0 < value(study, "alkali.lsi") < 0.4
    assert "lime ahead" not in value(study, "verdict.reasons")


def test_far_over_a_pilot_comes_first(tmp_path):
    spring = {"pH (field)": "6.0,", "Calcium": "220,mg/L", "Alkalinity as CaCO3": "900,mg/L"}
    spring |= {"Sodium": "200,mg/L", "Iron": "4,mg/L"}
    study = run(tmp_path, spring, ALKALI)
    assert value(study, "verdict.answer") == "depends"
    assert "run a pilot before anything is built" in value(study, "verdict.reasons")


def test_a_tank_open_to_the_air_is_judged_too(tmp_path):
    clear = {"Iron": "0.01,mg/L", "Manganese": "0.01,mg/L", "pH (field)": "7.1,"}
    tank = '[supply]\nraw_tank_volume = "6 m3"\nvented_raw_tank = true\n'
    study = run(tmp_path, clear, tank)
    assert value(study, "raw_tank.lsi") > 0.4
    assert "behind the vented raw tank" in value(study, "verdict.reasons")


def test_of_two_trains_that_do_as_well_the_one_without_lime_comes_first(tmp_path):
    """Greensand at pH 6.7 needs no air; stripped first, the index goes to +0.6."""
    carbonated = {"pH (field)": "6.75,", "Iron": "2.8,mg/L", "Manganese": "0.03,mg/L"}
    chosen = value(run(tmp_path, carbonated), "train.chosen")
    assert "aeration" not in chosen
    assert "iron_filter" in chosen
