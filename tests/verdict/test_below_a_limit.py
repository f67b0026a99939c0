"""What was not detected and is counted at half of a coarse limit puts a verdict off.

Invented wells; that half of a limit of detection is no measurement: common practice, no source.
"""

import pytest

from tests.verdict.test_lime_ahead import run, value

SOFT = {"pH (field)": "7.3,", "Calcium": "45,mg/L", "Magnesium": "12,mg/L"}
SOFT |= {"Alkalinity as CaCO3": "170,mg/L", "Iron": "0.01,mg/L", "Manganese": "0.005,mg/L"}
SOFT |= {"Sodium": "60,mg/L", "Chloride": "78,mg/L"}
PLAIN = '[train]\nstages = ["inhibitor", "cartridge"]\n'


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ({"Iron": "<0.8,mg/L", "Manganese": "<0.1,mg/L"}, "iron and manganese"),
        ({"Hydrogen sulfide": "<1.4,mg/L"}, "hydrogen sulfide"),
    ],
)
def test_half_of_a_limit_is_no_refusal(tmp_path, lines, told):
    study = run(tmp_path, SOFT | lines, PLAIN)
    assert value(study, "verdict.answer") == "depends"
    why = value(study, "verdict.reasons")
    assert "none of it was found, half the limit of detection is counted" in why
    assert value(study, "verdict.measure_next").startswith(told)


def test_what_was_measured_is_refused(tmp_path):
    study = run(tmp_path, SOFT | {"Iron": "0.4,mg/L", "Manganese": "<0.1,mg/L"}, PLAIN)
    assert value(study, "verdict.answer") == "does not fit"
    assert "limit of detection" not in value(study, "verdict.reasons")
