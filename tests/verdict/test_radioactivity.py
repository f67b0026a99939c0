"""Radioactivity of a well in Europe is judged by 2013/51/Euratom, in becquerel; invented wells.

Derived concentrations radium 226 0.5, radium 228 0.2, uranium 238 3.0 Bq/L for 0.10 mSv a year,
radon and tritium 100 Bq/L (from memory); 1 pCi is 0.037 Bq. 40 CFR 141.66(b): 5 pCi/L.
"""

import pytest

from tests.verdict import test_signed_for_drinking as wells

EU = wells.DRUNK + 'jurisdiction = "eu"\n'
US = wells.DRUNK + 'jurisdiction = "us"\n'


def health(study):
    return " ".join(f["text"] for f in study["flags"] if f["code"] == "health_limit")


def test_radium_is_held_against_its_derived_concentration_in_becquerel(tmp_path):
    study = wells.asked(tmp_path, {"Radium 226": "0.9,Bq/L", "Radium 228": "0.1,Bq/L"}, EU)
    told = health(study)
    assert "radium 226 is 0.9 Bq/L in the raw water" in told
    assert "0.5 Bq/L (derived concentration) (2013/51/Euratom" in told
    assert "pCi/L" not in told
    assert "radium 228" not in told
    assert not any(f["code"] == "health_limit_elsewhere" for f in study["flags"])


def test_several_that_are_each_below_count_together(tmp_path):
    """0.35 / 0.5 + 0.1 / 0.2 = 1.2; the same of half as much is 0.6."""
    over = health(wells.asked(tmp_path, {"Radium 226": "0.35,Bq/L", "Radium 228": "0.1,Bq/L"}, EU))
    assert "derived concentrations is 1.2 in the raw water" in over
    assert "0.10 mSv" in over
    below = {"Radium 226": "0.175,Bq/L", "Radium 228": "0.05,Bq/L"}
    assert not health(wells.asked(tmp_path, below, EU))


def test_the_same_well_in_the_united_states_is_told_in_picocuries(tmp_path):
    told = health(wells.asked(tmp_path, {"Radium 226": "0.9,Bq/L", "Radium 228": "0.1,Bq/L"}, US))
    assert "radium 226 + 228 is 27 pCi/L" in told
    assert "5 pCi/L (40 CFR 141.66(b))" in told
    assert "Euratom" not in told


def test_a_blend_that_brings_too_much_of_it_is_put_off(tmp_path, monkeypatch):
    blended = wells.SITE.replace('"cartridge"]', '"cartridge", "blending"]')
    monkeypatch.setattr(wells, "SITE", blended)
    lines = {"Radium 226": "4,Bq/L", "Radium 228": "0.02,Bq/L"}
    study = wells.asked(tmp_path, lines, EU + "[blending]\nshare = 0.2\n")
    answer, why = wells.told(study)
    assert answer != "fits with conditions"
    assert "radium 226 0.8" in why  # a fifth of 4 Bq/L
    assert "Bq/L: outside the limit" in why


@pytest.mark.parametrize(
    ("radon", "site", "answer"),
    [
        ("180", EU, "depends"),
        ("180", US, "fits with conditions"),
        ("60", EU, "fits with conditions"),
    ],
)
def test_radon_that_nothing_strips_is_drunk(tmp_path, radon, site, answer):
    study = wells.asked(tmp_path, {"Radon 222": f"{radon},Bq/L"}, site)
    assert wells.value(study, "verdict.answer") == answer


def test_tritium_passes_everything(tmp_path):
    answer, why = wells.told(wells.asked(tmp_path, {"Tritium": "250,Bq/L"}, EU))
    assert answer == "fits with conditions"
    assert "Tritium 250 Bq/L: tritium is part of the water itself" in why
    assert "Tritium" not in wells.told(wells.asked(tmp_path, {"Tritium": "20,Bq/L"}, EU))[1]
