"""Trains that the site file leaves out, trains that cost much less, and pumps far too small.

The limits (6 kg of salt for each m3, a quarter of the cost, twice the pump) are own judgement
(common practice, no source); what the words must agree with is worked out from the table of
trains itself, and from a second study of the train that they name.
"""

import pytest

from tests.choices.wells import analysis, choices, sized

HARD = {"ph": 7.2, "alkalinity": 260, "hardness": 1250, "tds": 3900, "Ba": 0.01, "F": 0.4}
MANNERS = (
    'control = "meter"\n',
    'salt_dose = "150 g/L"\n',
    'arrangement = "duplex"\n',
    "include = true\n",
)


def told(study, code):
    return [f for f in study.flags if f.code == code]


def reasons(study):
    return " ".join(str(row[1]) for row in study.series["verdict.why"].rows)


@pytest.mark.parametrize("manner", MANNERS)
def test_a_manner_of_working_hides_no_train(tmp_path, manner):
    free = sized(tmp_path, analysis(**HARD), 0.55, 2.0, draws=64)
    study = sized(tmp_path, analysis(**HARD), 0.55, 2.0, more=f"[softener]\n{manner}", draws=64)
    assert "softener" in study.value("train.chosen")
    rows = choices(study)
    without = [r for r in rows if "softener" not in r["stages"]]
    assert without
    for row in without:
        assert row["feasible"] == "no"
        assert "left out by the site file: [softener]" in row["why_not"] or row["rank"] > 1
    left = next(r for r in without if r["stages"] == "inhibitor + cartridge")
    assert "[softener]" in left["why_not"]
    assert "include = false" in left["why_not"]
    same = next(r for r in choices(free) if r["stages"] == "inhibitor + cartridge")
    assert left["recovery_reached"] == pytest.approx(same["recovery_reached"])
    assert left["cost_per_year"] == pytest.approx(same["cost_per_year"])
    assert left["rank"] > max(r["rank"] for r in rows if r["feasible"] == "yes")


def test_no_green_word_for_salt_that_nobody_accepts_where_another_train_serves(tmp_path):
    more = '[softener]\nsalt_dose = "240 g/L"\n[bypass]\ninclude = false\n'
    study = sized(tmp_path, analysis(**HARD), 0.55, 2.0, more=more, draws=64)
    assert study.number("discharge.salt_of_product_kg_m3") > 6.0
    assert study.value("verdict.answer") == "depends"
    (flag,) = told(study, "much_salt")
    assert flag.level == "warning"
    assert "inhibitor + cartridge reaches 55.0 %" in flag.text
    assert "write include = false" in flag.text
    assert "no train without it" not in reasons(study)
    other = sized(tmp_path, analysis(**HARD), 0.55, 2.0, more="[softener]\ninclude = false\n")
    assert other.value("train.chosen") == "inhibitor + cartridge"
    assert other.number("recovery.max") >= 0.55


def test_where_nothing_else_reaches_it_the_softener_asked_for_stays_a_condition(tmp_path):
    water = HARD | {"Ba": 0.01, "alkalinity": 420, "hardness": 1500}
    more = '[softener]\ninclude = true\nsalt_dose = "240 g/L"\n[acid]\ninclude = false\n'
    more += "[inhibitor]\ninclude = false\n"
    study = sized(tmp_path, analysis(**water), 0.5, 2.0, more=more, draws=64)
    assert study.number("discharge.salt_of_product_kg_m3") > 6.0
    assert [f.level for f in told(study, "much_salt")] == ["caution"]
    assert "no train without it comes near" in told(study, "much_salt")[0].text


@pytest.mark.parametrize(
    ("table", "stage"),
    [
        ('[acid]\nacid = "hydrochloric"\n', "acid"),
        ('[iron_filter]\noxidant = "chlorine"\n', "iron_filter"),
        ("[carbon]\ninclude = true\n", "carbon"),
        ("[limits]\ninhibitor = true\n", "inhibitor"),
    ],
)
def test_any_stage_that_is_put_in_leaves_the_others_in_sight(tmp_path, table, stage):
    water = {"ph": 7.3, "alkalinity": 210, "hardness": 260, "tds": 600}
    study = sized(tmp_path, analysis(**water), 0.6, more=table, draws=32)
    rows = choices(study)
    forced = stage in study.value("train.chosen").split(" + ")
    left = [r for r in rows if "left out by the site file" in r["why_not"]]
    if forced:
        assert any(stage not in r["stages"].split(" + ") for r in left)
    for row in left:
        assert row["feasible"] == "no"
        assert row["recovery_reached"] is not None


def test_a_described_softener_shows_what_the_other_direction_would_do(tmp_path):
    study = sized(tmp_path, analysis(**HARD), 0.55, 2.0, more='[softener]\ncontrol = "meter"\n')
    turned = [r for r in choices(study) if "counter-current" in r["stages"]]
    assert turned
    assert all('write direction = "counter-current"' in r["why_not"] for r in turned)
