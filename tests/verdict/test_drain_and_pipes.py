"""Radioactive drain, a product that attacks pipes in silence, and words of a report; invented wells.

Sources: 40 CFR 141.66 (5 pCi/L of radium; 1 pCi is 0.037 Bq); Wisconsin's guidance of 2004, a sum
of parts of 60 pCi/L in what goes to a surface water; alkalinity and calcium from 40 mg/L on as
the goal behind a remineralisation (common practice).
"""

import pytest

from tests.verdict import test_signed_for_drinking as wells


def test_radium_asks_for_a_permit_and_for_spent_parts(tmp_path):
    answer, why = wells.told(
        wells.asked(tmp_path, {"Radium 226": "1.9,Bq/L", "Barium": "0.01,mg/L"})
    )
    assert answer == "fits with conditions"
    assert "radium 226 1.9 Bq/L in the raw water" in why
    assert "permit of discharge" in why
    assert "elements, cartridges" in why


def test_a_concentrate_over_what_a_surface_water_takes_is_asked_about_too(tmp_path):
    """4 pCi/L of each radium is below 5 and far below 60 behind any recovery of a well."""
    few = {"Radium 226": "0.1,Bq/L", "Radium 228": "0.1,Bq/L"}
    assert "permit of discharge" not in wells.told(wells.asked(tmp_path, few))[1]
    much = {"Uranium": "25,µg/L", "Radium 226": "0.17,Bq/L", "Radium 228": "0.17,Bq/L"}
    told = wells.asked(tmp_path, much, "")
    factor = 1.0 / (1.0 - wells.value(told, "machine.recovery"))
    parts = (2 * 0.17 / 0.037 / 60 + 0.025 / 0.447761) * factor
    assert ("permit of discharge" in wells.told(told)[1]) == (parts > 1.0)


def test_gross_alpha_and_uranium_count(tmp_path):
    assert "gross alpha" in wells.told(wells.asked(tmp_path, {"Gross alpha": "20,pCi/L"}))[1]
    assert "uranium" in wells.told(wells.asked(tmp_path, {"Uranium": "45,µg/L"}))[1]


DEGASSED = wells.SITE.replace('"cartridge"]', '"cartridge", "product_degasser"]')
US = wells.DRUNK + 'jurisdiction = "us"\n'


def test_a_soft_product_that_was_degassed_still_attacks_pipes(tmp_path, monkeypatch):
    monkeypatch.setattr(wells, "SITE", DEGASSED)
    study = wells.asked(tmp_path, {"pH (field)": "7.9,"}, US)
    assert wells.value(study, "delivered.ph") > 6.5
    assert wells.value(study, "delivered.alkalinity_mg_l_caco3") < 30.0
    answer, why = wells.told(study)
    assert answer == "fits with conditions"
    assert "hardly buffered and far" in why
    assert "remineralise" in why


def test_a_product_behind_calcite_is_not_told_so(tmp_path, monkeypatch):
    behind = DEGASSED.replace('"product_degasser"]', '"neutralising_filter"]')
    monkeypatch.setattr(wells, "SITE", behind)
    assert "hardly buffered and far" not in wells.told(wells.asked(tmp_path, {}, US))[1]


@pytest.mark.parametrize(
    ("lines", "answer"),
    [
        ({"Odour": "none,", "Appearance": "clear and colourless,"}, "fits"),
        ({"Odour": "rotten eggs (strong),"}, "fits with conditions"),
        ({"Appearance": "turns brown on standing,"}, "fits with conditions"),
        ({"Odour": "earthy,"}, "fits"),
    ],
)
def test_a_smell_that_no_number_explains_is_a_condition(tmp_path, lines, answer):
    assert wells.told(wells.asked(tmp_path, lines))[0] == answer
