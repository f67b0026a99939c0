"""What is no scale and still takes a green verdict away (common practice, no source)."""

import pytest

from tests.choices.wells import analysis, sized

WATER = {"ph": 7.4, "alkalinity": 150, "hardness": 160, "tds": 600}
BARE = '[train]\nstages = ["inhibitor", "cartridge"]\n'


def answer(folder, water, more=BARE, **options):
    return sized(folder, water, recovery=0.5, more=more, draws=256, **options)


def test_the_water_itself_fits(tmp_path):
    study = answer(tmp_path, analysis(**WATER))
    assert study.value("verdict.answer") in {"fits", "fits with conditions"}
    assert "silt density index" in study.value("verdict.measure_next")


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        ({"Turbidity": 8.0}, "does not fit"),
        ({"TOC": 12.0}, "depends"),
        ({"H2S": 0.5}, "does not fit"),
    ],
)
def test_what_fouls_soon_is_no_green_verdict(tmp_path, more, expected):
    study = answer(tmp_path, {**analysis(**WATER), **more})
    assert study.value("verdict.answer") == expected


def test_a_well_that_yields_less_than_the_day_takes_does_not_fit(tmp_path):
    more = '[supply]\nwell_yield = "0.5 m3/h"\n' + BARE
    study = answer(tmp_path, analysis(**WATER), more=more)
    assert study.value("verdict.answer") == "does not fit"
    assert study.value("verdict.reasons").startswith("the train needs")
