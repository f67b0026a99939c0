"""Waters at the edge of what can be judged: sized all the same, and never left bare.

What a careful engineer does with a gap is judgement of the trade (common practice, no source).
"""

import pytest

from pretreat.core.errors import PretreatError
from pretreat.core.results import from_json, to_json
from pretreat.lab import read_design_water
from pretreat.stages.site import read_site
from pretreat.study import run_study
from tests.choices.wells import analysis, choices, sized

WELL = {"alkalinity": 200, "hardness": 60, "tds": 900}


@pytest.mark.parametrize("ph", [4.6, 9.5, 10.2])
@pytest.mark.parametrize("iron", [0.05, 2.0])
def test_no_ph_refuses_a_site(tmp_path, ph, iron):
    alkalinity = 5 if ph < 5 else 200
    water = analysis(**{**WELL, "alkalinity": alkalinity}, ph=ph, Fe=iron)
    study = sized(tmp_path, water, recovery=0.5, draws=0)
    assert study.value("train.chosen")


def test_iron_behind_an_aerator_outside_the_rate_law_is_blank_and_flagged(tmp_path):
    more = '[train]\nstages = ["aeration", "contact_tank", "iron_filter", "cartridge"]\n'
    water = analysis(**WELL, ph=9.5, Fe=2.0)
    study = sized(tmp_path, water, recovery=0.5, more=more, draws=0)
    assert study.value("aeration.iron_half_life_min") is None
    assert "iron_half_life_range" in {flag.code for flag in study.flags}
    assert from_json(to_json(study)).value("aeration.iron_half_life_min") is None


def without(water, *names):
    return {key: value for key, value in water.items() if key not in names}


@pytest.mark.parametrize(("hardness", "protects"), [(350, "softener"), (70, "inhibitor")])
def test_water_without_alkalinity_is_not_left_bare(tmp_path, hardness, protects):
    full = analysis(ph=7.3, alkalinity=150, hardness=hardness, tds=800)
    study = sized(tmp_path, without(full, "Alkalinity"), recovery=0.6, draws=64)
    stages = study.value("train.chosen").split(" + ")
    assert protects in stages
    assert "bypass" not in stages
    assert "measure alkalinity" in study.value("choices.why")


def test_unknown_barium_asks_for_what_protects(tmp_path):
    full = analysis(ph=6.9, alkalinity=30, hardness=30, tds=900)
    study = sized(tmp_path, without(full, "Ba"), recovery=0.6, draws=64)
    assert {"inhibitor", "softener"} & set(study.value("train.chosen").split(" + "))


def test_test_kit_is_told_to_measure_not_to_lower_the_recovery(tmp_path):
    site = """
[water]
hardness = "22 gpg"
iron = "0.8 mg/L"
ph = 7.1
tds = "620 mg/L"
operating_temperature_c = 14
[machine]
product_flow = "0.5 m3/h"
recovery = 0.6
hours_per_day = 8
"""
    (tmp_path / "site.toml").write_text(site, encoding="utf-8")
    design = read_site(tmp_path / "site.toml")
    analysed, samples = read_design_water(design.water)
    study = run_study(analysed, design, "size", samples, 0)
    assert "softener" in study.value("train.chosen").split(" + ")
    text = next(flag.text for flag in study.flags if flag.code == "no_feasible_train")
    assert "measure" in text
    assert "lower the recovery" not in text


def test_a_cheaper_bypass_is_shown(tmp_path):
    water = analysis(ph=7.2, alkalinity=210, hardness=1100, tds=1900, SO4=900)
    rows = choices(sized(tmp_path, water, recovery=0.7, draws=64))
    assert any("bypass" in row["stages"] for row in rows)


def test_the_runner_up_is_feasible_or_none_with_a_reason(tmp_path):
    water = analysis(ph=7.3, alkalinity=150, hardness=200, tds=900)
    study = sized(tmp_path, water, recovery=0.5, draws=64)
    named = study.value("train.runner_up")
    feasible = {row["stages"] for row in choices(study) if row["feasible"] == "yes"}
    assert named in feasible or named.startswith("none: ")


def test_a_softener_of_the_site_file_is_not_called_free_of_brine(tmp_path):
    water = analysis(ph=7.4, alkalinity=220, hardness=500, tds=1500)
    more = "[softener]\ninclude = true\n"
    study = sized(tmp_path, water, recovery=0.6, more=more, draws=64)
    assert "softener" in study.value("train.chosen")
    assert "no brine" not in study.value("choices.why")


@pytest.mark.parametrize(
    ("word", "stage"),
    [
        ("antiscalant", "inhibitor"),
        ("scale inhibitor", "inhibitor"),
        ("greensand", "iron_filter"),
        ("activated-carbon", "carbon"),
    ],
)
def test_words_of_the_trade_name_the_stage(tmp_path, word, stage):
    water = analysis(**WELL, ph=7.5)
    with pytest.raises(PretreatError, match=f"did you mean '{stage}'"):
        sized(tmp_path, water, more=f'[train]\nstages = ["{word}", "cartridge"]\n', draws=0)


HARD = {"ph": 7.4, "alkalinity": 330, "hardness": 580, "tds": 1300}


@pytest.mark.parametrize("salt", [0.02, 0.15, 0.4])
def test_a_price_that_turns_the_order_turns_it_when_sized_again(tmp_path, salt):
    def at(price, folder):
        folder.mkdir()
        more = f"[prices]\nsalt_per_kg = {price}\n[softener]\ninclude = true\n"
        return sized(folder, analysis(**HARD), recovery=0.6, more=more, draws=64)

    study = at(salt, tmp_path / "now")
    table = study.series.get("train.flips")
    for what, _, now, turns, other in table.rows if table else ():
        if what != "price of salt" or turns is None:
            continue
        step = 0.001 * turns * (1.0 if turns > now else -1.0)
        assert at(turns - step, tmp_path / "inside").value("train.chosen") == study.value(
            "train.chosen"
        )
        assert at(turns + step, tmp_path / "outside").value("train.chosen") == other


def test_no_train_that_is_shut_is_named_as_a_turn(tmp_path):
    study = sized(tmp_path, analysis(**HARD), recovery=0.6, draws=64)
    shut = {row["stages"] for row in choices(study) if row["feasible"] == "no"}
    table = study.series.get("train.flips")
    rows = table.rows if table else ()
    assert not shut & {row[4] for row in rows if row[0] != "recovery"}


def test_the_recovery_that_turns_the_order_turns_it_when_sized_again(tmp_path):
    water = analysis(**HARD)
    study = sized(tmp_path, water, recovery=0.5, draws=0)
    turn = next(row for row in study.series["train.flips"].rows if row[0] == "recovery")
    (tmp_path / "beside").mkdir()
    for recovery, stays in ((turn[3] - 0.01, True), (turn[3], False)):
        again = sized(tmp_path / "beside", water, recovery=recovery, draws=0)
        assert (again.value("train.chosen") == study.value("train.chosen")) is stays


def test_own_prices_of_vessels_stand_in_for_the_class_estimate(tmp_path):
    """By hand: the capital differs by what was given less the estimate, 6,000 at 2 m3/h."""
    soft = "[softener]\ninclude = true\n"
    water, more = analysis(**HARD), soft + "[prices]\ninstalled_softener = 900\n"
    plain = sized(tmp_path, water, recovery=0.6, more=soft, draws=0)
    own = sized(tmp_path, water, recovery=0.6, more=more, draws=0)
    before, after = (
        {row["stages"]: row["capital"] for row in choices(study) if row["feasible"] == "yes"}
        for study in (plain, own)
    )
    estimate = 6000.0 * (plain.number("machine.feed_flow_m3_h") / 2.0) ** 0.6
    both = [name for name in before if "softener" in str(name) and name in after]
    assert both
    for name in both:
        assert after[name] - before[name] == pytest.approx(900.0 - estimate, abs=0.01)


def test_acid_of_no_dose_is_no_way_of_its_own(tmp_path):
    study = sized(tmp_path, analysis(**HARD), recovery=0.5, draws=0)
    doses = {row[0]: row[2] for row in study.series["compare.options"].rows}
    assert doses.get("acid and inhibitor", 1.0) > 0


def test_the_train_that_costs_more_says_what_for(tmp_path):
    study = sized(tmp_path, analysis(**HARD), recovery=0.6, draws=256)
    rows = choices(study)
    cheaper = [
        r
        for r in rows[1:]
        if r["feasible"] == "yes" and r["cost_per_year"] < rows[0]["cost_per_year"]
    ]
    assert ("buys certainty" in study.value("choices.why")) is bool(cheaper)


def test_a_cheaper_train_just_below_the_recovery_is_told(tmp_path):
    # Water near gypsum: an inhibitor reaches a little less than is wanted, a softener all of it.
    water = analysis(ph=7.2, alkalinity=210, hardness=1340, tds=2300)
    water |= {"Ca": 380, "Mg": 95, "Na": 110, "SO4": 1150, "Cl": 120, "Ba": 0.015, "Sr": 8, "F": 1.2, "SiO2": 20, "NO3": 8.9}  # fmt: skip
    study = sized(tmp_path, water, recovery=0.7, draws=64)
    rows = choices(study)
    below = [
        r
        for r in rows[1:]
        if r["recovery_reached"] and 0.6 <= r["recovery_reached"] < 0.7 and r["cost_per_year"]
    ]
    cheapest = min(below, key=lambda r: r["cost_per_year"])
    assert cheapest["cost_per_year"] < 0.9 * rows[0]["cost_per_year"]
    said = f"{cheapest['stages']} would do for {cheapest['cost_per_year']:,.0f} a year"
    assert said in study.value("choices.why")
    assert any(said in row[3] for row in study.series["train.recovery_cost"].rows)


def test_acid_beside_an_inhibitor_goes_no_further_than_the_cautious_limit_asks(tmp_path):
    more = "[acid]\ninclude = true\n[softener]\ninclude = false\n"
    study = sized(tmp_path, analysis(**HARD), recovery=0.7, more=more, draws=0)
    assert {"acid", "inhibitor"} <= set(study.value("train.chosen").split(" + "))
    # The cautious limit of the index with an inhibitor is 1.5 (common practice), less a margin.
    assert 1.2 <= study.value("acid.target_lsi") < 1.5
