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

    def runs(water, more=SOFT, *, lab=None, command="rate", element=False):
        if lab is not None:
            rows = "".join(f"{k},{v},{UNITS.get(k, 'mg/L')}\n" for k, v in lab.items())
            (tmp_path / "well.csv").write_text(f"analyte,value,unit\n{rows}", encoding="utf-8")
            water = {"analysis": '"well.csv"', "operating_temperature": '"15 C"'} | water
        text = "[water]\n" + "".join(f"{k} = {v}\n" for k, v in water.items())
        text += '[machine]\nproduct_flow = "1.1 m3/h"\nrecovery = 0.65\n'
        text += "hours_per_day = 10\n" + ('element = "4x40"\n' if element else "") + more
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


@pytest.mark.parametrize(
    ("water", "named"),
    [
        ({"Lead": "<80", "Cadmium": "<40", "Mercury": "<15"}, ("lead <", "cadmium <", "mercury <")),
        ({"Antimony": "<30", "E. coli": "<20"}, ("antimony <", "E. coli <20 in 100 mL")),
        ({"Lead": "<1", "E. coli": "<1"}, ()),
    ],
)
def test_not_found_above_the_limit_shows_nothing(run, monkeypatch, water, named):
    """EU 2020/2184: lead 10, cadmium 5, mercury 1, antimony 10 ug/L, E. coli 0 in 100 mL."""
    for name in water:
        monkeypatch.setitem(UNITS, name, "/100 mL" if name == "E. coli" else "ug/L")
    drunk = '[product]\ntarget = "drinking"\njurisdiction = "eu"\n'
    told = said(run({}, SOFT + drunk, lab=LAB | water))
    assert ("detection limit above the limit" in told) is bool(named)
    for one in named:
        assert one in told


@pytest.mark.parametrize("name", ["1,4-Dioxane", "N-Nitrosodimethylamine", "Formaldehyde"])
def test_what_neither_air_nor_carbon_takes_is_not_sent_there(run, monkeypatch, name):
    """Common practice: Henry constants of 1e-5 atm m3/mol and less do not strip."""
    monkeypatch.setitem(UNITS, f'"{name}"', "ug/L")
    drunk = '[product]\ntarget = "drinking"\njurisdiction = "eu"\n'
    found = run({}, SOFT + drunk, lab=LAB | {f'"{name}"': "35"})
    assert value(found, "verdict.answer") == "depends"
    assert "ultraviolet" in said(found)
    assert "strip them with air" not in said(found)


def test_a_train_without_a_softener_is_told_of_none(run):
    told = json.dumps(run({}, NO_SOFTENER, lab=LAB | {"Iron": "0.4"}))
    assert "passes the softener" not in told
    assert "an iron filter ahead" in told


def test_raw_water_that_holds_boron_is_not_blended_in(run):
    """FAO29, Table 1: boron above 0.7 mg/L and a sodium ratio above 3 restrict its use."""
    grown = '[product]\ntarget = "irrigation"\n'
    more = SOFT + grown
    salty = LAB | {"Sodium": "420", "Chloride": "640"}
    machine = {"Boron": "2.6"}
    told = json.dumps(run({}, more, lab=salty | machine, element=True))
    assert "raw water mends" not in told
    assert "blend in raw water" not in told
    assert "blend in raw water" in json.dumps(run({}, more, lab=LAB, element=True))


def test_a_filter_that_is_left_out_is_not_spoken_of(run):
    more = "[iron_filter]\ninclude = false\n[softener]\ninclude = true\n"
    found = run({}, more, lab=LAB | {"Iron": "0.6", "Manganese": "0.15"}, command="size")
    assert "greensand" not in value(found, "choices.why")
    assert "colour interlock" not in said(found)


@pytest.mark.parametrize(
    ("water", "finer"),
    [
        ({"Iron": "<0.6", "Manganese": "<0.3"}, "iron and manganese"),
        ({"Aluminium": "<0.9"}, "aluminium"),
        ({"Hydrogen sulfide": "<1.2"}, "hydrogen sulfide"),
    ],
)
def test_half_a_limit_of_detection_stops_nothing_and_is_asked_for(run, water, finer):
    found = run({}, NO_SOFTENER, lab=LAB | water)
    assert value(found, "verdict.answer") == "depends"
    assert value(found, "verdict.measure_next") == f"{finer}, with a lower limit of detection"
    assert "none of it was found" in said(found)
    assert value(run({}, NO_SOFTENER, lab=LAB | {"Iron": "0.45"}), "verdict.answer") != "depends"
