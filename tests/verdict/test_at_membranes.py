"""What the water at the membranes asks for and no scale tells, through the command.

Invented wells. Running range of polyamide, pH 3 to 10, the loss of half the carbon dioxide in an
open tank and what aluminium does to silica: common practice, no source.
"""

import pytest

from pretreat.chemistry.speciation import speciate
from pretreat.chemistry.sulfide import si_iron_sulfide
from pretreat.lab.read.names import named_analyte
from pretreat.membrane.feed import molal_totals
from tests.verdict import test_lime_ahead as lime
from tests.verdict.test_lime_ahead import run, value
from tests.verdict.test_over_range import CLEAR

PLAIN = CLEAR | {"Aluminium": "<0.01,mg/L", "Hydrogen sulfide": "<0.02,mg/L"}
PLAIN |= {"Sodium": "72,mg/L"}
GROUTED = {"pH (field)": "10.8,", "Calcium": "4,mg/L", "Magnesium": "1,mg/L"}
GROUTED |= {"Sodium": "182,mg/L", "Chloride": "100,mg/L", "Sulfate": "30,mg/L"}
SOFT = {"pH (field)": "6.3,", "Calcium": "50,mg/L", "Magnesium": "12,mg/L", "Sodium": "35,mg/L"}
SOFT |= {"Alkalinity as CaCO3": "170,mg/L", "Chloride": "45,mg/L"}
SOFT |= {"Barium": "0.004,mg/L", "Sulfate": "12,mg/L"}
TANK = '\n[supply]\nraw_tank_volume = "5 m3"\n'


@pytest.mark.parametrize("site", ["", '[train]\nstages = ["inhibitor", "cartridge"]\n'])
def test_a_feed_above_the_running_range_is_named_first_page(tmp_path, site):
    study = run(tmp_path, PLAIN | GROUTED, site)
    assert "cement grout" in value(study, "verdict.reasons")
    assert value(study, "verdict.answer") != "fits"
    if site:
        assert value(study, "verdict.answer") == "does not fit"
        assert "pH 10.8 onto the membranes" in value(study, "verdict.reasons")


@pytest.mark.parametrize(
    ("one", "other"),
    [("Reactive silica", "Total silica"), ("Total silica", "Silica (molybdate)")],
)
def test_two_results_of_silica_apart_are_named_and_the_higher_is_judged(tmp_path, one, other):
    low, high = ("15,mg/L", "38,mg/L") if one.startswith("Reactive") else ("38,mg/L", "15,mg/L")
    lines = {one: low, other: high, "Silica": ","}
    study = run(tmp_path, PLAIN | lines)
    assert value(study, "water.sio2_mg_l") == pytest.approx(38.0)
    assert "the difference, 23 mg/L, is colloidal" in value(study, "verdict.reasons")
    assert "silica_forms" in {flag["code"] for flag in study["flags"]}


def test_two_results_of_silica_that_agree_are_one(tmp_path):
    study = run(tmp_path, PLAIN | {"Reactive silica": "11.6,mg/L"})
    assert "colloidal" not in value(study, "verdict.reasons")


def test_a_tank_that_nobody_says_is_closed(tmp_path):
    closed = run(tmp_path, PLAIN | SOFT, f"{TANK}vented_raw_tank = false\n")
    said = run(tmp_path, PLAIN | SOFT, TANK)
    vented = run(tmp_path, PLAIN | SOFT, f"{TANK}vented_raw_tank = true\n")
    assert "inhibitor.dose_mg_l" not in closed["figures"]
    assert "inhibitor.dose_mg_l" in vented["figures"]
    assert value(said, "verdict.answer") == "fits with conditions"
    assert "the raw tank has to be closed" in value(said, "verdict.reasons")
    assert "has to be closed" not in value(closed, "verdict.reasons")
    assert "has to be closed" not in value(vented, "verdict.reasons")


@pytest.mark.parametrize(
    ("temp_c", "ph", "water", "alkalinity", "h2s", "expected"),
    [
        (16.0, 7.5, {"ca": 60, "na": 300, "cl": 402, "fe": 0.03}, 310.0, 2.8, 0.177),
        (12.0, 8.1, {"ca": 40, "na": 80, "cl": 50, "fe": 0.2}, 180.0, 4.5, 1.565),
        (22.0, 7.0, {"ca": 90, "na": 50, "cl": 60, "fe": 0.4}, 250.0, 1.2, 0.631),
    ],
)
def test_iron_sulfide_by_phreeqc(temp_c, ph, water, alkalinity, h2s, expected):
    """SI of FeS(ppt) by PHREEQC 3 with wateq4f.dat, pe -3 (computed)."""
    totals = molal_totals(water, alkalinity)
    found = speciate(
        totals.mol_kg, temp_c=temp_c, ph=ph, alkalinity_eq_kg=alkalinity / 50.043 / 1000.0
    )
    assert float(si_iron_sulfide(found, h2s)) == pytest.approx(expected, abs=0.08)


def test_iron_beside_sulfide_is_named(tmp_path):
    sealed = {"Iron": "0.06,mg/L", "Hydrogen sulfide": "3.4,mg/L", "Dissolved oxygen": "0.1,mg/L"}
    study = run(tmp_path, PLAIN | sealed)
    assert "iron sulfide is above saturation" in value(study, "verdict.reasons")
    assert value(study, "verdict.answer") == "depends"
    assert "iron sulfide" not in value(run(tmp_path, PLAIN), "verdict.reasons")


def test_aluminium_is_asked_for_where_silica_is_near_its_limit(tmp_path):
    lines = {k: v for k, v in PLAIN.items() if k != "Aluminium"}
    near = run(tmp_path, lines | {"Silica": "38,mg/L"})
    assert "measure aluminium" in value(near, "verdict.reasons")
    assert "measure aluminium" not in value(run(tmp_path, lines), "verdict.reasons")
    known = run(tmp_path, PLAIN | {"Silica": "38,mg/L"})
    assert "measure aluminium" not in value(known, "verdict.reasons")


def test_a_conductivity_far_from_the_ions_is_measured_again(tmp_path):
    made = value(run(tmp_path, PLAIN), "water.ec_calculated_us_cm")
    off = run(tmp_path, PLAIN | {"Conductivity": f"{made / 0.64:.0f},µS/cm"})
    assert "measure conductivity at the well" in value(off, "verdict.reasons")
    near = run(tmp_path, PLAIN | {"Conductivity": f"{made / 0.93:.0f},µS/cm"})
    assert "measure conductivity" not in value(near, "verdict.reasons")


@pytest.mark.parametrize(("name", "printed"), [("Lead-210", "0.4"), ("Polonium-210", "0.25")])
def test_nuclides_above_their_derived_concentration_are_named(tmp_path, name, printed):
    """0.2 and 0.1 Bq/L: derived concentrations of 2013/51/Euratom, from memory."""
    study = run(tmp_path, PLAIN | {name: f"{printed},Bq/L"})
    assert f"{name} {printed} Bq/L" in value(study, "verdict.reasons")


def test_a_product_stripped_of_too_little_gas_is_acid_still(tmp_path, monkeypatch):
    site = lime.SITE.replace('element = "4x40"\n', "")
    monkeypatch.setattr(lime, "SITE", site)
    gas = {"pH (field)": "5.7,", "Alkalinity as CaCO3": "235,mg/L"}
    behind = '[train]\nstages = ["inhibitor", "cartridge", "product_degasser"]\n[product]\n'
    study = run(tmp_path, PLAIN | gas, f'{behind}target = "irrigation"\n')
    assert value(study, "delivered.ph") < 6.5
    assert "the water delivered is acid all the same" in value(study, "verdict.reasons")
    sound = run(tmp_path, PLAIN, f'{behind}target = "irrigation"\n')
    assert "acid all the same" not in value(sound, "verdict.reasons")


@pytest.mark.parametrize(
    "name",
    [
        "Total alkalinity (HCO3-)",
        "Alkalinity (HCO3)",
        "Alcalinité totale (HCO3-)",
        "Alkalinity, total, HCO3",
        "M-alkalinity (HCO3-)",
    ],
)
def test_an_alkalinity_beside_the_formula_of_bicarbonate_is_expressed_as_it(name):
    found = named_analyte(name)
    assert (found.key, found.basis) == ("alkalinity", "HCO3")
