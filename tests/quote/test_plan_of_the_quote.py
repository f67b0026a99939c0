"""What the visit plan, the stock and the notes of a quote say, against the lines that are sold.

Days of the week by hand: 28 February 2027 is a Sunday, 7 June 2031 a Saturday.
"""

import csv
import datetime

import openpyxl
import pytest

from pretreat.core.dates import on_weekday, visit_date
from pretreat.quote.stock import Need, stock_of
from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.quoting import words_of

SITE = """
[site]
name = "Larch Yard"
[water]
hardness = "300 mg/L"
iron = "0.02 mg/L"
manganese = "0.01 mg/L"
ph = 7.5
alkalinity = "220 mg/L"
conductivity = "700 µS/cm"
silica = "10 mg/L"
chlorine = "0.3 mg/L"
temperature = "12 C"
[machine]
product_flow = "0.8 m3/h"
recovery = 0.6
hours_per_day = 8
[softener]
vessel = "14x65"
salt_dose = "120 g/L"
[carbon]
vessel = "16x65"
[prices]
currency = "EUR"
resin_per_l = 4
carbon_per_l = 3
gravel_per_kg = 0.7
salt_per_kg = 0.4
cartridge_each = 6
labour_per_h = 60
disposal_per_l = 0.8
freight = 90
visit_each = 150
[quote]
customer = "Larch Yard"
date = 2031-06-02
visits_per_year = 4
visits = "included"
consumables = "included"
"""


@pytest.mark.parametrize(
    ("day", "moved"),
    [("2027-02-28", "2027-02-26"), ("2031-06-07", "2031-06-06"), ("2031-06-08", "2031-06-09"),
     ("2031-06-10", "2031-06-10"), ("2027-05-01", "2027-05-03")],
)  # fmt: skip
def test_a_visit_falls_on_a_working_day_of_its_month(day, moved):
    day, moved = map(datetime.date.fromisoformat, (day, moved))
    assert on_weekday(day) == moved
    assert visit_date(day, 0.0, 0.0) == moved


def test_the_packages_of_all_months_are_those_of_the_year():
    """13 drums of 25 kg hold 310 kg; month by month rounded up it would be 4 x 4 = 16."""
    needs = [
        (0, Need(f"2031-{month:02d}", "visits", "permanganate", 77.5, "kg", "drum", "25 kg", 25.0))
        for month in (3, 6, 9, 12)
    ]
    assert [one.packages for one in stock_of(needs)] == [4.0, 3.0, 3.0, 3.0]


def test_the_stock_holds_each_thing_once(pretreat, tmp_path):  # noqa: F811
    (tmp_path / "a.toml").write_text(SITE, encoding="utf-8")
    (tmp_path / "draft.toml").write_text(
        SITE.replace('iron = "0.02 mg/L"', 'iron = "2 mg/L"'), encoding="utf-8"
    )
    pretreat("quote", "a.toml", "-o", "out")
    pretreat("quote", "a.toml", "draft.toml", "-o", "both")
    with (tmp_path / "both" / "overview.csv").open(encoding="utf-8") as stream:
        assert [row["status"] for row in csv.DictReader(stream)] == ["ok", "draft"]
    tables = []
    for folder in ("out", "both"):
        book = openpyxl.load_workbook(tmp_path / folder / "overview.xlsx")
        tables.append(list(book.worksheets[1].iter_rows(min_row=2, values_only=True)))
    rows = tables[0]
    assert tables[1] == rows  # a draft is no order
    assert {row[2] for row in rows if row[0] == "2031-06"} == {
        "Softening resin", "Activated carbon", "Support gravel", "Filter cartridges 10 in",
        "Regeneration salt",
    }  # fmt: skip
    assert "2032-06" not in {row[0] for row in rows}  # what the last visit brings is another year's
    assert "Service visit, work and travel" not in {row[2] for row in rows}
    words = words_of(tmp_path / "out" / "a.pdf")
    for item in ("Regeneration salt", "Filter cartridges 10 in"):
        bought = sum(row[5] for row in rows if row[2] == item)
        assert f" {bought:,.0f} " in words, item


def test_the_plan_brings_what_is_sold(pretreat, tmp_path):  # noqa: F811
    """Heads of 14 and 16 in take pi d3 / 24 of gravel at 1.6 kg/L: 9.4 + 14.1 kg, one bag."""
    (tmp_path / "a.toml").write_text(SITE, encoding="utf-8")
    pretreat("quote", "a.toml", "-o", "out")
    words = words_of(tmp_path / "out" / "a.pdf")
    assert words.count("Support gravel") == 1
    assert "Support gravel, 23.5 kg" in words
    assert (
        "Visits planned for about September 2031, December 2031, March 2032 and June 2032" in words
    )
    for text in ("on a truck", "in 1 deliveries", "before discount", "bears no date"):
        assert text not in words
    assert "You do this when it is due, from the supplies on site" in words


def test_water_that_is_drunk_is_tested_first(pretreat, tmp_path):  # noqa: F811
    said = "the treated water is tested and released before anyone drinks it"
    for use, told in (
        ('target = "drinking"\njurisdiction = "eu"', True),
        ('target = "process"', False),
    ):
        (tmp_path / "a.toml").write_text(SITE + f"[product]\n{use}\n", encoding="utf-8")
        pretreat("quote", "a.toml", "-o", "out")
        assert (said in words_of(tmp_path / "out" / "a.pdf")) is told


def test_the_place_of_one_customer_is_not_that_of_another(pretreat, tmp_path):  # noqa: F811
    site = SITE.replace("[water]", 'place = "Old Wharf 3"\n[water]', 1)
    (tmp_path / "a.toml").write_text(
        site.replace("visits_per_year", 'address = "Old Wharf 3"\nvisits_per_year'),
        encoding="utf-8",
    )
    (tmp_path / "c.csv").write_text(
        "site.name,quote.customer\nNorth shed,North Farm\nSouth shed,South Farm\n", encoding="utf-8"
    )
    pretreat("quote", "a.toml", "--customers", "c.csv", "-o", "out")
    for name in ("North Farm", "South Farm"):
        assert "Old Wharf" not in words_of(tmp_path / "out" / f"{name}.pdf")


@pytest.mark.parametrize("margin", [None, 22])
def test_a_page_with_own_costs_is_internal_and_has_no_line_to_sign(pretreat, tmp_path, margin):  # noqa: F811
    terms = "" if margin is None else f"margin_percent = {margin}\n"
    (tmp_path / "a.toml").write_text(SITE + "tax_percent = 21\n" + terms, encoding="utf-8")
    pretreat("rate", "a.toml", "-o", "a.xlsx", "--draws", "0")
    book = openpyxl.load_workbook(tmp_path / "a.xlsx", data_only=True)
    said = {s.title: " ".join(str(c.value) for r in s for c in r if c.value) for s in book}
    internal = margin is not None
    pages = [text for text in said.values() if "Estimate of running cost" in text]
    assert pages
    for text in pages:
        assert ("internal, own cost before the margin" in text) is internal
        assert ("for the client: name" in text) is not internal
    assert (
        any(
            "Cost per year, mean of 10 years (internal: own cost, before the margin)" in t
            for t in said.values()
        )
        is internal
    )
    assert "Tax 21 % on" in said["Quote"]
