"""What a quote sells where the train holds no medium, and what it says of lines without a price.

Sites, prices and the water are invented. Money is worked by hand beside each figure. That supplies
stand where the site file puts them: docs/first_hour/salesperson.md.
"""

import csv

import pytest

from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.quoting import words_of as words_in
from tests.quote.test_plan_of_the_quote import SITE

WATER = """Brindle Court,,
Sampled,2031-03-04,
Analyte,Result,Unit
pH,7.4,
Temperature,16,°C
Conductivity,900,µS/cm
Calcium,112,mg/L
Magnesium,27,mg/L
Sodium,46,mg/L
Potassium,3,mg/L
Strontium,0.6,mg/L
Barium,40,µg/L
Iron,0.02,mg/L
Manganese,0.01,mg/L
Alkalinity as CaCO3,262,mg/L
Sulfate,88,mg/L
Chloride,74,mg/L
Fluoride,0.2,mg/L
Nitrate as NO3,12,mg/L
Silica,14,mg/L
Boron,0.06,mg/L
Turbidity,0.3,NTU
Total organic carbon,0.7,mg/L
Phosphate,<0.05,mg/L
"""
FED = """
[site]
name = "Brindle Court"
[water]
analysis = "w.csv"
operating_temperature = "16 C"
[machine]
product_flow = "1 m3/h"
recovery = 0.7
hours_per_day = 14
[product]
target = "process"
[train]
stages = ["acid", "inhibitor", "cartridge"]
[prices]
currency = "EUR"
acid_per_kg = 1.3
inhibitor_per_kg = 9.6
cartridge_each = 8.95
freight = 145
[quote]
customer = "Brindle Court"
date = 2031-06-02
tax_percent = 20
visits_per_year = 0
"""
SET = 'lines = [{ text = "Dosing set", price = 780 }]\n'
SUPPLIES = "Antiscalant"


def quoted(pretreat, folder, site, name="a", water=WATER):  # noqa: F811
    """The words of a quote, and its row of the overview."""
    (folder / "w.csv").write_text(water, encoding="utf-8")
    (folder / f"{name}.toml").write_text(site, encoding="utf-8")
    pretreat("quote", f"{name}.toml", "-o", "out")
    with (folder / "out" / "overview.csv").open(encoding="utf-8") as stream:
        row = next(csv.DictReader(stream))
    return words_in(folder / "out" / f"{name}.pdf"), row


def test_supplies_of_a_train_without_media_stand_where_the_site_file_puts_them(pretreat, tmp_path):  # noqa: F811
    """780 + 20 % are 936: neither supplies nor their freight of 145 are in the total."""
    for how, options, left in (
        ("optional", True, False),
        ("none", False, True),
    ):
        words, row = quoted(pretreat, tmp_path, f'{FED}{SET}consumables = "{how}"\n')
        assert (row["net"], row["tax"], row["gross"]) == ("780.00", "156.00", "936.00"), how
        assert row["status"] == "ok"
        assert "Goods and services for your water treatment Based on" in words
        assert "upplies of one year for" not in words
        beside = words.partition("Optional, not in the total")[2].partition("Visit plan")[0]
        assert (SUPPLIES in beside and "Freight" in beside) is options
        assert ("Also not included: Freight." in words) is left
        assert ("provided by you: supplies of the year: " in words) is left


def test_supplies_alone_are_the_offer_unless_the_site_file_says_otherwise(pretreat, tmp_path):  # noqa: F811
    words, row = quoted(pretreat, tmp_path, FED)
    assert "Supplies of one year for your water treatment" in words
    assert row["status"] == "ok"
    assert "Optional, not in the total" not in words
    words, row = quoted(pretreat, tmp_path, f'{FED}{SET}consumables = "included"\n')
    assert "Goods and services for your water treatment, with the supplies of one year" in words


@pytest.mark.parametrize(
    ("language", "title", "why"),
    [
        ("en", "DRAFT, not an offer: the quotation is not complete.",
         "nothing is left that is sold with it: no line stands in the total."),
        ("es", "BORRADOR, no es una oferta: el presupuesto no está completo.",
         "no queda nada que se venda con él: ninguna línea figura en el total."),
        ("de", "ENTWURF, kein Angebot: Das Angebot ist nicht vollständig.",
         "es bleibt nichts übrig, was verkauft wird: keine Position steht im Gesamtbetrag."),
    ],
)  # fmt: skip
def test_a_quote_that_sells_nothing_says_so(pretreat, tmp_path, language, title, why):  # noqa: F811
    for how in ("none", "optional"):
        terms = f'language = "{language}"\nconsumables = "{how}"\naccept_verdict = true\n'
        words, row = quoted(pretreat, tmp_path, FED + terms)
        assert title in words
        assert why in words
        assert row["status"] == "draft"
        assert (row["net"], row["gross"]) == ("", "")
        assert " 0.00" not in words
        assert "no line stands in the total" in row["message"]


def test_visits_alone_have_a_title_of_their_own(pretreat, tmp_path):  # noqa: F811
    """Two visits at 150 are 300."""
    site = FED.replace("visits_per_year = 0", 'visits_per_year = 2\nvisits = "included"')
    site = site.replace("freight = 145", "freight = 145\nvisit_each = 150")
    words, row = quoted(pretreat, tmp_path, f'{site}consumables = "none"\n')
    assert "Service visits of one year for your water treatment" in words
    assert row["net"] == "300.00"


def test_media_without_a_price_make_a_draft(pretreat, tmp_path):  # noqa: F811
    """The title names the media: labour alone is no offer of them."""
    site = SITE.replace("resin_per_l = 4\ncarbon_per_l = 3\n", "")
    words, row = quoted(pretreat, tmp_path, site)
    assert row["status"] == "draft"
    assert "DRAFT, not an offer: the quotation is not complete." in words
    said = "what the title names has no price yet: Softening resin and Activated carbon"
    assert f"Why this is a draft: {said}." in words
    assert row["message"].startswith(
        "without a price, so not in the total: Softening resin, Activated carbon; "
    )
    assert said in row["message"]


def test_lines_without_a_price_are_named_in_the_overview_and_on_the_terminal(pretreat, tmp_path):  # noqa: F811
    site = SITE.replace("carbon_per_l = 3\n", "").replace("freight = 90\n", "")
    (tmp_path / "a.toml").write_text(site, encoding="utf-8")
    ran = pretreat("quote", "a.toml", "-o", "out")
    said = "without a price, so not in the total: Activated carbon, Freight"
    assert f"pretreat: a.toml: {said}" in ran.stderr
    with (tmp_path / "out" / "overview.csv").open(encoding="utf-8") as stream:
        row = next(csv.DictReader(stream))
    assert row["status"] == "draft"  # the work on the carbon has a price
    assert 'or write [quote] media = ["softener"] where they stay' in ran.stderr
    assert row["message"].startswith(said)
    ran = pretreat("quote", "a.toml", "-o", "out", "--json")
    assert said in ran.stdout


def test_a_quote_without_a_maximum_says_why_in_the_overview(pretreat, tmp_path):  # noqa: F811
    """Of a bare test kit no scale is judged."""
    kit = SITE.replace('alkalinity = "220 mg/L"\n', "").replace('silica = "10 mg/L"\n', "")
    words, row = quoted(pretreat, tmp_path, kit.replace('conductivity = "700 µS/cm"\n', ""))
    assert "o maximum recovery can be stated" in words
    assert row["status"] == "ok"
    assert row["message"].startswith("no maximum recovery can be stated: ")
    _, row = quoted(pretreat, tmp_path, SITE)
    assert "maximum" not in row["message"]
