"""The user's own limit of the drain, and raw water in what people drink (common practice)."""

import pytest

from pretreat.stages import BY_KEY
from tests.choices.wells import analysis, sized
from tests.verdict.test_metals_left import IRON

HARD = analysis(ph=7.4, alkalinity=280, hardness=340, tds=600)
SOFT = '[train]\nstages = ["softener", "cartridge"]\n'


@pytest.mark.parametrize(
    ("limit", "expected"), [(300, "depends"), (1200, "fits with conditions"), (9000, "fits")]
)
def test_the_drain_limit_that_the_user_gives_is_held(tmp_path, limit, expected):
    more = f'{SOFT}[discharge]\nchloride = "{limit} mg/L"\n'
    study = sized(tmp_path, HARD, recovery=0.5, hours=12, more=more, draws=128)
    assert 1200 < study.number("discharge.chloride_mg_l") < 2400
    assert study.value("verdict.answer") == expected
    assert ("above the limit given" in study.value("verdict.reasons")) is (expected != "fits")


@pytest.mark.parametrize("target", ["drinking", "process"])
def test_raw_water_blended_into_what_is_drunk_is_disinfected(tmp_path, target):
    train = '[train]\nstages = ["inhibitor", "cartridge", "blending"]\n[blending]\nshare = 0.1\n'
    more = f'element = "4x40"\n[product]\ntarget = "{target}"\n{train}'
    study = sized(tmp_path, HARD, recovery=0.5, hours=12, more=more, draws=128)
    assert ("filter and disinfect it" in study.value("verdict.reasons")) is (target == "drinking")


def test_the_card_says_what_of_the_permanganate_the_water_needs(tmp_path):
    study = sized(tmp_path, IRON, recovery=0.5, hours=12, draws=0)
    need = study.number("iron_filter.permanganate_needed_g_per_regeneration")
    assert 0 < need < study.number("iron_filter.permanganate_g_per_regeneration")
    keys = {setting.key for setting in BY_KEY["iron_filter"].card}
    assert "iron_filter.permanganate_needed_g_per_regeneration" in keys
