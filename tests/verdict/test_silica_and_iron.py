"""The credit of a silica dispersant falls where iron or aluminium reaches the membranes.

It holds below 0.05 mg/L of each (common practice, no source; data/limits.csv). Invented wells;
about 110 mg/L of silica dissolve at 20 C (log K -2.71 at 25 C, WATEQ4F).
"""

import pytest

from tests.choices.wells import analysis, sized

PLAIN = {"ph": 7.2, "alkalinity": 120, "hardness": 140, "tds": 340, "temp": 20.0}
INHIBITED = '[train]\nstages = ["inhibitor", "cartridge"]\n'
FILTERED = '[train]\nstages = ["iron_filter", "carbon", "inhibitor", "cartridge"]\n'
DISPERSED = "only a dispersant for silica carries that"


def told(study):
    words = [str(row[-1]) for row in study.series["verdict.why"].rows]
    return next((one for one in words if DISPERSED in one), "")


@pytest.mark.parametrize(
    ("metals", "answer", "words"),
    [
        ({}, "fits with conditions", "it holds below 0.05 mg/L"),
        ({"Fe": 0.2}, "depends", "iron 0.2 mg/L reaches the membranes"),
        ({"Al": 0.09}, "depends", "aluminium 0.09 mg/L reaches the membranes"),
        ({"Fe": 0.2, "Al": 0.09}, "depends", "iron 0.2 mg/L and aluminium 0.09 mg/L"),
    ],
)
def test_a_metal_on_the_membranes_undoes_the_dispersant(tmp_path, metals, answer, words):
    study = sized(tmp_path, analysis(**PLAIN, SiO2=51.0, **metals), 0.54, more=INHIBITED)
    assert study.number("scaling.pct_silica") > 100.0
    assert study.value("verdict.answer") == answer
    assert words in told(study)


def test_iron_that_a_filter_takes_is_a_condition_with_the_figure_that_is_counted(tmp_path):
    study = sized(tmp_path, analysis(**PLAIN, SiO2=51.0, Fe=0.4), 0.54, more=FILTERED)
    left = study.number("iron_filter.iron_left_mg_l")
    assert f"with the iron filter ahead it is counted as iron {left:.2g} mg/L" in told(study)
    assert study.value("verdict.answer") == "fits with conditions"
    # the concentrate sees the same iron
    factor = study.number("concentrate.sio2_mg_l") / 51.0
    assert study.number("concentrate.fe_mg_l") == pytest.approx(left * factor, rel=0.02)


@pytest.mark.parametrize(
    ("silica", "named"),
    [(46.0, True), (36.0, False)],
)
def test_below_saturation_silica_is_named_where_the_draws_need_the_dispersant(
    tmp_path, silica, named
):
    """46 x 2.17 is 91 % of 110, within 1.3 u of saturation; 36 x 2.17 is 71 %."""
    study = sized(tmp_path, analysis(**PLAIN, SiO2=silica), 0.54, more=INHIBITED)
    assert study.number("scaling.pct_silica") < 100.0
    assert study.number("verdict.probability") > 0.9
    assert bool(told(study)) is named
    assert study.value("verdict.answer") == ("fits with conditions" if named else "fits")
    iron = sized(tmp_path, analysis(**PLAIN, SiO2=silica, Fe=0.2), 0.54, more=INHIBITED)
    assert (iron.value("verdict.answer") == "depends") is named


def test_the_choice_puts_a_filter_where_iron_undoes_the_dispersant(tmp_path):
    study = sized(tmp_path, analysis(**PLAIN, SiO2=51.0, Fe=0.2), 0.54)
    assert study.value("verdict.answer") != "fits"
    if "iron_filter" not in study.value("train.chosen"):
        assert study.value("verdict.answer") == "depends"
