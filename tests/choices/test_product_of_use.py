"""A product that misses the limit of its own use weighs before cost.

Sodium adsorption ratio of water for irrigation: above 9 the restriction is severe (FAO 29,
Table 1, printed; surface irrigation).
"""

from tests.choices.wells import analysis, choices, sized

WATER = {
    **analysis(ph=7.4, alkalinity=290, hardness=1270, tds=4500), "Ba": 0.02, "Sr": 6.0, "SiO2": 22,
}  # fmt: skip
ASKED = '[softener]\ninclude = true\ndirection = "counter-current"\n[bypass]\ninclude = false\n'
SEVERE = "sodium in the place of calcium"


def well(folder, more, target="irrigation"):
    site = f'element = "8x40"\n[product]\ntarget = "{target}"\n{more}'
    return sized(folder, WATER, recovery=0.6, product=6.0, hours=12, more=site, draws=128)


def test_no_softener_for_irrigation_where_a_train_without_keeps_the_product_fit(tmp_path):
    study = well(tmp_path, "")
    assert "softener" not in study.value("train.chosen")
    assert SEVERE not in study.value("verdict.reasons")
    soft = [row for row in choices(study) if "softener" in str(row["stages"])]
    assert soft
    assert not any(row["feasible"] == "yes" and row["rank"] == 1.0 for row in soft)


def test_one_that_is_asked_for_has_to_be_accepted_first(tmp_path):
    study = well(tmp_path, ASKED)
    assert study.value("verdict.answer") == "depends"
    assert SEVERE in study.value("verdict.reasons")


def test_another_use_of_the_product_does_not_ask(tmp_path):
    assert SEVERE not in well(tmp_path, ASKED, "process").value("verdict.reasons")
