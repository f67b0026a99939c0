"""An iron filter has to be worth its vessels; reasons say whose they are.

A filter in good order leaves 0.1 mg/L of iron (common practice, no source): of 0.15 mg/L that is
two thirds by division, of 0.3 a third.
"""

import re

import pytest

from tests.choices.test_ten_wells import keys
from tests.choices.wells import analysis, sized

PLAIN = {"ph": 7.3, "alkalinity": 160, "hardness": 210, "tds": 620}


@pytest.mark.parametrize(("iron", "filtered"), [(0.11, False), (0.14, False), (0.3, True)])
def test_a_filter_that_leaves_most_of_the_iron_is_left_out(tmp_path, iron, filtered):
    water = analysis(**PLAIN, Fe=iron, Mn=0.02)
    study = sized(tmp_path, water, recovery=0.55, draws=0, product=0.9)
    assert ("iron_filter" in keys(study)) == filtered
    (checked,) = [
        row for row in study.series["train.membrane_checks"].rows if row[0] == "iron + manganese"
    ]
    told = [flag.text for flag in study.flags if flag.text.startswith("iron + manganese")]
    assert filtered or any("would leave most of it" in text for text in told), checked


def test_each_reason_names_its_ways(tmp_path):
    """Iron above 3 is the greensand's limit, ammonia above 0.3 that of chlorine: see the table."""
    water = analysis(**PLAIN, Fe=3.9, Mn=0.3, TOC=3.4, NH4=1.3)
    study = sized(tmp_path, water, recovery=0.5, draws=0, product=0.7)
    (text,) = [flag.text for flag in study.flags if flag.code == "jar_test"]
    inside = re.search(r"\((.*)\): what is sized", text)[1]
    assert all(": " in part for part in inside.split("; ")), inside


@pytest.mark.parametrize("tds", [150, 2600])
def test_an_index_that_judges_nothing_is_not_spoken_of(tmp_path, tds):
    """Stiff and Davis is for waters above 10,000 mg/L (D4582); below it Langelier judges."""
    study = sized(
        tmp_path,
        analysis(ph=7.0, alkalinity=50, hardness=40, tds=tds, temp=9.0),
        recovery=0.5,
        draws=0,
        product=0.7,
    )
    assert not [flag for flag in study.flags if flag.code == "sdsi_outside_fit"]
