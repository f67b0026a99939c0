"""Settings card and record sheet: one upright page each, boxes to write in, no number of its own.

That a gloved hand needs rows of about 24 points is our own trial on paper; no source.
"""

import io
from functools import cache
from pathlib import Path

import openpyxl
import pytest

from pretreat.core.units import us_customary
from pretreat.lab import read_analysis
from pretreat.report import workbook_bytes
from pretreat.stages.site import read_site
from pretreat.study import run_study

SITES = Path(__file__).resolve().parents[2] / "water_analyses"
NAMES = ("Settings card", "Record sheet")
PAPER_POINTS = {9: 842.0, 1: 792.0}  # A4 and Letter, upright
LEAST_BOX_POINTS = 24.0
LEAST_SCALE = 0.88  # of the print when it is made to fit


def study_of(name, mode):
    design = read_site(SITES / name)
    basis = design.water
    water = None
    if basis.analysis is not None:
        water = read_analysis(basis.analysis, sample=basis.sample, sheet=basis.sheet)
    return run_study(water, design, mode, draws=64)


STUDIES = {
    "sized": ("quarrow_vale.toml", "size"),
    "installed": ("quarrow_vale_installed.toml", "rate"),
    "test kit or other": ("drover_flat.toml", "size"),
}
studied = cache(study_of)


@cache
def book_of(which, units):
    book = workbook_bytes(studied(*STUDIES[which]), units=units)
    return openpyxl.load_workbook(io.BytesIO(book), data_only=True)


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize("which", ["sized", "installed", "test kit or other"])
def test_each_is_one_upright_page_of_readable_size(which, units):
    book = book_of(which, units)
    for name in NAMES:
        sheet = book[name]
        setup = sheet.page_setup
        assert setup.orientation != "landscape"
        assert (setup.fitToWidth in (None, 1), setup.fitToHeight in (None, 1)) == (True, True)
        area = sheet.print_area.replace("$", "").split("!")[-1]
        assert area.startswith("A1:")
        assert area.endswith(f"X{sheet.max_row}")
        usual = sheet.sheet_format.defaultRowHeight
        heights = [sheet.row_dimensions[r].height or usual for r in range(1, sheet.max_row + 1)]
        margins = 72 * (sheet.page_margins.top + sheet.page_margins.bottom)
        assert (PAPER_POINTS[int(setup.paperSize)] - margins) / sum(heights) > LEAST_SCALE


def boxes(sheet):
    """Blank cells with a thick border, and the height each covers [points]."""
    merged = {r.start_cell.coordinate: r for r in sheet.merged_cells.ranges}
    for row in sheet.iter_rows():
        for cell in row:
            if cell.border.left.style == "medium" and not cell.value:
                area = merged.get(cell.coordinate)
                if area is not None:
                    rows = range(area.min_row, area.max_row + 1)
                    yield cell, sum(sheet.row_dimensions[r].height for r in rows)


def test_boxes_take_a_gloved_hand():
    sheet = book_of("sized", "si")["Record sheet"]
    found = [height for _, height in boxes(sheet)]
    assert len(found) >= 8 * 25  # eight dates, every gauge
    assert min(found) >= LEAST_BOX_POINTS


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize("which", ["sized", "installed", "test kit or other"])
def test_every_number_is_a_figure_or_a_point(which, units):
    study = studied(*STUDIES[which])
    known = [(f.value, f.unit) for f in study.figures.values() if isinstance(f.value, float)]
    for series in study.series.values():
        for point in series.rows:
            known += [(v, u) for v, u in zip(point, series.units, strict=True) if type(v) is float]
    texts = {f"{v:.14g}" for v, _ in known} | {f"{us_customary(v, u)[0]:.14g}" for v, u in known}
    book, count = book_of(which, units), 0
    for name in NAMES:
        for cell in (c for row in book[name].iter_rows() for c in row):
            if isinstance(cell.value, int | float):
                count += 1
                assert f"{cell.value:.14g}" in texts, f"{name}!{cell.coordinate}"
    assert count > 30


def text_of(sheet):
    return " | ".join(str(c.value) for row in sheet.iter_rows() for c in row if c.value)


def test_the_card_says_what_is_set():
    text = text_of(book_of("sized", "si")["Settings card"])
    for words in ("13:7", "1:1", "3:2", "7:3", "Softener: set", "Iron filter", "Carbon",
                  "Permanganate", "tick when done", "Shutdown", "gauges at zero"):  # fmt: skip
        assert words in text
    us = text_of(book_of("sized", "us")["Settings card"])
    assert "US gpm" in us
    assert "L/min" not in us
    assert "below 10.2 psi a second" in us


def test_the_record_sheet_has_every_gauge_and_what_is_expected():
    from pretreat.plant.hand_sheets import gauges_left_out
    from pretreat.record.readings import gauges

    study = studied(*STUDIES["sized"])
    sheet = book_of("sized", "si")["Record sheet"]
    text = text_of(sheet)
    out = gauges_left_out(study)
    assert out == {"recycle_flow_m3_h"}  # this site has no recycle; all else is read
    for key, gauge in gauges().items():
        assert (gauge.label in text) == (key not in out)
    expected = {row[0].value: row[6].value for row in sheet.iter_rows()}
    assert expected["* Product flow"] == pytest.approx(study.number("settings.product_l_min"))
    assert expected["Free chlorine before the membranes"] == "none"
