"""A result that is missing makes no verdict greener: by the command; sites are invented."""

import json
import sys

import pytest

from pretreat.cli import main

KIT = {
    "hardness": '"310 mg/L"',
    "alkalinity": '"190 mg/L"',
    "silica": '"11 mg/L"',
    "iron": '"0.02 mg/L"',
    "manganese": '"0.01 mg/L"',
    "ph": "7.5",
    "operating_temperature": '"15 C"',
}
LAB = {
    "pH": "7.5",
    "Calcium": "72",
    "Magnesium": "21",
    "Sodium": "24",
    "Potassium": "2",
    "Chloride": "35",
    "Sulfate": "40",
    "Alkalinity": "232",
    "Silica": "11",
    "Barium": "0.01",
    "Strontium": "0.2",
    "Fluoride": "0.2",
    "Iron": "<0.02",
    "Manganese": "<0.005",
}
UNITS = {"pH": "-", "Alkalinity": "mg/L as CaCO3"}
SOFT = (
    '[softener]\nvessel = "18x65"\nresin_volume = "140 L"\nsalt_dose_g_l = 140\ncontrol = "meter"\n'
)
NO_SOFTENER = '[train]\nstages = ["inhibitor", "cartridge"]\n'


@pytest.fixture
def run(tmp_path, monkeypatch, capsys):
    """Return a function that runs a command on a site: the study."""

    def runs(water, more=SOFT, *, lab=None, command="rate", recovery=0.65):
        if lab is not None:
            rows = "".join(f"{k},{v},{UNITS.get(k, 'mg/L')}\n" for k, v in lab.items())
            (tmp_path / "well.csv").write_text(f"analyte,value,unit\n{rows}", encoding="utf-8")
            water = {"analysis": '"well.csv"', "operating_temperature": '"15 C"'} | water
        text = "[water]\n" + "".join(f"{k} = {v}\n" for k, v in water.items())
        text += f'[machine]\nproduct_flow = "1.1 m3/h"\nrecovery = {recovery}\n'
        text += f"hours_per_day = 10\n{more}"
        (tmp_path / "site.toml").write_text(text, encoding="utf-8")
        words = [command, str(tmp_path / "site.toml"), "--json", "--draws", "128"]
        monkeypatch.setattr(sys, "argv", ["pretreat", *words])
        with pytest.raises(SystemExit) as left:
            main()
        out, err = capsys.readouterr()
        assert left.value.code == 0, err
        return json.loads(out)

    return runs


def value(study, key):
    return study["figures"][key]["value"]


def said(study):
    return " | ".join(str(row[-1]) for row in study["series"]["verdict.decides"]["rows"])


@pytest.mark.parametrize("salt", [{"tds": '"4100 mg/L"'}, {"conductivity": '"6300 uS/cm"'}])
def test_salt_that_a_kit_does_not_tell_leaks_as_if_it_were_measured(run, salt):
    """By hand: 4100 mg/L less some 400 of ions is 3700 of NaCl, 1450 mg/L of sodium."""
    found = run(KIT | salt)
    assert value(found, "water.na_implied_mg_l") == pytest.approx(1450, rel=0.06)
    assert value(found, "softener.leakage_mg_l_caco3") > 30.0
    assert not value(found, "verdict.answer").startswith("fits")
    assert "salt_implied" in {flag["code"] for flag in found["flags"]}


def test_without_sodium_the_balance_tells_it(run):
    """By hand: 2100 mg/L of chloride are 59 meq/L, of sodium about 1360 mg/L."""
    full = run({}, lab=LAB | {"Chloride": "2100", "Sodium": "1360"})
    lab = {k: v for k, v in LAB.items() if k != "Sodium"} | {"Chloride": "2100"}
    found = run({}, lab=lab)
    leaks = [value(one, "softener.leakage_mg_l_caco3") for one in (full, found)]
    assert leaks[1] == pytest.approx(leaks[0], rel=0.15)
    assert value(full, "verdict.answer") == value(found, "verdict.answer")


def test_a_salinity_that_nobody_measured_is_asked_for_first(run):
    found = run(KIT)
    assert value(found, "verdict.answer") == "depends"
    assert value(found, "verdict.measure_next") == "conductivity"
    assert "salinity was not measured" in said(found)
    assert "salinity was not measured" not in said(run(KIT, NO_SOFTENER))


@pytest.mark.parametrize(("lacks", "alone"), [("Calcium", "magnesium"), ("Magnesium", "calcium")])
def test_a_softener_of_half_a_hardness_is_not_set(run, lacks, alone):
    found = run({}, lab={k: v for k, v in LAB.items() if k != lacks})
    assert value(found, "verdict.answer") == "depends"
    assert value(found, "verdict.measure_next") == "total hardness"
    assert f"of {alone} alone" in said(found)
    assert f"meq/L of cations unaccounted for: {lacks.lower()}" in said(found)
    assert "hardly in the way: calcium carbonate" not in said(found)
    assert value(found, "settings.order") == "DO NOT RUN"


@pytest.mark.parametrize("command", ["rate", "size"])
def test_metals_that_nobody_measured_are_not_low(run, command):
    lab = {k: v for k, v in LAB.items() if k not in {"Iron", "Manganese"}}
    found = run({}, NO_SOFTENER if command == "rate" else "", lab=lab, command=command)
    assert value(found, "verdict.answer") != "fits"
    assert "iron and manganese are not in the analysis: measure" in said(found)
    assert value(found, "verdict.measure_next") == "iron and manganese"
    assert "manganese are low" not in json.dumps(found)


def test_metals_that_were_not_found_are_low(run):
    assert "iron and manganese are low" in json.dumps(run({}, "", lab=LAB, command="size"))
