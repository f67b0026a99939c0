"""A unit of several words in a narrow column of a print; invented reports.

Source of the expectations: what the lines say.
"""

import pytest

from pretreat.lab.reading import read_analysis, read_report

REPORT = """ANALYTICAL REPORT
Sample ID:  Fen Lane well, raw tap
Collected:  2026-02-25

Analyte              Result    Unit     {head}
pH                   8.05      SU
Temperature          13.2      C
Calcium              41        mg/L     0.1
Magnesium            14        mg/L     0.1
Sodium               118       mg/L     0.1
Iron                 250       ug/L     10
{line}
Sulfate              74        mg/L     1
Chloride             52        mg/L     1
Fluoride             1.6       mg/L     0.1
"""


@pytest.mark.parametrize(
    ("line", "unit"),
    [
        ("Alkalinity           261       mg/L as CaCO3   2", "mg/L as CaCO3"),
        ("Alkalinity           261       mg/L as CaCO3", "mg/L as CaCO3"),
        ("Alkalinity           261       mg/L CaCO3  2", "mg/L CaCO3"),
        ("Alkalinity as CaCO3  261     mg/L   2", "mg/L"),
        ("Alkalinity as CaCO3  261       mg/L  2", "mg/L"),
    ],
)
@pytest.mark.parametrize("head", ["MDL", "RL"])
def test_a_unit_is_read_whole_and_the_number_behind_it_apart(tmp_path, line, unit, head):
    path = tmp_path / "report.txt"
    path.write_text(REPORT.format(line=line, head=head), encoding="utf-8")
    one = next(r for r in read_report(path).results if r.name.startswith("Alkalinity"))
    assert (one.text, one.unit) == ("261", unit)
    assert one.limit == ("2" if line.endswith("2") else "")
    water = read_analysis(path)
    assert water.alkalinity_mg_l_caco3 == pytest.approx(261.0)
    assert not any("Alkalinity" in f.text for f in water.flags if f.level == "warning")


def test_a_mark_behind_a_unit_is_no_part_of_it(tmp_path):
    line = "Alkalinity as CaCO3  261     mg/L  J"
    path = tmp_path / "report.txt"
    path.write_text(REPORT.format(line=line, head="Qual"), encoding="utf-8")
    assert read_analysis(path).alkalinity_mg_l_caco3 == pytest.approx(261.0)


def test_results_of_two_samples_behind_a_unit_stay_in_their_columns(tmp_path):
    text = """Analyte              Unit             Well 1    Well 2
Calcium              mg/L             41        52
Magnesium            mg/L             14        19
Sodium               mg/L             118       97
Alkalinity           mg/L as CaCO3    261       244
Sulfate              mg/L             74        81
Chloride             mg/L             52        60
"""
    path = tmp_path / "report.txt"
    path.write_text(text, encoding="utf-8")
    found = [r.text for r in read_report(path).results if r.name.startswith("Alkalinity")]
    assert found == ["261", "244"]
