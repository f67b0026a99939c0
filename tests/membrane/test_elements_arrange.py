"""Number and arrangement of elements, reach without recycle, limits of an operation."""

import numpy as np
import pytest

from pretreat.core.errors import DesignError, OutOfRangeError
from pretreat.membrane.elements.arrange import (
    choose_array,
    elements_for,
    elements_in_series,
    flux_rule,
    recycle_needed_m3_h,
    series_recovery,
)
from pretreat.membrane.elements.array import Array
from pretreat.membrane.elements.checks import (
    broken_limits,
    least_recycle_m3_h,
    usual_limits,
)
from pretreat.membrane.elements.element import element
from pretreat.membrane.elements.feed import element_feed
from pretreat.membrane.elements.operate import Duty, operate
from pretreat.membrane.elements.permeability import Membrane
from tests.membrane.worked_machines import FB, MACHINES

NEW = Membrane()
FOUR = element("4x40")


def test_reach_of_elements_in_series():
    """1 - (1 - r)^n by algebra."""
    at_15 = [series_recovery(n, 0.15) for n in (1, 2, 3, 4, 6, 7)]
    np.testing.assert_allclose(at_15, [0.150, 0.2775, 0.3859, 0.4780, 0.6229, 0.6794], atol=1e-4)
    at_18 = [series_recovery(n, 0.18) for n in (3, 6, 7)]
    np.testing.assert_allclose(at_18, [0.4486, 0.6960, 0.7507], atol=1e-4)


def test_elements_in_series_for_a_recovery():
    assert [elements_in_series(y, 0.15) for y in (0.50, 0.65, 0.75)] == [5, 7, 9]
    assert elements_in_series(series_recovery(6, 0.15), 0.15) == 6


def test_recycle_of_a_short_machine():
    """Product 0.5, Y 0.65, three elements at 0.15: 0.526 m3/h."""
    found = recycle_needed_m3_h(Array(FOUR, (1,), 3), 0.5, 0.65, 0.15)
    assert found == pytest.approx(0.526, abs=2e-3)
    assert recycle_needed_m3_h(Array(FOUR, (2, 1), 6), 3.0, 0.70, 0.15) == 0.0


def test_least_concentrate_can_set_the_recycle():
    """One element of 0.7 m3/h least concentrate: 0.05 / 0.3 - 0.05 is 0.117, so 0.583 is missing."""
    found = recycle_needed_m3_h(Array(FOUR), 0.05, 0.3, 0.15)
    assert found == pytest.approx(0.7 - (0.05 / 0.3 - 0.05))


def test_elements_from_flux():
    """10 m3/d in 20 h at 22 L/m2/h: 0.5 m3/h needs 22.7 m2, three of 7.6 m2."""
    assert elements_for(0.5, 22, FOUR) == 3
    assert elements_for(0.5, 0.5e3 / 7.6 / 3, FOUR) == 3  # exactly three is not four
    assert (
        flux_rule("surface").flux_lmh < flux_rule("filtered").flux_lmh < flux_rule("well").flux_lmh
    )


@pytest.mark.parametrize(
    ("size", "product", "recovery", "vessels", "length"),
    [
        ("2.5x40", 0.10, 0.50, (1,), 2),
        ("4x40", 0.50, 0.65, (1,), 3),
        ("4x40", 3.0, 0.70, (2, 1), 6),
    ],
)
def test_the_worked_machines_are_chosen(size, product, recovery, vessels, length):
    found = choose_array(element(size), product, recovery)
    assert (found.array.vessels, found.array.elements_per_vessel) == (vessels, length)


@pytest.mark.parametrize("product", [0.05, 0.3, 0.8, 1.6, 4.0, 11.0])
@pytest.mark.parametrize("recovery", [0.3, 0.5, 0.65, 0.75])
@pytest.mark.parametrize("feed", ["well", "surface"])
def test_a_chosen_machine_runs_within_its_flux(product, recovery, feed):
    size = "2.5x40" if product < 0.2 else "4x40" if product < 5 else "8x40"
    found = choose_array(element(size), product, recovery, feed)
    assert found.flux_lmh <= found.rule.flux_high_lmh * (1 + 1e-9)
    water = element_feed(FB, 18.0)
    duty = Duty(product, recovery, found.recycle_m3_h)
    run = operate(found.array, NEW, water, duty)
    assert run.flux_lmh == pytest.approx(found.flux_lmh, rel=1e-9)
    least = least_recycle_m3_h(found.array, NEW, water, Duty(product, recovery), usual_limits(feed))
    held = operate(found.array, NEW, water, Duty(product, recovery, float(least)))
    codes = {b.code for b in broken_limits(held, usual_limits(feed))}
    assert not codes & {"element_recovery", "element_concentrate"}


def test_the_least_recycle_of_several_waters_is_that_of_each():
    box = choose_array(element("4x40"), 1.2, 0.6).array
    temps = np.array([8.0, 15.0, 24.0])
    together = least_recycle_m3_h(box, NEW, element_feed(FB, temps), Duty(1.2, 0.6))
    alone = [least_recycle_m3_h(box, NEW, element_feed(FB, t), Duty(1.2, 0.6)) for t in temps]
    np.testing.assert_allclose(together, alone, rtol=1e-9)


def test_limits_that_are_broken_are_named():
    """The three elements without recycle: hardest 0.335 and concentrate 0.269, both bad."""
    mg_l, temp_c, array, _ = MACHINES["M2"]
    feed = element_feed(mg_l, temp_c)
    bad = {b.code: b for b in broken_limits(operate(array, NEW, feed, Duty(0.5, 0.65)))}
    assert bad["element_recovery"].value == pytest.approx(0.335, abs=2e-3)
    assert bad["element_concentrate"].value == pytest.approx(0.269, abs=2e-3)
    assert "wall_factor_range" in bad
    assert not broken_limits(operate(array, NEW, feed, MACHINES["M2"][3]))
    worked = MACHINES["M3"]
    assert not broken_limits(operate(worked[2], NEW, element_feed(worked[0], worked[1]), worked[3]))


def test_vessel_feed_and_drop_of_the_third_machine():
    """Vessel feed 2.14 m3/h, drops 0.88 and 0.90 bar, lead flux 1.49 times the average."""
    mg_l, temp_c, array, duty = MACHINES["M3"]
    found = operate(array, NEW, element_feed(mg_l, temp_c), duty)
    assert found.by_element("feed_m3_h")[0] == pytest.approx(2.14, abs=5e-3)
    drops = found.by_element("drop_bar").reshape(2, 6).sum(axis=1)
    np.testing.assert_allclose(drops, [0.88, 0.90], atol=6e-3)
    assert found.by_element("flux_lmh")[0] / found.flux_lmh == pytest.approx(1.49, abs=5e-3)


def test_every_limit_can_break():
    from msgspec.structs import replace

    mg_l, temp_c, array, duty = MACHINES["M2"]
    small = replace(FOUR, max_feed_m3_h=0.1, min_concentrate_m3_h=9.0, max_drop_bar=1e-3,
                    max_vessel_drop_bar=1e-3, vessel_pressure_bar=1.0)  # fmt: skip
    found = operate(replace(array, element=small), NEW, element_feed(mg_l, temp_c), duty)
    limits = replace(usual_limits(), flux_lmh=1.0, element_recovery=0.01, lead_over_average=0.5)
    codes = {b.code for b in broken_limits(found, limits)}
    assert codes >= {"element_feed", "element_concentrate", "element_drop", "vessel_drop",
                     "vessel_pressure", "average_flux", "element_recovery", "lead_flux"}  # fmt: skip


def test_impossible_wishes_are_refused():
    with pytest.raises(DesignError, match="kind of feed"):
        choose_array(FOUR, 1.0, 0.5, "sea")
    with pytest.raises(OutOfRangeError, match="product flow"):
        choose_array(FOUR, -1.0, 0.5)
    with pytest.raises(OutOfRangeError, match="recovery"):
        choose_array(FOUR, 1.0, 1.0)
    with pytest.raises(OutOfRangeError, match="flux"):
        choose_array(FOUR, 1.0, 0.5, flux_lmh=500.0)
    with pytest.raises(DesignError, match="larger element"):
        choose_array(element("2.5x40"), 5000.0, 0.5)
