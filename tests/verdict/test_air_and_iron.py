"""Iron that stays: sealed only where there is no oxygen, and words by what was measured.

A sealed well keeps its iron ferrous up to some 0.5 mg/L of oxygen (common practice, no source).
"""

from math import floor

import pytest

from tests.choices.wells import analysis, choices, sized

WELL = {"ph": 6.8, "alkalinity": 110, "hardness": 130, "tds": 420}
SEALED = "[supply]\nvented_raw_tank = false\n"


def said(study):
    return [str(row[-1]) for row in study.series["verdict.why"].rows]


@pytest.mark.parametrize(("oxygen", "closed"), [(0.1, True), (0.4, True), (1.5, False), (6, False)])
def test_a_line_is_sealed_only_where_no_oxygen_is(tmp_path, oxygen, closed):
    water = analysis(**WELL, Fe=0.35) | {"Dissolved oxygen": oxygen}
    study = sized(tmp_path, water, recovery=0.5, more=SEALED)
    stages = {str(row["stages"]) for row in choices(study) if row["feasible"] == "yes"}
    assert any("iron_filter" not in one for one in stages) is closed


@pytest.mark.parametrize("stages", ['["inhibitor", "cartridge"]', '["softener", "cartridge"]'])
@pytest.mark.parametrize(("iron", "oxygen"), [(0.08, 6.2), (0.08, 0.1), (0.28, 5.0), (0.28, 0.1)])
def test_air_is_kept_out_only_of_water_without_it(tmp_path, iron, oxygen, stages):
    water = analysis(**WELL, Fe=iron) | {"Dissolved oxygen": oxygen}
    study = sized(tmp_path, water, recovery=0.5, more=f"{SEALED}[train]\nstages = {stages}\n")
    (text,) = [text for text in said(study) if text.startswith("iron + manganese is")]
    assert ("keep air out" in text) is (oxygen < 0.5)
    assert (f"holds {oxygen:g} mg/L of oxygen" in text) is (oxygen > 0.5)


@pytest.mark.parametrize("inhibitor", [True, False])
def test_the_raw_water_is_told_without_an_inhibitor(tmp_path, inhibitor):
    """What a fixed train doses does not belong to the water without pretreatment."""
    stages = '["inhibitor", "cartridge"]' if inhibitor else '["softener", "cartridge"]'
    water = analysis(ph=7.4, alkalinity=150, hardness=160, tds=600)
    study = sized(tmp_path, water, recovery=0.5, more=f"[train]\nstages = {stages}\n")
    alone = sized(tmp_path, water, recovery=0.5, more='[train]\nstages = ["cartridge"]\n')
    plain = alone.number("untreated.recovery.max")
    key = "untreated.recovery.max_bare" if inhibitor else "untreated.recovery.max"
    assert study.number(key) == pytest.approx(plain, abs=1e-9)
    assert plain < 0.4 < study.number("untreated.recovery.max_inhibited")
    told = str(study.value("summary.recovery"))
    assert f" {floor(plain * 1000.0) / 10.0:g} % (calcite)" in told
    assert ("the raw water without an inhibitor" in told) is inhibitor
    label = study["untreated.recovery.max"].label
    assert ("with inhibitor" in label) is inhibitor
