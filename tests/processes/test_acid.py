"""Acid feed against the printed stoichiometry, a worked example, and PHREEQC."""

import pytest

from pretreat.membrane.acid import HYDROCHLORIC, SULFURIC
from pretreat.membrane.feed import feed_water
from pretreat.stages.acid import laws
from pretreat.stages.carbonate import treated_with
from pretreat.stages.dosing import laws as dosing
from tests.chemistry.phreeqc_reference import Reference

# One equivalent of acid takes one of alkalinity; worked from the atomic weights of IUPAC 2021.
STOICHIOMETRY = [
    (1 / SULFURIC.alkalinity_per_mg, 0.9799, "H2SO4 per CaCO3"),
    (1 / HYDROCHLORIC.alkalinity_per_mg, 0.7286, "HCl per CaCO3"),
    (laws.co2_freed_mg_l(1.0), 0.8794, "CO2 set free per CaCO3"),
    (SULFURIC.anion_per_mg / SULFURIC.alkalinity_per_mg, 0.9598, "sulfate added per CaCO3"),
    (dosing.strength_g_l(0.93, 1.83), 1702.0, "93 % by weight at 1.83 kg/L"),
    (dosing.strength_g_l(0.33, 1.16), 382.8, "33 % by weight at 1.16 kg/L"),
]


@pytest.mark.parametrize(("found", "expected", "what"), STOICHIOMETRY)
def test_stoichiometry(found, expected, what):
    assert found == pytest.approx(expected, rel=1e-3), what


def test_dosing_pump_of_a_worked_example():
    """61.13 mg/L of neat 93 % acid at 1.488 m3/h from a pump of 1 L/h and 180 strokes."""
    flow = dosing.solution_l_h(dosing.fed_g_h(1.488, 61.13), 1702.0)
    assert flow * 1000 == pytest.approx(53.44, rel=0.01)
    stroke = dosing.stroke_l(1.0, 180.0)
    assert stroke * 1000 == pytest.approx(0.09259, rel=1e-3)
    strokes = dosing.strokes_per_min(flow, stroke)
    assert strokes == pytest.approx(9.62, rel=0.01)
    assert dosing.slug_spacing_m(0.5, strokes) == pytest.approx(3.119, rel=0.01)


# Alkalinity 300 from pH 7.5 to 6.8 at 15 C, ionic strength 0.04, closed: 62.4 mg/L as CaCO3,
# 61.1 mg/L of sulfuric acid (a calculation without ion pairs).
SALTY = {"Field pH": "7.5", "Ca [mg/L]": "0", "Mg [mg/L]": "0", "K [mg/L]": "0", "SO4 [mg/L]": "0",
         "SiO2 [mg/L]": "0", "Alkalinity [mg/L as CaCO3]": "300", "Na [mg/L]": "920",
         "Cl [mg/L]": "1206"}  # fmt: skip


def test_dose_for_a_ph(figures):
    found, texts = figures(("acid", "cartridge"), "[acid]\ntarget_ph = 6.8", SALTY)
    assert found["acid.dose_mg_l"] == pytest.approx(61.13, rel=0.03)
    assert found["acid.alkalinity_taken_mg_l_caco3"] == pytest.approx(62.38, rel=0.03)
    assert found["acid.ph"] == pytest.approx(6.8, abs=0.002)
    assert any("acid to water" in text or "acid into water" in text for text in texts)


@pytest.mark.parametrize("dose", [15.0, 61.0, 180.0])
def test_ph_behind_acid_is_that_of_phreeqc(dose):
    """PHREEQC 3.8.6 with wateq4f.dat, the acid added as a reaction to the same water."""
    ions = {"ca": 90.0, "mg": 30.0, "na": 250.0, "k": 8.0, "so4": 150.0, "cl": 260.0}
    before = feed_water(ions, 300.0, 7.5, 15.0)
    taken = dose * SULFURIC.alkalinity_per_mg
    made = treated_with(before, -taken, {"so4": SULFURIC.anion_per_mg / SULFURIC.alkalinity_per_mg})
    kg_water = 1.0 - before.tds_mg_l / 1e6
    added = dose / 98_079.0 / float(kg_water)
    engine = Reference()
    engine.feed(ions, 300.0, 7.5, 15.0)
    text = f"USE solution 1\nREACTION 1\nH2SO4 1\n{added:.10g} moles\n"
    assert float(made.ph) == pytest.approx(engine.run(text)["pH"], abs=0.01)


def test_the_acid_reaches_the_membranes(figures):
    plain, _ = figures(("cartridge",), "")
    dosed, _ = figures(("acid", "cartridge"), "[acid]\ntarget_lsi = 0.5")
    assert dosed["acid.dose_mg_l"] > 0
    assert dosed["scaling.lsi"] == pytest.approx(0.5, abs=0.01)
    assert plain["scaling.lsi"] > dosed["scaling.lsi"]
    sulfate = dosed["concentrate.so4_mg_l"] - plain["concentrate.so4_mg_l"]
    assert sulfate == pytest.approx(dosed["acid.so4_added_mg_l"] * 2.5, rel=0.01)


def test_acid_not_needed_is_none(figures):
    found, texts = figures(("acid", "cartridge"), "[acid]\ntarget_ph = 7.4")
    assert found["acid.dose_mg_l"] == 0
    assert any("no acid" in text for text in texts)


def test_hydrochloric_brings_chloride(figures):
    found, _ = figures(("acid", "cartridge"), '[acid]\nacid = "hydrochloric"\ndose = "30 mg/L"')
    assert found["acid.cl_added_mg_l"] == pytest.approx(30 * 35.45 / 36.46, rel=1e-3)
    assert "acid.so4_added_mg_l" not in found


def test_more_acid_than_alkalinity_is_refused(site):
    code, _, error = site(("acid", "cartridge"), '[acid]\ndose = "500 mg/L"')
    assert code == 1
    assert "lower the dose" in error


def test_two_targets_are_refused(site):
    code, _, error = site(("acid",), "[acid]\ntarget_ph = 6.5\ntarget_lsi = 0.2")
    assert code == 1
    assert "one follows from the other" in error


def test_acid_beside_permanganate_is_named(figures):
    iron = {"Fe [mg/L]": "2"}
    _, texts = figures(("iron_filter", "carbon", "acid"), "[acid]\ntarget_ph = 6.8", iron)
    assert any("acid feed and permanganate" in text for text in texts)


def test_acid_behind_sulfide_is_named(figures):
    sulfide = {"H2S [mg/L]": "0.5"}
    _, texts = figures(("acid", "cartridge"), "[acid]\ntarget_ph = 6.8", sulfide)
    assert any("hydrogen sulfide, a deadly gas" in text for text in texts)
