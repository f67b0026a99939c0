"""Paper in one system of units: US pages hold no SI, SI pages no US customary units."""

import io
import re

import openpyxl
import pytest
from openpyxl.utils import range_boundaries

from pretreat import size
from pretreat.report import workbook_bytes
from pretreat.report.text.terminal import text_size
from pretreat.report.text.us_words import in_us_words
from pretreat.report.workbook.grid import HOW_COLUMN
from pretreat.report.workbook.layout import RESULTS, SOURCES
from tests.cli.conftest import ANALYSES
from tests.report.test_pressure_of_the_card import study_of

# In both systems: concentrations of a laboratory, ratios, equivalents, energy; "at 25 °C" is the
# temperature that tables and meters refer to.
BOTH = re.compile(
    r"(?:[mu]g|µg|meq|mmol|mol|eq)/(?:L|kg)\b|\bat (?:25|180) °C|\bg/g\b|\b[1a-z]+/year|kWh/year"
)
SI = re.compile(
    r"(?<![\w/.^])(?:m3|L|mL|kg|mm|cm|m|m2|bar|kPa|°C|g|m3/h|m3/d|L/min|L/h|m/h|kg/d|"
    r"[A-Za-z]+/(?:m3|kg|L|m2))(?![\w/])|L/\(?m2|(?:cubic|square) met|litre|kilogram|°C"
)
# A hardness or an alkalinity in grains says as what; a test kit and its sheet have no room for it.
BARE_GRAINS = re.compile(r"gpg\b(?! as CaCO3)")
OF_HARDNESS = re.compile(r"hardness [\d.]+ gpg\b")  # the trade's own words, in a sentence
US = re.compile(r"(?<![\w/])(?:gal|gpm|gpd|gpg|lb|ft3|ft2|ft|psi|°F|oz|kgr|grains)(?![\w])")
# A flow control is stamped with its nominal size in US gallons, wherever it is sold.
STAMPED = re.compile(r"drain flow control of [\d.]+ gpm|nominal size, US gpm")


def printed(content):
    """Yield sheet, column from zero, and text of each cell that prints."""
    book = openpyxl.load_workbook(io.BytesIO(content), data_only=True)
    for sheet in book:
        if sheet.title in (SOURCES, RESULTS):  # titles as printed; both systems side by side
            continue
        for area in sheet.print_area.split(","):
            left, top, right, bottom = range_boundaries(area.split("!")[-1].replace("$", ""))
            for row in sheet.iter_rows(top, bottom, left, right):
                for cell in row:
                    if isinstance(cell.value, str):
                        yield sheet.title, cell.column - 1, cell.value


@pytest.fixture(
    name="study", scope="module", params=["quarrow_vale", "drover_flat", "with elements"]
)
def study_fixture(request, tmp_path_factory):
    if request.param == "with elements":
        pressed = 'feed_pressure = "3 bar"\n[limits]\ninhibitor = true'
        return study_of(tmp_path_factory.mktemp("elements"), 0.5, pressed)
    return size(ANALYSES / f"{request.param}.toml", draws=0)


def test_us_paper_holds_no_si(study):
    cells = [*printed(workbook_bytes(study, units="us"))]
    assert len(cells) > 500
    found = [(name, text) for name, _, text in cells if SI.search(BOTH.sub("", text))]
    assert found == []


def test_grains_say_as_what_they_are(study):
    """Bicarbonate in grains is as CaCO3, as a hardness is: 17.118 mg/L as CaCO3 is one grain."""
    cells = [*printed(workbook_bytes(study, units="us"))]
    sheets = [text for name, _, text in cells if name != "Record sheet"]
    assert any("gpg as CaCO3" in text for text in sheets)
    assert [text for text in sheets if BARE_GRAINS.search(OF_HARDNESS.sub("", text))] == []


def test_flux_is_in_gallons_a_day_on_a_square_foot(study):
    """1 L/(m2 h) = 24 h / 3.785412 L x 0.09290304 m2 = 0.58902 gfd."""
    assert in_us_words("average flux is 34 L/m2/h, at most 28 L/m2/h").endswith("at most 16.5 gfd")
    flux = study.number("machine.flux_l_m2_h")
    if flux is None:
        return
    shown = " ".join(text_size(study, units="us").split())
    assert f"Average flux {0.58902 * flux:.3g} gfd" in shown


def test_si_paper_holds_no_us(study):
    """Beside a value that a source prints in US units stand the words of the source."""
    found = [
        (name, text)
        for name, column, text in printed(workbook_bytes(study))
        if column != HOW_COLUMN and US.search(STAMPED.sub("", text))
    ]
    assert found == []


@pytest.mark.parametrize(("units", "foreign"), [("us", SI), ("si", US)])
def test_the_terminal_speaks_one_system(study, units, foreign):
    text = " ".join(text_size(study, units=units).split())
    assert not foreign.search(STAMPED.sub("", BOTH.sub("", text)))


@pytest.mark.parametrize("ratio", [1.9, 3.61])
def test_a_ratio_of_like_quantities_keeps_one_basis(ratio):
    """Grams per gram are pounds per pound, by definition."""
    text = f"takes {ratio} g of salt for a gram of hardness ({ratio - 1:.2f} at best), 2.09 or less"
    assert in_us_words(text) == (
        f"takes {ratio} lb of salt for a pound of hardness ({ratio - 1:.2f} at best), 2.09 or less"
    )
    assert in_us_words("8 kg of salt per kg of resin") == "8 lb of salt per pound of resin"
    assert in_us_words("28.35 g of salt for each vessel") == "1 oz of salt for each vessel"
