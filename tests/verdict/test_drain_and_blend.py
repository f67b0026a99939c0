"""The user's own limit of the drain, and raw water in what people drink (common practice)."""

import pytest

from pretreat.stages import BY_KEY
from tests.choices.wells import analysis, sized
from tests.verdict.test_metals_left import IRON

HARD = analysis(ph=7.4, alkalinity=280, hardness=340, tds=600)
SOFT = '[train]\nstages = ["softener", "cartridge"]\n'


@pytest.mark.parametrize(
    ("limit", "expected"), [(300, "depends"), (1200, "depends"), (9000, "fits")]
)
def test_the_drain_limit_that_the_user_gives_is_held(tmp_path, limit, expected):
    more = f'{SOFT}[discharge]\nchloride = "{limit} mg/L"\n'
    study = sized(tmp_path, HARD, recovery=0.5, hours=12, more=more, draws=128)
    assert 1200 < study.number("discharge.chloride_mg_l") < 2400
    assert study.value("verdict.answer") == expected
    assert ("above the limit given" in study.value("verdict.reasons")) is (expected != "fits")


def test_a_limit_of_salt_a_day_is_held_alike(tmp_path):
    for limit, expected in ((2.0, "depends"), (90.0, "fits")):
        more = f'{SOFT}[discharge]\nsalt = "{limit} kg"\n'
        study = sized(tmp_path, HARD, recovery=0.5, hours=12, more=more, draws=128)
        assert study.value("verdict.answer") == expected


def test_a_train_that_keeps_the_limit_of_the_drain_comes_first(tmp_path):
    """At 84 % an inhibitor is open at its cautious limits; resin fits, by salt to the drain."""
    hard = analysis(ph=7.3, alkalinity=265, hardness=330, tds=560)
    chosen = {}
    for limit in (900, 9000):
        more = f'[discharge]\nchloride = "{limit} mg/L"\n'
        study = sized(tmp_path, hard, recovery=0.77, hours=12, more=more, draws=128)
        chosen[limit] = study.value("train.chosen")
        assert study.number("discharge.chloride_mg_l") <= limit
    assert "softener" in chosen[9000]
    assert "softener" not in chosen[900]


def test_the_train_that_keeps_the_limit_at_less_recovery_is_named(tmp_path):
    hard = analysis(ph=7.5, alkalinity=330, hardness=420, tds=700, SiO2=9.0)
    more = '[discharge]\nchloride = "650 mg/L"\n'
    study = sized(tmp_path, hard, recovery=0.89, hours=12, more=more, draws=128)
    assert study.number("discharge.chloride_mg_l") > 650
    assert study.value("verdict.answer") == "depends"
    assert "keeps it at " in study.value("verdict.reasons")


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
