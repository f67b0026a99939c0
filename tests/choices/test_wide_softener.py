"""A softener whose flow would channel is no yes; an invented brackish well, by the command.

5 m/h and half of it: common practice, no source.
"""

import json

import pytest
from typer.testing import CliRunner

from pretreat.cli import _register, app

_register()

REPORT = """Analyte,Result,Unit
pH (field),7.2,
Temperature,22,°C
Calcium,340,mg/L
Magnesium,112,mg/L
Sodium,930,mg/L
Potassium,22,mg/L
Strontium,6,mg/L
Barium,20,µg/L
Iron,<0.02,mg/L
Manganese,<0.005,mg/L
Aluminium,<0.02,mg/L
Alkalinity as CaCO3,290,mg/L
Sulfate,850,mg/L
Chloride,1560,mg/L
Fluoride,0.6,mg/L
Nitrate as NO3,5,mg/L
Silica,18,mg/L
Phosphate,<0.05,mg/L
Ammonium,<0.05,mg/L
Turbidity,0.2,NTU
SDI,2,
Total organic carbon,0.6,mg/L
Hydrogen sulfide,<0.02,mg/L
"""
SITE = """
[site]
name = "Saltmarsh lane (invented)"
[water]
analysis = "report.csv"
coldest_temperature_c = 18
warmest_temperature_c = 26
[machine]
product_flow = "1.5 m3/h"
recovery = 0.6
hours_per_day = 14
element = "4x40"
[train]
stages = ["softener", "inhibitor", "cartridge"]
"""


def sized(folder, more=""):
    (folder / "report.csv").write_text(REPORT, encoding="utf-8")
    (folder / "site.toml").write_text(SITE + more, encoding="utf-8")
    out = CliRunner().invoke(app, ["size", str(folder / "site.toml"), "--draws", "64", "--json"])
    assert out.exit_code == 0, out.output
    return json.loads(out.stdout)


def value(study, key):
    return study["figures"][key]["value"]


def test_two_narrow_ones_in_turn_instead_of_wide_ones(tmp_path):
    study = sized(tmp_path)
    assert value(study, "softener.arrangement") == "duty-standby"
    assert value(study, "softener.velocity_m_h") >= 2.5
    assert value(study, "softener.interval_d") >= 0.5
    assert "may channel" not in value(study, "verdict.reasons")


def test_vessels_of_the_site_file_stay_and_leave_no_yes(tmp_path):
    study = sized(tmp_path, '[softener]\nvessels = 2\narrangement = "parallel"\n')
    assert value(study, "softener.arrangement") == "parallel"
    assert value(study, "softener.velocity_m_h") < 2.5
    assert value(study, "verdict.answer") in {"depends", "does not fit"}
    assert "may channel" in value(study, "verdict.reasons")


@pytest.mark.parametrize("wide", [True])
def test_what_stands_there_is_a_condition(tmp_path, wide):
    more = '[softener]\nresin_volume = "1900 L"\nvessel_diameter = "1.6 m"\nvessels = 2\n'
    more += 'salt_dose_g_l = 128\narrangement = "parallel"\n'
    (tmp_path / "report.csv").write_text(REPORT, encoding="utf-8")
    (tmp_path / "site.toml").write_text(SITE + more, encoding="utf-8")
    call = ["rate", str(tmp_path / "site.toml"), "--draws", "64", "--json"]
    out = CliRunner().invoke(app, call)
    assert out.exit_code == 0, out.output
    study = json.loads(out.stdout)
    assert ("may channel" in value(study, "verdict.reasons")) is wide
    assert value(study, "verdict.answer") == "fits with conditions"
