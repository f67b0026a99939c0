"""Wells whose names are symbols of analytes or units: invented files, so their answers are known."""

import pytest

from pretreat.core.errors import AnalysisError
from pretreat.lab import read_samples

ROW = ",2026-02-09,7.3,90,20,30,3,280,60,30"


def read(tmp_path, text):
    path = tmp_path / "wells.csv"
    path.write_text(text, "utf-8")
    return read_samples(path)


@pytest.mark.parametrize("corner", ["Well", "Sample", "Name", ""])
@pytest.mark.parametrize("name", ["B", "Ca", "F", "K", "N", "S", "P", "EC", "TDS", "mg", "ppm"])
def test_well_named_as_an_analyte_is_a_well(tmp_path, corner, name):
    head = f"{corner},Date,pH,Ca,Mg,Na,K,Alkalinity,SO4,Cl\n"
    (water,) = read(tmp_path, head + name + ROW)
    assert (water.sample, water.ph) == (name, 7.3)
    assert (water.mg_l["ca"], water.mg_l["so4"]) == (90, 60)
    assert "b" not in water.mg_l


@pytest.mark.parametrize("names", ["B,F,K", "A,C,D", "Ca,mg,P", "K,N,S", "T,D,C"])
def test_wells_side_by_side_keep_their_letters(tmp_path, names):
    waters = read(tmp_path, f"Parameter,Unit,{names}\npH,,7,7.1,7.2\nCa,mg/L,90,91,92\n")
    assert [w.sample for w in waters] == names.split(",")
    assert [w.mg_l["ca"] for w in waters] == [90, 91, 92]


def test_columns_t_and_d_are_total_and_dissolved(tmp_path):
    (water,) = read(tmp_path, "Parameter,Unit,T,D\nCa,mg/L,90,89\nIron,mg/L,1,0.2\n")
    assert (water.mg_l["fe"], water.total_mg_l["fe"]) == (0.2, 1)


def test_column_of_samples_is_not_the_column_of_names(tmp_path):
    waters = read(
        tmp_path,
        "Sample,Parameter,Result,Unit\nB,pH,7,\nB,Ca,90,mg/L\nK,pH,7.2,\nK,Ca,92,mg/L\nF,Ca,9,mg/L\n",
    )
    assert {w.sample: w.mg_l["ca"] for w in waters} == {"B": 90, "K": 92, "F": 9}


def test_symbols_both_ways_are_refused(tmp_path):
    with pytest.raises(AnalysisError, match="write 'Well' or 'Parameter'"):
        read(tmp_path, ",B,F\nCa,90,91\nMg,20,21\n")


def test_an_unclear_sheet_does_not_spoil_a_clear_one(tmp_path):
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    for row in (("Parameter", "Result", "Unit"), ("pH", 7.1, ""), ("Calcium", 90, "mg/L")):
        book.active.append(row)
    for row in (("", "B", "F"), ("Ca", 90, 91), ("Mg", 20, 21)):
        if not book.sheetnames[1:]:
            book.create_sheet("Matrix")
        book["Matrix"].append(row)
    book.save(tmp_path / "r.xlsx")
    (water,) = read_samples(tmp_path / "r.xlsx")
    assert water.mg_l["ca"] == 90
    assert any(f.code == "several_sheets" and "Matrix" in f.text for f in water.flags)
