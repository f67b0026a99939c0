"""Pumps, storage and the hours that regenerations take."""

from pretreat.core.errors import OutOfRangeError

SECONDS_PER_HOUR = 3600.0
PA_PER_BAR = 1.0e5


def pump_shaft_power_w(flow_m3_h: float, pressure_bar: float, efficiency: float) -> float:
    """Return the power a pump takes.

    Parameters
    ----------
    flow_m3_h : float
        Flow. [m³/h]
    pressure_bar : float
        Pressure rise. [bar]
    efficiency : float
        Efficiency, above 0 to 1. [-]

    Returns
    -------
    float
        Power. [W]

    Raises
    ------
    OutOfRangeError
        If the efficiency makes no sense.
    """
    if not 0 < efficiency <= 1:
        raise OutOfRangeError(f"pump efficiency is {efficiency:g}: must be above 0, at most 1")
    return flow_m3_h / SECONDS_PER_HOUR * pressure_bar * PA_PER_BAR / efficiency


def production_rate_m3_h(product_m3_d: float, out_of_service_h: float) -> float:
    """Return the flow while running that makes a day's product beside the time out of service.

    Parameters
    ----------
    product_m3_d : float
        Product of a day. [m³/d]
    out_of_service_h : float
        Hours out of service in a day, below 24. [h/d]

    Returns
    -------
    float
        Flow while running. [m³/h]

    Raises
    ------
    OutOfRangeError
        If no time is left to run.
    """
    if not 0 <= out_of_service_h < 24.0:
        raise OutOfRangeError(
            f"{out_of_service_h:g} h out of service in a day: must be 0 to below 24 h"
        )
    return product_m3_d / (24.0 - out_of_service_h)


def storage_for_outage_m3(demand_m3_d: float, outage_h: float) -> float:
    """Return the storage that serves the mean demand through an outage.

    Parameters
    ----------
    demand_m3_d : float
        Demand. [m³/d]
    outage_h : float
        Longest outage. [h]

    Returns
    -------
    float
        Volume. [m³]
    """
    return demand_m3_d / 24.0 * outage_h
