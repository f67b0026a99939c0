"""A and B found again from readings of a machine whose A and B are known."""

import numpy as np
import pytest

from pretreat.core.errors import AnalysisError, OutOfRangeError, PretreatError
from pretreat.membrane.elements.array import Array
from pretreat.membrane.elements.element import element
from pretreat.membrane.elements.feed import element_feed
from pretreat.membrane.elements.fit import Reading, fit_membrane, quick_fit
from pretreat.membrane.elements.operate import Duty, operate
from pretreat.membrane.elements.permeability import Membrane
from tests.membrane.worked_machines import MACHINES, nacl

THREE = Array(element("4x40"), (1,), 3)
FEED = element_feed(nacl(2000), 18.0)
READ = Reading(0.5940, 1.3 - 0.5940, 11.0, 28.641, 10.7697, product_bar=0.5)


def test_exact_fit_of_the_synthetic_reading():
    """A separate script made the reading with A 4.000 and B 0.3000; it is given to four figures."""
    found = fit_membrane(THREE, READ, FEED)
    assert found.membrane.water_lmh_bar == pytest.approx(4.0, rel=3e-4)
    assert found.membrane.salt_lmh == pytest.approx(0.3, rel=3e-4)
    assert found.membrane.drop_factor == pytest.approx(1.0, rel=1e-3)
    assert found.operation.feed_bar == pytest.approx(11.0, rel=1e-8)
    assert found.operation.permeate_tds_mg_l == pytest.approx(28.641, rel=1e-8)


def test_quick_fit_with_and_without_the_wall():
    """Averages: NDP 8.0649, A 3.973, B 0.3048; without the wall factor 8.3481, 3.838, 0.347."""
    with_wall = quick_fit(THREE, READ, FEED)
    assert with_wall.wall_factor == pytest.approx(1.1376, abs=1e-4)
    assert with_wall.net_bar == pytest.approx(8.0649, rel=1e-4)
    assert with_wall.water_lmh_bar == pytest.approx(3.973, rel=2e-4)
    assert with_wall.salt_lmh == pytest.approx(0.3048, rel=5e-4)
    without = quick_fit(THREE, READ, FEED, polarised=False)
    assert without.net_bar == pytest.approx(8.3481, rel=1e-4)
    assert without.water_lmh_bar == pytest.approx(3.838, rel=2e-4)
    assert without.salt_lmh == pytest.approx(0.347, rel=1e-3)


@pytest.mark.parametrize("name", sorted(MACHINES))
@pytest.mark.parametrize(("water", "salt", "drop"), [(2.6, 0.15, 1.0), (5.5, 0.9, 1.6)])
def test_forward_then_back(name, water, salt, drop):
    """The machine's own gauges give back A, B and the factor of its pressure drop."""
    mg_l, temp_c, array, duty = MACHINES[name]
    feed = element_feed(mg_l, temp_c)
    true = Membrane(water_lmh_bar=water, salt_lmh=salt, drop_factor=drop)
    run = operate(array, true, feed, duty)
    reading = Reading(
        duty.product_m3_h, float(run.drain_m3_h), run.feed_bar, run.permeate_tds_mg_l,
        run.concentrate_bar, duty.recycle_m3_h,
    )  # fmt: skip
    found = fit_membrane(array, reading, feed).membrane
    assert found.water_lmh_bar == pytest.approx(water, rel=1e-6)
    assert found.salt_lmh == pytest.approx(salt, rel=1e-6)
    assert found.drop_factor == pytest.approx(drop, rel=1e-5)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"feed_bar": 0.3}, "product pressure"),
        ({"feed_bar": 2.0}, None),
        ({"permeate_salt": 2500.0}, "less than the feed"),
        ({"permeate_salt": float("nan")}, "less than the feed"),
        ({"concentrate_bar": 12.0}, "between 0 and the feed"),
        ({"product_m3_h": -1.0}, "product flow"),
        ({"drain_m3_h": 0.0}, "drain flow"),
    ],
)
def test_readings_that_cannot_be(change, message):
    from msgspec.structs import asdict

    fields = asdict(READ) | {"product_bar": None, "concentrate_bar": None} | change
    with pytest.raises(PretreatError, match=message) as error:
        fit_membrane(THREE, Reading(**fields), FEED)
    assert "\n" not in str(error.value)


def test_a_fit_takes_one_water():
    many = element_feed(nacl(np.array([1000.0, 2000.0])), 18.0)
    with pytest.raises(AnalysisError, match="one water"):
        fit_membrane(THREE, READ, many)


def test_a_membrane_no_one_makes_is_refused():
    """8 m3/h through three small elements at 11 bar asks for an A beyond any membrane."""
    with pytest.raises((OutOfRangeError, PretreatError)):
        fit_membrane(THREE, Reading(4.0, 4.0, 11.0, 28.0), FEED)


def test_set_points_from_a_fit_at_another_temperature():
    """The fitted machine in colder water: pressure up, salt down at the same product."""
    fitted = fit_membrane(THREE, READ, FEED).membrane
    duty = Duty(0.5940, READ.recovery)
    cold, warm = (operate(THREE, fitted, element_feed(nacl(2000), t), duty) for t in (10.0, 25.0))
    assert cold.feed_bar > 11.0 > warm.feed_bar
    assert cold.permeate_tds_mg_l < 28.641 < warm.permeate_tds_mg_l
