"""Pump power and energy per cubic metre of product; throttle against speed control."""

from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.core.basis import cites
from pretreat.core.units import LITRE_PER_US_GALLON
from pretreat.membrane.elements import laws
from pretreat.membrane.elements.operate import Operation
from pretreat.membrane.elements.permeability import refuse_outside

KW_PER_M3_H_BAR = 1.0 / laws.M3_H_BAR_PER_KW
PRESSURE_RANGE_BAR = (0.0, 120.0)
FLOW_RANGE_M3_H = (0.0, 10_000.0)
EFFICIENCY_RANGE = (0.05, 1.0)


class PumpSet(Struct, frozen=True):
    """Pump and motor; floats or arrays."""

    suction_bar: Any
    pump_efficiency: Any
    motor_efficiency: Any


@cites("PRACTICE", "small multistage sets: pump 0.35 to 0.6, motor 0.7 to 0.85")
def usual_pump() -> PumpSet:
    """Return a pump and motor of the usual small kind, suction 1.5 bar.

    Returns
    -------
    PumpSet
        Suction 1.5 bar, efficiencies 0.5 and 0.8. [-]
    """
    return PumpSet(1.5, 0.5, 0.8)


@cites("BWRO_SHEET", "0.5 to 3 kWh per 1000 US gallons, large plants")
def printed_range_kwh_m3() -> tuple[float, float]:
    """Return the energy printed for large brackish plants; small recycling sets lie above.

    Returns
    -------
    tuple of float
        Low and high. [kWh/m³]
    """
    per_m3 = 1.0 / LITRE_PER_US_GALLON
    return 0.5 * per_m3, 3.0 * per_m3


class Power(Struct, frozen=True):
    """What the high-pressure pump takes; arrays of the shape of the waters."""

    shaft_kw: Any
    electric_kw: Any
    kwh_m3: Any  # per m3 of product
    throttle_loss_kwh_m3: Any  # part of it that a throttle valve burns


def shaft_kw(discharge_bar: Any, flow_m3_h: Any, pump: PumpSet) -> Any:
    """Return the shaft power of a pump.

    ``(P - P_s) Q / (36 eta)``; never below 0.

    Parameters
    ----------
    discharge_bar : float or array
        Discharge pressure, gauge, 0 to 120. [bar]
    flow_m3_h : float or array
        Flow through the pump, recycle included where it enters the suction. [m³/h]
    pump : PumpSet
        Suction pressure and efficiencies. [-]

    Returns
    -------
    float or array
        Shaft power. [kW]

    Raises
    ------
    OutOfRangeError
        If a value is outside its range.
    """
    refuse_outside("suction pressure", pump.suction_bar, PRESSURE_RANGE_BAR, "bar")
    refuse_outside("pump efficiency", pump.pump_efficiency, EFFICIENCY_RANGE, "-")
    refuse_outside("motor efficiency", pump.motor_efficiency, EFFICIENCY_RANGE, "-")
    refuse_outside("flow of the pump", flow_m3_h, FLOW_RANGE_M3_H, "m3/h")
    refuse_outside("discharge pressure", discharge_bar, PRESSURE_RANGE_BAR, "bar")
    top = np.asarray(discharge_bar, float)
    return laws.shaft_kw(top, pump.suction_bar, flow_m3_h, pump.pump_efficiency)


def specific_energy_kwh_m3(
    discharge_bar: Any, flow_m3_h: Any, product_m3_h: Any, pump: PumpSet
) -> Any:
    """Return the electric energy of the pump per cubic metre of product.

    Parameters
    ----------
    discharge_bar : float or array
        Discharge pressure, gauge: of the pump curve where a valve throttles. [bar]
    flow_m3_h : float or array
        Flow through the pump. [m³/h]
    product_m3_h : float or array
        Product, above 0. [m³/h]
    pump : PumpSet
        Suction pressure and efficiencies. [-]

    Returns
    -------
    float or array
        Energy. [kWh/m³]

    Raises
    ------
    OutOfRangeError
        If a value is outside its range.
    """
    refuse_outside("product flow", product_m3_h, (1e-6, FLOW_RANGE_M3_H[1]), "m3/h")
    shaft = shaft_kw(discharge_bar, flow_m3_h, pump)
    return shaft / (pump.motor_efficiency * np.asarray(product_m3_h, float))


def power(found: Operation, pump: PumpSet | None = None, discharge_bar: Any = None) -> Power:
    """Return what the pump takes at an operation; NaN where that is not settled.

    Boosters between the stages are counted with the same efficiencies.

    Parameters
    ----------
    found : Operation
        The machine running. [-]
    pump : PumpSet, optional
        Suction pressure and efficiencies; the usual small set where left out. [-]
    discharge_bar : float or array, optional
        Discharge of the pump curve where a valve throttles down to the feed pressure; the feed
        pressure itself, as with speed control, where left out. [bar]

    Returns
    -------
    Power
        Shaft and electric power, energy per product, loss in the throttle. [-]

    Raises
    ------
    OutOfRangeError
        If a value is outside its range, or the throttled discharge is below the feed pressure.
    """
    known = pump or usual_pump()
    sound = found.settled
    feed_bar = np.where(sound, found.march.feed_bar, 0.0)
    top = feed_bar if discharge_bar is None else np.asarray(discharge_bar, float)
    refuse_outside(
        "discharge less feed pressure",
        np.where(sound, top - feed_bar, 0.0),
        PRESSURE_RANGE_BAR,
        "bar",
    )
    flow = found.duty.array_feed_m3_h
    product = np.asarray(found.duty.product_m3_h, float)
    shaft = shaft_kw(top, flow, known) + _boosters_kw(found, known)
    electric = shaft / known.motor_efficiency
    loss = (top - feed_bar) * flow * KW_PER_M3_H_BAR
    loss = loss / (known.pump_efficiency * known.motor_efficiency * product)
    values = (shaft, electric, electric / product, loss)
    return Power(*(_plain(np.where(sound, value, np.nan)) for value in values))


def _boosters_kw(found: Operation, pump: PumpSet) -> Any:
    """Return the shaft power of the boosters; each sees the concentrate of the stage before."""
    total: Any = 0.0
    length = found.array.elements_per_vessel
    for stage, boost in enumerate(found.array.boost_bar):
        flow = found.march.steps[stage * length].feed_m3_h * found.array.vessels[stage]
        total = total + boost * flow * KW_PER_M3_H_BAR / pump.pump_efficiency
    return total


def _plain(value: Any) -> Any:
    return float(value) if np.ndim(value) == 0 else value
