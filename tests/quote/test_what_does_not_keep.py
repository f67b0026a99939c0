"""What loses its strength in store is bought and delivered in parts, no further apart than that.

Hypochlorite of 12.5 % is used within one to three months: common practice, no source
(data/quote_shelf_life.csv). Sites, prices and the water are invented; counts are worked by hand.
"""

import openpyxl
import pytest

from pretreat.quote.shelf import fresh_packages_needed, shelf_lives
from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.test_bought_as_delivered import FEEDS
from tests.quote.test_sold_and_priced import quoted

# 14 m3 a day of product at 70 %, 0.5 mg/L: 3.65 kg of chlorine, 35 kg as delivered.
PAID = FEEDS.replace("visits_per_year = 0\n", "").replace('"2 mg/L"', '"0.5 mg/L"')
SAID = {
    "en": ("4 canisters of 25 kg a year come in 4 deliveries, no more than 3 months apart and 1 at",
           "loses strength in store: a container is used up within 3 months of its delivery. What has been filled into its dosing tank is renewed about every 7 days",
           "Where no visit falls at that time, you take the delivery in", "lasts for the year"),
    "es": ("al año llegan en 4 entregas, con no más de 3 meses entre una y otra y 1 como máximo",
           "almacenado, y cada envase se gasta en los 3 meses siguientes a su entrega. Lo que se ha pasado a su depósito de dosificación se renueva cada 7 días",
           "Si no coincide con una visita",
           "dura todo el año"),
    "de": ("im Jahr kommen in 4 Lieferungen, höchstens 3 Monate auseinander und jeweils höchstens 1",
           "Jedes Gebinde wird binnen 3 Monaten nach der Lieferung aufgebraucht. Was in den Dosierbehälter gefüllt ist, wird etwa alle 7 Tage erneuert", "Fällt kein Besuch in",
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
