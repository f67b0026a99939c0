"""Total phosphorus where no orthophosphate was measured, and the basis it is printed on.

Stoichiometry, molar masses of IUPAC: P x 3.066 is PO4, P2O5 x 1.338 is PO4.
"""

import pytest

from pretreat.lab.read.names import named_analyte
from pretreat.lab.reading import read_analysis

HEAD = "Analyte,Result,Unit\npH,7.4,\nCalcium,70,mg/L\nAlkalinity as CaCO3,200,mg/L\n"


@pytest.mark.parametrize(
    ("line", "phosphate", "phosphorus"),
    [
        ("Total phosphorus,2.5,mg/L", 2.5 * 3.0662, 2.5),
        ("Total phosphorus as P2O5,6,mg/L", 6.0 * 1.3381, 6.0 * 0.43642),
        ("Total phosphorus as P,0.8,mg/L", 0.8 * 3.0662, 0.8),
        ("Total phosphorus,5,mg/L P2O5", 5.0 * 1.3381, 5.0 * 0.43642),
    ],
)
def test_total_phosphorus_is_phosphate_at_most(tmp_path, line, phosphate, phosphorus):
    (tmp_path / "report.csv").write_text(f"{HEAD}{line}\n", encoding="utf-8")
    water = read_analysis(tmp_path / "report.csv")
    assert water.mg_l["po4"] == pytest.approx(phosphate, rel=1e-3)
    assert water.properties["phosphorus_mg_l"] == pytest.approx(phosphorus, rel=1e-3)
    (told,) = [f.text for f in water.flags if f.code == "phosphate_of_total"]
    assert "as if all were orthophosphate" in told


def test_an_orthophosphate_stands(tmp_path):
    lines = "Total phosphorus,2.5,mg/L\nOrthophosphate,<0.05,mg/L\n"
    (tmp_path / "report.csv").write_text(f"{HEAD}{lines}", encoding="utf-8")
    water = read_analysis(tmp_path / "report.csv")
    assert "po4" not in water.mg_l
    assert all(f.code != "phosphate_of_total" for f in water.flags)


@pytest.mark.parametrize(
    "name",
    [
        "Phosphorus, dissolved ortho as P",
        "Phosphorus, dissolved orthophosphate as P",
        "Orthophosphate, dissolved, as P",
        "Phosphate, ortho-dissolved as P",
        "Phosphorus, soluble reactive (as P)",
    ],
)
def test_orthophosphate_by_the_names_of_its_phosphorus(name):
    """Common practice, no source: what is dissolved and reactive is orthophosphate."""
    found = named_analyte(name)
    assert (found.key, found.basis) == ("po4", "P")
