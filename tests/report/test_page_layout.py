"""How blocks, heads, digits and words are set on the sheets, and that paper cuts none of them."""

import io
from dataclasses import replace

import openpyxl
import pytest

from pretreat.core.basis import Figure
from pretreat.core.results import Ledger, Study
from pretreat.lab import read_analysis
from pretreat.report import workbook_bytes
from pretreat.report.digits import column_decimals, decimals
from pretreat.report.workbook.bench import Bench, ranges, sentence, wrapped_lines
from pretreat.report.workbook.layout import QUOTE, SUMMARY
from pretreat.report.workbook.marks import marks_of
from pretreat.report.workbook.pages import CASES, MOST_ROWS, CasesPart, FigurePart, arrange
from pretreat.report.workbook.paper import page_breaks
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


def test_each_block_carries_the_heads_of_its_columns(demo, book):
    for page in arrange(demo).pages:
        for part in page.parts:
            row = [c.value for c in book[page.sheet.name][part.top + 1]]
            if isinstance(part, FigurePart):
                assert row[1:4] == ["Value", "Unit", "Mark"], (page.sheet.name, row)
                assert len(part.keys) <= MOST_ROWS
            elif isinstance(part, CasesPart):
                assert row[1:5] == ["Low", "Likely", "High", "Unit"]


def test_the_title_alone_repeats_above_charts_and_tables(book):
    assert book["Scaling"].print_title_rows == "$1:$1"
    assert book["Media life"].print_title_rows == "$1:$1"
    assert book["Reading trail"].print_title_rows == "$1:$5"  # one table: its heads repeat too


def test_low_likely_and_high_stand_side_by_side(demo, book):
    places = arrange(demo).places
    row = {places[f"media_life.softener_years_{case}"].row for case in CASES}
    assert len(row) == 1
    cells = book["Media life"][row.pop() + 1]
    assert cells[0].value == "Softening resin: life, estimated"
    for cell, case in zip(cells[1:], CASES, strict=False):
        assert cell.value == demo.number(f"media_life.softener_years_{case}")


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_part_that_fits_a_page_is_cut(demo, paper):
    """15 points a row, as the sheets have where nothing wraps."""
    for page in arrange(demo).pages:
        breaks = page_breaks(page, paper, 13)
        for part, after in zip(page.parts, [*page.parts[1:], None], strict=True):
            end = page.bottom if after is None else after.top
            if end - part.top <= MOST_ROWS:
                assert not [b for b in breaks if part.top < b < end], (page.sheet.name, part)


def test_a_row_higher_than_a_page_does_not_go_on_for_ever(demo):
    page = max(arrange(demo).pages, key=lambda one: one.bottom)
    row = page.bottom // 2
    breaks = page_breaks(page, "a4", 13, {row: 5000.0})
    assert breaks == sorted(set(breaks))
    assert max(breaks) > row


def test_client_pages_name_no_key_of_the_site_file(demo, book):
    for name in (SUMMARY, QUOTE):
        words = " ".join(str(c.value) for row in book[name].iter_rows() for c in row if c.value)
        assert "[prices]" not in words
        assert "salt_per_kg" not in words
    notes = [str(r[7].value) for r in book[QUOTE].iter_rows() if r[0].value == "Salt"]
    assert notes == ["price not given"]
    basis = {str(c.value) for row in book["Basis"].iter_rows() for c in row}
    assert "not given: [prices] salt_per_kg" in basis


def test_a_range_is_read_as_from_to(book):
    row = next(r for r in book[SUMMARY].iter_rows() if str(r[0].value).startswith("Softening"))
    assert " to " in row[1].value
    assert row[2].value == "years"


def test_a_result_that_repeats_another_is_shown_once():
    filled = Figure("softener.resin_filled_l", 140.0, "L", "Resin filled")
    again = Figure("softener.resin_volume_l", 140.0, "L", "Resin installed",
                   formula="{softener.resin_filled_l}")  # fmt: skip
    assert [f.key for f, _ in ranges([again, filled])] == ["softener.resin_filled_l"]


def test_a_gap_points_at_its_own_note(demo):
    book = arrange(demo)
    bench = Bench(demo, book, marks_of(demo, book), None, None, False)
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
