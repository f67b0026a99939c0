"""Alkali ahead of an oxidising filter is dosed for the pH behind the oxidation.

PHREEQC 3.8.6 with wateq4f.dat does the same in its own way: carbon dioxide out, base in, the
oxidant added as atoms, ferric hydroxide and pyrolusite brought to equilibrium.
"""

import pytest

from tests.chemistry.phreeqc_reference import Reference

AHEAD, BEHIND = ("aeration", "alkali"), ("contact_tank", "iron_filter", "carbon", "cartridge")
SOUR = {"Field pH": "5.7", "Temperature [C]": "15", "Ca [mg/L]": "7", "Mg [mg/L]": "2.4",
        "Na [mg/L]": "9", "K [mg/L]": "1.5", "Alkalinity [mg/L as CaCO3]": "9", "Fe [mg/L]": "4.2",
        "Mn [mg/L]": "0.7", "SO4 [mg/L]": "22", "Cl [mg/L]": "13", "SiO2 [mg/L]": "16"}  # fmt: skip
SOURER = {**SOUR, "Field pH": "5.3", "Alkalinity [mg/L as CaCO3]": "4", "Fe [mg/L]": "5.2",
          "Mn [mg/L]": "0.35", "SO4 [mg/L]": "30"}  # fmt: skip
ROOM = {**SOUR, "Field pH": "6.3", "Alkalinity [mg/L as CaCO3]": "60", "Ca [mg/L]": "30"}
MOL = {"fe": 55.845e3, "mn": 54.938e3}
NAMES = {"ca": "Ca", "mg": "Mg", "na": "Na", "k": "K", "so4": "SO4", "cl": "Cl", "sio2": "SiO2",
         "fe": "Fe", "mn": "Mn"}  # fmt: skip
# Atoms of the oxidant for a mole of iron and of manganese: OCl- gives O, MnO4- is reduced
# to MnO2, oxygen of the air is as much O.
OXIDANT = {
    "chlorine": ("NaClO", 0.5, 1.0),
    "permanganate": ("KMnO4", 1 / 3, 2 / 3),
    "air": ("O", 0.5, 1.0),
}


def phreeqc_ph(water, oxidant, stripped_mg_l, naoh_mg_l):
    """Return the pH behind stripping, sodium hydroxide and oxidation as PHREEQC has it."""
    ions = {key: float(water[f"{name} [mg/L]"]) for key, name in NAMES.items()}
    engine = Reference()
    engine.feed(ions, float(water["Alkalinity [mg/L as CaCO3]"]), float(water["Field pH"]), 15.0)
    formula, for_fe, for_mn = OXIDANT[oxidant]
    taken = for_fe * ions["fe"] / MOL["fe"] + for_mn * ions["mn"] / MOL["mn"]
    return engine.run(
        "USE solution 1\nREACTION 1\n"
        f"CO2 {-stripped_mg_l / 44_009.0:.10g}\nNaOH {naoh_mg_l / 39_997.0:.10g}\n"
        f"{formula} {1.0001 * taken:.10g}\n1 moles\n"
        "EQUILIBRIUM_PHASES 1\nFe(OH)3(a) 0 0\nPyrolusite 0 0\n"
    )["pH"]


def made(figures, water, oxidant, ahead=AHEAD, more=""):
    fed = () if oxidant == "air" else (oxidant,)
    settings = f'[iron_filter]\noxidant = "{oxidant}"\nregeneration = "continuous"\n{more}'
    return figures((*ahead, *fed, *BEHIND), settings, water, recovery=0.5)


@pytest.mark.parametrize("water", [SOUR, SOURER, ROOM], ids=["sour", "sourer", "buffered"])
@pytest.mark.parametrize("oxidant", ["chlorine", "permanganate", "air"])
def test_dose_gives_the_ph_behind_the_oxidation(figures, water, oxidant):
    found, _ = made(figures, water, oxidant)
    ph = phreeqc_ph(water, oxidant, found["aeration.co2_stripped_mg_l"], found["alkali.dose_mg_l"])
    assert ph == pytest.approx(7.5, abs=0.05)
    assert found["iron_filter.ph"] == pytest.approx(ph, abs=0.05)
    assert found["alkali.ph"] > 7.5


def test_one_law_of_the_acid_and_the_dose_follows(figures):
    """By hand: 4.2 and 0.7 mg/L give two H+ each with OCl-: 7.53 and 1.28 mg/L as CaCO3."""
    found, texts = made(figures, SOUR, "chlorine")
    assert found["alkali.acid_to_come_mg_l_caco3"] == pytest.approx(8.80, abs=0.01)
    assert found["chlorine.alkalinity_used_mg_l_caco3"] == pytest.approx(7.53, abs=0.01)
    assert found["iron_filter.alkalinity_used_mg_l_caco3"] == pytest.approx(1.28, abs=0.01)
    flow = found["machine.feed_m3_d"] * found["machine.days_per_year"] / 1000.0
    year = found["alkali.dose_mg_l"] * flow
    assert found["alkali.kg_per_year"] == pytest.approx(year, rel=1e-6)
    assert any("pH behind the oxidation is 7.50" in text for text in texts)
    assert any("in two places" in text for text in texts)  # pH 9.4 ahead of the oxidant


def test_own_dose_is_held_against_the_ph_behind_the_oxidation(figures):
    """7.5 mg/L lift the aerated water above 7.5, and the acid of the iron takes it back to 6.4."""
    found, texts = made(figures, SOUR, "chlorine", more='[alkali]\ndose = "7.5 mg/L"\n')
    ph = phreeqc_ph(SOUR, "chlorine", found["aeration.co2_stripped_mg_l"], 7.5)
    assert found["alkali.ph"] > 7.5
    assert found["iron_filter.ph"] == pytest.approx(ph, abs=0.05)
    assert ph < 6.6
    assert any("manganese is removed from about pH 7 on" in text for text in texts)


def test_filter_without_alkali_says_its_ph_too(figures):
    """Air alone on a water of little alkalinity: what is left of it is far below its own pH."""
    water = {**SOUR, "Field pH": "6.9", "Alkalinity [mg/L as CaCO3]": "20", "Mn [mg/L]": "0.01"}
    found, _ = made(figures, water, "air", ahead=("aeration",))
    ph = phreeqc_ph(water, "air", found["aeration.co2_stripped_mg_l"], 0.0)
    assert found["iron_filter.ph"] == pytest.approx(ph, abs=0.05)
    assert found["iron_filter.ph"] < found["aeration.ph"] - 0.2


def test_acid_beyond_the_alkalinity_is_said(figures):
    found, texts = made(figures, SOURER, "chlorine", ahead=("aeration",))
    ph = phreeqc_ph(SOURER, "chlorine", found["aeration.co2_stripped_mg_l"], 0.0)
    assert ph < 4.5
    assert any("more acid than the water has alkalinity" in text for text in texts)
    assert not any(
        "alkalinity" in text and "more acid" in text for text in made(figures, SOUR, "chlorine")[1]
    )
