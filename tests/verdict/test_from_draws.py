"""From an analysis to its verdict."""

import numpy as np
import pytest
from msgspec.structs import replace

from pretreat.membrane.limits import MembranePoint
from pretreat.plant.uncertainty.bands import limit_band, one_limit
from pretreat.plant.uncertainty.draws import drawn
from pretreat.plant.uncertainty.inputs import uncertain_water
from pretreat.plant.uncertainty.recovery_draws import recovery_draws
from pretreat.plant.uncertainty.unjudged import unjudged_scales
from pretreat.plant.uncertainty.water_draws import drawn_water, feeds
from pretreat.plant.verdict.from_draws import case_from_draws
from pretreat.plant.verdict.rules import verdict
from pretreat.site.design import LimitChoices

from ..uncertainty.waters import BARE, analysis, around, taken_of

QUARROW = "quarrow_vale_well_2"


def judged(water, recovery, *, inhibitor=True, count=256, steps=(-4.0, 0.0, 4.0), **limits):
    taken, band = taken_of(water), limit_band(LimitChoices(inhibitor=inhibitor, **limits))
    seasons, point = around(water, *steps), MembranePoint(recovery, {})
    draws = drawn(uncertain_water(water, taken), count)
    feed = feeds(drawn_water(taken, water.ph, draws), seasons)
    found = recovery_draws(feed, seasons, band, point)
    blind = unjudged_scales(
        taken.scaling, (taken.alkalinity_mg_l_caco3, water.ph, water.temperature_c), seasons,
        band.low, point,
    )  # fmt: skip
    return verdict(
        case_from_draws(draws, found, blind, inhibitor=inhibitor, banded=not band.is_one)
    )


@pytest.mark.parametrize(
    ("recovery", "inhibitor", "answer"),
    [(0.35, True, "fits"), (0.60, True, "depends"), (0.90, True, "does not fit"),
     (0.50, False, "does not fit")],
)  # fmt: skip
def test_raw_water_of_quarrow_vale(recovery, inhibitor, answer):
    found = judged(analysis(QUARROW), recovery, inhibitor=inhibitor)
    assert found.answer == answer
    assert found.probability is not None


def test_without_draws_never_better_than_depends():
    found = judged(analysis(QUARROW), 0.2, count=0)
    assert (found.answer, found.probability, found.card_recovery) == ("depends", None, None)


@pytest.mark.parametrize(
    ("ion", "scale"), [("ca", "calcite"), ("sio2", "silica"), ("so4", "gypsum")]
)
def test_a_deleted_analyte_never_gives_a_bare_yes(ion, scale):
    water = analysis(QUARROW)
    left = {k: v for k, v in water.mg_l.items() if k != ion}
    found = judged(replace(water, mg_l=left), 0.7)
    assert found.answer in {"depends", "does not fit"}
    assert found.probability is None
    assert found.measure_next


def test_a_harmless_gap_is_told_and_does_not_block():
    water = analysis(QUARROW)
    left = {k: v for k, v in water.mg_l.items() if k != "sr"}
    found = judged(replace(water, mg_l=left), 0.35)
    assert found.answer == "fits with conditions"
    assert "strontium" in found.reasons[-1]


def test_cold_silica():
    """Silica 75 mg/L at 18 °C, coldest 14 °C: 25 % must not pass for safe."""
    water = analysis(QUARROW)
    water = replace(
        water, mg_l=water.mg_l | {"sio2": 75.0, "ca": 1.0, "ba": 5e-4, "f": 0.1}, temperature_c=18.0
    )
    taken = taken_of(water)
    seasons = around(water, -4.0, 0.0, 0.0)
    draws = drawn(uncertain_water(water, taken), 256)
    feed = feeds(drawn_water(taken, water.ph, draws), seasons)
    point, band = MembranePoint(0.25, {}), one_limit(BARE)
    found = recovery_draws(feed, seasons, band, point)
    assert found.nominal_limited_by["low"][0] == "silica"
    case = case_from_draws(draws, found)
    assert verdict(case).answer in {"depends", "does not fit"}
    assert np.min(found.nominal_maximum["low"]) < 0.25


def test_the_answer_does_not_change_between_runs():
    first, second = (judged(analysis(QUARROW), 0.6) for _ in range(2))
    assert first == second
