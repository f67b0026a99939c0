"""How blocks, heads, digits and words are set on the sheets, and that paper cuts none of them."""

import io

import openpyxl
import pytest
from msgspec.structs import replace

from pretreat.core.basis import Figure
from pretreat.core.results import Ledger, Study
from pretreat.lab import read_analysis
from pretreat.report import workbook_bytes
from pretreat.report.digits import column_decimals, decimals
from pretreat.report.plots import PICTURE_ROWS
from pretreat.report.workbook.bench import Bench, ranges, sentence, wrapped_lines
from pretreat.report.workbook.layout import ESTIMATE, QUOTE, RESULTS, SUMMARY
from pretreat.report.workbook.marks import marks_of
from pretreat.report.workbook.pages import (
    CASES,
    PRINT_LAST,
    CasesPart,
    ChartPart,
    TablePart,
    arrange,
)
from pretreat.report.workbook.paper import _with_a_fuller_end, page_breaks, paper_scale
from pretreat.report.workbook.styles import BODY_SIZE
from pretreat.stages.site import read_site
from pretreat.study import run_study
from tests.cli.conftest import ANALYSES


@pytest.fixture(name="demo", scope="module")
def demo_fixture() -> Study:
    design = read_site(ANALYSES / "quarrow_vale.toml")
    design = replace(design, prices=replace(design.prices, salt_per_kg=None, labour_per_h=None))
    return run_study(read_analysis(design.water.analysis), design)


@pytest.fixture(name="book", scope="module")
def book_fixture(demo):
    return openpyxl.load_workbook(io.BytesIO(workbook_bytes(demo)), data_only=True)


def test_a_sheet_carries_the_heads_of_its_columns_once_and_repeats_them(demo, book):
    for page in arrange(demo).pages:
        sheet = book[page.sheet.name]
        if page.keys:
            heads = [c.value for c in sheet[2]]
            assert heads[:5] == ["Mark", "Quantity", "Value", "Unit", "How it follows"]
            assert heads[PRINT_LAST] == "Source"
            assert sheet.print_title_rows == "$1:$2"
        for part in page.parts:
            if isinstance(part, CasesPart):
                row = [c.value for c in sheet[part.top + 1]]
                assert row[2:6] == ["Low", "Likely", "High", "Unit"]


def test_what_prints_stands_left_and_above_what_stays_on_the_screen(demo, book):
    for page in arrange(demo).pages:
        assert page.printed > 0
        last = book[page.sheet.name].print_area.rsplit("$", 2)
        assert last[-2].endswith("K")
        assert int(last[-1]) == max(page.printed, 2)
        for part in page.parts[: page.on_paper]:
            if isinstance(part, TablePart):
                assert part.columns[-1].end <= PRINT_LAST


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_text_on_paper_is_smaller_than_seven_and_a_half_points(paper):
    """Nine points at the scale at which the sheets of figures fit the paper across."""
    assert BODY_SIZE * paper_scale(paper) >= 7.5


UPRIGHT = {"a4": (8.27, 11.69), "letter": (8.5, 11.0)}  # inch, ISO 216 and ANSI/ASME Y14.1


def _size_in_points(sheet) -> tuple[float, float]:
    """Width and height of the print area; a digit of the standard font is 7 pixels wide."""
    first, last = (part.split("$") for part in sheet.print_area.split("!")[-1].split(":"))
    found = sheet.column_dimensions.values()  # a width holds the padding of its cell
    wide = sum(c.width * (min(c.max, ord(last[1]) - 64) - c.min + 1) for c in found)
    usual = sheet.sheet_format.defaultRowHeight
    rows = range(int(first[2]), int(last[2]) + 1)
    high = sum(sheet.row_dimensions[r].height or usual for r in rows)
    return 0.75 * 7 * wide, high


@pytest.mark.parametrize(("paper", "units"), [("a4", "si"), ("letter", "us")])
def test_no_upright_page_shrinks_its_letters_below_seven_and_a_half_points(demo, paper, units):
    """Nor is a foot shrunk; what does not fit one page goes on over a second."""
    book = openpyxl.load_workbook(io.BytesIO(workbook_bytes(demo, units=units)))
    checked = []
    for name in (SUMMARY, QUOTE, ESTIMATE, RESULTS):
        sheet = book[name]
        wide, high = _size_in_points(sheet)
        margins = sheet.page_margins
        room = [
            72 * (UPRIGHT[paper][0] - margins.left - margins.right),
            72 * (UPRIGHT[paper][1] - margins.top - margins.bottom),
        ]
        scale = min(1.0, room[0] / wide)
        if sheet.page_setup.fitToHeight != 0:
            scale = min(scale, room[1] / high)
        checked.append((name, BODY_SIZE * scale))
        assert sheet.HeaderFooter.scaleWithDoc is False
    assert all(size >= 7.5 for _, size in checked), checked


def test_low_likely_and_high_stand_side_by_side(demo, book):
    places = arrange(demo).places
    row = {places[f"media_life.softener_years_{case}"].row for case in CASES}
    assert len(row) == 1
    cells = book["Media life"][row.pop() + 1]
    assert cells[1].value == "Softening resin: life, estimated"
    for cell, case in zip(cells[2:], CASES, strict=False):
        assert cell.value == demo.number(f"media_life.softener_years_{case}")


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_chart_is_cut_and_no_heading_stands_alone(demo, paper):
    for page in arrange(demo).pages:
        breaks = page_breaks(page, paper)
        for part in page.parts[: page.on_paper]:
            if isinstance(part, ChartPart):
                end = part.top + PICTURE_ROWS
                assert not [b for b in breaks if part.top < b < end], (page.sheet.name, part)
            assert part.top + 1 not in breaks, (page.sheet.name, part)


def test_a_last_page_that_is_nearly_empty_takes_a_part_of_the_page_before():
    """Rows of 10 points, 100 of them on a page; parts begin at rows 0, 40, 70 and 95."""
    tops, below = (0, 40, 70, 95), [10.0 * row for row in range(131)]
    assert _with_a_fuller_end([100], tops, (below, 110), 1000.0) == [40]  # 70 rows; not 40 of 100
    assert _with_a_fuller_end([100], tops, (below, 115), 1000.0) == [70]
    assert _with_a_fuller_end([100], tops, (below, 125), 1000.0) == [70]
    assert _with_a_fuller_end([60], tops, (below, 125), 1000.0) == [60]  # full enough
    assert _with_a_fuller_end([100], (0, 100), (below, 110), 1000.0) == [100]  # nothing to take
    assert _with_a_fuller_end([100], (0, 20), (below, 110), 1000.0) == [100]  # it would empty that
    assert _with_a_fuller_end([], tops, (below, 20), 1000.0) == []


def test_a_row_higher_than_a_page_does_not_go_on_for_ever(demo):
    page = max(arrange(demo).pages, key=lambda one: one.printed)
    row = page.printed // 2
    breaks = page_breaks(page, "a4", {row: 5000.0})
    assert breaks == sorted(set(breaks))
    assert max(breaks) > row


def test_client_pages_name_no_key_of_the_site_file(demo, book):
    for name in (SUMMARY, ESTIMATE):
        words = " ".join(str(c.value) for row in book[name].iter_rows() for c in row if c.value)
        assert "[prices]" not in words
        assert "salt_per_kg" not in words
    notes = [str(r[7].value) for r in book[ESTIMATE].iter_rows() if r[0].value == "Salt"]
    assert notes == ["price not given"]
    basis = {str(c.value) for row in book["Basis"].iter_rows() for c in row}
    assert "not given: [prices] salt_per_kg" in basis


def test_a_range_is_read_as_from_to(book):
    row = next(r for r in book[RESULTS].iter_rows() if str(r[0].value).startswith("Softening"))
    assert " to " in row[1].value
    assert row[2].value == "years"


def test_a_result_that_repeats_another_is_shown_once():
    filled = Figure("softener.resin_filled_l", 140.0, "L", "Resin filled")
    again = Figure("softener.resin_volume_l", 140.0, "L", "Resin installed",
                   formula="{softener.resin_filled_l}")  # fmt: skip
    assert [f.key for f, _ in ranges([again, filled])] == ["softener.resin_filled_l"]


def test_a_gap_points_at_its_own_note(demo):
    book = arrange(demo)
    bench = Bench(demo, book, marks_of(demo, book), None, None, False, {})
    for name in ("salt", "labour"):
        key = "costs.salt_amount" if name == "salt" else "costs.softener_labour_amount"
        assert name in bench.flags_of(demo[key])[0].text


def test_estimated_years_have_two_digits_and_metres_three_decimals():
    assert decimals(Figure("media_life.x_years_high", 8.848, "year", "x")) == 1
    assert decimals(Figure("media_life.x_years_high", 15.15, "year", "x")) == 0
    assert column_decimals("likely", (0.0833, 8.85, 15.2), "year") == (3, 1, 0)
    assert column_decimals("softener_hours", (0.752, 2.257), "d") == (2, 2)
    assert decimals(Figure("a.vessel_diameter_m", 0.6096, "m", "x", origin="chosen")) == 3


def test_names_of_files_keep_their_first_letter():
    assert sentence("pitzer.dat has no F") == "pitzer.dat has no F"
    assert sentence("well_2.csv: utf-8") == "well_2.csv: utf-8"
    assert sentence("water hardness") == "Water hardness"


def test_lines_of_a_text_are_counted_by_words():
    assert wrapped_lines("", 10) == 1
    assert wrapped_lines("UFC13FN, WEAR_INFERENCE, PRACTICE", 20) == 3
    assert wrapped_lines("a" * 25, 10) == 3
    ledger = Ledger()
    ledger.put("a.x", 1.0, "-", "x")
    assert workbook_bytes(ledger.study())
