"""Pump power and energy of the worked machines; throttle against speed control."""

import numpy as np
import pytest

from pretreat.core.errors import OutOfRangeError
from pretreat.membrane.elements.array import Array
from pretreat.membrane.elements.element import element
from pretreat.membrane.elements.energy import (
    PumpSet,
    power,
    printed_range_kwh_m3,
    shaft_kw,
    specific_energy_kwh_m3,
    usual_pump,
)
from pretreat.membrane.elements.feed import element_feed
from pretreat.membrane.elements.operate import Duty, operate
from pretreat.membrane.elements.permeability import Membrane
from tests.membrane.worked_machines import MACHINES

NEW = Membrane()


@pytest.mark.parametrize(
    ("name", "kw", "kwh"), [("M1", 0.1564, 1.955), ("M2", 0.6946, 1.736), ("M3", 2.308, 0.9616)]
)
def test_worked_machines(name, kw, kwh):
    mg_l, temp_c, array, duty = MACHINES[name]
    found = power(operate(array, NEW, element_feed(mg_l, temp_c), duty))
    assert found.shaft_kw == pytest.approx(kw, rel=1e-3)
    assert found.kwh_m3 == pytest.approx(kwh, rel=1e-3)
    assert found.throttle_loss_kwh_m3 == 0.0


def test_recycle_costs_energy():
    mg_l, temp_c, array, _ = MACHINES["M2"]
    feed = element_feed(mg_l, temp_c)
    found = operate(array, NEW, feed, Duty(0.5, 0.65, np.array([0.0, 0.30, 0.55, 0.90])))
    np.testing.assert_allclose(power(found).kwh_m3, [0.946, 1.378, 1.736, 2.244], rtol=1e-3)
    assert power(operate(array, NEW, feed, Duty(0.5, 0.38))).kwh_m3 == pytest.approx(
        1.449, rel=1e-3
    )


def test_coldest_and_warmest_water():
    mg_l, _, array, duty = MACHINES["M2"]
    found = operate(array, NEW, element_feed(mg_l, np.array([10.0, 18.0, 25.0, 30.0])), duty)
    np.testing.assert_allclose(power(found).kwh_m3, [2.052, 1.736, 1.518, 1.388], rtol=1e-3)


def test_throttle_loses_what_speed_control_saves():
    """Pump sized for 12.698 bar at 10 degC, 9.783 bar needed at 25: 2.052, 1.518, lost 0.534."""
    mg_l, _, array, duty = MACHINES["M2"]
    found = operate(array, NEW, element_feed(mg_l, 25.0), duty)
    throttled = power(found, discharge_bar=12.698)
    assert throttled.kwh_m3 == pytest.approx(2.052, rel=2e-3)
    assert power(found).kwh_m3 == pytest.approx(1.518, rel=2e-3)
    assert throttled.throttle_loss_kwh_m3 == pytest.approx(0.534, rel=2e-3)
    flow = float(duty.array_feed_m3_h)
    assert specific_energy_kwh_m3(12.698, flow, 0.5, usual_pump()) == pytest.approx(2.052, rel=2e-3)


def test_shaft_power_by_hand():
    """36 m3/h at 10 bar over suction and efficiency 1 is 10 kW: 1 bar m3/h is 1/36 kW."""
    assert shaft_kw(11.5, 36.0, PumpSet(1.5, 1.0, 1.0)) == pytest.approx(10.0, rel=1e-12)
    assert shaft_kw(1.0, 36.0, PumpSet(1.5, 1.0, 1.0)) == 0.0


def test_printed_energy_of_large_plants():
    """0.5 to 3 kWh per 1 000 gal: 0.132 to 0.793 kWh/m3."""
    np.testing.assert_allclose(printed_range_kwh_m3(), [0.132, 0.793], rtol=5e-3)


def test_a_booster_is_counted():
    """A booster of 3 bar on the second stage adds 3 Q / (36 eta) for the flow it sees."""
    mg_l, temp_c, _, duty = MACHINES["M3"]
    array = Array(element("4x40"), (2, 1), 6, boost_bar=(0.0, 3.0))
    found = operate(array, NEW, element_feed(mg_l, temp_c), duty)
    second = found.by_element("feed_m3_h")[6]
    expected = ((found.feed_bar - 1.5) * float(duty.array_feed_m3_h) + 3.0 * second) / 36 / 0.5
    assert power(found).shaft_kw == pytest.approx(expected, rel=1e-12)
    assert second == pytest.approx(2 * found.by_element("concentrate_m3_h")[5], rel=1e-12)


def test_a_pump_below_the_feed_pressure_is_refused():
    mg_l, temp_c, array, duty = MACHINES["M1"]
    found = operate(array, NEW, element_feed(mg_l, temp_c), duty)
    with pytest.raises(OutOfRangeError, match="discharge less feed pressure"):
        power(found, discharge_bar=5.0)
    with pytest.raises(OutOfRangeError, match="pump efficiency"):
        power(found, PumpSet(1.5, 50.0, 0.8))
