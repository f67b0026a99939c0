"""A product is held against its use in the warmest water too; the wells are invented.

FAO 29, Table 1: boron severe above 3 mg/L, sodium adsorption ratio above 9. Permeability of the
salts 3 % a degree: common practice, no source; the factor is worked by hand beside it. Nitrite
0.10 mg/L at the outlet of the treatment works: 98/83/EC Annex I part B, note 5; 2020/2184 likewise.
"""

import pytest

from tests.verdict import test_signed_for_drinking as wells

WATERED = '[product]\ntarget = "irrigation"\n'
BORON = {"Boron": "5.5,mg/L"}  # 2.85 mg/L of it delivered at 15 °C


def warmed(monkeypatch, warmest_c):
    site = wells.SITE.replace("warmest_temperature_c = 19", f"warmest_temperature_c = {warmest_c}")
    monkeypatch.setattr(wells, "SITE", site)


def of(study, word):
    return [
        f["text"] for f in study["flags"] if f["code"] == "product_target" and word in f["text"]
    ]


def test_boron_of_the_warmest_water_that_is_severe_puts_the_answer_off(tmp_path, monkeypatch):
    mild = wells.asked(tmp_path, BORON, WATERED)
    warmed(monkeypatch, 16)
    cool = wells.asked(tmp_path, BORON, WATERED)
    assert wells.value(cool, "verdict.answer") == "fits with conditions"
    assert "slight limit" in of(cool, "boron")[0]
    assert wells.value(mild, "verdict.answer") == "depends"
    (text,) = of(mild, "boron")
    assert "severe limit at most 3 mg/L" in text
    assert "in the warmest water (19 °C)" in text
    assert wells.value(mild, "verdict.measure_next").startswith("boron")
    # Odds of passage at 19 °C are those at 15 °C times 1.03^4; the flow stays.
    raw = 5.5
    passage = wells.value(mild, "product.b_mg_l") / raw
    odds = passage / (1.0 - passage) * 1.03**4
    assert float(text.partition("boron ")[2].partition(" mg/L")[0]) == pytest.approx(
        raw * odds / (1.0 + odds), rel=0.01
    )


def test_severe_boron_of_the_operating_water_puts_it_off_as_well(tmp_path):
    study = wells.asked(tmp_path, {"Boron": "7.5,mg/L"}, WATERED)
    assert wells.value(study, "verdict.answer") == "depends"
    assert "warmest" not in of(study, "boron")[0]


def test_sodium_of_the_warmest_water_counts(tmp_path, monkeypatch):
    soda = {"Sodium": "700,mg/L", "Chloride": "1045,mg/L", "Conductivity": "3700,µS/cm"}
    study = wells.asked(tmp_path, soda, WATERED)
    ratio = float(of(study, "sodium adsorption ratio (surface)")[0].split(") ")[1].split(":")[0])
    scaled = 9.0 / ratio * 0.98  # just below the severe limit where operating
    more = {
        "Sodium": f"{700 * scaled:.0f},mg/L",
        "Chloride": f"{82 + 1.542 * (700 * scaled - 75):.0f},mg/L",
    }
    warmed(monkeypatch, 30)
    study = wells.asked(tmp_path, soda | more, WATERED)
    (text,) = of(study, "sodium adsorption ratio (surface)")
    assert "severe limit at most 9" in text
    assert "in the warmest water (30 °C)" in text


@pytest.mark.parametrize(("law", "answer"), [("eu", "depends"), ("us", "fits with conditions")])
def test_nitrite_of_a_treatment_works(tmp_path, law, answer):
    site = wells.DRUNK + f'jurisdiction = "{law}"\n'
    study = wells.asked(tmp_path, {"Nitrite": "6,mg/L"}, site)
    assert 0.10 < wells.value(study, "product.no2_mg_l") < 0.50
    assert wells.value(study, "verdict.answer") == answer
    assert bool(of(study, "outlet of the treatment works")) is (law == "eu")
