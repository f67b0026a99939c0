"""The short ways of writing a sheet give the file that the library gives by its own."""

import datetime
import io
import zipfile

import pytest
from xlsxwriter.worksheet import Worksheet

from pretreat.core.basis import Series
from pretreat.lab import read_analysis
from pretreat.report import xlsx
from pretreat.report.workbook.book import workbook_bytes
from pretreat.stages.site import read_site
from pretreat.study import run_study
from tests.cli.conftest import ANALYSES

DAY = datetime.date(2031, 5, 18)


@pytest.fixture(name="demo", scope="module")
def demo_fixture():
    design = read_site(ANALYSES / "quarrow_vale.toml")
    return run_study(read_analysis(design.water.analysis), design)


class _SlowSheet(Worksheet):
    """A sheet of the library, with the one way of writing that it lacks."""

    def write_blanks(self, row, first_col, last_col, cell_format):
        for col in range(first_col, last_col + 1):
            self.write_blank(row, col, None, cell_format)


def _parts(content):
    with zipfile.ZipFile(io.BytesIO(content)) as parts:
        return {name: parts.read(name) for name in parts.namelist()}


@pytest.mark.parametrize("units", ["si", "us"])
def test_the_quick_file_is_the_library_s_own(demo, units, monkeypatch):
    quick = _parts(workbook_bytes(demo, units=units, date=DAY))
    monkeypatch.setattr(xlsx.QuickWorkbook, "worksheet_class", _SlowSheet)
    slow = _parts(workbook_bytes(demo, units=units, date=DAY))
    assert list(quick) == list(slow)
    assert [name for name in quick if quick[name] != slow[name]] == []


def test_odd_cells_keep_their_place_among_usual_ones():
    files = []
    for kind in (xlsx.QuickSheet, _SlowSheet):
        memory = io.BytesIO()
        book = xlsx.QuickWorkbook(memory, {"in_memory": True})
        sheet, style = book.add_worksheet("A", kind), book.add_format({"bold": True})
        sheet.write_string(0, 0, "a", style)
        sheet.write_boolean(0, 1, True, style)
        sheet.write_number(0, 2, 0.1)
        sheet.write_formula(0, 3, "=SUM(C1:C1)", style, 0.1)
        sheet.write_formula(0, 4, "=NORM.S.DIST(C1,TRUE)", style, 0.5)
        sheet.write_formula(0, 5, '=IF(C1<1,"<","&")', None, "<")
        sheet.merge_range(1, 0, 2, 3, "over two rows", style)
        sheet.merge_range(3, 0, 3, 3, "", style)
        sheet.write_blanks(4, 2, 2, style)
        book.set_properties({"created": datetime.datetime(2031, 5, 18)})
        book.close()
        files.append(_parts(memory.getvalue()))
    assert files[0] == files[1]


def test_a_cell_of_a_table_by_row_and_column():
    series = Series("s", "S", ("x", "y"), ("-", "-"), ((1.0, "a"), (2.0, None)))
    assert [series.cell(1, "x"), series.cell(0, "y"), series.cell(1, "y")] == [2.0, "a", None]
    assert series.cell(0, "z") is None
