"""What mends a product that its use does not allow is named with it, through the command.

FAO 29, Table 1: sodium adsorption ratio 3 and 9, pH 6.5 to 8.4, severe below 0.2 dS/m at a ratio
up to 3; there the sum of cations is 10 x conductivity. Ammonium 0.50 mg/L: EU 2020/2184 (from
memory). What takes it out: common practice, no source. The wells are invented.
"""

from math import sqrt

import pytest

from tests.verdict.test_lime_ahead import run, value

SODA = {
    "pH (field)": "8.0,",
    "Calcium": "90,mg/L",
    "Magnesium": "30,mg/L",
    "Sodium": "350,mg/L",
    "Iron": "0.01,mg/L",
    "Manganese": "0.005,mg/L",
    "Ammonium": "0.05,mg/L",
    "Alkalinity as CaCO3": "250,mg/L",
    "Chloride": "560,mg/L",
    "Sulfate": "70,mg/L",
}
SOFT = '[train]\nstages = ["softener", "inhibitor", "cartridge"]\n'
PLAIN = '[train]\nstages = ["inhibitor", "cartridge"]\n'


def use(target, more=""):
    return f'[product]\ntarget = "{target}"\n{more}'


def test_the_calcium_that_soil_wants_is_a_number(tmp_path):
    study = run(tmp_path, SODA, SOFT + use("irrigation"))
    why = value(study, "verdict.reasons")
    added = value(study, "product.calcium_for_soil_mg_l")
    assert "the softener takes the calcium: leave it out" in why
    assert f"add {added:.2g} mg/L of calcium" in why
    # With it both rows of FAO 29 are kept: ratio at most 3, 2 meq/L of cations.
    meq = {
        "na": value(study, "product.na_mg_l") / 22.99,
        "ca": (value(study, "product.ca_mg_l") + added) / 20.04,
        "mg": value(study, "product.mg_mg_l") / 12.15,
    }
    assert meq["na"] / sqrt((meq["ca"] + meq["mg"]) / 2) <= 3.0
    assert added / 20.04 == pytest.approx(10 * (0.2 - thin_ds_m(study)), rel=0.02)


def thin_ds_m(study):
    table = study["series"]["product.against_target"]
    name, number = table["columns"].index("parameter"), table["columns"].index("value")
    return next(row[number] for row in table["rows"] if row[name].startswith("conductivity"))


def test_without_a_softener_none_is_blamed(tmp_path):
    why = value(run(tmp_path, SODA, PLAIN + use("irrigation")), "verdict.reasons")
    assert "the softener takes" not in why
    assert "severe for soil" in why


def test_a_sprinkler_is_told_of_an_acid_and_thin_water(tmp_path):
    study = run(tmp_path, SODA | {"pH (field)": "7.2,"}, SOFT + use("sprinkler"))
    why = value(study, "verdict.reasons")
    assert value(study, "verdict.answer") != "fits"
    assert "pH" in why
    assert "6.5 to 8.4" in why
    assert "severe for soil" in why
    assert "attacks metal" in why


def test_a_guideline_is_no_law_and_no_authority_enforces_it(tmp_path):
    for target in ("irrigation", "sprinkler", "process"):
        whose = 'jurisdiction = "boiler"' if target == "process" else ""
        why = value(run(tmp_path, SODA, PLAIN + use(target, whose)), "verdict.reasons")
        assert "outside the limit" in why
        assert "where that law binds" not in why
        assert "authority decide" not in why


def test_ammonium_over_its_limit_names_the_ways_out(tmp_path):
    gas = SODA | {"pH (field)": "8.3,", "Ammonium": "12,mg/L", "Calcium": "20,mg/L"}
    study = run(tmp_path, gas, PLAIN + use("drinking", 'jurisdiction = "eu"\n'))
    found = value(study, "product.nh4_mg_l")
    assert found > 0.5
    why = value(study, "verdict.reasons")
    nitrogen = found * 14.007 / 18.038
    for words in (
        "acid ahead to about pH 7",
        f"chlorine past the breakpoint ({10 * nitrogen:.2g} to {15 * nitrogen:.2g} mg/L)",
        "cation exchange",
        "biological filter",
    ):
        assert words in why


DRAIN = {
    "Ammonium": "0.8,mg/L",
    "Nitrite": "2.2,mg/L",
    "Nitrate as NO3": "70,mg/L",
    "Phosphate": "2.6,mg/L",
}
DRUNK = use("drinking", 'jurisdiction = "who"\n')


def test_the_signs_of_a_drain_ask_for_germs(tmp_path):
    """Ammonium, nitrite, nitrate and phosphate together: common practice, no source."""
    why = value(run(tmp_path, SODA | DRAIN, PLAIN + DRUNK), "verdict.reasons")
    assert "look like sewage" in why
    assert "tested for germs" in why
    for_cattle = value(run(tmp_path, SODA | DRAIN, PLAIN), "verdict.reasons")
    assert "look like sewage" not in for_cattle


def test_ammonium_and_phosphate_of_an_airless_well_do_not(tmp_path):
    deep = SODA | {"Ammonium": "2,mg/L", "Phosphate": "0.8,mg/L"}
    assert "sewage" not in value(run(tmp_path, deep, PLAIN + DRUNK), "verdict.reasons")


def test_germs_that_were_looked_for_need_no_sign(tmp_path):
    clean = SODA | DRAIN | {"E. coli": "0,CFU/100 mL"}
    assert "sewage" not in value(run(tmp_path, clean, PLAIN + DRUNK), "verdict.reasons")


def test_oxygen_that_was_measured_is_judged_in_boiler_feed(tmp_path):
    """UFC 3-230-13FN, Table 3-8: oxygen 0.007 mg/L; a gas passes membranes as it is."""
    lines = SODA | {"Dissolved oxygen": "0.3,mg/L"}
    study = run(tmp_path, lines, SOFT + use("process", 'jurisdiction = "boiler"'))
    assert "oxygen 0.3 mg/L: outside the limit; process limit at most 0.007" in value(
        study, "verdict.reasons"
    )
    open_ = [f["text"] for f in study["flags"] if f["code"] == "product_target_open"]
    assert not any("oxygen" in text for text in open_)


def test_what_the_verdict_names_is_no_caution_besides(tmp_path):
    lines = SODA | {"Atrazine": "0.9,µg/L", "Trichloroethene": "25,µg/L"}
    study = run(tmp_path, lines, PLAIN + DRUNK)
    assert "Atrazine" in value(study, "verdict.reasons")
    assert not any("Atrazine" in f["text"] for f in study["flags"] if f["code"] == "not_judged")
    undrunk = run(tmp_path, lines, PLAIN)
    assert any("Atrazine" in f["text"] for f in undrunk["flags"])
