"""Health and hazards through the commands: limits, ammonia, toxic gas, where it ends up.

Limits: 40 CFR 141.62 and 141.66 (arsenic 0.010 mg/L, radium 226 + 228 5 pCi/L, uranium 30 µg/L,
nitrate 10 mg/L as N). 0.67 pCi per microgram of natural uranium. Breakpoint 7.59 mg of chlorine
for each mg of nitrogen (3 Cl2 for 2 NH3). Headspace: 1 mg/L of molecular hydrogen sulfide at
15 °C gives about 220 ppm; immediately dangerous from 100 ppm (pocket guide of chemical hazards).
"""

import json

import pytest
from typer.testing import CliRunner

from pretreat.cli import _register, app
from pretreat.core.tables import rows

_register()

REPORT = """Parameter,Result,Unit
pH (field),7.2,
Temperature,15,°C
Alkalinity as CaCO3,280,mg/L
Calcium,95,mg/L
Magnesium,32,mg/L
Sodium,60,mg/L
Potassium,4,mg/L
Chloride,55,mg/L
Sulfate,120,mg/L
Nitrate as N,12.5,mg/L
Silica,22,mg/L
Barium,0.12,mg/L
Strontium,1.1,mg/L
Fluoride,0.4,mg/L
Iron,1.1,mg/L
Manganese,0.05,mg/L
Ammonium,0.9,mg/L
Arsenic,18,µg/L
Uranium,28,pCi/L
Radium-226,4.1 ± 0.6,pCi/L
Radium-228,3.9,pCi/L
Gross alpha,-0.4,pCi/L
Hydrogen sulfide,1.5,mg/L
"""
SITE = """
[site]
name = "Hollin Moor dairy"
[water]
analysis = "report.csv"
[machine]
product_flow = "1 m3/h"
recovery = 0.5
hours_per_day = 12
"""


def run(folder, more="", report=REPORT, command="size"):
    (folder / "report.csv").write_text(report)
    (folder / "site.toml").write_text(SITE + more)
    what = "report.csv" if command in {"check", "scaling"} else "site.toml"
    extra = ["--recovery", "0.5"] if command == "scaling" else []
    few = ["--draws", "64"] if command != "check" else []
    result = CliRunner().invoke(app, [command, str(folder / what), *few, *extra, "--json"])
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def flags(study, code):
    return [f for f in study["flags"] if f["code"] == code]


def value(study, key):
    return study["figures"][key]["value"]


@pytest.fixture(scope="module")
def dairy(tmp_path_factory):
    stages = '[train]\nstages = ["iron_filter", "softener", "carbon", "cartridge"]\n'
    return run(tmp_path_factory.mktemp("dairy"), stages)


def test_radionuclides_and_traces_are_read(dairy):
    assert value(dairy, "water.ra_pci_l") == pytest.approx(8.0)
    assert value(dairy, "water.u_mg_l") == pytest.approx(28 / 0.67 / 1000, rel=1e-4)
    assert value(dairy, "water.gross_alpha_pci_l") is None


def test_one_info_line_an_analyte_names_limit_and_law(dairy):
    found = flags(dairy, "health_limit")
    assert {f["figure"] for f in found} == {
        f"water.{k}" for k in ("as_mg_l", "ra_pci_l", "u_mg_l", "no3_mg_l")
    }
    assert {f["level"] for f in found} == {"info"}
    for key, words in {
        "as": ("arsenic", "0.010 mg/L", "40 CFR 141.62", "arsenite only in part"),
        "ra": ("5 pCi/L", "141.66(b)", "resin", "brine", "regeneration"),
        "u": ("30 µg/L", "141.66(e)", "cation softener does not hold it"),
    }.items():
        (one,) = [f for f in found if f["figure"].startswith(f"water.{key}_")]
        assert all(word in one["text"] for word in words), one["text"]


def test_a_drinking_target_makes_it_a_warning(tmp_path):
    study = run(tmp_path, '[product]\ntarget = "drinking"\njurisdiction = "us"\n')
    found = flags(study, "health_limit")
    assert {f["level"] for f in found} == {"warning"}
    assert not any("2020/2184" in f["text"] for f in found)
    assert any(f["figure"] == "water.fe_mg_l" for f in found)  # secondary, 40 CFR 143.3


def test_radium_in_the_waste_is_told_in_numbers(dairy):
    water = value(dairy, "softener.meter_setting_m3")
    waste = value(dairy, "softener.waste_m3_per_regeneration")
    assert value(dairy, "health.radium_in_waste_pci_l") == pytest.approx(
        8.0 * water * 0.982 / waste, rel=1e-9
    )


def test_without_a_softener_radium_is_in_the_concentrate(tmp_path):
    study = run(tmp_path, '[train]\nstages = ["inhibitor", "cartridge"]\n')
    assert value(study, "health.radium_in_concentrate_pci_l") == pytest.approx(16.0)
    (radium,) = [f for f in flags(study, "health_limit") if "radium" in f["text"]]
    assert "resin" not in radium["text"]


@pytest.mark.parametrize("command", ["check", "scaling"])
def test_other_commands_tell_it_too(tmp_path, command):
    study = run(tmp_path, command=command)
    assert len(flags(study, "health_limit")) == 4
    assert flags(study, "h2s_gas")


def test_no_limit_no_line(tmp_path):
    clean = "\n".join(
        line
        for line in REPORT.replace("12.5", "2").replace("18,µg/L", "4,µg/L").splitlines()
        if "Radium" not in line and "Uranium" not in line
    )
    assert not flags(run(tmp_path, report=clean), "health_limit")


def test_hydrogen_sulfide_is_a_toxic_gas(dairy):
    (flag,) = flags(dairy, "h2s_gas")
    # pK1 about 7.0 at 15 °C: some 0.4 of 1.5 mg/L is molecular at pH 7.2; 220 ppm for each.
    assert 100 < value(dairy, "health.h2s_headspace_ppm") < 150
    assert flag["level"] == "warning"
    for word in ("toxic", "smell is no warning", "permit", "local codes"):
        assert word in flag["text"]


def test_acid_sets_all_of_the_sulfide_free(tmp_path):
    study = run(tmp_path, '[train]\nstages = ["acid", "inhibitor", "cartridge"]\n')
    assert value(study, "health.h2s_headspace_ppm") == pytest.approx(1.5 * 220, rel=0.06)


def test_ammonia_against_the_chlorine_that_is_fed(tmp_path):
    more = '[iron_filter]\noxidant = "chlorine"\nregeneration = "continuous"\n'
    study = run(tmp_path, more)
    (flag,) = flags(study, "ammonia_takes_chlorine")
    assert flag["level"] == "warning"
    nitrogen = 0.9 * 14.007 / 18.039
    assert value(study, "train.breakpoint_mg_l") == pytest.approx(7.59 * nitrogen, rel=2e-3)
    assert "breakpoint" in flag["text"].lower()
    assert "permanganate" in flag["text"]


def test_a_dose_of_its_own_below_the_breakpoint_is_warned(tmp_path):
    more = (
        '[train]\nstages = ["chlorine", "contact_tank", "iron_filter", "carbon", "inhibitor", '
        '"cartridge"]\n[chlorine]\ndose = "4 mg/L"\n'
        '[iron_filter]\noxidant = "chlorine"\nregeneration = "continuous"\n'
    )
    (flag,) = flags(run(tmp_path, more), "ammonia_takes_chlorine")
    assert flag["level"] == "warning"


def test_chlorine_without_a_test_of_ammonia_is_told(tmp_path):
    unknown = "\n".join(line for line in REPORT.splitlines() if "Ammonium" not in line)
    more = '[iron_filter]\noxidant = "chlorine"\nregeneration = "continuous"\n'
    study = run(tmp_path, more, report=unknown)
    assert any("ammonia was not measured" in f["text"] for f in flags(study, "not_measured"))


def test_no_chlorine_no_word_of_ammonia(dairy):
    assert not flags(dairy, "ammonia_takes_chlorine")


def test_the_two_tables_of_drinking_limits_agree():
    """One law, one number: limits of raw water and of the product are the same."""
    product = {
        (r["jurisdiction"], r["parameter"].removesuffix("_mg_l"), r["grade"]): float(r["high"])
        for r in rows("product_targets.csv")
        if r["target"] == "drinking" and r["high"] and "outlet" not in r["where"]
    }
    names = {"ra_pci_l": "ra", "gross_alpha_pci_l": "gross_alpha", "tds_mg_l": "tds"}
    raw = {
        (r["jurisdiction"], names.get(r["key"], r["key"]), r["kind"]): float(r["limit"])
        for r in rows("health_limits.csv")
    }
    shared = set(product) & set(raw)
    assert len(shared) > 25
    assert {k: product[k] for k in shared} == pytest.approx({k: raw[k] for k in shared}, rel=2e-3)


def test_a_dose_of_acid_is_never_shown_without_its_caution(tmp_path):
    study = run(tmp_path, command="scaling")
    assert value(study, "recovery.sulfuric_acid_mg_l") > 0
    (caution,) = flags(study, "safety_acid_dose")
    for word in ("hypochlorite", "permanganate", "bisulfite", "sulfide", "acid to water", "eye"):
        assert word in caution["text"]


@pytest.mark.parametrize("row", rows("cautions.csv"), ids=lambda row: row["topic"])
def test_every_caution_defers(row):
    text = row["text"].lower()
    if row["topic"] not in {"sodium", "calcite"}:
        assert "local" in text, text
    assert any(w in text for w in ("licensed", "engineer", "local codes", "low-sodium")), text


def test_the_short_forms_defer_too(tmp_path):
    (tmp_path / "report.csv").write_text(REPORT)
    (tmp_path / "site.toml").write_text(SITE)
    result = CliRunner().invoke(
        app, ["size", str(tmp_path / "site.toml"), "-o", str(tmp_path / "x.xlsx")]
    )
    safety = " ".join(result.stdout.partition("\nSafety")[2].split())
    assert "local codes and licensed practice govern" in safety
    assert "lock out" in safety
    assert "the health authority and a licensed engineer decide" in safety
