"""The raw water pump: its duty, power and energy."""

from collections.abc import Sequence

from pretreat.core.law import Number, law, most, valid

SECONDS_PER_HOUR = 3600.0
PA_PER_BAR = 1.0e5
BAR_M3_PER_KWH = 36.0  # a cubic metre against 36 bar takes one kilowatt-hour


@law
def largest_flow_m3_h(
    feed_m3_h: Number, alone_m3_h: Sequence[Number], beside_m3_h: Sequence[Number]
) -> Number:
    """Largest flow that is asked of the pump, one vessel washed at a time.

    The machine stands while what is washed ``alone_m3_h`` is, and runs on ``beside_m3_h``.

    Worked by hand: 2.5 m3/h in service, 6 m3/h of a backwash alone, 4 m3/h beside the service.

    >>> largest_flow_m3_h(2.5, [6.0], [4.0])
    6.5
    """
    return most([feed_m3_h, *alone_m3_h, *(feed_m3_h + wash for wash in beside_m3_h)])


@law
@valid(flow_m3_h=[0, None], pressure_bar=[0, None], efficiency="(0, 1]")
def pump_shaft_power_w(flow_m3_h: Number, pressure_bar: Number, efficiency: Number) -> Number:
    """Power = flow x pressure rise / efficiency.

    Worked by hand: 3.6 m3/h is 1 L/s; against 5 bar, half of it lost, 1 kW.

    >>> pump_shaft_power_w(3.6, 5.0, 0.5)
    1000.0
    """
    return flow_m3_h / SECONDS_PER_HOUR * pressure_bar * PA_PER_BAR / efficiency


@law
@valid(pressure_bar=[0, None], efficiency="(0, 1]")
def pump_energy_kwh_year(water_m3_year: Number, pressure_bar: Number, efficiency: Number) -> Number:
    """Energy of a year = water x pressure rise / efficiency; 36 m3 bar are 1 kWh.

    Worked by hand: 7200 m3 against 2.5 bar at 50 %.

    >>> pump_energy_kwh_year(7200.0, 2.5, 0.5)
    1000.0
    """
    return water_m3_year * pressure_bar / BAR_M3_PER_KWH / efficiency


@law
def drop_of_all_beds_kpa(drops_kpa: Sequence[Number]) -> Number:
    """Pressure lost in all beds, one behind the other.

    Worked by hand: 4 kPa and 6.5 kPa.

    >>> drop_of_all_beds_kpa([4.0, 6.5])
    10.5
    """
    return sum(drops_kpa)
