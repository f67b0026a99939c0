"""Waters at the edge of what can be judged: sized all the same, and never left bare.

What a careful engineer does with a gap is judgement of the trade (common practice, no source).
"""

import pytest

from tests.choices.wells import analysis, sized

WELL = {"alkalinity": 200, "hardness": 60, "tds": 900}


@pytest.mark.parametrize("ph", [4.6, 9.5, 10.2])
@pytest.mark.parametrize("iron", [0.05, 2.0])
def test_no_ph_refuses_a_site(tmp_path, ph, iron):
    alkalinity = 5 if ph < 5 else 200
    water = analysis(**{**WELL, "alkalinity": alkalinity}, ph=ph, Fe=iron)
    study = sized(tmp_path, water, recovery=0.5, draws=0)
    assert study.value("train.chosen")


def test_iron_behind_an_aerator_outside_the_rate_law_is_blank_and_flagged(tmp_path):
    more = '[train]\nstages = ["aeration", "contact_tank", "iron_filter", "cartridge"]\n'
    water = analysis(**WELL, ph=9.5, Fe=2.0)
    study = sized(tmp_path, water, recovery=0.5, more=more, draws=0)
    assert study.value("aeration.iron_half_life_min") is None
    assert "iron_half_life_range" in {flag.code for flag in study.flags}
