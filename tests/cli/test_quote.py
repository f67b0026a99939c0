"""`pretreat quote` as a salesperson runs it: sites, customers and supplies are invented."""

import csv
import json
import re
from decimal import Decimal

import openpyxl
import pytest
from PIL import Image

from pretreat.quote.customers import laid_over, read_customers
from tests.cli.conftest import ANALYSES
from tests.quote.quoting import (
    Bed,
    Prices,
    lines_of,
    lines_of_text,
    money_of,
    pages_of,
    whole_up,
    words_of,
)

VESSELS = """
[site]
name = "Fennimore Laundry"
place = "Fennimore (invented)"
prepared_by = "T. Adair"
[machine]
product_flow = "1 m3/h"
recovery = 0.6
hours_per_day = 12
[softener]
resin_volume = "140 L"
vessel_diameter = "0.41 m"
[carbon]
media_volume = "142 L"
vessel_diameter = "0.46 m"
"""
PRICED = """
[prices]
currency = "EUR"
resin_per_l = 3.2
carbon_per_l = 1.875
gravel_per_kg = 0.6
labour_per_h = 62
disposal_per_l = 0.45
freight = 139.99
"""
TERMS = """
[quote]
customer = "Fennimore Laundry Ltd"
address = ["3 Quay Road", "Fennimore"]
number = "2031-77"
date = 2031-01-31
letterhead = "Corrie Water\\n1 Sluice Lane, Abbot's Ford"
terms = "14 days net."
"""
KIT = """
[water]
hardness = "18 gpg"
iron = "0.2 mg/L"
"""
BEDS = [
    Bed(Decimal(140), 0.41, Decimal(25), Decimal("3.2")),
    Bed(Decimal(142), 0.46, Decimal(50), Decimal("1.875")),
]
COSTS = Prices(Decimal("0.6"), Decimal(62), Decimal("0.45"), Decimal("139.99"))


def overview(folder):
    with (folder / "overview.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.mark.parametrize(
    ("discount", "tax", "margin"),
    [("0", "0", None), ("5", "19", None), ("7.5", "21", "30"), ("12.25", "8.875", "22.5")],
)
def test_money_equals_a_recalculation_to_the_cent(pretreat, tmp_path, discount, tax, margin):
    terms = f"discount_percent = {discount}\ntax_percent = {tax}\n"
    terms += "" if margin is None else f"margin_percent = {margin}\n"
    (tmp_path / "a.toml").write_text(VESSELS + PRICED + TERMS + terms)
    pretreat("quote", "a.toml", "-o", "out")
    share = None if margin is None else Decimal(margin)
    want = money_of(lines_of(BEDS, COSTS, share), Decimal(discount), Decimal(tax))
    row = overview(tmp_path / "out")[0]
    assert [Decimal(row[k]) for k in ("net", "tax", "gross")] == [
        want[k] for k in ("net", "tax", "gross")
    ]
    words = words_of(tmp_path / "out" / "a.pdf")
    for key in ("net", "tax", "gross"):
        assert f"{want[key]:,.2f}" in words, key
    figures = json.loads(pretreat("rate", "a.toml", "--json").stdout)["figures"]
    for key, amount in want.items():
        assert Decimal(str(figures[f"quote.{key}"]["value"])) == amount, key


def test_rates_of_tax_share_one_discount(pretreat, tmp_path):
    """Labour at 10 %, the rest at 21 %; the parts of the discount add up to the whole."""
    terms = "discount_percent = 7.5\ntax_percent = { default = 21, labour = 10 }\n"
    (tmp_path / "a.toml").write_text(VESSELS + PRICED + TERMS + terms)
    pretreat("quote", "a.toml", "-o", "out")
    lines = lines_of(BEDS, COSTS)
    labour = [lines[2], lines[6]]
    whole = money_of(lines, Decimal("7.5"), Decimal(0))
    low = money_of(labour, Decimal("7.5"), Decimal(10))
    high_net = whole["net"] - low["net"]
    tax = low["tax"] + money_of([high_net], Decimal(0), Decimal(21))["tax"]
    row = overview(tmp_path / "out")[0]
    assert Decimal(row["net"]) == whole["net"]
    assert Decimal(row["tax"]) == tax
    assert Decimal(row["gross"]) == whole["net"] + tax
    words = words_of(tmp_path / "out" / "a.pdf")
    assert f"Tax 10 % on {low['net']:,.2f}" in words
    assert f"Tax 21 % on {high_net:,.2f}" in words


def test_a_customer_reads_who_what_when_and_nothing_internal(pretreat, tmp_path):
    (tmp_path / "a.toml").write_text(VESSELS + KIT + PRICED + TERMS + "tax_percent = 19\n")
    pretreat("quote", "a.toml", "-o", "out")
    pdf = tmp_path / "out" / "a.pdf"
    words = words_of(pdf)
    for text in (
        "Quotation", "Fennimore Laundry Ltd", "3 Quay Road", "2031-77", "31 January 2031",
        "Valid until", "2 March 2031", "Corrie Water", "14 days net.", "Not included", "Visit plan",
        "estimates", "no warranty", "Softening resin, 140 L", "bags of 25 L", "480.00", "EUR",
        "March 2031", "Page 1 of",
    ):  # fmt: skip
        assert text in words, text
    assert pages_of(pdf) <= 2
    lines = lines_of_text(pdf)
    for line in ("Corrie Water", "1 Sluice Lane, Abbot's Ford", "3 Quay Road", "Fennimore"):
        assert line in lines, line
    for text in ("prices.", "costs.", "[prices]", "common practice", "no source", "no price", "None",
                 "nan", "verdict", "draw", "downtime", "warning"):  # fmt: skip
        assert text.casefold() not in words.casefold(), text


def test_a_line_without_a_price_is_not_included(pretreat, tmp_path):
    prices = "".join(x for x in PRICED.splitlines(keepends=True) if "disposal" not in x)
    (tmp_path / "a.toml").write_text(VESSELS + prices + TERMS)
    pretreat("quote", "a.toml", "-o", "out")
    words = words_of(tmp_path / "out" / "a.pdf")
    assert words.count("not included") >= 2
    assert "Also not included: Disposal of the old medium." in words
    assert "Tax is not included" in words


CONTACT = """contact = "Mara Tolland"
contact_function = "sales engineer"
contact_phone = "+00 555 0117"
contact_email = "m.tolland@corriewater.example"
"""


def test_who_signs_and_answers_stands_on_the_quote(pretreat, tmp_path):
    (tmp_path / "a.toml").write_text(VESSELS + PRICED + TERMS + CONTACT)
    pretreat("quote", "a.toml", "-o", "out")
    words = words_of(tmp_path / "out" / "a.pdf")
    for text in ("Your contact", "+00 555 0117", "m.tolland@corriewater.example",
                 "For the supplier: Mara Tolland, sales engineer, signature"):  # fmt: skip
        assert text in words, text
    assert "T. Adair" not in words  # the contact stands in place of who prepared it


def test_where_no_sender_is_named_the_signature_asks_for_the_company(pretreat, tmp_path):
    (tmp_path / "a.toml").write_text(VESSELS + PRICED)
    pretreat("quote", "a.toml", "-o", "out")
    assert "For the supplier: company, name, signature" in words_of(tmp_path / "out" / "a.pdf")


@pytest.mark.parametrize(
    ("more", "said", "in_total"),
    [
        ("", "The price of a visit is not part of this quotation", 0),
        ("visit_each = 85.5\n", "A visit costs what is stated above", 0),
        ("visit_each = 85.5\n", "The visits of one year are in the total", 4),
    ],
)
def test_a_visit_is_priced_or_said_to_have_no_price(pretreat, tmp_path, more, said, in_total):
    """Four visits at 85.50 are 342.00, in the total only where that is asked for."""
    terms = "visits_per_year = 4\n" + ('visits = "included"\n' if in_total else "")
    (tmp_path / "a.toml").write_text(VESSELS + PRICED + more + TERMS + terms)
    pretreat("quote", "a.toml", "-o", "out")
    words = words_of(tmp_path / "out" / "a.pdf")
    assert said in words
    assert ("342.00" in words) is bool(more)
    net = money_of(lines_of(BEDS, COSTS), Decimal(0), Decimal(0))["net"]
    assert Decimal(overview(tmp_path / "out")[0]["net"]) == net + in_total * Decimal("85.5")


WATER = """
[water]
analysis = "w.csv"
[machine]
product_flow = "1 m3/h"
recovery = 0.5
hours_per_day = 10
"""
ANALYSIS = """parameter,value,unit
pH,7.6,
Temperature,18,°C
Calcium,60,mg/L
Magnesium,18,mg/L
Sodium,45,mg/L
Alkalinity,210,mg/L as CaCO3
Sulfate,40,mg/L
Chloride,38,mg/L
Fluoride,2.6,mg/L
Nitrate,8,mg/L
Silica,14,mg/L
"""


@pytest.mark.parametrize(
    ("use", "said"),
    [
        ("", "fluoride 2.6 mg/L (limit 1.5 mg/L, EU 2020/2184)"),
        ('target = "drinking"\njurisdiction = "eu"', "fluoride 2.6 mg/L (limit 1.5 mg/L"),
        ('target = "drinking"\njurisdiction = "us"', ""),  # 4.0 mg/L there, 40 CFR 141.62
        ('target = "irrigation"', ""),
    ],
)
def test_what_is_above_a_limit_for_health_is_said_where_the_water_may_be_drunk(
    pretreat, tmp_path, use, said
):
    (tmp_path / "w.csv").write_text(ANALYSIS, encoding="utf-8")
    (tmp_path / "a.toml").write_text(
        WATER + f"[product]\n{use}\n" + PRICED + "cartridge_each = 9\ninhibitor_per_kg = 7\n"
        "[quote]\naccept_verdict = true\n"
    )
    pretreat("quote", "a.toml", "-o", "out")
    words = words_of(tmp_path / "out" / "a.pdf")
    assert ("Above limits for drinking water" in words) is bool(said)
    assert said in words


def test_the_salt_says_what_it_rests_on_and_that_a_large_bed_wastes(pretreat, tmp_path):
    """A bed that would last two weeks regenerates each week: 52 times its dose of salt."""
    site = VESSELS.replace('"1 m3/h"', '"0.05 m3/h"').replace(
        "[softener]", "[softener]\nsalt_dose_g_l = 100"
    )
    prices = PRICED + "salt_per_kg = 0.4\n"
    (tmp_path / "a.toml").write_text(site + KIT.replace("0.2 mg/L", "0 mg/L") + prices + TERMS)
    pretreat("quote", "a.toml", "-o", "out")
    words = words_of(tmp_path / "out" / "a.pdf")
    assert "counted for about 52 regenerations a year with about 14 kg each" in words
    assert "a smaller salt setting saves salt" in words


def test_no_page_holds_the_signatures_alone(pretreat, tmp_path):
    """From short to long: the last page always holds the notes with the signatures."""
    from pdfminer.high_level import extract_pages
    from pdfminer.layout import LTTextContainer

    for n in range(0, 22, 3):
        lines = ", ".join(f'{{ text = "Spare {k}", price = 9 }}' for k in range(n))
        (tmp_path / f"a{n}.toml").write_text(VESSELS + PRICED + TERMS + f"lines = [{lines}]\n")
    pretreat("quote", *(f"a{n}.toml" for n in range(0, 22, 3)), "-o", "out")
    counts = set()
    for pdf in sorted((tmp_path / "out").glob("*.pdf")):
        pages = [
            " ".join(box.get_text() for box in page if isinstance(box, LTTextContainer))
            for page in extract_pages(pdf)
        ]
        counts.add(len(pages))
        assert "Please note" in pages[-1]
        assert "signature" in pages[-1]
    assert counts == {1, 2}


def test_without_any_price_nothing_is_written(pretreat, tmp_path):
    (tmp_path / "a.toml").write_text(VESSELS + TERMS)
    done = pretreat("quote", "a.toml", "-o", "out", code=1)
    assert done.stderr.count("\n") == 1
    assert "no price is given" in done.stderr
    assert not list((tmp_path / "out").glob("*.pdf"))
    row = overview(tmp_path / "out")[0]
    assert (row["file"], row["status"]) == ("", "failed")


def test_prices_of_the_site_win_key_by_key_over_the_list(pretreat, tmp_path):
    """The site's freight and resin stand; the rest, and the size of a bag, are the list's."""
    own = '[prices]\ncurrency = "USD"\nfreight = 90.5\nresin_per_l = 4\n'
    listed = (
        PRICED.replace("EUR", "USD")
        + '[packages]\nresin = { size = "1 ft3", package = "box" }\ncarbon = "20 L"\n'
    )
    (tmp_path / "a.toml").write_text(VESSELS + own + TERMS)
    (tmp_path / "list.toml").write_text(listed)
    pretreat("quote", "a.toml", "--prices", "list.toml", "-o", "out")
    beds = [
        Bed(Decimal(140), 0.41, Decimal("28.316846592"), Decimal(4)),  # 5 boxes of a cubic foot
        Bed(Decimal(142), 0.46, Decimal(20), Decimal("1.875")),
    ]
    costs = Prices(Decimal("0.6"), Decimal(62), Decimal("0.45"), Decimal("90.5"))
    row = overview(tmp_path / "out")[0]
    assert Decimal(row["net"]) == money_of(lines_of(beds, costs), Decimal(0), Decimal(0))["net"]
    assert row["currency"] == "USD"
    words = words_of(tmp_path / "out" / "a.pdf")
    assert "boxes of 1 ft3" in words
    assert "bags of 20 L" in words


@pytest.mark.parametrize("table", ["prices", "quote"])
def test_amounts_are_never_given_another_currency(pretreat, tmp_path, table):
    site = VESSELS + f'[{table}]\ncurrency = "GBP"\n'
    (tmp_path / "a.toml").write_text(site)
    (tmp_path / "list.toml").write_text(PRICED)
    done = pretreat("quote", "a.toml", "--prices", "list.toml", "-o", "out", code=1)
    assert f"a.toml: [{table}] currency is GBP, the price list is in EUR" in done.stderr
    assert done.stderr.count("\n") == 1
    (tmp_path / "a.toml").write_text(site.replace("GBP", "eur"))
    pretreat("quote", "a.toml", "--prices", "list.toml", "-o", "out")


def test_a_site_has_one_currency(pretreat, tmp_path):
    (tmp_path / "a.toml").write_text(VESSELS + PRICED + '[quote]\ncurrency = "USD"\n')
    for command in (["rate", "a.toml"], ["quote", "a.toml", "-o", "out"]):
        done = pretreat(*command, code=1)
        assert "[quote] currency is USD, the prices are in EUR" in done.stderr


def test_a_quote_is_in_the_units_of_its_site(pretreat, tmp_path):
    """A4 is 595 and Letter 612 points wide; 140 L are 4.94 ft3: five bags of one."""
    from pdfminer.pdfpage import PDFPage

    for name, units in (("us", 'units = "us"'), ("si", "")):
        site = VESSELS.replace("[site]", f"[site]\n{units}", 1)
        (tmp_path / f"{name}.toml").write_text(site + KIT + PRICED + TERMS)
    pretreat("quote", "us.toml", "si.toml", "-o", "out")
    for name, width, resin, day in (
        ("us", 612, "5 ft³", "January 31, 2031"), ("si", 595, "140 L", "31 January 2031"),
    ):  # fmt: skip
        words = words_of(tmp_path / "out" / f"{name}.pdf")
        assert f"Softening resin, {resin}" in words
        assert day in words
        with (tmp_path / "out" / f"{name}.pdf").open("rb") as stream:
            assert round(next(PDFPage.get_pages(stream)).mediabox[2]) == width
    pretreat("quote", "us.toml", "--units", "si", "-o", "other")
    assert "140 L" in words_of(tmp_path / "other" / "us.pdf")


def test_the_price_of_a_package(pretreat, tmp_path):
    """12 bags of 20 L for 142 L at 41.90 a bag."""
    listed = PRICED.replace("carbon_per_l = 1.875\n", "")
    listed += '[packages]\ncarbon = { size = "12 L", price = 41.9 }\n'
    (tmp_path / "a.toml").write_text(VESSELS + listed + TERMS)
    pretreat("quote", "a.toml", "-o", "out")
    words = words_of(tmp_path / "out" / "a.pdf")
    assert "41.90" in words
    assert "502.80" in words


LANGUAGES = {
    "en": ("Quotation", "Valid until", "Softening resin", "Total", "estimates", "6,544.40"),
    "es": ("Presupuesto", "Válido hasta", "Resina descalcificadora", "Total", "estimaciones", "6.544,40"),
    "de": ("Angebot", "Gültig bis", "Enthärterharz", "Gesamtbetrag", "Schätzungen", "6.544,40"),
}  # fmt: skip


@pytest.mark.parametrize("language", LANGUAGES)
def test_languages(pretreat, tmp_path, language):
    """One own line brings a thousand, so that both marks of a number are seen."""
    terms = f'language = "{language}"\ntax_percent = 19\n'
    terms += 'lines = [{ text = "Größe ñandú 4 €", price = 6544.4 }]\n'
    (tmp_path / "a.toml").write_text(VESSELS + KIT + PRICED + TERMS + terms, encoding="utf-8")
    pretreat("quote", "a.toml", "-o", "out")
    words = words_of(tmp_path / "out" / "a.pdf")
    for text in (*LANGUAGES[language], "Größe ñandú 4 €"):
        assert text in words, text
    others = {t for k, texts in LANGUAGES.items() if k != language for t in texts[:3]}
    assert not [t for t in others if t in words]


@pytest.mark.parametrize("freight", [0, 40])
def test_a_train_without_media_is_quoted_by_the_supplies_of_a_year(pretreat, tmp_path, freight):
    """With the freight of one delivery, said not to be included where the list has no price."""
    report = ANALYSES / "quarrow_vale_well_2.csv"
    (tmp_path / "a.toml").write_text(
        f'[site]\nname = "Reedmace Nursery"\n[water]\nanalysis = "{report}"\n'
        '[machine]\nproduct_flow = "1 m3/h"\nrecovery = 0.5\nhours_per_day = 8\n'
        '[train]\nstages = ["inhibitor", "cartridge"]\n'
        '[prices]\ncurrency = "EUR"\ncartridge_each = 9\ninhibitor_per_kg = 7.8\n'
        + (f"freight = {freight}\n" if freight else "")
        + "[quote]\naccept_verdict = true\n"
    )
    pretreat("quote", "a.toml", "-o", "out")
    figures = json.loads(pretreat("size", "a.toml", "--json").stdout)["figures"]
    cartridges = Decimal(str(figures["consumables.cartridges_per_year"]["value"]))
    drums = whole_up(Decimal(str(figures["consumables.inhibitor_per_year"]["value"])) / 25)
    assert Decimal(overview(tmp_path / "out")[0]["net"]) == cartridges * 9 + drums * 195 + freight
    words = words_of(tmp_path / "out" / "a.pdf")
    assert ("Also not included: Freight." in words) is (not freight)
    assert "Freight" in words
    assert "Antiscalant" in words_of(tmp_path / "out" / "a.pdf")


NAMES = (
    "Müller & Söhne",
    "=SUM(A1)",
    "水 東京",
    "a/b\\c:d",
    "CON",
    "Alpha",
    "alpha",
    "-x",
    "Σίγμα",
    "شركة",
)


@pytest.fixture
def customers(tmp_path):
    rows = [
        {"quote.customer": name, "water.hardness": f"{9 + n} gpg", "machine.hours_per_day": 6 + n,
         "softener.resin_volume": "140 L", "phone": "0", "quote.number": f"00{n}"}
        for n, name in enumerate(NAMES)
    ]  # fmt: skip
    rows[3]["machine.hours_per_day"] = 25
    rows[5]["water.hardness"] = "much"
    with (tmp_path / "c.csv").open("w", encoding="utf-8", newline="") as stream:
        table = csv.DictWriter(stream, rows[0])
        table.writeheader()
        table.writerows(rows)
    site = VESSELS.replace('resin_volume = "140 L"\n', "") + PRICED
    (tmp_path / "a.toml").write_text(site)
    return tmp_path


def test_a_bad_row_fails_alone(pretreat, customers):
    done = pretreat("quote", "a.toml", "--customers", "c.csv", "-o", "out", "--date", "2031-05-14")
    said = done.stderr.splitlines()
    lacking = [line for line in said if "without a price" in line]
    assert len(lacking) == 1
    assert " more: without a price, so not in the total: Regeneration salt, " in lacking[0]
    faults = [line for line in said if "row" in line and line not in lacking]
    assert len(faults) == 2
    assert "c.csv, row 5: [machine] hours_per_day is 25" in faults[0]
    assert "phone" in done.stderr
    rows = overview(customers / "out")
    assert [r["status"] for r in rows].count("failed") == 2
    assert rows[3]["file"] == ""
    assert "hours_per_day" in rows[3]["message"]
    written = {r["file"] for r in rows if r["file"]}
    assert written == {p.name for p in (customers / "out").glob("*.pdf")}
    assert len({name.casefold() for name in written}) == len(NAMES) - 2
    assert rows[1]["customer"] == "'=SUM(A1)"
    assert all(not re.search(r'[<>:"/\\|?*]', name) for name in written)
    assert rows[0]["next_visit"] == "2031-07-14"
    assert "東" in rows[2]["message"]
    words = words_of(customers / "out" / rows[0]["file"])
    assert "Müller & Söhne" in words
    assert "000" in words


@pytest.mark.parametrize("cell", ["[" * 3000, "{a=" * 900, "9" * 5000])
def test_a_cell_nested_without_end_is_a_text(tmp_path, cell):
    table = tmp_path / "c.csv"
    table.write_text(f"customer,machine.hours_per_day\nMill,{cell}\n", "utf-8")
    (row,) = read_customers(table).rows
    content = laid_over(row, {}, table)
    assert content["machine"]["hours_per_day"] == cell


def test_the_overview_holds_the_stock_of_each_month(pretreat, customers):
    """Of what is sold: salt without a price is none of it."""
    pretreat("quote", "a.toml", "--customers", "c.csv", "-o", "out", "--date", "2031-05-14")
    book = openpyxl.load_workbook(customers / "out" / "overview.xlsx")
    items = [r[2] for r in book.worksheets[1].iter_rows(min_row=2, values_only=True)]
    assert "Softening resin" in items
    assert "Regeneration salt" not in items
    site = (customers / "a.toml").read_text(encoding="utf-8")
    (customers / "a.toml").write_text(f"{site}salt_per_kg = 0.4\n", encoding="utf-8")
    pretreat("quote", "a.toml", "--customers", "c.csv", "-o", "out", "--date", "2031-05-14")
    book = openpyxl.load_workbook(customers / "out" / "overview.xlsx")
    assert book.sheetnames[0] == "Quotes"
    assert [c.value for c in book.worksheets[0][1]] == [
        "customer", "file", "status", "net", "tax", "gross", "currency", "next_visit", "message",
    ]  # fmt: skip
    assert book.worksheets[0]["A3"].value == "=SUM(A1)"
    assert book.worksheets[0]["A3"].data_type == "s"
    stock = list(book.worksheets[1].iter_rows(min_row=2, values_only=True))
    resin = next(r for r in stock if r[2] == "Softening resin")
    count = len(NAMES) - 2
    assert resin[3] == pytest.approx(140 * count)
    assert resin[5] == -(-140 // 25) * count  # as each customer buys whole bags
    salt = [r for r in stock if r[2] == "Regeneration salt"]
    assert {r[0] for r in salt} == {
        "2031-05",  # with the order
        "2031-07",
        "2031-09",
        "2031-11",
        "2032-01",
        "2032-03",
    }


def test_a_workbook_as_table_without_a_site_file(pretreat, tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["site.name", "water.hardness_mg_l_caco3", "machine.product_flow", "machine.recovery",
                  "machine.hours_per_day", "softener.resin_volume", "softener.vessels", "quote.date"])  # fmt: skip
    sheet.append(["Tarn House", 310, "0.8 m3/h", 0.6, 10, "140 L", 2, "2031-02-28"])
    book.save(tmp_path / "c.xlsx")
    (tmp_path / "list.toml").write_text(PRICED)
    pretreat("quote", "--customers", "c.xlsx", "--prices", "list.toml", "-o", "out")
    words = words_of(tmp_path / "out" / "Tarn House.pdf")
    assert "Softening resin, 280 L" in words
    assert "28 February 2031" in words


def test_one_number_does_not_serve_for_all_customers(pretreat, tmp_path):
    """Two sites of one customer: the site file's number and customer, each site its own file."""
    (tmp_path / "a.toml").write_text(VESSELS + PRICED + TERMS)
    (tmp_path / "c.csv").write_text("site.name;softener.resin_volume\nNorth;90 L\nSouth;200 L\n")
    pretreat("quote", "a.toml", "--customers", "c.csv", "-o", "out")
    for number, site in (("01", "North"), ("02", "South")):
        words = words_of(tmp_path / "out" / f"{site}.pdf")
        assert f"2031-77-{number}" in words
        assert "Fennimore Laundry Ltd" in words


@pytest.mark.parametrize(
    ("heads", "said"),
    [
        ("site.name,machine.hour_per_day", "did you mean 'hours_per_day'"),
        ("site.name,machin.recovery", "did you mean 'machine'"),
        ("site.name,site.name", "twice"),
        ("who,what", "no heading is a key"),
    ],
)
def test_a_wrong_heading_is_one_line(pretreat, tmp_path, heads, said):
    (tmp_path / "c.csv").write_text(f"{heads}\nA,1\n")
    done = pretreat("quote", "--customers", "c.csv", "-o", "out", code=1)
    assert said in done.stderr
    assert done.stderr.count("\n") == 1


def test_a_logo_is_shown_or_refused_in_one_line(pretreat, tmp_path):
    Image.new("RGB", (300, 90), (20, 90, 140)).save(tmp_path / "ok.png")
    Image.new("RGB", (9000, 3), (20, 90, 140)).save(tmp_path / "wide.jpg")
    (tmp_path / "broken.png").write_bytes((tmp_path / "ok.png").read_bytes()[:60])
    (tmp_path / "text.png").write_text("no picture")
    (tmp_path / "large.png").write_bytes(b"\x89PNG" + bytes(3 << 20))
    for name, said in (
        ("ok.png", ""), ("wide.jpg", "4,000"), ("broken.png", "cannot be read"),
        ("text.png", "PNG or JPEG"), ("large.png", "up to 2 MB"), ("none.png", "no such file"),
    ):  # fmt: skip
        (tmp_path / "a.toml").write_text(VESSELS + PRICED + TERMS + f'logo = "{name}"\n')
        done = pretreat("quote", "a.toml", "-o", "out", code=int(bool(said)))
        assert said in done.stderr
        assert done.stderr.count("\n") == int(bool(said))


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("margin_percent = 100", "margin_percent"),
        ("tax_percent = 140", "tax_percent"),
        ("tax_percent = { labour = 10 }", "default"),
        ("tax_percent = { default = 1, labor = 10 }", "did you mean 'labour'"),
        ('language = "fr"', "one of en, es, de"),
        ('date = "31.01.2031"', "2031-05-14"),
        ("lines = 3", "write lines"),
        ("tax_percnt = 3", "did you mean 'tax_percent'"),
    ],
)
def test_a_wrong_term_is_one_line(pretreat, tmp_path, line, said):
    (tmp_path / "a.toml").write_text(VESSELS + PRICED + f"[quote]\n{line}\n")
    done = pretreat("quote", "a.toml", "-o", "out", code=1)
    assert said in done.stderr
    assert done.stderr.count("\n") == 1


def test_wrong_usage(pretreat, tmp_path):
    pretreat("quote", "-o", "out", code=2)
    pretreat("quote", "a.toml", code=2)
    (tmp_path / "c.csv").write_text("site.name\nA\n")
    pretreat("quote", "a.toml", "b.toml", "--customers", "c.csv", "-o", "out", code=2)
    pretreat("quote", "a.toml", "-o", "c.csv", code=1)


def test_the_same_run_gives_the_same_bytes(pretreat, tmp_path):
    (tmp_path / "a.toml").write_text(VESSELS + PRICED + TERMS)
    for folder in ("one", "two"):
        pretreat("quote", "a.toml", "-o", folder)
    assert (tmp_path / "one/a.pdf").read_bytes() == (tmp_path / "two/a.pdf").read_bytes()


def test_the_sheet_of_the_workbook_says_the_same(pretreat, tmp_path):
    """Every line and sum of the PDF stands on the sheet with the same money."""
    terms = "discount_percent = 5\ntax_percent = 19\nmargin_percent = 25\n"
    site = VESSELS.replace("[softener]", "[softener]\nsalt_dose_g_l = 160")
    (tmp_path / "a.toml").write_text(site + KIT + PRICED + TERMS + terms)
    pretreat("quote", "a.toml", "-o", "out")
    pretreat("rate", "a.toml", "-o", "a.xlsx", "--draws", "0")
    sheet = openpyxl.load_workbook(tmp_path / "a.xlsx", data_only=True)["Quote"]
    words = words_of(tmp_path / "out" / "a.pdf")
    amounts = [r for r in sheet.iter_rows(values_only=True) if isinstance(r[4], int | float)]
    assert len(amounts) > 12
    for row in amounts:
        assert f"{row[4]:,.2f}" in words, row
        assert str(row[0]) in words, row
    texts = [str(r[0]) for r in sheet.iter_rows(values_only=True) if isinstance(r[0], str)]
    assert "Fennimore Laundry Ltd" in texts
    assert "Visit plan" in texts
    formulas = openpyxl.load_workbook(tmp_path / "a.xlsx")["Quote"]
    live = [c for r in formulas.iter_rows() for c in r if str(c.value).startswith("=IF(")]
    assert len(live) >= 27  # gravel of both vessels is one line


@pytest.mark.parametrize("many", [12, pytest.param(30, marks=pytest.mark.thorough)])
def test_many_customers_in_one_go(pretreat, tmp_path, many):
    """Each with the demo's full analysis and its own hours."""
    report = ANALYSES / "quarrow_vale_well_2.csv"
    heads = (
        "quote.customer",
        "water.analysis",
        "machine.hours_per_day",
        "softener.vessel_diameter",
    )
    rows = [(f"Customer {n}", report, 4 + n % 12, "0.61 m") for n in range(many)]
    with (tmp_path / "c.csv").open("w", newline="") as stream:
        csv.writer(stream).writerows([heads, *rows])
    (tmp_path / "a.toml").write_text(VESSELS + PRICED)
    pretreat("quote", "a.toml", "--customers", "c.csv", "-o", "out")
    assert len(list((tmp_path / "out").glob("*.pdf"))) == many
