"""Colour, carbon and particles: no result silences another one; invented wells, by the command.

15 mg/L Pt, 12 and 25 mg/L Pt for a mg/L of carbon: common practice, no source. 0.5 1/m at 436 nm
and 15 mg/L Pt are limits of drinking water (from memory).
"""

import pytest

from tests.verdict import test_signed_for_drinking as wells

CARBON = "Total organic carbon"


def judged(folder, lines):
    study = wells.asked(folder, lines)
    return study, *wells.told(study)


@pytest.mark.parametrize(
    ("colour", "carbon", "answer", "clash"),
    [
        ("60", "0.9", "fits with conditions", True),
        ("60", "1.95", "fits with conditions", True),
        ("60", "<0.5", "fits with conditions", True),
        ("20", "1.4", "fits with conditions", False),
        ("60", "4.8", "fits with conditions", False),
        ("110", "1.9", "depends", True),  # as 9 mg/L of carbon would
        ("14", "1.4", "fits", False),
    ],
)
def test_colour_counts_beside_a_measured_carbon(tmp_path, colour, carbon, answer, clash):
    study, told, why = judged(
        tmp_path, {"Colour": f"{colour},mg/L Pt", CARBON: f"{carbon},mg/L", "Ammonium": "0.4,mg/L"}
    )
    assert told == answer
    assert ("which it is must be known" in why) is (answer != "fits")
    assert ("one of the two is wrong" in why) is clash
    if answer != "fits":
        assert "UV absorbance at 254 nm" in wells.value(study, "verdict.measure_next")


@pytest.mark.parametrize(
    ("name", "printed", "fouls"),
    [
        ("Färbung (SAK 436)", "2.0,1/m", True),
        ("Färbung", "0.3,1/m", False),
        ("Apparent colour", "50,mg/L Pt", True),
        ("DOC", "5,mg/L", True),
        ("Turbidity (lab)", "3,NTU", True),
        ("SDI15", "6,", True),
        ("MFI", "30,s/L2", True),
        ("MFI", "1.2,s/L2", False),
    ],
)
def test_the_worse_of_two_results_counts(tmp_path, name, printed, fouls):
    benign = {CARBON: "0.6,mg/L", "Colour": "2,mg/L Pt"}
    study, told, _ = judged(tmp_path, benign | {name: printed})
    assert (told == "fits") is not fouls
    twice = [f["text"] for f in study["flags"] if f["code"] == "duplicate_results"]
    assert any("the higher is used" in text for text in twice) is (name != "MFI")
