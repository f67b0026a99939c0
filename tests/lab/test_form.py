"""Our own files read back as they were written."""

from pathlib import Path

import openpyxl
import pytest

from pretreat.core.errors import AnalysisError
from pretreat.core.water import WaterAnalysis
from pretreat.lab import read_analysis, write_analysis_csv, write_form
from pretreat.lab.form import neutral

FILES = Path(__file__).parent / "files"
FILLED = {
    "pH (field)": 7.62,
    "pH (lab)": 7.8,
    "Temperature": 18.4,
    "Conductivity": 2130,
    "Alkalinity": 280,
    "Calcium": 142,
    "Magnesium": 48.6,
    "Sodium": 236,
    "Chloride": 287,
    "Sulfate": 398,
    "Barium": "<0.005",
    "Iron, total": 0.31,
    "Iron, dissolved": 0.2,
    "Turbidity": 0.8,
    "Silt density index": 3.1,
    "Hydrogen sulfide": "<0.05",
}


def same(one, two):
    for name in ("mg_l", "below_mg_l", "total_mg_l", "dissolved_mg_l", "properties"):
        assert dict(getattr(one, name)) == dict(getattr(two, name)), name
    for name in ("sample", "date", "ph", "ph_kind", "temperature_c", "alkalinity_mg_l_caco3"):
        assert getattr(one, name) == getattr(two, name), name


def form(tmp_path):
    path = tmp_path / "form.xlsx"
    write_form(path)
    return path


def test_filled_form_reads_back(tmp_path):
    path = form(tmp_path)
    book = openpyxl.load_workbook(path)
    sheet = book.active
    left = dict(FILLED)
    for row in sheet.iter_rows():
        if row[0].value in left:
            row[1].value = left.pop(row[0].value)
        if row[0].value == "Sample":
            row[1].value = "Well 2"
    assert not left
    book.save(path)
    water = read_analysis(path)
    assert (water.sample, water.ph, water.ph_kind, water.temperature_c) == (
        "Well 2",
        7.62,
        "field",
        18.4,
    )
    assert water.properties["ph_lab"] == 7.8
    assert (water.mg_l["ca"], water.mg_l["na"], water.mg_l["so4"]) == (142, 236, 398)
    assert (water.mg_l["fe"], water.total_mg_l["fe"]) == (0.2, 0.31)
    assert water.below_mg_l["ba"] == 0.005
    assert water.alkalinity_mg_l_caco3 == 280
    assert water.properties["sdi"] == 3.1
    assert not [f for f in water.flags if f.level != "info"]


def test_every_unit_offered_is_understood(tmp_path):
    """Each drop-down choice is read, and leads to the same water where it says the same."""
    path = form(tmp_path)
    book = openpyxl.load_workbook(path)
    rules = {
        str(r.sqref): r.formula1.strip('"').split(",")
        for r in book.active.data_validations.dataValidation
    }
    names = {f"C{row[0].row}": row[0].value for row in book.active.iter_rows() if row[0].value}
    assert len(rules) > 30
    for place, units in rules.items():
        for unit in units:
            text = f'Parameter,Result,Unit\n"{names[place]}",2.5,{unit}\nCalcium,50,mg/L\n'
            trial = tmp_path / "unit.csv"
            trial.write_text(text, encoding="utf-8")
            water = read_analysis(trial)
            assert not [f for f in water.flags if f.code in {"unknown_unit", "unknown_analyte"}], (
                names[place],
                unit,
            )


def test_blank_form_says_so(tmp_path):
    with pytest.raises(AnalysisError, match="fill in the results"):
        read_analysis(form(tmp_path))


def test_form_is_replaced_whole(tmp_path):
    path = tmp_path / "form.xlsx"
    path.write_text("old")
    write_form(path)
    assert [p.name for p in tmp_path.iterdir()] == ["form.xlsx"]
    with pytest.raises(AnalysisError, match="cannot be written"):
        write_form(tmp_path / "missing" / "form.xlsx")


@pytest.mark.parametrize("name", sorted(p.name for p in FILES.iterdir() if p.suffix != ".json"))
def test_analysis_written_reads_back_equal(tmp_path, name):
    water = read_analysis(FILES / name)
    path = tmp_path / "water.csv"
    write_analysis_csv(water, path)
    same(read_analysis(path), water)


@pytest.mark.parametrize("text", ["=cmd|' /C calc'!A0", "+1", "-1", "@x"])
def test_no_text_becomes_a_formula(tmp_path, text):
    water = WaterAnalysis(sample=text, source="t", ph=7.0, mg_l={"ca": 1.5})
    path = tmp_path / "water.csv"
    write_analysis_csv(water, path)
    assert neutral(text) == f"'{text}"
    assert f"\n{text}" not in path.read_text("utf-8")
    assert read_analysis(path).sample == text


def test_form_holds_no_formula(tmp_path):
    book = openpyxl.load_workbook(form(tmp_path))
    assert all(cell.data_type != "f" for row in book.active.iter_rows() for cell in row)
