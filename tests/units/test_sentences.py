"""Sentences shown to people: plain numbers, whole clauses, names of stages; no source."""

import pytest

from pretreat.core.text import first_clause, plain_numbers
from pretreat.membrane.elements.targets import Limit, Verdict
from pretreat.report.main_results import MAIN
from pretreat.stages import BY_KEY, train_in_words


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("chloride is 1.35e+04 mg/L", "chloride is 13,500 mg/L"),
        ("up to 3.3e+02 pCi/L", "up to 330 pCi/L"),
        ("about 2e+02 ppm", "about 200 ppm"),
        ("'1.2e+03' as printed", "'1.2e+03' as printed"),
        ("limit 1.2e-03 mg/L", "limit 0.0012 mg/L"),
        ("no number", "no number"),
    ],
)
def test_large_numbers_in_digits(text, shown):
    assert plain_numbers(text) == shown


def test_a_clause_is_not_cut_inside_brackets():
    assert first_clause("no train (iron; pH): a guess; more") == "no train (iron; pH): a guess"
    assert first_clause("one; two") == "one"
    assert first_clause("(open; never closed") == "(open; never closed"


def test_a_train_by_the_names_of_its_stages():
    assert train_in_words("weak_acid + product_degasser") == (
        "weak acid exchange + degasser of the product"
    )
    assert train_in_words("none: no other train") == "none: no other train"


@pytest.mark.parametrize("key", ["acid", "alkali", "chlorine", "permanganate", "inhibitor"])
def test_dose_year_tank_and_pump_are_main_results(key):
    shown = dict(MAIN)[BY_KEY[key].label]
    assert {f"{key}.dose_mg_l", f"{key}.day_tank_l", f"{key}.pump_l_h"} <= set(shown)
    assert any(one.endswith("kg_per_year") for one in shown)


def test_a_limit_without_a_unit_has_no_dash():
    rule = Limit(
        **{
            **dict.fromkeys(Limit.__struct_fields__, ""),
            "name": "pH",
            "unit": "-",
            "low": 6.5,
            "high": 9.5,
            "grade": "aesthetic",
        }
    )
    text = Verdict(rule, 5.27, "exceeded").text
    assert text.startswith("pH 5.27: outside the limit; aesthetic limit 6.5 to 9.5 (")
