"""The card as a PDF: two pages, the numbers of the study, eight readings, the same bytes twice."""

import datetime
import io
from pathlib import Path

import pytest
from pdfminer.high_level import extract_pages, extract_text

from pretreat.lab import read_analysis
from pretreat.report.digits import decimals_of, shown
from pretreat.report.hand.card_lines import blocks, packed
from pretreat.report.hand.card_pdf import card_bytes
from pretreat.stages.site import read_site
from pretreat.study import run_study

SITES = Path(__file__).resolve().parents[2] / "water_analyses"
DAY = datetime.date(2031, 5, 1)


@pytest.fixture(scope="module")
def study():
    design = read_site(SITES / "quarrow_vale_installed.toml")
    return run_study(read_analysis(design.water.analysis), design, "rate", draws=0)


@pytest.mark.parametrize("us", [False, True])
def test_card_and_sheet_are_one_page_each(study, us):
    made = card_bytes(study, us=us, day=DAY)
    assert made == card_bytes(study, us=us, day=DAY)
    assert len(list(extract_pages(io.BytesIO(made)))) == 2
    text = extract_text(io.BytesIO(made))
    for words in ("Settings card", "Record sheet", "Before a longer stop", "no pink", "8"):
        assert words in text


def test_the_numbers_are_those_of_the_study(study):
    text = extract_text(io.BytesIO(card_bytes(study, us=False, day=DAY)))
    assert study.number("softener.programme_days") == 0.5
    assert "twice a" in text
    for block in blocks(study, us=False):
        for line in block.lines:
            value = study.value(line.key)
            if isinstance(value, float) and not (line.in_days and value == 0.5):
                assert shown(value, 0 if value.is_integer() else decimals_of(value)) in text


def test_packing_keeps_every_line_and_ends_no_column_with_a_heading(study):
    found = blocks(study, us=False)
    columns = packed(found, 3)
    lines = [entry for column in columns for entry in column if not isinstance(entry, str)]
    assert lines == [line for block in found for line in block.lines]
    assert not any(isinstance(column[-1], str) for column in columns if column)
