"""A chemical that two stages use is bought once; one that is fed once is counted once."""

from pathlib import Path

import pytest

from pretreat.public import size

WELL = Path(__file__).parents[2] / "water_analyses" / "quarrow_vale_well_2.csv"
SITE = """
[water]
analysis = {well}
[machine]
product_flow = "1.6 m3/h"
recovery = 0.65
hours_per_day = 16
[train]
stages = {stages}
[iron_filter]
regeneration = "continuous"
[prices]
currency = "EUR"
acid_per_kg = 1.2
permanganate_per_kg = 6.5
"""
TRAINS = {
    "permanganate": '["permanganate", "iron_filter", "inhibitor", "cartridge"]',
    "acid": '["weak_acid", "acid", "degasser", "inhibitor", "cartridge"]',
}


def _study(tmp_path, item):
    site = tmp_path / "site.toml"
    site.write_text(SITE.format(well=f"'{WELL}'", stages=TRAINS[item]), "utf-8")
    return size(site, draws=0)


def test_the_oxidant_of_an_iron_filter_is_counted_once(tmp_path):
    study = _study(tmp_path, "permanganate")
    bought = study["consumables.permanganate_per_year"].value
    assert bought == pytest.approx(study["permanganate.kg_per_year"].value)
    assert study.series["quote.lines"].column("item").count("Potassium permanganate") == 1


def test_acid_of_two_stages_is_bought_once(tmp_path):
    study = _study(tmp_path, "acid")
    parts = study["weak_acid.acid_kg_per_year"].value, study["dosing.acid_kg_per_year"].value
    assert study["consumables.acid_per_year"].value == pytest.approx(sum(parts))
    items = study.series["quote.lines"].column("item")
    assert sum("cid" in str(item) for item in items) == 1
