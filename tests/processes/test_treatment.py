"""Aeration, oxidants, dechlorination and weak acid exchange against worked examples."""

import pytest

from pretreat.membrane.feed import exchanged, feed_water
from pretreat.stages import stripping
from pretreat.stages.aeration.laws import iron_half_life_min, iron_time_min
from pretreat.stages.bisulfite import laws as bisulfite
from pretreat.stages.chlorine import laws as chlorine
from pretreat.stages.contact_tank.laws import contact_tank_m3
from pretreat.stages.dosing import laws as dosing
from pretreat.stages.oxidation import alkalinity_per_mg, oxidant_per_mg
from pretreat.stages.weak_acid import laws as weak_acid
from tests.chemistry.phreeqc_reference import Reference

H2S_10 = stripping.h2s_gas_water(10.0)
# Database rows: phreeqc.dat as distributed with PHREEQC 3; the others by hand from the equations.
VALUES = [
    (stripping.co2_gas_water(10.0), 0.8005, "CO2 gas over water 10 C"),
    (stripping.co2_gas_water(20.0), 1.061, "CO2 gas over water 20 C"),
    (stripping.co2_gas_water(25.0), 1.201, "CO2 gas over water 25 C"),
    (H2S_10, 0.2771, "H2S gas over water 10 C"),
    (stripping.h2s_gas_water(25.0), 0.4036, "H2S gas over water 25 C"),
    (stripping.sulfide_pk(10.0), 7.166, "pK of H2S 10 C"),
    (stripping.sulfide_pk(25.0), 6.942, "pK of H2S 25 C"),
    (stripping.molecular_sulfide(7.0, stripping.sulfide_pk(15.0)), 0.5486, "strippable, pH 7"),
    (stripping.molecular_sulfide(8.0, stripping.sulfide_pk(15.0)), 0.1084, "strippable, pH 8"),
    (2.0 * stripping.molecular_sulfide(7.4, stripping.sulfide_pk(20.0)), 0.5789, "of 2 mg/L"),
    (stripping.least_air(0.9, 0.8005), 1.124, "least air for 90 % CO2"),
    (stripping.least_air(0.9, H2S_10), 3.248, "least air for 90 % H2S"),
    (stripping.left_in_one_stage(5.0 * 0.8005), 0.1999, "one mixed stage"),
    (stripping.stripping_factor(0.8005, 25.0), 20.01, "stripping factor"),
    (stripping.transfer_units(20.01, 0.1), 2.375, "transfer units 90 %"),
    (stripping.transfer_units(5.0, 0.05), 3.481, "transfer units 95 %, S 5"),
    (iron_half_life_min(6.5, 20.0), 89.86, "iron half-life pH 6.5"),
    (iron_half_life_min(7.0, 10.0), 36.12, "iron half-life 10 C"),
    (iron_half_life_min(7.5, 10.0), 3.612, "iron half-life pH 7.5"),
    (iron_time_min(2.0, 0.05, iron_half_life_min(7.6, 15.0)), 5.977, "2.0 to 0.05 mg/L"),
    (chlorine.CL2_PER_N, 7.593, "breakpoint by stoichiometry; printed in rules of thumb as 7.6"),
    (chlorine.CHLORAMINE_PER_N, 5.062, "monochloramine"),
    (bisulfite.NAHSO3_PER_CL2, 1.468, "bisulfite per chlorine"),
    # Printed: AWWA field guide on the disinfection of pipelines, Table 7-2.
    (bisulfite.bisulfite_dose_mg_l(1.0, 1.1), 1.61, "field guide"),
    (bisulfite.bisulfite_dose_mg_l(2.0, 1.5), 4.403, "2 mg/L at 1.5"),
    (dosing.fed_g_h(1.488, 4.403), 6.551, "fed at 1.488 m3/h"),
    (dosing.fed_g_h(1.488, 3.0), 4.464, "inhibitor fed"),
    (1000 * dosing.solution_l_h(4.464, 1150.0), 3.882, "inhibitor neat"),
    (1000 * dosing.solution_l_h(4.464, 100.0), 44.64, "inhibitor as 100 g/L"),
    (dosing.day_tank_l(0.04464, 30.0 / 2, 2.0), 1.339, "30 h of it"),
    (5.0 * oxidant_per_mg("fe", "chlorine") + 0.4 * oxidant_per_mg("mn", "chlorine"), 3.691, "Cl2"),
    (5.0 * alkalinity_per_mg("fe", "chlorine") + 0.4 * alkalinity_per_mg("mn", "chlorine"), 14.9, "alkalinity"),
    (2.0 * oxidant_per_mg("fe", "permanganate") + 0.4 * oxidant_per_mg("mn", "permanganate"), 2.653, "KMnO4"),
    (contact_tank_m3(3.0, 30.0, 1.0), 1.5, "tank, 30 min at 3 m3/h"),
    (weak_acid.acid_kg_per_year(0.342 * 88.0, 1.05, 1.0), 23.02, "HCl of a day"),
]  # fmt: skip


@pytest.mark.parametrize(("found", "expected", "what"), VALUES, ids=[v[2] for v in VALUES])
def test_worked_values(found, expected, what):
    assert found == pytest.approx(expected, rel=0.01), what


def test_column_is_the_inverse_of_its_units():
    left = stripping.left_by_column(5.0, stripping.transfer_units(5.0, 0.05))
    assert left == pytest.approx(0.05, rel=1e-9)


LOW = {"Field pH": "6.8", "Ca [mg/L]": "60", "Mg [mg/L]": "12", "Na [mg/L]": "70", "Cl [mg/L]": "90",
       "SO4 [mg/L]": "20", "Alkalinity [mg/L as CaCO3]": "200", "Fe [mg/L]": "2.0"}  # fmt: skip


def test_aeration_raises_the_ph_at_the_membranes(figures):
    """Alkalinity 200, pH 6.8, 15 C: CO2 66 mg/L; 80 % stripped is pH 7.49 (closed balance)."""
    stages = ("aeration", "iron_filter", "carbon", "cartridge")
    found, texts = figures(stages, "[aeration]\nco2_removed = 0.8", LOW, recovery=0.5)
    assert found["aeration.co2_in_mg_l"] == pytest.approx(66.04, rel=0.03)
    assert found["aeration.ph"] == pytest.approx(7.49, abs=0.04)  # that balance has no ion pairs
    plain, _ = figures(stages[1:], "", LOW, recovery=0.5)
    assert found["concentrate.ph"] > plain["concentrate.ph"] + 0.5
    assert any("Vent outdoors" in text for text in texts)


@pytest.mark.parametrize("stripped_mg_l", [10.0, 52.0])
def test_ph_behind_stripping_is_that_of_phreeqc(stripped_mg_l):
    """PHREEQC 3.8.6 with wateq4f.dat, carbon dioxide taken out by a reaction."""
    ions = {"ca": 60.0, "mg": 12.0, "na": 70.0, "cl": 90.0, "so4": 20.0}
    before = feed_water(ions, 200.0, 6.8, 15.0)
    made = exchanged(before, ions, stripped_mg_l / 44_009.0)
    engine = Reference()
    engine.feed(ions, 200.0, 6.8, 15.0)
    text = f"USE solution 1\nREACTION 1\nCO2 1\n{-stripped_mg_l / 44_009.0:.10g} moles\n"
    assert float(made.ph) == pytest.approx(engine.run(text)["pH"], abs=0.01)


def test_aeration_strips_sulfide_in_part(figures):
    water = {**LOW, "H2S [mg/L]": "2.0"}
    found, _ = figures(("aeration", "iron_filter", "carbon", "cartridge"), "", water, recovery=0.5)
    left = found["aeration.sulfide_left_mg_l"]
    assert 0.1 < left < 2.0


def test_too_little_air_is_named(figures):
    _, texts = figures(("aeration", "cartridge"), "[aeration]\nair_to_water = 0.5", LOW)
    assert any("cannot strip" in text for text in texts)


def test_chlorine_without_carbon_is_unsafe(figures):
    _, texts = figures(("chlorine", "contact_tank", "cartridge"), "", {"Fe [mg/L]": "0.05"})
    assert any("chlorine reaches the membranes" in text for text in texts)


def test_permanganate_without_carbon_is_unsafe(figures):
    _, texts = figures(("permanganate", "multimedia", "cartridge"), "", {"Mn [mg/L]": "0.2"})
    assert any("permanganate reaches the membranes" in text for text in texts)


def test_bisulfite_takes_the_chlorine(figures):
    found, texts = figures(
        ("chlorine", "multimedia", "bisulfite", "cartridge"), '[chlorine]\nresidual = "1 mg/L"'
    )
    assert found["bisulfite.dose_mg_l"] == pytest.approx(1.5 * 1.468, rel=0.01)
    assert not any("reaches the membranes" in text for text in texts)


def test_acid_beside_chlorine_and_bisulfite_is_named(figures):
    _, texts = figures(("chlorine", "multimedia", "bisulfite", "acid"), "[acid]\ntarget_ph = 6.8")
    assert any("chlorine gas" in text and "acid feed and chlorine" in text for text in texts)
    assert any("sulfur dioxide" in text and "acid feed and bisulfite" in text for text in texts)


def test_ammonia_takes_chlorine_first(figures):
    """NH3-N 1.5, Fe 2.0, Mn 0.4: 16.79 mg/L at 10 to 1, without the residual (by hand)."""
    water = {"Fe [mg/L]": "2.0", "Mn [mg/L]": "0.4", "NH4 [mg/L]": f"{1.5 * 18.039 / 14.007:.4f}"}
    stages = ("chlorine", "contact_tank", "iron_filter", "carbon", "cartridge")
    found, texts = figures(stages, '[chlorine]\nresidual = "0 mg/L"', water)
    assert found["chlorine.dose_mg_l"] == pytest.approx(16.79, rel=0.01)
    assert any("ammonia is" in text and "of the chlorine dosed" in text for text in texts)


def test_permanganate_for_the_same_water(figures):
    water = {"Fe [mg/L]": "2.0", "Mn [mg/L]": "0.4"}
    found, _ = figures(("permanganate", "iron_filter", "carbon", "cartridge"), "", water)
    assert found["permanganate.dose_mg_l"] == pytest.approx(2.653, rel=0.01)


HARD = {"Field pH": "7.4", "Ca [mg/L]": "112.2", "Mg [mg/L]": "24.3", "Na [mg/L]": "120",
        "Cl [mg/L]": "100", "SO4 [mg/L]": "80", "Alkalinity [mg/L as CaCO3]": "400"}  # fmt: skip


def test_weak_acid_and_degasser(figures):
    """H 380, A 400: nine tenths of 380 taken, 301 mg/L of CO2 set free (by hand)."""
    found, texts = figures(("weak_acid", "degasser", "cartridge"), "", HARD)
    assert found["weak_acid.taken_mg_l_caco3"] == pytest.approx(342, rel=0.01)
    assert found["weak_acid.co2_mg_l"] - 30 == pytest.approx(300.8, rel=0.05)
    assert found["degasser.ph"] > found["weak_acid.ph"] + 0.5
    assert found["concentrate.ca_mg_l"] < 0.15 * 2.5 * 112.2
    assert not any("no degasser" in text for text in texts)
    _, bare = figures(("weak_acid", "cartridge"), "", HARD)
    assert any("no degasser behind" in text for text in bare)


# Alkalinity 100 from pH 6.5 to 7.5 at 15 C, ionic strength 0.02, closed (by hand, to its 3 %).
WEAK = {"Field pH": "6.5", "Ca [mg/L]": "0", "Mg [mg/L]": "0", "K [mg/L]": "0", "SO4 [mg/L]": "0",
        "SiO2 [mg/L]": "0", "Na [mg/L]": "460", "Cl [mg/L]": "638",
        "Alkalinity [mg/L as CaCO3]": "100"}  # fmt: skip


@pytest.mark.parametrize(("base", "dose"), [("caustic", 48.81), ("soda_ash", 121.4)])
def test_alkali_for_a_ph(figures, base, dose):
    found, _ = figures(("alkali", "cartridge"), f'[alkali]\nbase = "{base}"\ntarget_ph = 7.5', WEAK)
    assert found["alkali.dose_mg_l"] == pytest.approx(dose, rel=0.03)
    assert found["alkali.ph"] == pytest.approx(7.5, abs=0.002)


def test_inhibitor_is_sized(figures):
    more = '[inhibitor]\ndose = "3 mg/L"\nsolution = "100 g/L"'
    found, _ = figures(("inhibitor", "cartridge"), more)
    flow = found["machine.feed_flow_m3_h"]
    assert found["inhibitor.solution_l_h"] == pytest.approx(3.0 * flow / 100.0)
    assert found["inhibitor.pump_l_h"] * 0.8 >= found["inhibitor.solution_l_h"]
    assert found["inhibitor.day_tank_l"] == pytest.approx(found["inhibitor.solution_l_h"] * 20 * 30)


def test_stages_not_described_are_not_there(site):
    _, study, _ = site("chosen")
    prefixes = {key.split(".")[0] for key in study["figures"]}
    assert not prefixes & {"aeration", "chlorine", "acid", "alkali", "bisulfite", "weak_acid"}
    names = [row[0] for row in study["series"]["train.stages"]["rows"]]
    assert "acid feed" not in names


def test_a_stage_described_joins_the_chosen_train(site):
    code, study, error = site("chosen", "[acid]\ntarget_ph = 6.9")
    assert code == 0, error
    assert study["figures"]["acid.dose_mg_l"]["value"] > 0


def test_no_carbon_dioxide_is_shown_as_none(figures):
    """A water without alkalinity holds no carbon dioxide: what a solver leaves of it is 0."""
    sour = {"Field pH": "4.4", "Alkalinity [mg/L as CaCO3]": "0", "SO4 [mg/L]": "400"}
    found, _ = figures(("aeration", "cartridge"), "", sour)
    assert found["aeration.co2_mg_l"] == 0.0
