"""Solutions are sold as they are delivered: named, of a strength, in whole containers.

Strengths of the trade: data/chemicals.csv (from memory). A kilogram of a solution holds its percent
by weight of the pure chemical (definition); 12.5 % by volume are 125 g in a litre, of 1.2 kg.
Amounts are worked by hand from the pure chemical of the dosing section.
"""

import csv
import json
from decimal import Decimal

import openpyxl
import pytest

from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.quoting import whole_up
from tests.quote.quoting import words_of as words_in
from tests.quote.test_sold_and_priced import FED, WATER

SULFURIC = FED.replace("[prices]", '[acid]\nacid = "sulfuric"\n[prices]')
HYDROCHLORIC = FED.replace(
    "[prices]", '[acid]\nacid = "hydrochloric"\ndelivered_percent = 31\n[prices]'
).replace("acid_per_kg = 1.3\n", "")
CARBOY = '[packages]\nacid = { size = "25 kg", price = 40 }\n'


def quoted(pretreat, folder, site):  # noqa: F811
    """Words of a quote, its net, and the figures behind it."""
    (folder / "w.csv").write_text(WATER, encoding="utf-8")
    (folder / "a.toml").write_text(site, encoding="utf-8")
    pretreat("quote", "a.toml", "-o", "out")
    with (folder / "out" / "overview.csv").open(encoding="utf-8") as stream:
        net = next(csv.DictReader(stream))["net"]
    figures = json.loads(pretreat("size", "a.toml", "--json").stdout)["figures"]
    values = {key: figure["value"] for key, figure in figures.items()}
    return words_in(folder / "out" / "a.pdf"), Decimal(net or "0"), values


def beside(values):
    """Antiscalant at 25 x 9.6, cartridges at 8.95, freight."""
    drums = whole_up(Decimal(str(values["consumables.inhibitor_per_year"])) / 25)
    cartridges = Decimal(str(values["consumables.cartridges_per_year"]))
    return drums * 240 + cartridges * Decimal("8.95") + 145


@pytest.mark.parametrize(
    ("language", "name"),
    [
        ("en", "Sulfuric acid 93 %, {} kg as delivered"),
        ("es", "Ácido sulfúrico 93 %, {} kg tal como se suministra"),
        ("de", "Schwefelsäure 93 %, {} kg wie geliefert"),
    ],
)
def test_acid_can_be_ordered(pretreat, tmp_path, language, name):  # noqa: F811
    """1.3 a kilogram of pure acid are 1.209 of one of 93 %, 36.27 a carboy of 30 kg."""
    words, net, values = quoted(pretreat, tmp_path, f'{SULFURIC}language = "{language}"\n')
    pure = Decimal(str(values["dosing.acid_kg_per_year"]))
    bought = pure / Decimal("0.93")
    assert name.format(round(bought)) in words
    assert "100 %" not in words
    assert net == whole_up(bought / 30) * Decimal("36.27") + beside(values)


def test_a_container_has_the_price_of_what_it_holds(pretreat, tmp_path):  # noqa: F811
    """A carboy of 25 kg of 31 % costs 40, whatever pure acid costs."""
    site = HYDROCHLORIC.replace("[quote]", f"{CARBOY}[quote]")
    words, net, values = quoted(pretreat, tmp_path, site)
    bought = Decimal(str(values["dosing.acid_kg_per_year"])) / Decimal("0.31")
    assert f"Hydrochloric acid 31 %, {round(bought)} kg as delivered" in words
    assert "from solution tanks: Hydrochloric acid, made up anew" in words
    assert net == whole_up(bought / 25) * 40 + beside(values)


def test_a_site_goes_before_a_shared_price_list(pretreat, tmp_path):  # noqa: F811
    (tmp_path / "p.toml").write_text(CARBOY, encoding="utf-8")
    for site, each in ((SULFURIC, "30.23"), (HYDROCHLORIC, "40.00")):
        (tmp_path / "w.csv").write_text(WATER, encoding="utf-8")
        (tmp_path / "a.toml").write_text(site, encoding="utf-8")
        pretreat("quote", "a.toml", "--prices", "p.toml", "-o", "out")
        assert f" {each} " in words_in(tmp_path / "out" / "a.pdf")
    twice = SULFURIC.replace("[quote]", f"{CARBOY}[quote]")
    (tmp_path / "a.toml").write_text(twice, encoding="utf-8")
    ran = pretreat("quote", "a.toml", "-o", "out", code=1)
    assert "acid_per_kg: a price of its package is given too; leave one out" in ran.stderr


def test_a_strength_names_its_acid(pretreat, tmp_path):  # noqa: F811
    (tmp_path / "w.csv").write_text(WATER, encoding="utf-8")
    site = FED.replace("[prices]", "[acid]\ndelivered_percent = 96\n[prices]")
    (tmp_path / "a.toml").write_text(site, encoding="utf-8")
    ran = pretreat("size", "a.toml", code=1)
    assert '[acid] delivered_percent: of which acid? Write acid = "sulfuric" too' in ran.stderr


def test_own_strength_is_that_of_the_dosing_section_too(pretreat, tmp_path):  # noqa: F811
    """A dose stays as 100 %; 1702 g/L x 96 / 93 are 1757 g/L."""
    site = SULFURIC.replace('"sulfuric"\n', '"sulfuric"\ndelivered_percent = 96\n')
    (tmp_path / "w.csv").write_text(WATER, encoding="utf-8")
    (tmp_path / "a.toml").write_text(site, encoding="utf-8")
    figures = json.loads(pretreat("size", "a.toml", "--json").stdout)["figures"]
    assert "delivered as 96 % by weight, 1757 g/L" in figures["acid.solution_g_l"]["method"]
    assert figures["acid.dose_mg_l"]["label"] == "Dose of sulfuric acid, as 100 %"
    assert figures["dosing.acid_kg_per_year"]["label"] == "Sulfuric acid per year, as 100 %"


FEEDS = FED.replace(
    '["acid", "inhibitor", "cartridge"]', '["chlorine", "bisulfite", "alkali", "cartridge"]'
).replace(
    "[prices]",
    '[chlorine]\ndose = "2 mg/L"\n[alkali]\ndose = "20 mg/L"\n[prices]\nchlorine_per_kg = 6\n'
    "alkali_per_kg = 2\nbisulfite_per_kg = 3",
)


def test_every_solution_is_sold_as_delivered(pretreat, tmp_path):  # noqa: F811
    """25 kg of hypochlorite at 6 x 0.125 / 1.2 are 15.63; of caustic soda at 2 x 0.25, 12.50."""
    words, _, values = quoted(pretreat, tmp_path, FEEDS)
    chlorine = Decimal(str(values["chlorine.kg_per_year"])) / Decimal("0.125") * Decimal("1.2")
    said = f"Sodium hypochlorite, 12.5 % chlorine by volume, {round(chlorine)} kg as delivered"
    assert said in words
    assert " 15.63 " in words
    alkali = Decimal(str(values["alkali.kg_per_year"])) * 4
    assert f"Caustic soda 25 %, {round(alkali)} kg as delivered" in words
    assert "12.50" in words
    assert f"{whole_up(alkali / 25) * Decimal('12.5'):.2f}" in words
    powder = FEEDS.replace(
        '[alkali]\ndose = "20 mg/L"', '[alkali]\ndose = "20 mg/L"\nbase = "soda_ash"'
    )
    words, _, values = quoted(pretreat, tmp_path, powder)
    assert "Sodium carbonate, powder, " in words
    assert "bags of 25 kg" in words


def test_two_acids_are_no_stock_of_one(pretreat, tmp_path):  # noqa: F811
    (tmp_path / "w.csv").write_text(WATER, encoding="utf-8")
    priced = HYDROCHLORIC.replace("inhibitor_per_kg", "acid_per_kg = 1.3\ninhibitor_per_kg")
    for name, site in (("a", SULFURIC), ("b", priced)):
        (tmp_path / f"{name}.toml").write_text(site, encoding="utf-8")
    pretreat("quote", "a.toml", "b.toml", "-o", "out")
    sheet = openpyxl.load_workbook(tmp_path / "out" / "overview.xlsx")["Stock per month"]
    items = [row[2] for row in sheet.iter_rows(min_row=2, values_only=True)]
    assert "Sulfuric acid 93 %" in items
    assert "Hydrochloric acid 31 %" in items
    assert items.count("Antiscalant") == 1


def test_acids_of_two_kinds_are_counted_as_pure(pretreat, tmp_path):  # noqa: F811
    """A weak acid exchange is regenerated with hydrochloric acid; the feed has sulfuric."""
    both = SULFURIC.replace('["acid", "inhi', '["weak_acid", "acid", "degasser", "inhi')
    both = both.replace('acid = "sulfuric"', 'acid = "sulfuric"\ndose = "5 mg/L"')
    words, _, _ = quoted(pretreat, tmp_path, f"{both}accept_verdict = true\n")
    assert "Acid (as 100 %), " in words
    assert " as delivered" not in words
