"""What a customer is told of calcite that dissolves, of its vessel, and of conditions and bases.

Sites are invented. Heads of 2:1 hold pi / 24 of the cube of the diameter (geometry); gravel of
1.6 kg/L, 10 mg/L of nitrate as nitrogen by 40 CFR 141.62, N / NO3 = 14.007 / 62.005.
"""

import json
import math

import pytest

from pretreat.core.basis import Series
from pretreat.core.results import Ledger
from pretreat.core.water import WaterAnalysis
from pretreat.quote.drinking import enter_over_limits
from pretreat.quote.stock import Need, stock_of
from pretreat.report.hand.quote_conditions import conditions, stage_in
from pretreat.report.hand.quote_words import words_of
from pretreat.site.design import ProductUse
from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.quoting import words_of as printed

SITE = """
[site]
name = "Rushy Weir"
[water]
hardness = "140 mg/L"
iron = "0.02 mg/L"
manganese = "0.01 mg/L"
ph = 6.9
alkalinity = "120 mg/L"
conductivity = "420 µS/cm"
silica = "9 mg/L"
temperature = "11 C"
sampled = "2031-03-04"
[machine]
product_flow = "0.6 m3/h"
recovery = 0.6
hours_per_day = 8
element = "4x40"
[softener]
vessel = "13x54"
vessels = 2
arrangement = "duplex"
salt_dose = "120 g/L"
[neutralising_filter]
media_volume = "90 L"
vessel_diameter = "0.33 m"
[prices]
currency = "CHF"
resin_per_l = 4
calcite_per_l = 2
gravel_per_kg = 0.7
salt_per_kg = 0.4
labour_per_h = 60
disposal_per_l = 0.8
freight = 90
[packages]
permanganate = { size = "1 kg", package = "tin" }
salt = { size = "1 kg", package = "bag" }
[quote]
customer = "Rushy Weir"
date = 2031-05-05
visits_per_year = 3
language = "en"
"""


def test_a_neutralising_filter_is_priced_and_topped_up(pretreat, tmp_path):  # noqa: F811
    (tmp_path / "a.toml").write_text(SITE, encoding="utf-8")
    pretreat("quote", "a.toml", "-o", "out")
    words = printed(tmp_path / "out" / "a.pdf")
    heads = sum(math.pi / 24 * d**3 * 1.6e3 for d in (0.33, 0.3302, 0.3302))
    assert f"Support gravel, {heads:.3g} kg" in words
    for absent in ("Labour: emptying, filling, start-up not included", "Also not included: Labour",
                   "Calcite most likely", "since the analysis", "to the cent"):  # fmt: skip
        assert absent not in words
    for said in ("Calcite to top up", "Calcite dissolves in use and is topped up about every",
                 "top up the calcite", "bags of 1 kg", "changes of the water since the test",
                 "Supplies of the year, if you order them", "comes with this order",
                 "By the readings of the test kit of 4 March 2031"):  # fmt: skip
        assert said in words, said
    assert words.count("Disposal of the old medium") == 1  # of the resin alone


def study_with(*found, **figures):
    ledger = Ledger()
    for key, value in (("verdict.answer", "fits with conditions"),
                       ("verdict.quote_sentence", "By the analysis given ...")):  # fmt: skip
        ledger.put(key, value, "-", key)
    for key, value in figures.items():
        ledger.put(key.replace("__", "."), value, "mg/L", key)
    ledger.table(Series("quote.conditions", "c", ("code", "reason"), ("-", "-"), found))
    return ledger.study()


@pytest.mark.parametrize(("language", "name"), [("en", "Softener"), ("de", "Enthärter")])
def test_raw_water_of_a_single_softener_is_a_condition(language, name):
    text = "the softener is one vessel that lasts 0.55 d: its valve passes raw water meanwhile"
    said = conditions(study_with(("washed_in_run", text)), words_of(language))
    assert words_of(language)("contact", "points") in said
    assert f"({name})" in said


def test_calcium_for_the_soil_is_a_condition():
    text = "product water: sodium adsorption ratio (surface) 14: outside the limit"
    figures = {"product__calcium_for_soil_mg_l": 28.0}
    plain = conditions(study_with(("product_target", text), **figures), words_of("en"))
    assert "calcium (28 mg/L)" in plain
    assert "softener" not in plain
    figures["softener__resin_volume_l"] = 60.0
    soft = conditions(study_with(("product_target", text), **figures), words_of("en"))
    assert "the softener is left out" in soft


def test_the_filter_that_a_condition_names_first():
    assert (
        stage_in("Iron filter: 9 m/h while the softener behind it is backwashed") == "iron_filter"
    )
    assert stage_in("the timer is set to 4 d") == ""


@pytest.mark.parametrize(
    ("rules", "found"),
    [("us", (70.0 * 14.007 / 62.005, "mg/L as N", 10.0)), ("eu", (70.0, "mg/L as NO3", 50.0))],
)
def test_nitrate_is_stated_as_its_rule_words_it(rules, found):
    ledger = Ledger()
    enter_over_limits(
        ledger, WaterAnalysis("well", "lab.csv", mg_l={"no3": 70.0}), ProductUse("drinking", rules)
    )
    row = ledger.study().series["quote.over_limits"].rows[0]
    assert row[2:5] == (pytest.approx(found[0], rel=1e-3), found[1], found[2])


def test_each_customer_buys_whole_packages():
    """Two that need 30 L of bags of 25 L buy two each, not three together."""
    needs = [(n, Need("2031-05", "x", "m", 30.0, "L", "bag", "25 L", 25.0)) for n in (0, 1)]
    assert [one.packages for one in stock_of(needs)] == [4.0]


def test_a_rating_takes_the_price_list_too(pretreat, tmp_path):  # noqa: F811
    head, rest = SITE.split("[prices]")
    prices = "[prices]" + rest.split("[quote]")[0]
    (tmp_path / "a.toml").write_text(head, encoding="utf-8")
    (tmp_path / "p.toml").write_text(prices, encoding="utf-8")
    done = pretreat("rate", "a.toml", "--json", "--prices", "p.toml")
    figures = json.loads(done.stdout)["figures"]
    assert figures["prices.freight"]["value"] == 90
    assert figures["quote.net"]["value"] > 0
