"""Acid and base capacity by their English names, and dates that can be read in two ways."""

import pytest

from pretreat.core.units import CACO3_MG_PER_MEQ
from pretreat.lab.interpret.day_order import both_days, date_flags
from pretreat.lab.interpret.raw_water import day_in
from tests.verdict import test_signed_for_drinking as wells


@pytest.mark.parametrize(
    "name",
    ["Acid capacity KS4.3", "Acid capacity to pH 4.3", "acid capacity (KS 4.3)",
     "Acid capacity up to pH 4.3", "Säurekapazität KS4.3"],
)  # fmt: skip
def test_acid_capacity_is_alkalinity(tmp_path, name):
    with pytest.MonkeyPatch.context() as patch:
        base = {k: v for k, v in wells.BASE.items() if not k.startswith("Alkalinity")}
        patch.setattr(wells, "BASE", base)
        study = wells.asked(tmp_path, {name: "3.0,mmol/L"}, command="check")
    found = wells.value(study, "water.alkalinity_mg_l_caco3")
    assert found == pytest.approx(3.0 * CACO3_MG_PER_MEQ)


@pytest.mark.parametrize("name", ["Base capacity KB8.2", "KB8.2", "Base capacity to pH 8.2"])
def test_base_capacity_is_carbon_dioxide(tmp_path, name):
    study = wells.asked(tmp_path, {name: "0.4,mmol/L"}, command="check")
    row = next(r for r in study["series"]["water.trail"]["rows"] if r[2] == name)
    assert row[1] == "co2_mg_l"
    assert row[8] == pytest.approx(0.4 * 44.01, rel=1e-3)


@pytest.mark.parametrize(
    ("text", "day", "either"),
    [
        ("03/11/2031", (2031, 11, 3), True),
        ("03-11-31", (2031, 11, 3), True),
        ("11.03.2031", (2031, 3, 11), False),
        ("03/25/2031", (2031, 3, 25), False),  # only month first
        ("25/03/2031", (2031, 3, 25), False),
        ("05/05/2031", (2031, 5, 5), False),
        ("2031-03-11", (2031, 3, 11), False),
    ],
)
def test_day_and_month(text, day, either):
    assert day_in(text) == day
    assert (both_days(text) is not None) is either


def test_how_a_date_was_read_is_told(tmp_path):
    study = wells.asked(tmp_path, {"Sampled": "03/11/2031,"}, command="check")
    told = next(f["text"] for f in study["flags"] if f["code"] == "date_order")
    assert "3 November 2031; month first it is 11 March 2031" in told
    assert not date_flags("03/11/2031", ["received 14/11/2031"])
    assert "month first" in date_flags("03/11/2031", ["received 03/14/2031"])[0].text


def test_of_two_ways_to_read_a_date_the_older_ages_it(tmp_path):
    """Two years: common practice; the release is of January 2026 or later."""
    site = "[quote]\ndate = 2028-05-01\n"
    assert wells.told(wells.asked(tmp_path, {"Sampled": "07/04/2026,"}, site))[0] != "fits"
    assert wells.told(wells.asked(tmp_path, {"Sampled": "2026-07-04,"}, site))[0] == "fits"
