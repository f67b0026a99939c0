"""The sheet of the quote: prices typed into a book without any give what a priced run gives."""

import shutil

import pytest
from msgspec.structs import replace

from pretreat.report import write_workbook
from pretreat.report.workbook.formulas import column_letter
from pretreat.report.workbook.layout import QUOTE
from pretreat.report.workbook.pages import arrange
from pretreat.site.design import Machine, Prices, QuoteTerms, WaterBasis
from pretreat.stages.site import basis
from pretreat.stages.softener.keys import SoftenerDesign
from pretreat.study import run_study

# Invented site and prices; the box of resin of another size brings prices with odd cents.
PRICES = {"salt_per_kg": 0.375, "resin_per_l": 3.457, "labour_per_h": 48.0, "freight": 95.0,
          "cartridge_each": 7.55, "disposal_per_l": 0.42, "gravel_per_kg": 0.555}  # fmt: skip
TERMS = QuoteTerms(tax_percent={"default": 21.0, "labour": 10.0}, discount_percent=7.5)
DESIGN = replace(
    basis(
        Machine(0.8, 0.6, 10.0, 250.0),
        water=WaterBasis(hardness_mg_l_caco3=320.0, iron_mg_l=0.2),
        softener=SoftenerDesign(resin_volume_l=140.0, vessel_diameter_m=0.41, salt_dose_g_l=160.0),
        chosen=frozenset({"softener.resin_volume_l"}),
    ),
    quote=TERMS,
)


def rows_of(sheet):
    return [row for row in sheet.iter_rows(values_only=True) if isinstance(row[4], int | float)]


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
@pytest.mark.parametrize("margin", [pytest.param(None, marks=pytest.mark.thorough), 30.0])
def test_prices_typed_in_give_what_a_priced_run_gives(tmp_path, ci_script, margin):
    design = replace(DESIGN, quote=replace(TERMS, margin_percent=margin))
    bare = run_study(None, design, "rate", draws=0)
    priced = run_study(None, replace(design, prices=Prices(**PRICES)), "rate", draws=0)
    places = arrange(bare).places
    cells = {name: places[f"prices.{name}"] for name in PRICES}
    typed = {
        (place.sheet, f"{column_letter(place.column)}{place.row + 1}"): PRICES[name]
        for name, place in cells.items()
    }
    path = write_workbook(bare, tmp_path / "bare.xlsx")
    other = write_workbook(priced, tmp_path / "priced.xlsx")
    script = ci_script("check_workbook")
    found = rows_of(script.recalculated_each(path, tmp_path, {"typed": typed})["typed"][QUOTE])
    want = rows_of(script.recalculated_each(other, tmp_path, {"as is": {}})["as is"][QUOTE])
    assert len(want) >= 10
    assert [row[1:] for row in found] == [row[1:] for row in want]
    assert next(r for r in want if r[0] == "Total")[4] == priced.number("quote.gross")


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
def test_rates_and_what_is_taxed_are_one_live_phrase(tmp_path, ci_script):
    terms = replace(TERMS, tax_percent={"default": 8.375, "labour": 0.0}, discount_percent=12.75)
    design = replace(DESIGN, prices=Prices(**PRICES), quote=terms)
    study = run_study(None, design, "rate", draws=0)
    place = arrange(study).places["offer.rate_2_pct"]
    cell = (place.sheet, f"{column_letter(place.column)}{place.row + 1}")
    path = write_workbook(study, tmp_path / "a.xlsx")
    runs = {"as is": {}, "typed": {cell: 10.25}}
    found = ci_script("check_workbook").recalculated_each(path, tmp_path, runs)
    for name, rate in (("as is", "8.375"), ("typed", "10.25")):
        shown = {str(row[0]) for row in found[name][QUOTE].iter_rows(values_only=True)}
        taxed, untaxed = (study.number(f"offer.rate_{n}_net") for n in (2, 1))
        assert f"Tax {rate} % on {taxed:,.2f}" in shown
        assert f"Not taxed: {untaxed:,.2f}" in shown
        assert "Discount 12.75 %" in shown
