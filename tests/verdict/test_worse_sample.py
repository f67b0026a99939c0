"""Another sample of the report that is clearly worse is a condition that names it.

Invented wells. What counts as clearly worse is common practice, no source; the limit of arsenic
is that of EU 2020/2184 Annex I, part B.
"""

import json

import pytest

from tests.verdict.test_lime_ahead import SITE, CliRunner, app, value

ROWS = """Sampled,,2025-04-11,2025-10-03
pH (field),,7.4,7.5
Temperature,°C,11,12
Calcium,mg/L,62,{ca}
Magnesium,mg/L,14,15
Sodium,mg/L,50,52
Potassium,mg/L,3,3
Alkalinity as CaCO3,mg/L,190,192
Sulfate,mg/L,45,46
Chloride,mg/L,58,60
Silica,mg/L,13,14
Iron,mg/L,<0.02,{fe}
Manganese,mg/L,<0.01,<0.01
Arsenic,µg/L,<1,{arsenic}
"""


def rated(folder, heads, site="", own=SITE, **other):
    rows = ROWS.format(**({"ca": 63, "fe": "<0.02", "arsenic": "<1"} | other))
    (folder / "report.csv").write_text(f"Analyte,Unit,{heads}\n{rows}", encoding="utf-8")
    (folder / "site.toml").write_text(own + site, encoding="utf-8")
    args = ["rate", str(folder / "site.toml"), "--draws", "64", "--json"]
    out = CliRunner().invoke(app, args)
    assert out.exit_code == 0, out.output
    return json.loads(out.stdout)


def test_the_worse_season_of_one_well_puts_the_answer_off(tmp_path):
    study = rated(tmp_path, "Well 4 April,Well 4 October", fe="1.3", ca=240)
    why = value(study, "verdict.reasons")
    assert value(study, "verdict.answer") not in ("fits", "fits with conditions")
    assert "another sample, of the same well, that is worse: 'Well 4 October' (2025-10-03)" in why
    assert "iron 1.3 mg/L (here none found), hardness" in why
    assert "this verdict is of 'Well 4 April'" in why


def test_the_sample_that_the_site_file_names_is_judged_and_the_worse_one_named(tmp_path):
    site = SITE.replace('"report.csv"', '"report.csv"\nsample = "Well 4 April"')
    study = rated(tmp_path, "Well 4 April,Well 4 October", fe="1.3", ca=240, own=site)
    why = value(study, "verdict.reasons")
    assert value(study, "verdict.answer") != "fits"
    assert "'Well 4 October' (2025-10-03): iron 1.3 mg/L (here none found), hardness" in why
    assert "this verdict is of 'Well 4 April'" in why


WIDE = "Sample,Date,pH,Temperature (°C),Ca (mg/L),Mg (mg/L),Na (mg/L),Alkalinity (mg/L CaCO3),"
WIDE += "SO4 (mg/L),Cl (mg/L),SiO2 (mg/L),Fe (mg/L),Mn (mg/L)\n"
MILD, HARD = (
    "7.6,13,72,38,105,205,62,190,15,<0.02,<0.005",
    "7.5,17,108,68,270,212,98,560,17,0.03,0.01",
)


INHIBITED = '[train]\nstages = ["inhibitor", "cartridge"]\n'


def answered(folder, rows, site=""):
    (folder / "report.csv").write_text(WIDE + rows, encoding="utf-8")
    (folder / "site.toml").write_text(SITE + INHIBITED + site, encoding="utf-8")
    args = ["size", str(folder / "site.toml"), "--draws", "64", "--json"]
    out = CliRunner().invoke(app, args)
    assert out.exit_code == 0, out.output
    study = json.loads(out.stdout)
    reasons = " ".join(str(row[-1]) for row in study["series"]["verdict.why"]["rows"])
    return value(study, "verdict.answer"), reasons


@pytest.mark.parametrize(
    ("rows", "asked"),
    [
        ((("2026-02-12", MILD), ("2026-08-20", HARD)), True),
        ((("2026-08-20", HARD), ("2026-02-12", MILD)), False),
        ((("2026-08-20", MILD), ("2019-02-12", HARD)), False),  # long past: a well changes
    ],
)
def test_of_one_well_by_rows_the_milder_day_is_no_yes(tmp_path, rows, asked):
    text = "".join(f"Island well,{day},{water}\n" for day, water in rows)
    answer, why = answered(tmp_path, text)
    assert ("of the same well, that is worse: 'Island well 2026-08-20'" in why) is asked
    if asked:
        assert answer == "depends"


def test_a_few_readings_of_a_worse_day_are_a_condition_only(tmp_path):
    rows = f"Island well,2026-02-12,{MILD}\nIsland well,2026-08-20,7.4,17,,,,,,,,2.4,0.9\n"
    _, why = answered(tmp_path, rows)
    assert "the report holds another sample that is worse: 'Island well 2026-08-20'" in why


def test_another_well_over_a_limit_counts_where_the_product_is_drunk(tmp_path):
    drunk = '[product]\ntarget = "drinking"\njurisdiction = "eu"\n'
    why = value(rated(tmp_path, "Well A,Well B", drunk, arsenic=34), "verdict.reasons")
    assert "over a limit for health: 'Well B'" in why
    assert "arsenic 0.034 mg/L" in why
    washed = '[product]\ntarget = "process"\n'
    why = value(rated(tmp_path, "Well A,Well B", washed, arsenic=34), "verdict.reasons")
    assert "another sample" not in why


def test_alike_samples_are_no_condition_and_the_severe_one_is_named_as_used(tmp_path):
    study = rated(tmp_path, "Well 4 April,Well 4 October")
    assert "another sample" not in value(study, "verdict.reasons")
    severe = SITE.replace('"report.csv"', '"report.csv"\ndesign_water = "severe sample"')
    (tmp_path / "severe.toml").write_text(severe, encoding="utf-8")
    (tmp_path / "report.csv").write_text(
        "Analyte,Unit,Well 4 April,Well 4 October\n" + ROWS.format(ca=190, fe="1.1", arsenic="<1"),
        encoding="utf-8",
    )
    args = ["rate", str(tmp_path / "severe.toml"), "--draws", "64", "--json"]
    study = json.loads(CliRunner().invoke(app, args).stdout)
    told = " ".join(flag["text"] for flag in study["flags"])
    assert "'Well 4 October' is designed for" in told
    assert "'Well 4 April' is read" not in told


def test_germs_and_organics_of_another_well_are_named(tmp_path, monkeypatch):
    more = "E. coli,CFU/100 mL,0,42\nTrichloroethene,µg/L,<1,37\n"
    monkeypatch.setattr("tests.verdict.test_worse_sample.ROWS", ROWS + more)
    drunk = '[product]\ntarget = "drinking"\njurisdiction = "eu"\n'
    why = value(rated(tmp_path, "Well A,Well B", drunk), "verdict.reasons")
    assert "'Well B' (2025-10-03): E. coli 42 in 100 mL" in why
    assert "Trichloroethene 37" in why
