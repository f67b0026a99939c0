"""Organics over a limit for drinking water, found or looked for too coarsely; the wells are invented.

Limits: EU 2020/2184 Annex I part B (vinyl chloride 0.50, trichloroethene and tetrachloroethene
together 10, each pesticide 0.10 µg/L), 40 CFR 141.61 (tetrachloroethylene 0.005, atrazine 0.003
mg/L), all from memory. What takes them: common practice, no source.
"""

import pytest

from tests.verdict import test_signed_for_drinking as wells

EU = wells.DRUNK + 'jurisdiction = "eu"\n'
US = wells.DRUNK + 'jurisdiction = "us"\n'


def told(folder, lines, site):
    study = wells.asked(folder, lines, site)
    return (*wells.told(study), wells.value(study, "verdict.measure_next"))


@pytest.mark.parametrize(
    ("site", "lines", "words"),
    [
        (EU, {"Vinylchlorid": "3,µg/L"}, ("6.0 times", "0.50 µg/L", "air stripping")),
        (
            EU,
            {"Trichloroethylene": "7,µg/L", "Perchloroethylene": "8,µg/L"},
            ("1.5 times", "10 µg/L (sum)", "granular carbon"),
        ),
        (EU, {"Terbuthylazine": "0.4,µg/L"}, ("4.0 times", "0.10 µg/L", "granular carbon")),
        (US, {"Tetrachloroethene": "60,µg/L"}, ("12 times", "40 CFR 141.61", "air stripping")),
        (EU, {"Carbon tetrachloride": "20,µg/L"}, ("5.0 times", "the one that binds names none")),
        (US, {"MTBE": "0.1,mg/L"}, ("5.0 times", "tall tower")),
    ],
)
def test_what_no_stage_takes_puts_the_answer_off(tmp_path, site, lines, words):
    answer, why, measure = told(tmp_path, lines, site)
    assert answer == "depends"
    assert all(one in why for one in (*words, "no stage of this train takes it"))
    assert measure.endswith("in the raw water again and in the product")
    assert why.count(next(iter(lines))) <= 2  # what it is, and what would take it


def test_a_stage_of_the_train_that_takes_it_makes_it_a_condition(tmp_path, monkeypatch):
    with_carbon = wells.SITE.replace('"cartridge"]', '"carbon", "cartridge"]')
    monkeypatch.setattr(wells, "SITE", with_carbon)
    answer, why, _ = told(tmp_path, {"Atrazine": "9,µg/L"}, US)
    assert answer == "fits with conditions"
    assert "3.0 times the limit of 0.003 mg/L" in why
    assert "carbon of the train takes it" in why
    answer, why, _ = told(tmp_path, {"Vinyl chloride": "9,µg/L"}, US)
    assert answer == "depends"  # carbon hardly holds it


def test_what_membranes_hold_below_the_limit_is_a_condition(tmp_path):
    assert told(tmp_path, {"Sum of PFAS": "400,ng/L"}, EU)[0] == "fits with conditions"
    assert told(tmp_path, {"Sum of PFAS": "2.5,µg/L"}, EU)[0] == "depends"


def test_not_found_so_coarsely_is_named(tmp_path):
    lines = {"Benzene": "<10,µg/L", "Ethylbenzene": "<10,µg/L", "Simazine": "<0.01,µg/L"}
    answer, why, _ = told(tmp_path, lines, EU)
    assert answer == "fits with conditions"
    assert "detection limit above the limit for drinking water: Benzene <10 µg/L (1.0 µg/L)" in why
    assert "Ethylbenzene" not in why
    assert "Simazine" not in why


def test_below_the_limit_or_undrunk_nothing_is_put_off(tmp_path):
    few = {"Trichloroethene": "2,µg/L", "Vinyl chloride": "0.2,µg/L"}
    assert told(tmp_path, few, EU)[0] == "fits with conditions"
    much = {"Trichloroethene": "90,µg/L"}
    assert told(tmp_path, much, "")[0] == "fits with conditions"
