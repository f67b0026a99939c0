"""Acid waters of mines and pyrite sands get a verdict, through the command: never a refusal.

The wells are invented. At pH 4.3 to 4.5 no alkalinity is left (Standard Methods 2320 B, the end
point of the titration, from memory); neutralise and settle ahead: common practice, no source.
"""

import pytest
from typer.testing import CliRunner

from pretreat.cli import app
from tests.verdict.test_lime_ahead import run, value

ADIT = {
    "pH (field)": "4.1,",
    "Iron": "28,mg/L",
    "Manganese": "6.5,mg/L",
    "Aluminium": "9,mg/L",
    "Magnesium": "70,mg/L",
    "Chloride": "15,mg/L",
    "Sulfate": "900,mg/L",
    "Alkalinity as CaCO3": "0,mg/L",
}
SAND = {
    "pH (field)": "4.6,",
    "Calcium": "12,mg/L",
    "Magnesium": "6,mg/L",
    "Sodium": "16,mg/L",
    "Iron": "2,mg/L",
    "Manganese": "0.4,mg/L",
    "Aluminium": "1.5,mg/L",
    "Chloride": "16,mg/L",
    "Sulfate": "85,mg/L",
    "Alkalinity as CaCO3": "0,mg/L",
}


@pytest.mark.parametrize(
    ("report", "answers"),
    [
        (ADIT, ("depends", "does not fit")),
        (ADIT | {"Alkalinity as CaCO3": "<2,mg/L"}, ("depends", "does not fit")),
        (ADIT | {"Iron": "12.5,mg/L"}, ("depends", "does not fit")),
        (SAND, ("depends", "does not fit")),
        (SAND | {"Alkalinity as CaCO3": "<5,mg/L"}, ("depends", "does not fit")),
        (SAND | {"Iron": "0.02,mg/L", "Manganese": "0.01,mg/L"}, ("depends", "does not fit")),
    ],
)
def test_an_acid_water_is_judged_and_told_to_be_neutralised(tmp_path, report, answers):
    study = run(tmp_path, report)
    assert value(study, "verdict.answer") in answers
    assert "neutralise it with lime or caustic" in value(study, "verdict.reasons")


def test_its_workbook_is_written(tmp_path):

    run(tmp_path, SAND)
    out = tmp_path / "acid.xlsx"
    words = ["size", str(tmp_path / "site.toml"), "--draws", "0", "-o", str(out)]
    found = CliRunner().invoke(app, words)
    assert found.exit_code == 0, found.output
    assert out.exists()


def test_vessels_that_stand_are_rated_on_more_iron_than_they_take(tmp_path):
    site = '[iron_filter]\nvessel_diameter = "600 mm"\nmedia_depth = "750 mm"\n'
    iron = {"Iron": "14,mg/L", "pH (field)": "7.2,"}
    study = run(tmp_path, iron, site, command=("rate", "site.toml"))
    assert value(study, "verdict.answer") != "fits"
    assert "takes up to 10 mg/L" in value(study, "verdict.reasons")


def test_a_water_a_little_acid_is_none_of_these(tmp_path):
    soft = SAND | {"pH (field)": "5.8,", "Alkalinity as CaCO3": "12,mg/L", "Aluminium": "0.01,mg/L"}
    assert "neutralise it with lime" not in value(run(tmp_path, soft), "verdict.reasons")
