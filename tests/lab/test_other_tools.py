"""Invented reports made with other tools and for other countries; the readings were written first.

They are files as PDF, spreadsheet and office programs write them, with headings turned by a
quarter, ditto marks, limits beside results, and words of languages that few reports use.
"""

import json
from pathlib import Path

import pytest

from pretreat.core.errors import AnalysisError
from pretreat.lab import read_analysis
from tests.lab.test_reports import doubts, found, same

FOLDER = Path(__file__).parent / "other_tools"
EXPECTED = json.loads((FOLDER / "expected.json").read_text("utf-8"))


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_report_of_another_tool_is_right_flagged_or_refused(name):
    wanted, outcome = EXPECTED[name]["values"], EXPECTED[name]["outcome"]
    if outcome == "refused":
        with pytest.raises(AnalysisError):
            read_analysis(FOLDER / name)
        return
    water = read_analysis(FOLDER / name)
    off = {k: found(water, k) for k, v in wanted.items() if not same(found(water, k), v)}
    extra = (set(water.mg_l) | set(water.below_mg_l)) - set(wanted) - {"hco3"}
    if outcome == "flagged":  # a value may be missing, but none is wrong
        assert doubts(water)
        assert not extra
        assert not {k: v for k, v in off.items() if v is not None}
    else:
        assert not off
        assert not extra
        assert not doubts(water)


def test_columns_that_are_read_and_not_read_are_named():
    water = read_analysis(FOLDER / "chile.pdf")
    said = next(f.text for f in water.flags if f.code == "columns_read")
    assert "results are taken from column D 'Muestra actual'" in said
    assert "column B 'Límite norma'" in said
    assert "column C 'Muestra anterior' (earlier results: --column)" in said


def test_lines_of_which_nothing_is_read_are_told(tmp_path):
    lines = ["Analyte,Result,Unit", "Calcium,88.4,mg/L", "Sodium,54.6,mg/L", "Chloride,71.3,mg/L"]
    path = tmp_path / "report.csv"
    path.write_text("\n".join([*lines, "Sulfate 96.5 mg/L"]), "utf-8")
    said = [f.text for f in read_analysis(path).flags if f.code == "reading_guessed"]
    assert said
    assert "Sulfate 96.5 mg/L" in said[0]


def test_column_that_balances_is_held_against_one_that_does_not(tmp_path):
    rows = [
        ("Calcium", 40, 88.4), ("Magnesium", 60, 31.2), ("Sodium", 200, 54.6),
        ("Potassium", 12, 3.9), ("Chloride", 20, 71.3), ("Sulfate", 15, 96.5),
        ("Alkalinity as CaCO3", 30, 262), ("Nitrate", 50, 12.4),
    ]  # fmt: skip
    path = tmp_path / "report.csv"
    table = [f"{name},{one},{two},mg/L" for name, one, two in rows]
    path.write_text("\n".join(["Analyte,Value,Previous result,Unit", *table]), "utf-8")
    said = [f.text for f in read_analysis(path).flags if f.code == "reading_guessed"]
    assert said
    assert "do not balance" in said[0]
