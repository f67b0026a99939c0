"""Oxidation against the balanced reactions (computed by hand from molar masses)."""

import pytest

from pretreat.stages.oxidation import (
    alkalinity_per_mg,
    oxidant_demand_mg_l,
    oxidant_per_mg,
    permanganate_rule_mg_l,
    solids_per_mg,
)


@pytest.mark.parametrize(
    ("reduced", "oxidant", "expected"),
    [
        ("fe", "permanganate", 0.943), ("mn", "permanganate", 1.918),
        ("fe", "chlorine", 0.635), ("mn", "chlorine", 1.291),
        ("fe", "air", 0.1432), ("mn", "air", 0.2912),
        ("h2s", "permanganate", 3.091), ("h2s_sulfate", "permanganate", 12.37),
        ("h2s", "chlorine", 2.081), ("h2s_sulfate", "chlorine", 8.322), ("h2s", "air", 0.4694),
    ],
)  # fmt: skip
def test_oxidant(reduced, oxidant, expected):
    assert oxidant_per_mg(reduced, oxidant) == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(
    ("reduced", "oxidant", "expected"),
    [
        ("fe", "permanganate", 1.494), ("mn", "permanganate", 1.215), ("fe", "air", 1.792),
        ("fe", "chlorine", 2.688), ("mn", "chlorine", 3.644), ("mn", "air", 1.822),
    ],
)  # fmt: skip
def test_alkalinity(reduced, oxidant, expected):
    assert alkalinity_per_mg(reduced, oxidant) == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(("reduced", "expected"), [("fe", 2.433), ("mn", 2.637)])
def test_solids_with_permanganate(reduced, expected):
    assert solids_per_mg(reduced, "permanganate") == pytest.approx(expected, rel=1e-3)


def test_solids_limit_as_oxide():
    """488 g/m2 of (Fe + 2 Mn) is 1.19 kg/m2 of oxide, computed."""
    assert 0.4882 * solids_per_mg("fe", "permanganate") == pytest.approx(1.19, rel=5e-3)


def test_permanganate_rule_stands_a_little_above_stoichiometry():
    """Rule from memory: 1.90 mg/L; stoichiometry 1.798 mg/L for Fe 1.5 and Mn 0.2."""
    assert permanganate_rule_mg_l(1.5, 0.2, 0.0) == pytest.approx(1.9, rel=1e-3)
    needs = [oxidant_per_mg(ion, "permanganate") for ion in ("fe", "mn")]
    assert oxidant_demand_mg_l((1.5, 0.2), needs) == pytest.approx(1.798, rel=1e-3)


def test_molar_need_of_manganese():
    """0.667 mol/mol, stoichiometric; 0.67 to 0.84 is reported for surface water."""
    assert oxidant_per_mg("mn", "permanganate") * 54.938 / 158.034 == pytest.approx(0.667, rel=1e-3)


@pytest.mark.parametrize(
    ("ion", "capacity", "expected"), [("fe", 1.337, 1.261), ("mn", 0.668, 1.282)]
)
def test_medium_capacities_are_alike_in_permanganate(ion, capacity, expected):
    """Capacities from memory; that both are 1.26 to 1.28 g permanganate per litre supports them."""
    assert capacity * oxidant_per_mg(ion, "permanganate") == pytest.approx(expected, rel=1e-3)
