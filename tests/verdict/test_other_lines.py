"""What stands in a report beside its analytes and harms membranes or people, through the command.

Sources beside each check; most is common practice, no source: polyamide takes no oxidant, oil
and cationic polymers stay on it, gases and germs need a word of their own.
"""

import json

import pytest
from typer.testing import CliRunner

from pretreat.cli import _register, app

_register()

BASE = {
    "pH (field)": "7.3,", "Temperature": "15,°C", "Conductivity": "640,µS/cm",
    "Calcium": "40,mg/L", "Magnesium": "10,mg/L", "Sodium": "75,mg/L", "Potassium": "3,mg/L",
    "Strontium": "0.2,mg/L", "Barium": "8,µg/L", "Iron dissolved": "0.01,mg/L",
    "Iron total": "0.02,mg/L", "Manganese dissolved": "<0.005,mg/L", "Aluminium": "<0.01,mg/L",
    "Alkalinity as CaCO3": "150,mg/L", "Sulfate": "40,mg/L", "Chloride": "82,mg/L",
    "Fluoride": "0.3,mg/L", "Nitrate as NO3": "8,mg/L", "Silica": "12,mg/L",
    "Phosphate": "<0.02,mg/L", "Ammonium": "<0.05,mg/L", "SDI": "2,", "TOC": "0.6,mg/L",
    "Turbidity": "0.2,NTU",
}  # fmt: skip
SITE = """
[water]
analysis = "well.csv"
operating_temperature_c = 16
coldest_temperature_c = 13
warmest_temperature_c = {warmest}
[machine]
product_flow = "1.2 m3/h"
recovery = 0.6
hours_per_day = 14
{more}
"""
# Where the whole job is run too: one of each kind.
SITED = {"Oil and grease", "Methane", "Iron bacteria", "Zinc", "Blorinium"}
BARE = '[train]\nstages = ["inhibitor", "cartridge"]'


def report(folder, more):
    lines = ["Invented well,,", "Analyte,Result,Unit"]
    lines += [f"{name},{rest}" for name, rest in {**BASE, **more}.items()]
    path = folder / "well.csv"
    path.write_text("\n".join(lines), "utf-8")
    return path


def run(*words):
    done = CliRunner().invoke(app, [*map(str, words), "--json", "--draws", "128"])
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def scaled(folder, more):
    return run("scaling", report(folder, more), "--recovery", "0.6", "--inhibitor")


def sited(folder, more, train=BARE, *, command="size", warmest=19):
    report(folder, more)
    site = folder / "site.toml"
    site.write_text(SITE.format(more=train, warmest=warmest), "utf-8")
    return run(command, site)


def told(study):
    return study["figures"]["verdict.answer"]["value"], study["figures"]["verdict.reasons"]["value"]


HARMLESS = {
    "Colour": "5,Hazen", "Odour": "none,", "Total hardness": "140,mg/L as CaCO3",
    "Sodium adsorption ratio": "2.7,", "Total dissolved solids": "390,mg/L",
    "Oil and grease": "<0.5,mg/L", "Methane": "<0.01,mg/L", "Total chlorine": "<0.05,mg/L",
    "Ozone": "0,mg/L", "Benzene": "<0.5,µg/L", "Bromide": "0.1,mg/L", "Lithium": "20,µg/L",
    "Molybdenum": "4,µg/L", "Vanadium": "6,µg/L", "Zinc": "0.2,mg/L", "Copper": "0.05,mg/L",
    "Permanganate index": "1.1,mg/L", "Heterotrophic plate count": "40,CFU/mL",
    "Sum of cations": "6.0,meq/L", "Total nitrogen": "2,mg/L", "Radon": "20,Bq/L",
    "Iron bacteria": "absent,", "Cationic polymer": "not detected,mg/L",
}  # fmt: skip


@pytest.mark.parametrize("more", [{}, HARMLESS], ids=["bare", "harmless"])
def test_harmless_lines_and_what_was_not_found_raise_nothing(tmp_path, more):
    """A verdict that never says yes is no verdict."""
    answer, reasons = told(scaled(tmp_path, more))
    assert answer == "fits", reasons
    assert "season" not in reasons  # one temperature was given
    answer, reasons = told(sited(tmp_path, more))
    assert answer == "fits", reasons
    assert "worst season included" in reasons


OXIDANTS = [
    ({"Total chlorine": "2.4,mg/L"}, "total chlorine"),
    ({"Free chlorine": "0.1,mg/L", "Total chlorine": "1.9,mg/L"}, "combined chlorine"),
    ({"Monochloramine": "2.2,mg/L"}, "Monochloramine"),
    ({"Combined chlorine": "0.8,mg/L"}, "Combined chlorine"),
    ({"Chlorine dioxide": "0.3,mg/L"}, "Chlorine dioxide"),
    ({"Ozone": "150,µg/L"}, "Ozone"),
    ({"Hydrogen peroxide": "1,mg/L"}, "Hydrogen peroxide"),
    ({"Permanganate": "0.2,mg/L"}, "Permanganate"),
    ({"Bromine": "0.5,mg/L"}, "Bromine"),
    ({"Peracetic acid": "0.4,mg/L"}, "Peracetic acid"),
    ({"Iodine": "0.3,mg/L"}, "Iodine"),
    ({"Wasserstoffperoxid": "1,mg/L"}, "Wasserstoffperoxid"),
]


@pytest.mark.parametrize(("more", "name"), OXIDANTS)
def test_no_oxidant_reaches_polyamide_without_a_word(tmp_path, more, name):
    """Polyamide takes no oxidant (from memory; the trade's rule without exception)."""
    answer, reasons = told(scaled(tmp_path, more))
    assert answer == "fits with conditions"
    assert name in reasons
    assert "polyamide" in reasons


@pytest.mark.parametrize(("more", "name"), [OXIDANTS[0], OXIDANTS[5]])
def test_a_train_takes_an_oxidant_or_does_not_fit(tmp_path, more, name):
    """Carbon with about 10 min of contact, or bisulfite (common practice, no source)."""
    answer, reasons = told(sited(tmp_path, more))
    assert answer == "does not fit"
    assert name in reasons
    chosen = sited(tmp_path, more, "")
    stages = chosen["figures"]["train.chosen"]["value"]
    assert {"carbon", "bisulfite"} & set(stages.split(" + "))
    if "carbon" in stages:
        assert chosen["figures"]["carbon.contact_wanted_min"]["value"] == 10.0
    dosed = sited(tmp_path, more, '[train]\nstages = ["inhibitor", "bisulfite", "cartridge"]')
    assert told(dosed)[0] != "does not fit"
    assert dosed["figures"]["bisulfite.dose_mg_l"]["value"] > 0.3


def test_equivalents_of_bisulfite_are_those_of_the_oxidant(tmp_path):
    """Two electrons each: 48.0 g of ozone oxidise what 70.9 g of chlorine do (stoichiometry)."""
    train = '[train]\nstages = ["inhibitor", "bisulfite", "cartridge"]'
    doses = [
        sited(tmp_path, {name: "1,mg/L"}, train)["figures"]["bisulfite.dose_mg_l"]["value"]
        for name in ("Monochloramine", "Ozone")
    ]
    assert doses[1] / doses[0] == pytest.approx(70.9 / 48.0, rel=0.01)


def test_rate_says_that_measured_chlorine_comes(tmp_path):
    train = '[carbon]\nvessel = "10x54"\n[softener]\nvessel = "14x65"\nsalt_dose_g_l = 120'
    study = sited(tmp_path, {"Total chlorine": "2.4,mg/L"}, train, command="rate")
    texts = " ".join(flag["text"] for flag in study["flags"])
    assert "no chlorine is expected" not in texts
    assert "10 min wanted" in texts


@pytest.mark.parametrize(
    "more",
    [
        {"Oil and grease": "3,mg/L"},
        {"Mineral oil (C10-C40)": "2.4,mg/L"},
        {"Total petroleum hydrocarbons": "900,µg/L"},
        {"Kohlenwasserstoff-Index": "0.6,mg/L"},
        {"Diesel range organics": "0.5,mg/L"},
        {"Aceites y grasas": "1.5,mg/L"},
        {"Odour": "petrol,"},
        {"Cationic polymer": "0.5,mg/L"},
        {"PolyDADMAC": "0.2,mg/L"},
        {"Cationic surfactants": "0.4,mg/L"},
    ],
)
def test_oil_and_cationic_polymer_do_not_fit_until_removed(tmp_path, more):
    """Next to none on membranes (common practice, no source); no stage of a train takes them."""
    study = scaled(tmp_path, more)
    assert told(study)[0] == "does not fit"
    assert next(iter(more)).split()[0] in told(study)[1]
    if next(iter(more)) in SITED:
        assert told(sited(tmp_path, more, ""))[0] == "does not fit"


@pytest.mark.parametrize(
    ("more", "code", "words"),
    [
        ({"Methane": "26,mg/L"}, "explosive_gas", "ignition"),
        ({"Methan": "800,µg/L"}, "explosive_gas", "vent"),
        ({"Ethane": "1.2,mg/L"}, "explosive_gas", "ignition"),
        ({"Radon-222": "900,Bq/L"}, "radon_gas", "ventilate"),
        ({"Radon": "9000,pCi/L"}, "radon_gas", "ventilate"),
        ({"Iron bacteria": "present,"}, "growth_in_water", "spacers"),
        ({"Heterotrophic plate count": "48000,CFU/mL"}, "growth_in_water", "spacers"),
        ({"Sulfate reducing bacteria": "100,CFU/mL"}, "growth_in_water", "spacers"),
        ({"Anionic surfactants": "0.6,mg/L"}, "surfactant_in_water", "foul"),
        ({"Polyacrylamide": "0.3,mg/L"}, "polymer_in_water", "charge"),
        ({"Trichloroethene": "85,µg/L"}, "not_judged", "not judged"),
        ({"PFOA": "0.4,µg/L"}, "not_judged", "not judged"),
        ({"Zinc": "4,mg/L"}, "metal_in_concentrate", "concentrate"),
        ({"Cobalt": "0.9,mg/L"}, "metal_in_concentrate", "concentrate"),
        ({"Tannins": "2,mg/L"}, "not_judged", "organic"),
        ({"Suspended solids": "35,mg/L"}, "not_judged", "filter"),
        ({"Blorinium": "3,mg/L"}, "not_judged", "does not know"),
        ({"Legionella": "200,CFU/100 mL"}, "not_judged", "germs"),
    ],
)
def test_what_is_measured_and_not_used_is_a_condition(tmp_path, more, code, words):
    """Explosion from 5 % of methane in air (handbooks); radon 100 Bq/L, 2013/51/Euratom (from
    memory); 500 CFU/mL is much (from memory); the rest common practice, no source."""
    name = next(iter(more)).split()[0].casefold()
    studies = [scaled(tmp_path, more)]
    if next(iter(more)) in SITED:
        studies.append(sited(tmp_path, more))
    for study in studies:
        answer, reasons = told(study)
        assert answer == "fits with conditions", reasons
        assert name in reasons.casefold()
        assert words in reasons
        assert code in {flag["code"] for flag in study["flags"]}
        assert "not needed" not in json.dumps(study["flags"])


@pytest.mark.parametrize(
    ("more", "named"),
    [
        ({"Aluminium": "0.42,mg/L"}, "aluminium"),
        ({"Hydrogen sulfide": "4.5,mg/L"}, "hydrogen sulfide"),
        ({"SDI": "6.3,"}, "silt density"),
        ({"Turbidity": "4,NTU"}, "turbidity"),
        ({"Temperature": "53,°C"}, "45 °C"),
    ],
)
def test_scaling_is_no_greener_than_size(tmp_path, more, named):
    answer, reasons = told(scaled(tmp_path, more))
    assert answer == "does not fit"
    assert named in reasons


@pytest.mark.parametrize(
    ("warmest", "expected"), [(38, "fits"), (42, "fits with conditions"), (50, "does not fit")]
)
@pytest.mark.parametrize("command", ["size", "rate"])
def test_heat_is_judged_on_the_warmest_water(tmp_path, warmest, expected, command):
    """Elements take at most 45 °C, plastic vessels 40 to 49 °C (common practice, no source)."""
    answer, reasons = told(sited(tmp_path, {}, command=command, warmest=warmest))
    assert answer == expected
    assert ("°C" in reasons) is (expected != "fits")
