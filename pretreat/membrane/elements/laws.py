"""Elements, flux and energy of the machine."""

from collections.abc import Sequence

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, most, valid

LITRE_PER_M3 = 1000.0
M3_H_BAR_PER_KW = 36.0  # exact: 1 bar x 1 m3/h is 1e5 Pa x 1/3600 m3/s = 1/36 kW


@law
def elements(vessels: Sequence[Number], elements_per_vessel: Number) -> Number:
    """Elements of the array = vessels of all stages x elements per vessel.

    Worked by hand: two vessels, then one, of six elements each.

    >>> elements([2.0, 1.0], 6.0)
    18.0
    """
    return sum(vessels) * elements_per_vessel


@law
@cites("SOLUTION_DIFFUSION", "flux is product over area")
@valid(element_area_m2="(0, inf)", elements="(0, inf)")
def flux_l_m2_h(product_flow_m3_h: Number, element_area_m2: Number, elements: Number) -> Number:
    """Average flux = product / membrane area.

    Worked by hand: 0.5 m3/h over four elements of 5 m2.

    >>> flux_l_m2_h(0.5, 5.0, 4.0)
    25.0
    """
    return product_flow_m3_h * LITRE_PER_M3 / (element_area_m2 * elements)


@law
def array_feed_m3_h(feed_flow_m3_h: Number, recycle_flow_m3_h: Number) -> Number:
    """Feed of the array = fresh feed + concentrate recycled; the pump carries both.

    Worked by hand: 0.75 m3/h and 0.5 m3/h.

    >>> array_feed_m3_h(0.75, 0.5)
    1.25
    """
    return feed_flow_m3_h + recycle_flow_m3_h


@law
@valid(pump_efficiency="(0, 1]", pump_flow_m3_h=[0, None])
def shaft_kw(
    feed_pressure_bar: Number,
    suction_pressure_bar: Number,
    pump_flow_m3_h: Number,
    pump_efficiency: Number,
) -> Number:
    """Power at the shaft of the pump = (discharge - suction) x flow / (36 x efficiency).

    Worked by hand: 10 bar lift 3.6 m3/h at half efficiency: 1 kW of water, 2 kW at the shaft.

    >>> shaft_kw(11.0, 1.0, 3.6, 0.5)
    2.0
    """
    lift = most(feed_pressure_bar - suction_pressure_bar, 0.0)
    return lift * pump_flow_m3_h / (M3_H_BAR_PER_KW * pump_efficiency)


@law
@valid(motor_efficiency="(0, 1]")
def electric_kw(shaft_kw: Number, motor_efficiency: Number) -> Number:
    """Electric power of the pump = power at the shaft / efficiency of the motor.

    Worked by hand: 2 kW at the shaft of a motor of 80 %.

    >>> electric_kw(2.0, 0.8)
    2.5
    """
    return shaft_kw / motor_efficiency


@law
@valid(product_flow_m3_h="(0, inf)")
def energy_kwh_m3(electric_kw: Number, product_flow_m3_h: Number) -> Number:
    """Energy of the pump for a cubic metre of product = electric power / product.

    Worked by hand: 2.5 kW for 2 m3/h.

    >>> energy_kwh_m3(2.5, 2.0)
    1.25
    """
    return electric_kw / product_flow_m3_h
