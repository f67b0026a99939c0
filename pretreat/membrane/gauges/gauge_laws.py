"""Flows and volumes as gauges show them."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law
from pretreat.core.units import LITRE_PER_US_GALLON

LITRE_PER_M3, MINUTES_PER_HOUR = 1000.0, 60.0


@law
def flow_l_min(flow_m3_h: Number) -> Number:
    """Flow on a gauge in litres per minute.

    Worked by hand: 3 m3/h are 3000 L in 60 min.

    >>> flow_l_min(3.0)
    50.0
    """
    return flow_m3_h * LITRE_PER_M3 / MINUTES_PER_HOUR


@law
@cites("GALLONS", "231 cubic inches")
def flow_gpm(flow_m3_h: Number) -> Number:
    """Flow on a gauge in US gallons per minute.

    From the definition of the gallon, 3.785411784 L: 60 of them an hour are one a minute.

    >>> round(flow_gpm(0.22712470704), 9)
    1.0
    """
    return flow_l_min(flow_m3_h) / LITRE_PER_US_GALLON


@law
@cites("GALLONS", "231 cubic inches")
def flow_on_gauge_gpm(flow_l_min: Number) -> Number:
    """Flow in US gallons per minute.

    >>> flow_on_gauge_gpm(37.85411784)
    10.0
    """
    return flow_l_min / LITRE_PER_US_GALLON


@law
@cites("GALLONS", "231 cubic inches")
def volume_us_gal(volume_l: Number) -> Number:
    """Volume in US gallons.

    From the definition of the gallon, 3.785411784 L.

    >>> volume_us_gal(37.85411784)
    10.0
    """
    return volume_l / LITRE_PER_US_GALLON


@law
def expected_pressure_bar(pressure_bar: Number) -> Number:
    """Pressure that the gauge should show = pressure calculated for the elements.

    Worked by hand: it is the same number.

    >>> expected_pressure_bar(11.0)
    11.0
    """
    return pressure_bar
