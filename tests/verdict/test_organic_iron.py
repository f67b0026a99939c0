"""Colour or organic carbon beside iron asks for a jar test, through the commands.

More than 15 mg/L Pt of colour, or 2 to 3 mg/L of carbon, with iron that passes 0.45 µm after
aeration: organic iron (common practice, no source). The wells are invented.
"""

import pytest

from tests.verdict.test_lime_ahead import BASE, run, value

ALDER = {
    "pH (field)": "7.3,",
    "Calcium": "60,mg/L",
    "Magnesium": "12,mg/L",
    "Sodium": "20,mg/L",
    "Strontium": "0.2,mg/L",
    "Barium": "0.03,mg/L",
    "Iron": "2.0,mg/L",
    "Manganese": "0.04,mg/L",
    "Alkalinity as CaCO3": "170,mg/L",
    "Chloride": "40,mg/L",
    "Sulfate": "30,mg/L",
}


@pytest.fixture
def blind(monkeypatch):
    monkeypatch.delitem(BASE, "Total organic carbon")


@pytest.mark.usefixtures("blind")
@pytest.mark.parametrize("iron", ["2.0,mg/L", "0.6,mg/L"])
def test_a_coloured_iron_water_depends_on_a_jar_test(tmp_path, iron):
    study = run(tmp_path, ALDER | {"Colour": "60,mg/L Pt", "Iron": iron})
    assert value(study, "verdict.answer") == "depends"
    why = value(study, "verdict.reasons")
    assert "colour is 60 mg/L Pt beside" in why
    assert "Jar test before the train is ordered" in why
    assert "total organic carbon was not measured: have it measured" in why


@pytest.mark.parametrize(("colour", "carbon"), [("45", "2.7"), ("20", "1.0"), ("5", "2.6")])
def test_where_carbon_was_measured_it_is_a_condition(tmp_path, colour, carbon):
    signs = {"Colour": f"{colour},mg/L Pt", "Total organic carbon": f"{carbon},mg/L"}
    study = run(tmp_path, ALDER | signs)
    assert value(study, "verdict.answer") == "fits with conditions"
    assert "may be bound to organic matter" in value(study, "verdict.reasons")


@pytest.mark.usefixtures("blind")
def test_colour_without_iron_asks_for_the_carbon(tmp_path):
    study = run(tmp_path, ALDER | {"Colour": "35,mg/L Pt", "Iron": "0.01,mg/L"})
    why = value(study, "verdict.reasons")
    assert "organic matter fouls membranes" in why
    assert "bound" not in why


def test_a_clear_water_says_nothing_of_it(tmp_path):
    why = value(run(tmp_path, ALDER | {"Colour": "10,mg/L Pt"}), "verdict.reasons")
    assert "organic" not in why
