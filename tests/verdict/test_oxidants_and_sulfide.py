"""Sulfide on resin, chlorine of the well, arsenite behind an oxidant: through the command, invented wells.

That a brine drawn from an open tank brings air to the resin, where sulfide becomes sulfur:
common practice, no source; 0.3 mg/L is data/train_limits.csv (common practice).
"""

import json

import pytest
from typer.testing import CliRunner

from pretreat.cli import _register, app

_register()

REPORT = """Analyte,Result,Unit
pH (field),7.6,
Temperature,16,°C
Calcium,118,mg/L
Magnesium,42,mg/L
Sodium,95,mg/L
Potassium,5,mg/L
Strontium,0.9,mg/L
Barium,40,µg/L
Iron,<0.005,mg/L
Manganese,<0.005,mg/L
Aluminium,<0.01,mg/L
Alkalinity as CaCO3,390,mg/L
Sulfate,105,mg/L
Chloride,104,mg/L
Fluoride,0.3,mg/L
Nitrate as NO3,<0.5,mg/L
Silica,14,mg/L
Phosphate,<0.02,mg/L
Ammonium,<0.05,mg/L
Hydrogen sulfide,{sulfide},mg/L
SDI,2,
Turbidity,0.2,NTU
TOC,0.5,mg/L
"""
SITE = """
[site]
name = "Mill End (invented)"
[water]
analysis = "report.csv"
coldest_temperature_c = 14
warmest_temperature_c = 18
[machine]
product_flow = "1.5 m3/h"
recovery = 0.6
hours_per_day = 12
[product]
target = "process"
"""
SOFTENED = "[softener]\ninclude = true\n"


def sized(folder, sulfide, more=""):
    (folder / "report.csv").write_text(REPORT.format(sulfide=sulfide), encoding="utf-8")
    (folder / "site.toml").write_text(SITE + more, encoding="utf-8")
    out = CliRunner().invoke(app, ["size", str(folder / "site.toml"), "--draws", "128", "--json"])
    assert out.exit_code == 0, out.output
    return json.loads(out.stdout)


@pytest.mark.parametrize("sulfide", [0.6, 2.1])
def test_a_softener_asked_for_on_sulfide_is_for_a_pilot(tmp_path, sulfide):
    study = sized(tmp_path, sulfide, SOFTENED)
    codes = {flag["code"] for flag in study["flags"]}
    assert "sulfide_on_resin" in codes
    assert study["figures"]["verdict.answer"]["value"] == "depends"
    assert "brine comes from an open tank" in study["figures"]["verdict.reasons"]["value"]


@pytest.mark.parametrize("sulfide", [0.6, 2.1])
def test_no_softener_is_chosen_for_a_green_answer_on_sulfide(tmp_path, sulfide):
    study = sized(tmp_path, sulfide)
    softened = "softener" in study["figures"]["train.chosen"]["value"]
    assert not (softened and study["figures"]["verdict.answer"]["value"].startswith("fits"))


def test_without_sulfide_a_softener_stands(tmp_path):
    study = sized(tmp_path, "<0.01", SOFTENED)
    assert "sulfide_on_resin" not in {flag["code"] for flag in study["flags"]}


def sized_with(folder, more, whole=SITE):
    lines = REPORT.format(sulfide="<0.01") + more
    (folder / "report.csv").write_text(lines, encoding="utf-8")
    (folder / "site.toml").write_text(whole, encoding="utf-8")
    out = CliRunner().invoke(app, ["size", str(folder / "site.toml"), "--draws", "128", "--json"])
    assert out.exit_code == 0, out.output
    return json.loads(out.stdout)["figures"]["verdict.reasons"]["value"]


def test_chlorine_of_the_well_behind_one_stage_is_watched(tmp_path):
    """Chlorine destroys polyamide membranes; a spent bed gives no sign: common practice."""
    told = sized_with(tmp_path, "Free chlorine,0.4,mg/L\n")
    assert "free chlorine is 0.4 mg/L in the raw water" in told
    assert "stop the machine on it" in told
    assert "free chlorine" not in sized_with(tmp_path, "Free chlorine,<0.02,mg/L\n")


@pytest.mark.parametrize(
    ("train", "said"),
    [
        ('["chlorine", "contact_tank", "iron_filter", "bisulfite", "inhibitor", "cartridge"]',
         "this train feeds an oxidant"),
        ('["inhibitor", "cartridge"]', "oxidise it ahead"),
    ],
)  # fmt: skip
def test_arsenite_behind_an_oxidant_is_proved_not_oxidised_again(tmp_path, train, said):
    """Chlorine and permanganate oxidise arsenite in minutes: common practice, no source."""
    drunk = SITE.replace('"process"', '"drinking"') + f"[train]\nstages = {train}\n"
    told = sized_with(tmp_path, "Arsenic,0.045,mg/L\n", whole=drunk)
    assert said in told
