"""An ion that was not measured and that the balance gives away, through the commands.

What is lacking is counted by hand in milliequivalents (molar masses of IUPAC); invented wells.
"""

import pytest

from tests.verdict.test_lime_ahead import BASE, run, value

RED_BED = {
    "pH (field)": "7.4,",
    "Calcium": "300,mg/L",
    "Magnesium": "80,mg/L",
    "Sodium": "60,mg/L",
    "Potassium": "4,mg/L",
    "Iron": "0.02,mg/L",
    "Manganese": "0.01,mg/L",
    "Alkalinity as CaCO3": "250,mg/L",
    "Chloride": "60,mg/L",
    "Fluoride": "0.4,mg/L",
    "Nitrate as NO3": "5,mg/L",
    "Conductivity": "2150,µS/cm",
}


@pytest.fixture
def short(monkeypatch):
    monkeypatch.delitem(BASE, "Sulfate")


@pytest.mark.usefixtures("short")
def test_missing_sulfate_is_told_from_the_balance(tmp_path):
    """Cations 24.31 meq/L (14.97 Ca, 6.58 Mg, 2.61 Na, 0.10 K), anions 6.79: 17.5 of sulfate."""
    study = run(tmp_path, RED_BED)
    assert value(study, "water.so4_by_balance_mg_l") == pytest.approx(17.5 * 48.03, rel=0.01)
    why = value(study, "verdict.reasons")
    assert value(study, "verdict.answer") in ("depends", "does not fit")
    assert "17.5 meq/L of anions unaccounted for: about 840 mg/L of sulfate" in why


@pytest.mark.usefixtures("short")
def test_where_barium_and_strontium_are_harmless_it_is_still_a_condition(tmp_path):
    scant = RED_BED | {"Barium": "0.001,mg/L", "Strontium": "0.05,mg/L"}
    study = run(tmp_path, scant, '[train]\nstages = ["softener", "inhibitor", "cartridge"]\n')
    assert value(study, "verdict.answer") != "fits"
    assert "unaccounted for" in value(study, "verdict.reasons")


@pytest.mark.usefixtures("short")
def test_where_the_rest_closes_no_sulfate_is_claimed(tmp_path):
    low = RED_BED | {"Calcium": "80,mg/L", "Magnesium": "15,mg/L", "Sodium": "45,mg/L"}
    why = value(run(tmp_path, low), "verdict.reasons")
    assert "unaccounted for" not in why
