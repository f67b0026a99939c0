"""Prices as the US trade has them, by lb, ft3, gal and thousand gallons, beside metric ones.

0.45359237 kg to a pound, 28.316846592 L to a cubic foot, 3.785411784 L to a gallon: NIST SP 811.
"""

import pytest

from pretreat.core.errors import DesignError
from pretreat.site.prices import metric_prices
from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.test_plan_of_the_quote import SITE
from tests.quote.test_sold_and_priced import quoted


@pytest.mark.parametrize(
    ("typed", "value", "key", "metric"),
    [
        ("salt_per_lb", 0.21, "salt_per_kg", 0.21 / 0.45359237),
        ("salt_per_kg", "0.21 per lb", "salt_per_kg", 0.21 / 0.45359237),
        ("salt_per_kg", "$0.21/lb", "salt_per_kg", 0.21 / 0.45359237),
        ("resin_per_ft3", 148, "resin_per_l", 148 / 28.316846592),
        ("resin_per_l", "148 per ft3", "resin_per_l", 148 / 28.316846592),
        ("water_per_gal", 0.0031, "water_per_m3", 0.0031 / 0.003785411784),
        ("water_per_kgal", 3.1, "water_per_m3", 3.1 / 3.785411784),
        ("water_per_m3", "3.1 per kgal", "water_per_m3", 3.1 / 3.785411784),
        ("water_per_m3", "3.1 per 1,000 gal", "water_per_m3", 3.1 / 3.785411784),
        ("salt_per_kg", 0.4, "salt_per_kg", 0.4),
        ("labour_per_h", 95, "labour_per_h", 95),
    ],
)
def test_a_price_is_read_in_either_units(typed, value, key, metric):
    found = metric_prices({typed: value})
    assert found == {key: pytest.approx(metric)}
    assert metric_prices(found) == found


def test_a_price_of_something_else_or_given_twice_is_refused():
    with pytest.raises(DesignError, match="write a price per kg"):
        metric_prices({"salt_per_kg": "3 per ft"})
    with pytest.raises(DesignError, match="the price of salt_per_kg is given twice; leave one out"):
        metric_prices({"salt_per_kg": 0.4, "salt_per_lb": 0.2})


METRIC = "resin_per_l = 4\ncarbon_per_l = 3\ngravel_per_kg = 0.7\nsalt_per_kg = 0.4\n"
US = "resin_per_ft3 = 148\ncarbon_per_ft3 = 86.5\ngravel_per_lb = 0.38\nsalt_per_lb = 0.21\n"
TEXTS = (
    'resin_per_l = "148 per ft3"\ncarbon_per_l = "86.50 per ft3"\ngravel_per_kg = "0.38 per lb"\n'
    'salt_per_kg = "0.21 per lb"\n'
)
BAGS = (
    '[packages]\nresin = { size = "1 ft3", price = 148 }\n'
    'carbon = { size = "1 ft3", price = 86.5 }\ngravel = { size = "50 lb", price = 19 }\n'
    'salt = { size = "50 lb", price = 10.5 }\n'
)


def test_four_ways_to_one_quote(pretreat, tmp_path):  # noqa: F811
    """A bag of 50 lb at 0.21 costs 10.50, at 0.38 it costs 19.00."""
    site = SITE.replace("[site]\n", '[site]\nunits = "us"\n')
    ways = [site.replace(METRIC, US), site.replace(METRIC, TEXTS), site.replace(METRIC, "") + BAGS]
    nets = []
    for way in ways:
        words, row = quoted(pretreat, tmp_path, way)
        nets.append(row["net"])
        assert "10.50" in words
    (tmp_path / "p.toml").write_text(f"[prices]\n{US}", encoding="utf-8")
    (tmp_path / "a.toml").write_text(site.replace(METRIC, "salt_per_kg = 0.5\n"), encoding="utf-8")
    pretreat("quote", "a.toml", "--prices", "p.toml", "-o", "own")
    assert (
        tmp_path / "own" / "a.pdf"
    ).exists()  # the salt of the site goes before that of the list
    assert len(set(nets)) == 1
    assert float(nets[0]) > 0
