"""What a report prints in a line that could not be read puts a yes off; invented wells.

That such a line is no gap of the analysis is common practice, no source.
"""

import json

import pytest

from tests.verdict.test_lime_ahead import SITE, CliRunner, app, value

ROWS = """Analyte,Result,Unit
Sampled,2026-05-11
pH (field),7.4,
Temperature,11,°C
Calcium,62,mg/L
Magnesium,14,mg/L
Sodium,50,mg/L
Potassium,3,mg/L
Alkalinity as CaCO3,190,mg/L
Sulfate,45,mg/L
Chloride,58,mg/L
Fluoride,0.2,mg/L
Barium,30,µg/L
Strontium,0.3,mg/L
Silica,13,mg/L
Aluminium,<0.01,mg/L
Turbidity,0.3,NTU
SDI15,2.2,
"""


INHIBITED = '[train]\nstages = ["inhibitor", "cartridge"]\n'


def sized(folder, metals, rows=ROWS):
    (folder / "report.csv").write_text(rows + metals, encoding="utf-8")
    (folder / "site.toml").write_text(SITE + INHIBITED, encoding="utf-8")
    args = ["size", str(folder / "site.toml"), "--draws", "64", "--json"]
    out = CliRunner().invoke(app, args)
    assert out.exit_code == 0, out.output
    return json.loads(out.stdout)


@pytest.mark.parametrize(
    "metals",
    [
        "Iron, total,6,4,mg/L\nManganese,<0.01,mg/L\n",
        "Iron,see annex,mg/L\nManganese,<0.01,mg/L\n",
        "Iron,6.4,mgg/X\nManganese,<0.01,mg/L\n",
        '"Iron, qwerz gxx of it",6.4,mg/L\nManganese,<0.01,mg/L\n',
    ],
)
def test_iron_in_a_line_that_is_not_read_puts_the_answer_off(tmp_path, metals):
    study = sized(tmp_path, metals)
    why = value(study, "verdict.reasons")
    assert value(study, "verdict.answer") == "depends"
    assert why.startswith("iron: the report prints it in a line that could not be read (line 19 ")
    assert "not in the analysis" not in why
    assert value(study, "verdict.measure_next") == "iron"


def test_what_decides_nothing_is_a_condition(tmp_path):
    metals = "Iron,<0.02,mg/L\nManganese,<0.01,mg/L\n"
    rows = metals + "Total organic carbon,see annex,mg/L\n"
    study = sized(tmp_path, rows)
    assert value(study, "verdict.answer") == "fits with conditions"
    assert "total organic carbon: the report prints it" in value(study, "verdict.reasons")
    whole = value(sized(tmp_path, metals), "verdict.reasons")
    assert "could not be read" not in whole


def test_a_scale_without_its_ion_says_that_it_was_not_read(tmp_path):
    metals = "Iron,<0.02,mg/L\nManganese,<0.01,mg/L\n"
    rows = ROWS.replace("Barium,30,µg/L", "Barium,see annex,µg/L")
    study = sized(tmp_path, metals, rows)
    assert value(study, "verdict.answer") == "depends"
    reasons = " ".join(str(row[-1]) for row in study["series"]["verdict.why"]["rows"])
    assert "barium could not be read from the report" in reasons
    assert "barium is not in the analysis" not in reasons
