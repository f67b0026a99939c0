"""The words of a law: ties, blanks, rounding and what is refused, in each reading."""

import math

import numpy as np
import pytest

from pretreat.core.errors import OutOfRangeError
from pretreat.core.law import (
    BLANK,
    Applied,
    above,
    at_least,
    at_most,
    below,
    both,
    cents,
    either,
    law,
    least,
    most,
    negate,
    root,
    same,
    total,
    valid,
    when,
    whole,
    whole_up,
)
from pretreat.core.names import refuse_cut, split
from pretreat.core.terms import symbol

THIRD = 0.1 + 0.2  # a hair above 0.3
X = symbol("a.x")


def test_numbers_within_a_hair_are_equal():
    assert at_least(0.3, THIRD)
    assert at_most(THIRD, 0.3)
    assert same(0.3, THIRD)
    assert not above(THIRD, 0.3)
    assert not below(0.3, THIRD)
    assert list(at_least(np.array([0.3, 0.2]), THIRD)) == [1.0, 0.0]


def test_whole_snaps_first_as_a_spreadsheet_does():
    assert whole(2.9999999999999996) == 3.0
    assert whole(2.99) == 2.0
    assert whole(-2.5) == -3.0
    assert whole_up(3.0000000000000004) == 3.0
    assert whole_up(3.01) == 4.0
    assert list(whole(np.array([2.9999999999999996, 2.5]))) == [3.0, 2.0]


@pytest.mark.parametrize(
    ("amount", "rounded"), [(1.005, 1.01), (2.675, 2.68), (-1.005, -1.01), (0.125, 0.13), (3, 3)]
)
def test_money_rounds_half_up(amount, rounded):
    """Commercial rounding; decimal ties as written, not as their nearest float."""
    assert cents(amount) == rounded
    assert cents(np.array([amount, amount]))[1] == rounded


def test_total_skips_blanks_and_is_blank_where_all_are():
    assert total(1.0, BLANK, 2.0) == 3.0
    assert math.isnan(total(BLANK, BLANK))
    assert math.isnan(total([np.array([BLANK]), np.array([BLANK])])[0])
    assert total([np.array([1.0]), np.array([BLANK])])[0] == 1.0


def test_a_condition_on_a_blank_is_a_blank():
    assert math.isnan(when(above(BLANK, 1.0), lambda: 1.0, lambda: 2.0))
    assert math.isnan(when(both(True, above(BLANK, 1.0)), lambda: 1.0, lambda: 2.0))
    assert math.isnan(least(1.0, BLANK))
    assert math.isnan(most(BLANK, 1.0))


def test_only_the_branch_taken_is_computed_of_floats():
    assert when(above(0.0, 0.0), lambda: 1.0 / 0.0, lambda: 5.0) == 5.0
    assert when(either(False, True), lambda: 1.0, lambda: 1.0 / 0.0) == 1.0
    assert when(negate(False), lambda: 1.0, lambda: 1.0 / 0.0) == 1.0


@pytest.mark.parametrize(
    "decide",
    [
        lambda: 1 if X > 2 else 3,
        lambda: X > 1 and X < 2,
        lambda: not (X > 1),
        lambda: 1 < X < 2,
        lambda: max(X, 2.0),
        lambda: round(X),
        lambda: int(X),
    ],
)
def test_a_symbol_refuses_what_it_cannot_follow(decide):
    with pytest.raises(TypeError, match=r"when\(\)"):
        decide()


def test_a_symbol_refuses_math():
    with pytest.raises(TypeError, match=r"root\(\)"):
        math.sqrt(X)
    assert repr(root(X)) == "<SQRT({a.x})>"


@law
@valid(reserve="[0, 1)", volume_l=(0, None))
def kept_l(volume_l, reserve):
    """Volume x (1 - reserve); used by these tests alone.

    >>> kept_l(100.0, 0.25)
    75.0
    """
    return volume_l * (1.0 - reserve)


@pytest.mark.parametrize(("volume", "reserve"), [(0.0, 0.2), (10.0, 1.0), (10.0, -0.1)])
def test_outside_its_range_a_law_says_so(volume, reserve):
    with pytest.raises(OutOfRangeError, match="kept holds"):
        kept_l(volume, reserve)
    assert math.isnan(kept_l(np.array([volume, volume]), reserve)[0])


@pytest.mark.parametrize("blank", [None, "", math.nan])
def test_blank_in_blank_out(blank):
    assert kept_l(blank, 0.2) is None
    assert kept_l(10.0, blank) is None


def test_the_formula_guards_blanks_once():
    node = Applied(kept_l, {"volume_l": "s.volume_l", "reserve": 0.2})
    assert node.formula == 'IF(COUNT({s.volume_l})<1,"",{s.volume_l}*0.8)'
    assert node.worked("kept", {"s.volume_l": 50.0}.get, "L") == (
        "kept = volume x 0.8 = 50 L x 0.8 = 40 L"
    )


def test_brackets_keep_the_order_of_the_law():
    a, b, c = (symbol(f"s.{n}") for n in "abc")
    assert repr(a - (b - c)) == "<{s.a}-({s.b}-{s.c})>"
    assert repr(a / (b * c)) == "<{s.a}/({s.b}*{s.c})>"
    assert repr((a + b) * c) == "<({s.a}+{s.b})*{s.c}>"
    assert repr((-a) ** 2) == "<(-{s.a})^2>"
    assert repr(-(a**2)) == "<-({s.a}^2)>"
    assert repr(a**b**c) == "<{s.a}^({s.b}^{s.c})>"
    assert repr((a**b) ** c) == "<({s.a}^{s.b})^{s.c}>"


@pytest.mark.parametrize("name", ["dose_lb_ft3", "dose_kg_min", "load_meq_d", "use_l_m2_d"])
def test_a_unit_of_which_a_part_is_known_is_refused(name):
    """Units by their spelling: pounds a cubic foot are not shown bare, kilograms a minute no min."""
    with pytest.raises(ValueError, match="unit of"):
        refuse_cut(name)
    with pytest.raises(ValueError, match=name):
        exec(f"def f({name}): return {name}\nlaw(f)", {"law": law})


@pytest.mark.parametrize(
    ("name", "words", "unit"),
    [
        ("prices.resin_per_kg", "resin per kg", None),
        ("laminar_per_m", "laminar", "1/m"),
        ("water.mg_mg_l", "mg", "mg/L"),
        ("depth_min_m", "depth min", "m"),
        ("x.salt_per_year", "salt", "1/year"),
    ],
)
def test_a_price_per_kilogram_is_no_kilogram(name, words, unit):
    refuse_cut(name)
    assert split(name) == (words, unit)
