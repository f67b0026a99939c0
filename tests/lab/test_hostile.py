"""Files that are broken, or meant to break the reader: one clear line, never a traceback."""

import io
import os
import zipfile
from pathlib import Path

import pytest

from pretreat.core.errors import AnalysisError
from pretreat.lab import read_analysis

FILES = Path(__file__).parent / "files"
WORKBOOK = FILES / "03_vertical_merged.xlsx"


def refused(path, **options):
    with pytest.raises(AnalysisError) as caught:
        read_analysis(path, **options)
    for fault in caught.value.faults:
        assert fault.strip()
        assert "\n" not in fault
        assert len(fault) < 1000
    return str(caught.value)


def repacked(change):
    """Return the workbook with its parts changed by ``change(name, content)``."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(WORKBOOK) as source,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for name in source.namelist():
            new.writestr(name, change(name, source.read(name)))
    return out.getvalue()


def test_missing_file(tmp_path):
    assert "does not exist" in refused(tmp_path / "none.csv")


def test_directory(tmp_path):
    assert "not a file" in refused(tmp_path)


@pytest.mark.parametrize("content", [b"", b"   \n\r\n", b"\xef\xbb\xbf", b"\xff\xfe"])
def test_empty_file(tmp_path, content):
    path = tmp_path / "empty.csv"
    path.write_bytes(content)
    assert "empty" in refused(path)


def test_text_renamed_to_workbook(tmp_path):
    path = tmp_path / "really_text.xlsx"
    path.write_text("Calcium,142,mg/L\n")
    assert "not a workbook" in refused(path)


def test_workbook_renamed_to_text_is_read(tmp_path):
    path = tmp_path / "really_workbook.csv"
    path.write_bytes(WORKBOOK.read_bytes())
    assert read_analysis(path).mg_l["ca"] == 142


@pytest.mark.parametrize(
    "start", [b"%PDF-1.7 x", b"\xd0\xcf\x11\xe0 old", b"\x1f\x8b\x08", b"\x89PNG"]
)
def test_other_kinds_of_file(tmp_path, start):
    path = tmp_path / "report.csv"
    path.write_bytes(start + b" Calcium,142")
    refused(path)


def test_two_gigabytes_of_nothing(tmp_path):
    path = tmp_path / "sparse.csv"
    with path.open("wb") as handle:
        handle.truncate(2 * 1024**3)
    assert "MB" in refused(path)


def test_zip_bomb(tmp_path):
    path = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        archive.writestr("xl/worksheets/sheet1.xml", b" " * 60_000_000)
    assert "unpacks to far more" in refused(path)


def test_external_entities(tmp_path):
    def change(name, content):
        if name == "xl/workbook.xml":
            return b'<!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/passwd">]>' + content
        return content

    path = tmp_path / "entities.xlsx"
    path.write_bytes(repacked(change))
    assert "entities" in refused(path)


def test_sheet_that_spans_a_million_rows(tmp_path):
    import openpyxl

    book = openpyxl.Workbook()
    book.active["A1"] = "Calcium"
    book.active["XFD1048576"] = 142
    path = tmp_path / "wide.xlsx"
    book.save(path)
    assert "spans" in refused(path)


def test_damaged_archives(tmp_path):
    whole = WORKBOOK.read_bytes()
    path = tmp_path / "cut.xlsx"
    for end in (5, 100, len(whole) // 2, len(whole) - 10):
        path.write_bytes(whole[:end])
        refused(path)


def test_archive_that_is_no_workbook(tmp_path):
    path = tmp_path / "other.xlsx"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("word/document.xml", "<x/>")
    assert "no .xlsx workbook" in refused(path)


def test_formula_in_a_result_is_only_text(tmp_path):
    path = tmp_path / "cmd.csv"
    path.write_text("Analyte,Result,Unit\nCalcium,142,mg/L\nMagnesium,=cmd|' /C calc'!A0,mg/L\n")
    water = read_analysis(path)
    assert "mg" not in water.mg_l
    assert any(flag.code == "not_a_number" for flag in water.flags)


def test_formula_without_cached_value(tmp_path):
    import openpyxl

    book = openpyxl.Workbook()
    for row in (
        ("Analyte", "Result", "Unit"),
        ("Calcium", 142, "mg/L"),
        ("Magnesium", "=B2/2", "mg/L"),
    ):
        book.active.append(row)
    path = tmp_path / "formula.xlsx"
    book.save(path)
    water = read_analysis(path)
    assert "mg" not in water.mg_l
    assert any(f.code == "formula_without_value" and f.level == "warning" for f in water.flags)


@pytest.mark.parametrize("name", ["../../etc/passwd", "W-9\x1b[31m", "x" * 5000])
def test_sample_names_are_only_names(name):
    message = refused(FILES / "04_wide_units_in_header.csv", sample=name)
    assert "W-1, W-2" in message
    assert "\x1b" not in message


def test_unknown_sheet_and_encoding():
    assert "Certificate" in refused(WORKBOOK, sheet="None")
    assert "not known" in refused(FILES / "13_incell_qualifiers.csv", encoding="klingon")
    assert "decimal" in refused(FILES / "13_incell_qualifiers.csv", decimal="x")


def test_file_that_vanishes(tmp_path, monkeypatch):
    path = tmp_path / "gone.csv"
    path.write_text("Calcium,142,mg/L\n")
    opened = Path.open

    def vanish(self, *args, **kwargs):
        if self == path:
            raise FileNotFoundError(self)
        return opened(self, *args, **kwargs)

    monkeypatch.setattr(Path, "open", vanish)
    assert "does not exist" in refused(path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes on this system")
def test_named_pipe(tmp_path):
    os.mkfifo(tmp_path / "pipe.csv")
    assert "not a file" in refused(tmp_path / "pipe.csv")


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("Calcium,-142,mg/L", "line 2: Calcium is -142 mg/L"),
        ("pH,76.2,", "line 2: pH is 76.2"),
        ("Sodium,9e9,mg/L", "line 2: Sodium is 9e9"),
    ],
)
def test_impossible_results_name_their_row(tmp_path, row, said):
    path = tmp_path / "wrong.csv"
    path.write_text(f"Analyte,Result,Unit\n{row}\nMagnesium,20,mg/L\n")
    assert said in refused(path)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("Calcium,142,furlongs", "line 2 'Calcium', unit 'furlongs'"),
        ("Alkalinity,280,mg/L as Fe", "line 2 'Alkalinity'"),
        ("Silica,0.5,meq/L", "line 2 'Silica'"),
        ("Temperature,14.2,mg/l", "line 2 'Temperature'"),
    ],
)
def test_a_row_that_cannot_be_read_is_left_out_with_a_warning(tmp_path, row, said):
    path = tmp_path / "wrong.csv"
    path.write_text(f"Analyte,Result,Unit\n{row}\nMagnesium,20,mg/L\n")
    water = read_analysis(path)
    (flag,) = (f for f in water.flags if f.code == "row_dropped")
    assert flag.level == "warning"
    assert said in flag.text
    assert dict(water.mg_l) == {"mg": 20}
    assert water.alkalinity_mg_l_caco3 is None
    assert water.temperature_c is None


def test_every_fault_is_named(tmp_path):
    path = tmp_path / "wrong.csv"
    path.write_text("Analyte,Result,Unit\nCalcium,-1,mg/L\nSodium,-2,mg/L\nChloride,3,mg/L\n")
    with pytest.raises(AnalysisError) as caught:
        read_analysis(path)
    assert len(caught.value.faults) == 2


def test_messages_are_one_printable_line(tmp_path):
    path = tmp_path / "escape.csv"
    path.write_text('Analyte,Result,Unit\n"Calcium\n\x1b[31m",-142,mg/L\n"Magnesium",20,"mg\n/x"\n')
    for fault in refused(path).split("\n"):
        assert fault.isprintable()


def test_other_sheets_with_results_are_named(tmp_path):
    import openpyxl

    book = openpyxl.Workbook()
    book.active.title = "Metals"
    for row in (
        ("Analyte", "Result", "Unit"),
        ("Calcium", 142, "mg/L"),
        ("Magnesium", 48.6, "mg/L"),
    ):
        book.active.append(row)
    second = book.create_sheet("Anions")
    for row in (("Analyte", "Result", "Unit"), ("Chloride", 287, "mg/L")):
        second.append(row)
    path = tmp_path / "two.xlsx"
    book.save(path)
    water = read_analysis(path)
    assert any(f.code == "several_sheets" and "Anions" in f.text for f in water.flags)
    assert read_analysis(path, sheet="Anions").mg_l["cl"] == 287
