"""Fluoride of the concentrate, sulfide in the product, and uranium where people drink.

FAO 29 (from memory): 1 mg/L of fluoride on land, 2 mg/L for animals; the 10 mg/L of a drain from
where on it is asked about, and the polish behind a degasser, are common practice, no source.
"""

import pytest

from tests.choices.wells import analysis, sized

PLAIN = {"ph": 7.4, "alkalinity": 120, "hardness": 60, "tds": 340, "SiO2": 15.0}
INHIBITED = '[train]\nstages = ["inhibitor", "cartridge"]\n'
SEALED = '[train]\nstages = ["inhibitor", "cartridge", "product_degasser"]\n'
DRUNK = '[product]\ntarget = "drinking"\njurisdiction = "eu"\n'


@pytest.mark.parametrize(("fluoride", "asked"), [(7.1, True), (3.0, False)])
def test_a_drain_with_much_fluoride_is_asked_about(tmp_path, fluoride, asked):
    study = sized(tmp_path, analysis(**PLAIN, F=fluoride), 0.6, more=INHIBITED, draws=64)
    why = str(study.value("verdict.reasons"))
    assert (f"{fluoride / 0.4:.3g} mg/L in the concentrate: land takes 1 mg/L" in why) is asked


def test_what_a_degasser_leaves_in_the_product_is_a_condition(tmp_path):
    study = sized(tmp_path, analysis(**PLAIN, H2S=1.5), 0.5, more=SEALED, draws=64)
    assert "polish behind it" in str(study.value("verdict.reasons"))
    assert study.value("verdict.answer") != "fits"


def test_uranium_that_nobody_measured_is_named_where_people_drink(tmp_path):
    drunk = sized(tmp_path, analysis(**PLAIN), 0.5, more=INHIBITED + DRUNK, draws=64)
    assert "uranium" in str(drunk.value("verdict.not_measured"))
    other = sized(tmp_path, analysis(**PLAIN), 0.5, more=INHIBITED, draws=64)
    assert "uranium" not in str(other.value("verdict.not_measured"))
