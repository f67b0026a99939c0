"""Every water of a table gets its row; a bad row never harms its neighbours."""

import openpyxl
import pytest

from pretreat.core.errors import AnalysisError
from pretreat.lab.samples.screen_table import read_chunks

HEAD = "id,pH,temperature_c,Ca,Alkalinity,SO4"


def _read(path):
    return list(read_chunks(path))


def _one(tmp_path, text, name="w.csv", encoding="utf-8"):
    path = tmp_path / name
    path.write_bytes(text.encode(encoding))
    (table,) = _read(path)
    return table


def test_rows_of_the_wrong_length_fail_alone(tmp_path):
    rows = [f"W{i},7.4,15,80,200,30" for i in range(5000)]
    rows[4100] += ",9,9"
    rows[10] = 'W10,7.4,15,"80,200,30'
    path = tmp_path / "w.csv"
    path.write_text("\n".join([HEAD, *rows]))
    tables = _read(path)
    assert sum(map(len, tables)) == 5000
    faults = [f for table in tables for f in table.faults]
    assert [i for i, f in enumerate(faults) if f] == [10, 4100]
    assert "row_length" in faults[4100]
    assert "line 4102" in " ".join(tables[1].notes)


@pytest.mark.parametrize("mark", [";", "\t", "|"])
def test_other_separators_and_decimal_commas(tmp_path, mark):
    text = HEAD.replace(",", mark) + "\n" + mark.join(["A", "7,4", "15", "80,5", "200", "30"])
    table = _one(tmp_path, text)
    assert table.mg_l["ca"][0] == 80.5
    assert table.ph[0] == 7.4


def test_decimal_commas_beside_points_are_not_guessed(tmp_path):
    table = _one(tmp_path, HEAD.replace(",", ";") + "\nA;7.4;15;1,050;200;30")
    assert table.faults[0] == ["not_a_number"]


@pytest.mark.parametrize("encoding", ["cp1252", "utf-16", "utf-8-sig"])
def test_encodings(tmp_path, encoding):
    table = _one(tmp_path, HEAD + "\nBrünn,7.4,15,80,200,30", encoding=encoding)
    assert table.ids == ["Brünn"]


def test_names_units_and_limits(tmp_path):
    head = "id,pH,Calcium,Alkalinity (as CaCO3),Sulfate [mmol/L],Remark"
    table = _one(tmp_path, head + "\nA,7.4,80,<5,1,good\nB,<7.4,80,200,1,\n")
    assert table.mg_l["ca"][0] == 80
    assert table.alkalinity_mg_l_caco3[0] == 5
    assert bool(table.below["alkalinity"][0])
    assert table.mg_l["so4"][0] == pytest.approx(96.06, abs=0.01)  # IUPAC 2021 masses
    assert table.faults[1] == ["not_a_number"]
    assert "Remark" in table.notes[0]


def test_a_column_twice_is_refused(tmp_path):
    with pytest.raises(AnalysisError, match="stands twice"):
        _one(tmp_path, "id,pH,Ca,Ca\nA,7,80,300")


def test_workbook_with_notes_first_and_gaps(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["Notes"])
    page = book.create_sheet("waters")
    for row in (["Title"], HEAD.split(","), ["A", 7.4, 15, 80, 200, 30], [None] * 6,
                ["B", 7.4, 15, "=40*2", 200, 30]):  # fmt: skip
        page.append(row)
    book.save(tmp_path / "w.xlsx")
    (table,) = _read(tmp_path / "w.xlsx")
    assert table.ids == ["A", "B"]
    assert table.faults == [[], ["not_a_number"]]
    assert "line 5" in table.notes[-1]


def test_what_is_no_table_is_refused_in_one_line(tmp_path):
    (tmp_path / "junk.xlsx").write_bytes(b"no archive")
    for name in ("junk.xlsx", "none.csv"):
        with pytest.raises(AnalysisError):
            _read(tmp_path / name)
