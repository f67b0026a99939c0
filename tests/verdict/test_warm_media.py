"""Media of a train that the warmest water is too hot for are named beside elements and vessels.

Highest temperature of manganese greensand 27 C (80 F), from memory: data/media.csv.
"""

import pytest

from tests.choices.wells import analysis, sized

PLAIN = {"ph": 7.4, "alkalinity": 120, "hardness": 140, "tds": 340, "Fe": 0.6, "SiO2": 20.0}
STAGES = '[train]\nstages = ["iron_filter", "carbon", "softener", "cartridge"]\n'
COATED = '[iron_filter]\nmedium = "manganese dioxide coated sand"\nregeneration = "continuous"\n'


@pytest.mark.parametrize(
    ("temp", "more", "media", "elements"),
    [
        (20.0, "", False, False),
        (31.0, "", True, False),
        (42.0, "", True, True),
        (31.0, COATED, False, False),
    ],
)
def test_the_medium_that_is_too_hot_is_named(tmp_path, temp, more, media, elements):
    study = sized(tmp_path, analysis(**PLAIN, temp=temp), 0.5, more=STAGES + more, draws=64)
    why = str(study.value("verdict.reasons"))
    assert ("manganese greensand at most 27 °C (from memory)" in why) is media
    assert ("many elements, fibreglass vessels" in why) is elements
    assert "softening resin at most" not in why
