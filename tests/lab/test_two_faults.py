"""Faults of invented analyses that are named though one change does not explain everything."""

from pretreat.lab import read_site_samples
from pretreat.study import run_check

WELLS = (
    "Well,Date,pH,EC (µS/cm),Ca,Mg,Na,K,Alkalinity,SO4,Cl\n"
    "Well 2,2025-03-04,7.3,760,90,20,30,3,280,60,30\n"
    "Well 2,2025-06-04,7.2,800,98,22,33,3,290,70,330\n"
)


def flags(tmp_path, text):
    path = tmp_path / "r.csv"
    path.write_text(text, "utf-8")
    found = read_site_samples(path)
    return {f.code: f for f in run_check(found.chosen, samples=found.repeated).flags}


def test_another_sample_that_does_not_close_is_named(tmp_path):
    flag = flags(tmp_path, WELLS)["samples_unbalanced"]
    assert flag.level == "warning"
    assert "1 of 2 analyses" in flag.text
    assert "Well 2 2025-06-04" in flag.text
    assert "chloride 330 mg/L is ten times too high" in flag.text


def test_sound_samples_are_not_flagged(tmp_path):
    assert "samples_unbalanced" not in flags(tmp_path, WELLS.replace("330", "33"))


def test_a_slip_beside_a_wrong_conductivity(tmp_path):
    text = (
        "Parameter,Result,Unit\npH,7.1,\nCalcium,900,mg/L\nMagnesium,20,mg/L\nSodium,30,mg/L\n"
        "Chloride,30,mg/L\nSulfate,60,mg/L\nAlkalinity,280,mg/L\nConductivity,0.76,µS/cm\n"
        "Hardness,307,mg/L\n"
    )
    assert "calcium 900 mg/L is ten times too high" in flags(tmp_path, text)["likely_culprit"].text
