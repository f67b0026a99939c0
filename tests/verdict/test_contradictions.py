"""What a report says twice and differently; invented wells, through the command.

Carbon dioxide by K1 of Plummer and Busenberg 1982: pH 7.3, 150 mg/L as CaCO3, 15 °C make 16 mg/L.
Twice, 1.5 times and the other shares are common practice, no source.
"""

import pytest

from pretreat.core.water import WaterAnalysis
from pretreat.lab.judge.contradictions import dissolved_co2_mg_l
from tests.verdict import test_signed_for_drinking as wells
from tests.verdict.test_brown_water import judged


def test_carbon_dioxide_of_ph_and_alkalinity():
    """By hand: 3 mmol/L x 10^(6.42 - 7.3) x 44.01, at 15 °C and no salt."""
    water = WaterAnalysis("x", "x", ph=7.3, ph_kind="field", temperature_c=15.0,
                          alkalinity_mg_l_caco3=150.1)  # fmt: skip
    assert dissolved_co2_mg_l(water) == pytest.approx(3.0 * 10 ** (6.42 - 7.3) * 44.01, rel=0.03)


@pytest.mark.parametrize(
    ("name", "printed", "clash"),
    [
        ("Free carbon dioxide", "120,mg/L", True),
        ("CO2", "1,mg/L", True),
        ("CO2", "19,mg/L", False),
        ("Base capacity KB8.2", "2.5,mmol/L", True),
        ("KB 8.2", "0.36,mmol/L", False),
        ("Langelier index", "1.2,", True),
        ("LSI", "-0.3,", False),
        ("Saturation index gypsum", "-2.1,", False),
        ("pHs", "6.2,", True),
    ],
)
def test_gas_and_indexes_against_ph(tmp_path, name, printed, clash):
    study, told, why = judged(tmp_path, {name: printed})
    assert told == ("fits with conditions" if clash else "fits")
    assert ("measure pH at the well" in why) is clash
    assert ("pH" in wells.value(study, "verdict.measure_next")) is clash
    assert ("report_contradicts" in {f["code"] for f in study["flags"]}) is clash


@pytest.mark.parametrize(
    ("name", "printed", "expected"),
    [
        ("Conductivity", "1900,µS/cm", "depends"),
        ("Conductivity (lab)", "1900,µS/cm", "fits with conditions"),  # beside the one at the well
        ("TDS", "1000,mg/L", "depends"),
        ("TDS", "480,mg/L", "fits with conditions"),
        ("TDS", "390,mg/L", "fits"),
        ("Total hardness", "400,mg/L as CaCO3", "depends"),
        ("Total hardness", "200,mg/L as CaCO3", "fits with conditions"),
        ("Carbonate hardness", "300,mg/L as CaCO3", "depends"),
        ("Carbonate hardness", "150,mg/L as CaCO3", "fits"),
        ("Calcium hardness", "300,mg/L as CaCO3", "depends"),
        ("Sum of cations", "12,meq/L", "depends"),
        ("Sum of anions", "6.1,meq/L", "fits"),
        ("Ion balance error", "14,%", "fits with conditions"),
        ("Calcium (Ca)", "160,mg/L", "depends"),
        ("Barium (ICP)", "0.5,mg/L", "depends"),
        ("Potassium (K)", "9,mg/L", "fits with conditions"),
        ("pH value (field)", "8.6,", "fits with conditions"),
        ("Bicarbonate", "400,mg/L", "depends"),
        ("Bicarbonate", "220,mg/L", "fits with conditions"),
        ("Bicarbonate", "183,mg/L", "fits"),
    ],
)
def test_two_results_of_one_thing(tmp_path, name, printed, expected):
    study, told, _ = judged(tmp_path, {name: printed})
    assert told == expected
    asked = wells.value(study, "verdict.measure_next")
    assert asked.startswith("nothing") is (expected == "fits")


def test_check_tells_it_too(tmp_path):
    study = wells.asked(tmp_path, {"CO2": "120,mg/L"}, command="check")
    assert "report_contradicts" in {f["code"] for f in study["flags"]}
