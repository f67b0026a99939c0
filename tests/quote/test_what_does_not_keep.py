"""What loses its strength in store is bought and delivered in parts, no further apart than that.

Hypochlorite of 12.5 % is used within one to three months: common practice, no source
(data/quote_shelf_life.csv). Sites, prices and the water are invented; counts are worked by hand.
"""

import openpyxl
import pytest

from pretreat.quote.offer_laws import deliveries_of_year, pallets_of_year
from pretreat.quote.shelf import brought_fresh, fresh_packages_needed, shelf_lives
from pretreat.quote.stock import pallets_by_delivery
from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.test_bought_as_delivered import FEEDS
from tests.quote.test_sold_and_priced import quoted

# 14 m3 a day of product at 70 %, 0.5 mg/L: 3.65 kg of chlorine, 35 kg as delivered.
PAID = FEEDS.replace("visits_per_year = 0\n", "").replace('"2 mg/L"', '"0.5 mg/L"')
SAID = {
    "en": ("4 canisters of 25 kg a year come in 4 deliveries, no more than 3 months apart and 1 at",
           "loses strength in store: a container is used up within 3 months of its delivery. Each of these times is counted in whole containers; what is left over at its end is used no more. What has been filled into its dosing tank is renewed about every 7 days",
           "Where no visit falls at that time, you take the delivery in", "lasts for the year"),
    "es": ("al año llegan en 4 entregas, con no más de 3 meses entre una y otra y 1 como máximo",
           "almacenamiento, y cada envase se gasta en los 3 meses siguientes a su entrega. Para cada uno de estos plazos se cuentan envases enteros; lo que sobra al final ya no se usa. Lo que se ha pasado a su depósito de dosificación se renueva cada 7 días",
           "Si no coincide con una visita",
           "dura todo el año"),
    "de": ("im Jahr kommen in 4 Lieferungen, höchstens 3 Monate auseinander und jeweils höchstens 1",
           "Jedes Gebinde wird binnen 3 Monaten nach der Lieferung aufgebraucht. Für jede dieser Fristen sind ganze Gebinde gerechnet; was an ihrem Ende übrig ist, wird nicht mehr verwendet. Was in den Dosierbehälter gefüllt ist, wird etwa alle 7 Tage erneuert", "Fällt kein Besuch in",
           "reicht für das Jahr"),
}  # fmt: skip


@pytest.mark.parametrize("tongue", SAID)
def test_deliveries_are_no_further_apart_than_it_keeps(pretreat, tmp_path, tongue):  # noqa: F811
    """A canister of 25 kg would last longer than a quarter: four of them at 15.63 are 62.52."""
    site = f'{PAID}language = "{tongue}"\nvisits_per_year = 1\nconsumables = "included"\n'
    words, _ = quoted(pretreat, tmp_path, site)
    for said in SAID[tongue][:3]:
        assert said in words
    assert {"en": "62.52"}.get(tongue, "62,52") in words
    sheet = openpyxl.load_workbook(tmp_path / "out" / "overview.xlsx")["Stock per month"]
    rows = [row for row in sheet.iter_rows(values_only=True) if "hypochlorite" in str(row[2])]
    assert not rows or [row[5] for row in rows] == [1, 1, 1, 1]  # no stock of a draft


def test_visits_that_are_often_enough_bring_it(pretreat, tmp_path):  # noqa: F811
    site = f'{PAID}visits_per_year = 4\nconsumables = "included"\n'
    words, _ = quoted(pretreat, tmp_path, site)
    assert "deliveries, no more than" not in words
    assert "each visit then brings what lasts until the next" in words
    assert "Sodium hypochlorite loses strength in store" in words


def test_who_buys_it_is_told(pretreat, tmp_path):  # noqa: F811
    own = 'consumables = "none"\nlines = [{ text = "Dosing set", price = 780 }]\n'
    words, _ = quoted(pretreat, tmp_path, f"{PAID}visits_per_year = 1\n{own}")
    assert "within 3 months of its delivery. Buy no more at once than you use" in words


def test_packages_of_what_keeps_are_as_they_were():
    """One for each shelf life: 12 / 3 = 4, 12 / 5 = 2.4, so 3; nothing of what is not used."""
    assert fresh_packages_needed(10.0, 25.0, 3.0) == 4.0
    assert fresh_packages_needed(10.0, 25.0, 5.0) == 3.0
    assert fresh_packages_needed(0.0, 25.0, 3.0) == 0.0
    assert {key for key, kept in shelf_lives().items() if kept.months < 12.0} == {"hypochlorite"}
    assert all(kept.source for kept in shelf_lives().values())


@pytest.mark.parametrize(
    ("kg", "size", "months", "packages"),
    [(113.0, 22.73, 3.0, 8.0), (130.0, 25.0, 3.0, 8.0), (100.0, 25.0, 3.0, 4.0), (100.1, 25.0, 3.0, 8.0),
     (90.0, 25.0, 5.0, 6.0)],
)  # fmt: skip
def test_each_shelf_life_has_the_packages_that_it_uses(kg, size, months, packages):
    """Of 113 kg a quarter uses 28.25 kg, two pails of 22.73 kg; of 90 kg a third uses 30 kg."""
    assert fresh_packages_needed(kg, size, months) == packages


@pytest.mark.parametrize("visits", [1, 3, 4, 5, 6, 7, 8, 12])
@pytest.mark.parametrize("packages", [4, 8, 12, 20])
def test_no_quarter_runs_dry_and_nothing_stands_too_long(visits, packages):
    """Any three months get the packages of a quarter, whoever brings them."""
    times = visits if brought_fresh(visits, packages, 4.0) else 4
    parts = pallets_by_delivery(packages, times)
    arrive = [n * 12 / times + year * 12 for year in (0, 1) for n in range(times)]
    come = [*zip(arrive, (*parts, *parts), strict=True)]
    for start, _ in come[:times]:
        within = sum(part for when, part in come if start <= when < start + 3 - 1e-9)
        assert within >= packages / 4


def test_pallets_of_what_does_not_keep_are_as_many_each_quarter():
    """50 containers of 25 kg a quarter are two pallets; by 6 visits they come 8 times, not 6."""
    assert pallets_of_year(200.0, 25.0, 1000.0, 3.0) == 8.0
    assert deliveries_of_year(8.0, 6.0, 24.0, 3.0) == 8.0
    assert deliveries_of_year(4.0, 6.0, 24.0, 3.0) == 4.0
    assert deliveries_of_year(5.0, 0.0, 24.0) == 1.0


def test_lines_deliveries_and_stock_agree(pretreat, tmp_path):  # noqa: F811
    """Two canisters a quarter: 8 at 15.63 are 125.04, and 2 stand in store each quarter."""
    site = PAID.replace('"0.5 mg/L"', '"1.5 mg/L"') + "accept_verdict = true\n"
    for visits in (1, 4):
        words, row = quoted(
            pretreat, tmp_path, f'{site}visits_per_year = {visits}\nconsumables = "included"\n'
        )
        assert row["status"] == "ok"
        assert "125.04" in words
        assert "8 canisters of 25 kg" in words
        sheet = openpyxl.load_workbook(tmp_path / "out" / "overview.xlsx")["Stock per month"]
        rows = [row for row in sheet.iter_rows(values_only=True) if "hypochlorite" in str(row[2])]
        assert [row[5] for row in rows] == [2, 2, 2, 2]
