"""Stripping ahead of the iron filter: the head that is lost, and a pH hardly high enough.

An open tower loses the pressure of the well pump; chlorine removes manganese from pH 7.5 on,
air alone does not (common practice, no source).
"""

from tests.choices.wells import analysis, choices, sized

SOFT = analysis(ph=6.9, alkalinity=170, hardness=190, tds=380, temp=9.0)
MANGANESE = {**SOFT, "Fe": 0.12, "Mn": 0.9, "NH4": 0.02}
TOWER = "pump of its own behind the open tower"
NEAR = "measure pH and manganese behind the filter"


def test_a_tower_names_its_pump_and_a_dose_of_nothing_is_no_stage(tmp_path):
    study = sized(tmp_path, MANGANESE, recovery=0.6, hours=12, draws=128)
    assert "aeration" in study.value("train.chosen")
    assert study.number("aeration.ph") > 7.5
    assert "alkali" not in study.value("train.chosen")
    rows = [str(row["stages"]) for row in choices(study) if row["feasible"] == "yes"]
    assert not any("alkali" in stages for stages in rows)
    assert TOWER in study.value("verdict.reasons")
    assert NEAR in study.value("verdict.reasons")
    assert "degasser" not in study.value("verdict.measure_next").replace("aerator or degasser", "")


def test_alkali_stays_where_stripping_is_not_enough(tmp_path):
    sour = {**MANGANESE, "pH": 6.2, "Alkalinity": 60.0, "Ca": 10.0, "Cl": 60.0}
    study = sized(tmp_path, sour, recovery=0.6, hours=12, draws=128)
    rows = [str(row["stages"]) for row in choices(study)]
    assert any("aeration + alkali" in stages for stages in rows)


def by_hand(folder, water, stages, more=""):
    text = f"[train]\nstages = [{stages}]\n[iron_filter]\n{more}"
    study = sized(folder, water, recovery=0.5, hours=12, more=text, draws=128)
    return study.value("verdict.answer"), str(study.value("verdict.reasons"))


IRON = {**analysis(ph=7.9, alkalinity=200, hardness=220, tds=500), "Fe": 1.2}
AIR = '"aeration", "contact_tank", "iron_filter", "softener", "cartridge"'


def test_manganese_by_air_alone_is_known_after_a_pilot_only(tmp_path):
    air = 'oxidant = "air"\nregeneration = "continuous"\n'
    answer, reasons = by_hand(tmp_path, {**IRON, "Mn": 0.18}, AIR, air)
    assert answer == "depends"
    assert "expect it to pass" in reasons
    answer, reasons = by_hand(tmp_path, IRON, AIR, air)
    assert answer == "fits with conditions"
    assert TOWER in reasons


def test_manganese_well_above_the_ph_is_not_asked_for_again(tmp_path):
    train = '"iron_filter", "carbon", "softener", "cartridge"'
    assert NEAR not in by_hand(tmp_path, {**IRON, "Mn": 0.18}, train)[1]
    assert NEAR in by_hand(tmp_path, {**IRON, "Mn": 0.18, "pH": 7.1}, train)[1]
