"""Gaps and signs of a report that a bare yes may not pass over; invented wells, by the command.

Ammonium of clean wells: common practice, no source; 0.5 mg/L: EU 2020/2184 (from memory). Barium
100 mg/L: 40 CFR 261.24 (from memory).
"""

import pytest

from tests.verdict import test_signed_for_drinking as wells
from tests.verdict.test_asked_of_the_analysis import SOFT
from tests.verdict.test_asked_of_the_analysis import judged as without
from tests.verdict.test_brown_water import judged


def test_no_temperature_anywhere_is_a_condition(tmp_path):
    study, told, why = without(tmp_path, {}, without=("Temperature",))
    assert told == "fits with conditions"
    assert "25 °C is used" in why
    assert "temperature" in wells.value(study, "verdict.measure_next")
    known = '[water]\nanalysis = "report.csv"\noperating_temperature_c = 15'
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(wells, "SITE", wells.SITE.replace('[water]\nanalysis = "report.csv"', known))
        assert without(tmp_path, {}, without=("Temperature",))[1] == "fits"


def test_phosphate_stands_with_what_was_not_measured(tmp_path):
    study, told, _ = without(tmp_path, {}, without=("Phosphate",))
    assert told == "fits"
    assert "phosphate" in wells.value(study, "verdict.not_measured")
    lines = {"pH (field)": "6.0,", "Calcium": "4,mg/L", "Sodium": "117,mg/L"}
    study, _, _ = without(tmp_path, lines, without=("Phosphate",))
    assert wells.value(study, "verdict.not_measured") == "total organic carbon"


@pytest.mark.parametrize(("amount", "sodium", "fits"), [("28", "40", False), ("1.2", "74", True)])
def test_much_ammonium_is_told_whatever_it_is_for(tmp_path, amount, sodium, fits):
    study, told, why = judged(tmp_path, {"Ammonium": f"{amount},mg/L", "Sodium": f"{sodium},mg/L"})
    assert (told == "fits") is fits
    assert ("sewage, a landfill or manure is likely" in why) is not fits
    assert ("1.5 mg/L passes into the product" in why) is not fits
    assert wells.value(study, "water.nh4_mg_l") == float(amount)


@pytest.mark.parametrize(("barium", "hazard"), [("3.4", True), ("0.05", False)])
def test_barium_of_a_regeneration_waste(tmp_path, barium, hazard):
    lines = {"Barium": f"{barium},mg/L", "Sulfate": "2,mg/L", "Chloride": "110,mg/L"}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(wells, "SITE", SOFT)
        study, told, why = judged(tmp_path, lines)
    assert ("40 CFR 261.24" in why) is hazard
    assert (told == "fits") is not hazard
    run = wells.value(study, "softener.meter_setting_m3")
    waste = wells.value(study, "softener.waste_m3_per_regeneration")
    assert (float(barium) * run / waste > 25.0) is hazard
