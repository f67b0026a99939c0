"""Hydrogen sulfide: sealed it passes as a gas, opened its sulfur is for a pilot to judge.

Rule: from 0.3 mg/L on keep air and oxidants out and degas the product; where it must be open
strip, oxidise and filter (common practice); only the molecular part strips, and at pH 8 some
11 % of the sulfide is molecular (pK1 7.1 at 15 °C, by its temperature function).
"""

import pytest

from tests.choices.wells import analysis, sized

WELL = {"ph": 7.4, "alkalinity": 150, "hardness": 160, "tds": 600, "O2": 0.05}
SEALED = "[supply]\nwell_yield = '6 m3/h'\npump_flow = '6 m3/h'\nvented_raw_tank = false\n"
OPEN = SEALED.replace("false", "true") + "raw_tank_volume = '6 m3'\n"
CLOSED = '[train]\nstages = ["inhibitor", "cartridge", "product_degasser"]\n'


def said(study):
    return [str(row[-1]) for row in study.series["verdict.why"].rows]


@pytest.mark.parametrize("more", [SEALED, SEALED + CLOSED], ids=["chosen", "fixed"])
@pytest.mark.parametrize("sulfide", [0.6, 2.2, 6.5])
def test_a_sealed_sulfide_well_gets_no_false_red(tmp_path, sulfide, more):
    study = sized(tmp_path, analysis(**WELL, H2S=sulfide), recovery=0.5, more=more)
    assert study.value("verdict.answer") == "fits with conditions", said(study)
    (text,) = [text for text in said(study) if "hydrogen sulfide is" in text]
    assert "without air" in text
    assert "degasser" in text
    assert study.number("verdict.card_recovery") == pytest.approx(0.5)


@pytest.mark.parametrize(("sulfide", "ph"), [(0.8, 8.0), (1.8, 7.4), (3.2, 7.3)])
def test_sulfide_behind_a_vented_tank_waits_for_a_pilot(tmp_path, sulfide, ph):
    water = analysis(**WELL | {"ph": ph}, H2S=sulfide)
    study = sized(tmp_path, water, recovery=0.5, more=OPEN)
    assert "iron_filter" in study.value("train.chosen")
    assert study.value("verdict.answer") == "depends"
    first = said(study)[0]
    assert f"hydrogen sulfide is {sulfide:g} mg/L" in first
    assert first.index("keep the line sealed") < first.index("run a pilot")
    # What strips is the molecular part at the pH behind, and no more.
    left, part = (study.number(f"aeration.{k}") for k in ("sulfide_left_mg_l", "molecular_sulfide"))
    assert left >= sulfide * (1.0 - part) - 1e-9
    assert f"{left:.2g} mg/L" in first
    assert "permanganate" in study.value("train.chosen")
    assert study.value("settings.order") == "DO NOT RUN"


@pytest.mark.parametrize("more", [{"Fe": 2.4}, {"O2": 3.0}])
def test_what_no_sealed_line_passes_leaves_the_pilot(tmp_path, more):
    water = analysis(**WELL | {"H2S": 1.1} | more)
    study = sized(tmp_path, water, recovery=0.5, more=OPEN)
    assert study.value("verdict.answer") == "depends"
    text = next(text for text in said(study) if "hydrogen sulfide is" in text)
    assert "pilot" in text
    assert "sealed" not in text


def test_a_little_sulfide_is_measured_behind_the_filter(tmp_path):
    more = OPEN + (
        '[train]\nstages = ["permanganate", "contact_tank", "iron_filter", "carbon", '
        '"inhibitor", "cartridge"]\n'
    )
    study = sized(tmp_path, analysis(**WELL, H2S=0.25, Fe=0.6), recovery=0.5, more=more)
    assert study.value("verdict.answer") == "fits with conditions", said(study)
    assert any("which the bed holds back: measure behind it" in text for text in said(study))
