"""A water of mineral acid, alkalinity 0, through `size` with elements that recycle.

An invented well; that it is judged like any other is all that is asked (no source needed).
"""

import pytest

from tests.verdict.test_lime_ahead import SITE, run, value

SOUR = {"pH (field)": "4.2,", "Alkalinity as CaCO3": "0,mg/L", "Calcium": "15,mg/L"}
SOUR |= {"Magnesium": "5,mg/L", "Sodium": "35,mg/L", "Sulfate": "70,mg/L", "Chloride": "38,mg/L"}
SOUR |= {"Iron": "0.01,mg/L", "Manganese": "0.01,mg/L", "Strontium": "0.1,mg/L"}


@pytest.fixture
def recycling(monkeypatch):
    one = SITE.replace('"1.2 m3/h"', '"0.9 m3/h"').replace(
        '"4x40"', '"4x40"\nrecycle_flow = "0.1 m3/h"'
    )
    monkeypatch.setattr("tests.verdict.test_lime_ahead.SITE", one)


@pytest.mark.usefixtures("recycling")
def test_a_water_without_alkalinity_is_sized(tmp_path):
    study = run(tmp_path, SOUR)
    assert value(study, "machine.recycle_flow_m3_h") > 0.0
    assert value(study, "verdict.answer") != "fits"
    assert value(study, "concentrate.ph") < 4.4
    assert value(study, "concentrate.osmotic_kpa") > value(study, "feed.osmotic_kpa")
