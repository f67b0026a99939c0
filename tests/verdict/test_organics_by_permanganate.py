"""What permanganate or ultraviolet light tells of organic matter, through the command.

Invented wells. Permanganate consumption is a measure of organic matter, no oxidant: ISO 8467,
definition; 5 mg/L as O2 is the indicator value of 98/83/EC, Annex I part C (from memory). Of
permanganate 31.61 mg, one fifth of a mole, are 8 mg of oxygen (stoichiometry).
"""

import pytest

from tests.verdict.test_lime_ahead import run, value
from tests.verdict.test_over_range import CLEAR

CODES = ("oxidant_in_water", "membrane_oxidant")


def codes(study):
    return {flag["code"] for flag in study["flags"]}


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        ("Oxidisability (KMnO4)", "6.8,mg/L O2"),
        ("Oxidizability (KMnO4)", "7.1,mg O2/L"),
        ("Oxygen consumed (KMnO4)", "8.2,mg/L"),
        ("KMnO4 value", "6.3,mg/L O2"),
        ("Kaliumpermanganatverbrauch", "31,mg/L KMnO4"),
        ("Oxidierbarkeit", "7.7,mg/L O2"),
        ("Indice de permanganate", "6.1,mg/L O2"),
        ("Ossidabilità", "6.4,mg/L O2"),
        ("Oxidabilidad al permanganato", "8.8,mg/L"),
        ("Permanganate", "7.4,mg/L O2"),
        ("UV absorbance 254 nm", "0.31,1/cm"),
        ("SAK 254", "24,1/m"),
    ],
)
def test_it_is_organic_matter_and_no_oxidant(tmp_path, name, printed):
    study = run(tmp_path, CLEAR | {name: printed})
    assert "organic matter fouls membranes" in value(study, "verdict.reasons")
    assert value(study, "verdict.answer") == "fits with conditions"
    assert "oxidant_in_water" not in codes(study)
    assert not any(key.startswith(("bisulfite.", "carbon.")) for key in study["figures"])


@pytest.mark.parametrize(
    ("name", "printed"),
    [
        ("Kaliumpermanganatverbrauch", "14,mg/L KMnO4"),  # 3.5 mg/L as O2
        ("Permanganate index", "1.4,mg/L O2"),
        ("UV absorbance 254 nm", "0.03,1/cm"),
        ("SAC 254", "2.6,1/m"),
    ],
)
def test_little_of_it_is_none(tmp_path, name, printed):
    assert "organic matter" not in value(run(tmp_path, CLEAR | {name: printed}), "verdict.reasons")


def test_permanganate_left_in_the_water_is_an_oxidant_still(tmp_path):
    assert "oxidant_in_water" in codes(run(tmp_path, CLEAR | {"Residual permanganate": "0.6,mg/L"}))
