"""The workbook against the study it shows, read back with other programs' readers."""

import datetime
import io
import re
import shutil
import zipfile

import openpyxl
import pandas as pd
import pytest
from msgspec.structs import replace

from pretreat.core.basis import Figure
from pretreat.core.errors import PretreatError
from pretreat.core.results import Ledger, from_json, to_json
from pretreat.core.tables import sources
from pretreat.core.units import unit_shown, us_customary
from pretreat.report import workbook_bytes, write_workbook
from pretreat.report.workbook.layout import BASIS, CAUTIONS, RESULTS, SOURCES, SUMMARY
from pretreat.report.workbook.pages import arrange

DAY = datetime.date(2024, 5, 6)
UNITS = ("si", "us")
DIGITS = 14  # the file format holds 16, one or two of which may round


def opened(study, units="si", **options):
    content = workbook_bytes(study, units=units, date=DAY)
    return openpyxl.load_workbook(io.BytesIO(content), **options)


def numbers_of(study):
    found = [
        (f.value, unit_shown(f.key, f.unit))
        for f in study.figures.values()
        if isinstance(f.value, float)
    ]
    for series in study.series.values():
        for row in series.rows:
            found += [(v, u) for v, u in zip(row, series.units, strict=True) if type(v) is float]
    known = {f"{value:.{DIGITS}g}" for value, _ in found}
    return known | {f"{us_customary(value, unit)[0]:.{DIGITS}g}" for value, unit in found}


@pytest.mark.parametrize("units", UNITS)
def test_every_number_is_a_figure_or_a_point(study, units):
    known = numbers_of(study)
    count = 0
    for sheet in opened(study, units, data_only=True):
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, int | float):
                    count += 1
                    assert f"{cell.value:.{DIGITS}g}" in known, f"{sheet.title}!{cell.coordinate}"
    assert count > 200


@pytest.mark.parametrize("units", UNITS)
def test_every_figure_and_series_has_a_place(study, units):
    book = arrange(study, us=units == "us")
    head = {"site.name", "study.kind", "summary.verdict", "summary.limits"}
    assert set(book.places) | head == set(study.figures)
    assert set(book.tables) == set(study.series)
    values = opened(study, units, data_only=True)
    for key, place in book.places.items():
        shown = values[place.sheet].cell(place.row + 1, place.column + 1).value
        figure = study[key]
        if figure.below is not None:
            assert shown == f"< {figure.below:g}"
        else:
            number = isinstance(figure.value, float)
            assert shown == (pytest.approx(figure.value, rel=1e-14) if number else figure.value)


def test_a_result_with_a_formula_is_alive_with_its_value_cached(study):
    place = arrange(study).places["softener.load_kg_caco3_d"]
    cell = opened(study)[place.sheet].cell(place.row + 1, place.column + 1)
    assert cell.value.startswith("='Settings'!$C$")
    assert "{" not in cell.value
    assert cell.value.endswith("/1000")


def test_the_demo_formulas_all_find_their_cells(study):
    from pretreat.report.workbook.marks import marks_of

    marks = marks_of(study, arrange(study))
    assert set(marks.formulas) == {k for k, f in study.figures.items() if f.formula}
    assert marks.marks["softener.load_kg_caco3_d"] == "live"
    assert marks.marks["softener.reserve"] == "input, new run"  # the timer setting has no formula
    assert "machine.days_per_year" not in marks.marks  # no formula uses it


def test_a_formula_without_its_cells_falls_back_to_the_value():
    ledger = Ledger()
    ledger.put("a.x", 2.0, "-", "x", formula="{b.gone}*2")
    ledger.put("a.text", "word", "-", "text")
    ledger.put("a.y", 3.0, "-", "y", formula="{a.text}+1")
    book = opened(ledger.study())
    cells = [c for row in book["More results"].iter_rows() for c in row]
    assert {2.0, 3.0} <= {c.value for c in cells}
    assert not [c for c in cells if c.data_type == "f"]


def test_a_formula_that_is_more_than_arithmetic_is_refused():
    ledger = Ledger()
    ledger.put("a.x", 2.0, "-", "x", formula='WEBSERVICE("http://x")')
    with pytest.raises(PretreatError, match="more than arithmetic"):
        workbook_bytes(ledger.study())


def test_input_cells_are_marked_and_validated(study):
    book = opened(study)
    place = arrange(study).places["machine.hours_per_day"]
    sheet = book[place.sheet]
    cell = sheet.cell(place.row + 1, place.column + 1)
    rules = [r for r in sheet.data_validations.dataValidation if cell.coordinate in r.sqref]
    assert [(r.type, r.formula1, r.formula2) for r in rules] == [("decimal", "0", "24")]
    assert sheet.cell(place.row + 1, 1).value == "input, new run"
    assert cell.border.left.style == "thin"


@pytest.mark.parametrize("units", UNITS)
def test_text_stays_text(study, units):
    hostile = ("=1+1 & sons", "=1+1 odd name", "+cmd|' /C calc'!A0", "http://softener.example",
               "@Permanganate is a strong oxidiser: follow its data sheet and the local code.",
               )  # fmt: skip
    cells = [c for sheet in opened(study, units) for row in sheet.iter_rows() for c in row]
    for text in hostile:
        found = [c for c in cells if c.value == text]
        assert found
        assert {c.data_type for c in found} == {"s"}
        assert not any(c.hyperlink for c in found)
    names = zipfile.ZipFile(io.BytesIO(workbook_bytes(study, units=units))).namelist()
    assert not [n for n in names if "vba" in n.lower() or "externalLink" in n]


def test_no_value_is_a_blank_cell_with_a_word(study):
    place = arrange(study).places["water.sio2_mg_l"]
    sheet = opened(study)[place.sheet]
    assert sheet.cell(place.row + 1, place.column + 1).value is None
    assert sheet.cell(place.row + 1, 1).value == "not measured"


@pytest.mark.parametrize("units", UNITS)
def test_same_study_same_bytes_also_by_way_of_json(study, units):
    first = workbook_bytes(study, units=units, date=DAY)
    assert workbook_bytes(study, units=units, date=DAY) == first
    assert workbook_bytes(from_json(to_json(study)), units=units, date=DAY) == first


@pytest.mark.parametrize(("units", "paper"), [("si", 9), ("us", 1)])
def test_pages_are_set_up_for_print(study, units, paper):
    book = opened(study, units)
    for sheet in book:
        assert sheet.page_setup.paperSize == paper
        assert sheet.page_setup.fitToWidth in (None, 1)
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert "&D" not in sheet.oddFooter.right.text  # never today's date
        assert "2024-05-06" in sheet.oddFooter.right.text
        assert sheet.print_title_rows
        assert sheet.freeze_panes
    assert book.sheetnames[0] == SUMMARY
    assert book[SUMMARY].page_setup.orientation != "landscape"


def test_main_results_have_names(study):
    book = opened(study, data_only=True)
    name = book.defined_names["softener_interval_d"]
    (sheet, cell), *_ = name.destinations
    assert book[sheet][cell].value == pytest.approx(study.value("softener.interval_d"))


def test_every_chart_series_points_at_numbers(study):
    content = workbook_bytes(study, date=DAY)
    book = openpyxl.load_workbook(io.BytesIO(content), data_only=True)
    archive = zipfile.ZipFile(io.BytesIO(content))
    charts = [n for n in archive.namelist() if n.startswith("xl/charts/chart")]
    assert len(charts) == 4  # that of saturation stands on the front page too
    for chart in charts:
        xml = archive.read(chart).decode()
        references = re.findall(r"<c:(?:yVal|val)><c:numRef><c:f>([^<]+)</c:f>", xml)
        assert references
        for reference in references:
            sheet, area = reference.replace("'", "").replace("$", "").split("!")
            cells = book[sheet][area]
            flat = [c for row in cells for c in row] if isinstance(cells, tuple) else [cells]
            assert all(isinstance(c.value, int | float) for c in flat)


def test_saturation_chart_shows_limits_and_design_point(study):
    archive = zipfile.ZipFile(io.BytesIO(workbook_bytes(study)))
    text = "".join(archive.read(n).decode() for n in archive.namelist() if "charts/chart" in n)
    assert "limit 6,000 %: barite" in text
    assert "design point" in text
    assert "logBase" in text


def test_cautions_and_sources_are_complete(study):
    book = opened(study)
    codes = [row[1].value for row in book[CAUTIONS].iter_rows(min_row=4)]
    assert sorted(codes) == sorted(f.code for f in study.flags)
    text = {c.value for row in book[SOURCES].iter_rows() for c in row}
    assert {sources()[key] for key in ("PB82", "SM1030E", "SM2340B")} <= text
    assert "no citation on file" not in text
    assert sources()["IUPAC2021"] not in text  # not used by this study


def test_other_readers_see_the_same_numbers(study, tmp_path):
    path = write_workbook(study, tmp_path / "x.xlsx", date=DAY)
    place = arrange(study).places["softener.interval_d"]
    frame = pd.read_excel(path, sheet_name=place.sheet, header=None)
    assert frame.iat[place.row, place.column] == pytest.approx(
        study.value("softener.interval_d"), rel=1e-15
    )


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
def test_a_changed_input_carries_through(study, tmp_path, ci_script):
    """Half the hours, half the load: twice the interval; US cells and the summary follow."""
    path = write_workbook(study, tmp_path / "x.xlsx", units="us", date=DAY)
    check = ci_script("check_workbook")
    assert not list(check.differences(path, tmp_path))
    places = arrange(study, us=True).places
    hours, interval = places["machine.hours_per_day"], places["softener.interval_d"]
    after = check.recalculated(path, tmp_path, {(hours.sheet, f"C{hours.row + 1}"): 10.0})
    shown = after[interval.sheet].cell(interval.row + 1, 3).value
    assert shown == pytest.approx(2 * study.value("softener.interval_d"), rel=1e-12)
    row = next(r for r in after[RESULTS].iter_rows() if r[0].value == "Days to use up the capacity")
    assert row[1].value == pytest.approx(shown)


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
def test_recovery_is_interpolated_in_the_table(study, tmp_path, ci_script):
    path = write_workbook(study, tmp_path / "x.xlsx")
    book = arrange(study)
    place, (sheet, table) = book.places["machine.recovery"], book.tables["scaling.sweep"]
    after = ci_script("check_workbook").recalculated(
        path, tmp_path, {(place.sheet, f"C{place.row + 1}"): 0.72}
    )
    row = after[sheet][table.live_row + 1]
    low, high = (r for r in study.series["scaling.sweep"].rows if r[0] in (0.7, 0.75))
    for i, cell in enumerate(row[1 : len(low) + 1]):
        assert cell.value == pytest.approx(low[i] + (high[i] - low[i]) * 0.4, rel=1e-9)


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
def test_a_blank_that_a_change_may_fill_is_alive(tmp_path, ci_script):
    ledger = Ledger()
    ledger.put("a.x", 5.0, "d", "x", origin="chosen")
    ledger.add(Figure("a.y", None, "d", "y", formula='IF({a.x}>3,"",{a.x})'))
    ledger.add(Figure("a.z", None, "d", "z", formula='IF({a.y}="","",2*{a.y})'))
    path = write_workbook(ledger.study(), tmp_path / "x.xlsx")
    check = ci_script("check_workbook")
    assert not list(check.differences(path, tmp_path))
    place = arrange(ledger.study()).places["a.x"]
    after = check.recalculated(path, tmp_path, {(place.sheet, f"C{place.row + 1}"): 2.0})
    rows = {r[1].value: r[2].value for r in after[place.sheet].iter_rows()}
    assert (rows["Y"], rows["Z"]) == (2, 4)


def test_an_interrupted_write_leaves_the_old_file(study, tmp_path, monkeypatch):
    path = write_workbook(study, tmp_path / "x.xlsx", date=DAY)
    before = path.read_bytes()

    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("os.fsync", stop)
    with pytest.raises(KeyboardInterrupt):
        write_workbook(study, path, units="us")
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["x.xlsx"]


def test_a_locked_file_gives_a_message_and_a_new_name(study, tmp_path, monkeypatch):
    path = write_workbook(study, tmp_path / "x.xlsx")

    def locked(*_):
        raise PermissionError(13, "in use")

    monkeypatch.setattr("pathlib.Path.replace", locked)
    with pytest.raises(PretreatError, match=r"cannot be replaced.*x_2\.xlsx"):
        write_workbook(study, path)


@pytest.mark.parametrize("lock", ["~$x.xlsx", ".~lock.x.xlsx#"])
def test_a_workbook_open_elsewhere_is_not_replaced(study, tmp_path, lock):
    (tmp_path / lock).write_text("someone")
    with pytest.raises(PretreatError, match=r"open in another program.*x_2\.xlsx"):
        write_workbook(study, tmp_path / "x.xlsx")


def test_a_folder_that_is_a_file_is_one_clear_error(study, tmp_path):
    (tmp_path / "reports").write_text("")
    with pytest.raises(PretreatError, match="cannot be written"):
        write_workbook(study, tmp_path / "reports" / "x.xlsx")


def test_an_empty_study_and_a_long_name_still_make_a_workbook():
    ledger = Ledger()
    assert opened(ledger.study()).sheetnames == [SUMMARY, CAUTIONS, RESULTS, BASIS, SOURCES]
    ledger.put("site.name", "&&x" * 400, "-", "site")
    ledger.add(replace(Figure("a.b", None, "-", "nothing"), method="m" * 900))
    assert "More results" in opened(ledger.study()).sheetnames
