"""The quote as a page, money as money, and what the first page leaves to the others."""

import io

import openpyxl
import pytest

from pretreat.core.basis import Flag, Series
from pretreat.core.results import Ledger
from pretreat.report import text_size, workbook_bytes
from pretreat.report.digits import column_decimals, decimals
from pretreat.report.workbook.bench import label_under
from pretreat.report.workbook.layout import CAUTIONS, COSTS, ESTIMATE, SUMMARY

# Invented prices and quantities: only their arithmetic matters here.
_LINES = (
    ("salt", "each year", 100.0, "kg", 4.0, "bag of 25 kg", 0.5, 50.0, "", "costs.salt_amount"),
    (
        "labour",
        "each year",
        2.0,
        "h",
        None,
        "h",
        None,
        None,
        "price not given",
        "costs.labour_amount",
    ),
)


@pytest.fixture
def quoted():
    ledger = Ledger()
    ledger.put("quote.currency", "EUR", "-", "currency", origin="chosen")
    ledger.put("quote.estimate", "an estimate, no warranty", "-", "estimate")
    ledger.put("prices.salt_per_kg", 0.5, "EUR/kg", "price of salt", origin="chosen")
    ledger.put("costs.salt_amount", 50.0, "EUR", "salt", formula="100*{prices.salt_per_kg}")
    ledger.put("costs.labour_amount", None, "EUR", "labour")
    ledger.put("quote.consumables_per_year", 50.0, "EUR/year", "consumables per year",
               formula="{costs.salt_amount}")  # fmt: skip
    ledger.put("prices.discount_rate", 0.05, "-", "discount rate", origin="chosen")
    for year in (1, 2):
        ledger.put(f"costs.year_{year:02d}_media", 10.0 * year, "EUR", f"media {year}")
        ledger.put(f"costs.year_{year:02d}_total", 50 + 10.0 * year, "EUR", f"total {year}")
    names = ("item", "when", "quantity", "unit", "packages", "package", "unit_price", "amount",
             "note", "figure")  # fmt: skip
    units = ("-", "-", "-", "-", "-", "-", "EUR", "EUR", "-", "-")
    ledger.table(Series("quote.lines", "what is bought", names, units, _LINES))
    names = ("year", "consumables", "media", "total", "discounted", "accumulated", "replaced")
    rows = (
        (1.0, 50.0, 10.0, 60.0, 60 / 1.05, 60.0, "resin"),
        (2.0, 50.0, 20.0, 70.0, 70 / 1.05**2, 130.0, "carbon"),
    )
    units = ("-", "EUR", "EUR", "EUR", "EUR", "EUR", "-")
    ledger.table(Series("quote.years", "cost by year", names, units, rows))
    ledger.flag(Flag("safety_brine", "caution", "brine is salt"))
    ledger.flag(Flag("pump_small", "warning", "the pump is too small"))
    return ledger.study()


def sheets(study, **options):
    content = workbook_bytes(study, **options)
    return (openpyxl.load_workbook(io.BytesIO(content)),
            openpyxl.load_workbook(io.BytesIO(content), data_only=True))  # fmt: skip


def row_of(sheet, text):
    return next(row for row in sheet.iter_rows() for c in row if c.value == text)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_quote_is_one_upright_page(quoted, paper):
    sheet = sheets(quoted, paper=paper)[0][ESTIMATE]
    assert sheet.page_setup.orientation == "portrait"
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert {sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight} <= {None, 1}  # one by one


@pytest.mark.parametrize("name", [ESTIMATE, COSTS])
def test_an_amount_is_a_link_to_its_figure(quoted, name):
    formulas, values = sheets(quoted)
    index = [c.value for c in row_of(values[name], 0.5)].index(50.0)
    cell = next(
        r
        for r in formulas[name].iter_rows()
        if "salt" in {r[0].value, r[1].value} and r[index].value
    )
    assert str(cell[index].value).startswith("=")
    words = {c.value for row in formulas[name].iter_rows() for c in row}
    assert "costs.salt_amount" not in words


def test_a_missing_price_is_seen_and_named(quoted):
    sheet = sheets(quoted)[1][ESTIMATE]
    assert [c.value for c in row_of(sheet, "labour")].count("no price") == 2
    assert row_of(sheet, "Without a price at the run")[1].value == "Labour"


def test_present_value_and_running_sum_follow_the_totals(quoted):
    formulas, values = sheets(quoted)
    head = [c.value for c in row_of(values[COSTS], "discounted\n[EUR]")]
    row = row_of(values[COSTS], 70 / 1.05**2)[0].row
    for name, value in (("discounted\n[EUR]", 70 / 1.05**2), ("accumulated\n[EUR]", 130.0)):
        column = head.index(name) + 1
        assert str(formulas[COSTS].cell(row, column).value).startswith("=")
        assert values[COSTS].cell(row, column).value == pytest.approx(value)


def test_money_has_two_decimals_and_a_share_has_not(quoted):
    assert decimals(quoted["costs.salt_amount"]) == 2
    assert decimals(quoted["prices.salt_per_kg"]) == 2
    assert decimals(quoted["prices.discount_rate"]) == 2  # as given
    assert column_decimals("amount", (1.0, 25.5)) == (2, 2)


def test_the_first_page_leaves_standing_rules_to_the_sheet_of_cautions(quoted):
    book = sheets(quoted)[1]
    words = {name: " ".join(str(c.value) for row in book[name].iter_rows() for c in row)
             for name in (SUMMARY, CAUTIONS)}  # fmt: skip
    assert "The pump is too small" in words[SUMMARY]
    assert "brine is salt" not in words[SUMMARY]
    assert f"sheet {CAUTIONS}" in words[SUMMARY]
    assert "Brine is salt" in words[CAUTIONS]
    text = text_size(quoted)
    assert "the pump is too small" in text
    assert "brine is salt" in text.lower()


def test_a_label_does_not_repeat_its_heading():
    assert label_under("Softener", "softener: vessel diameter") == "Vessel diameter"
    assert label_under("Carbon and cartridges", "Carbon: backwash") == "Backwash"
    assert label_under("Softener", "Interval: capacity used up") == "Interval: capacity used up"
