"""Results printed ">X": a lower bound, never thrown away, through the command.

Invented wells. That a result over the range is a least value: common practice, no source.
"""

import pytest

from tests.verdict.test_lime_ahead import run, value

CLEAR = {"pH (field)": "7.4,", "Calcium": "70,mg/L", "Magnesium": "18,mg/L"}
CLEAR |= {"Alkalinity as CaCO3": "230,mg/L", "Iron": "0.01,mg/L", "Manganese": "0.005,mg/L"}
CLEAR |= {"Chloride": "100,mg/L", "Sodium": "60,mg/L"}


@pytest.mark.parametrize(
    ("name", "printed", "key", "least", "told"),
    [
        ("Iron", ">4,mg/L", "water.fe_mg_l", 4.0, "iron is at least 4 mg/L"),
        pytest.param(
            "Strontium",
            "> 12,mg/L",
            "water.sr_mg_l",
            12.0,
            "strontium is at least 12 mg/L",
            marks=pytest.mark.thorough,
        ),
        ("Silica", ">70,mg/L", "water.sio2_mg_l", 70.0, "silica is at least 70 mg/L"),
        pytest.param(
            "Hydrogen sulfide",
            ">3,mg/L",
            "water.h2s_mg_l",
            3.0,
            "sulfide is at least 3 mg/L",
            marks=pytest.mark.thorough,
        ),
        pytest.param(
            "Free chlorine",
            ">2.2,mg/L",
            "water.free_chlorine_mg_l",
            2.2,
            "chlorine is at least 2.2",
            marks=pytest.mark.thorough,
        ),
    ],
)
def test_the_bound_is_used_and_the_verdict_is_put_off(tmp_path, name, printed, key, least, told):
    study = run(tmp_path, CLEAR | {name: printed})
    assert value(study, key) == pytest.approx(least)
    assert value(study, "verdict.answer") in ("depends", "does not fit")
    assert told in value(study, "verdict.reasons")
    assert "over_range" in [flag["code"] for flag in study["flags"]]


def test_a_measured_result_above_the_bound_stands_alone(tmp_path):
    study = run(tmp_path, CLEAR | {"Silica": ">20,mg/L", "Silica (SiO2)": "24,mg/L"})
    assert value(study, "water.sio2_mg_l") == pytest.approx(24.0)
    assert "is at least" not in value(study, "verdict.reasons")
