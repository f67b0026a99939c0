"""A softener alone needs standstill to regenerate; two that take turns need none (DAVIS2010)."""

import pytest

from tests.choices.wells import analysis, sized

HARD = analysis(ph=7.4, alkalinity=280, hardness=340, tds=600)
ALONE = '[train]\nstages = ["softener", "cartridge"]\n[softener]\narrangement = "single"\n'


def test_a_single_softener_without_an_hour_left_does_not_fit(tmp_path):
    study = sized(tmp_path, HARD, recovery=0.5, hours=24, more=ALONE, draws=128)
    assert study.value("verdict.answer") == "does not fit"
    assert "regenerations that stop the machine" in study.value("verdict.reasons")


def test_with_hours_left_it_fits(tmp_path):
    study = sized(tmp_path, HARD, recovery=0.5, hours=16, more=ALONE, draws=128)
    assert study.value("verdict.answer").startswith("fits")


@pytest.mark.parametrize("hours", [22.8, 23.5])
def test_sizing_takes_a_second_softener_where_the_day_is_too_short(tmp_path, hours):
    iron = {**HARD, "Fe": 1.0, "Mn": 0.15}
    train = '[train]\nstages = ["iron_filter", "softener", "carbon", "cartridge"]\n'
    study = sized(tmp_path, iron, recovery=0.5, product=1.5, hours=hours, more=train, draws=128)
    assert study.value("softener.arrangement") != "single"
    assert "duplex softener" not in study.value("verdict.reasons")
