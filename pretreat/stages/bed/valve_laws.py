"""What is keyed in at a valve, and the sizes of flow control that fit into it."""

from collections.abc import Sequence
from functools import partial

from pretreat.core.basis import cites
from pretreat.core.law import BLANK, Number, at_least, law, least, most, valid, when, whole_up
from pretreat.core.tables import rows
from pretreat.core.units import LITRE_PER_US_GALLON

OVERSHOOT_MIN = 0.25  # PRACTICE: a quarter of a minute less does not matter, more is rounded up
TIE = 1e-9
MINUTES_PER_HOUR, LITRE_PER_M3 = 60.0, 1000.0
DRAIN_GPM = tuple(float(r["gpm"]) for r in rows("flow_controls.csv") if r["use"] == "drain")


@law
@cites("PRACTICE", "whole minutes, up unless a quarter over at most")
def keyed_min(minutes: Number) -> Number:
    """Minutes keyed in = whole minutes, up unless it is a quarter over at most, at least 1.

    >>> keyed_min(21.2)
    21.0
    >>> keyed_min(21.3)
    22.0
    """
    return most(whole_up(minutes - OVERSHOOT_MIN - TIE), 1.0)


@law
@cites("PRACTICE", "a rinse is never shortened")
def keyed_up_min(minutes: Number) -> Number:
    """Minutes keyed in of a rinse that must not be shorter = the next whole minute.

    >>> keyed_up_min(20.1)
    21.0
    >>> keyed_up_min(20.0)
    20.0
    """
    return most(whole_up(minutes - TIE), 1.0)


def _size_gpm(most_gpm: Number) -> Number:
    """Return the largest usual size that does not exceed a flow, blank below the smallest."""
    found: Number = BLANK
    for size in DRAIN_GPM:
        found = when(at_least(most_gpm + TIE, size), partial(_is, size), partial(_is, found))
    return found


def _is(value: Number) -> Number:
    return value


@law
@cites("PRACTICE", "next smaller size, never above what keeps the medium in the coldest water")
@cites("GALLONS", "231 cubic inches")
@valid(backwash_m3_h=[0, None], largest_m3_h=[0, None])
def drain_control_gpm(backwash_m3_h: Number, largest_m3_h: Number) -> Number:
    """Drain flow control = next smaller usual size to the smaller of wanted and largest backwash.

    Worked by hand: 1.2 m3/h are 20 L/min or 5.28 gpm: 5; if 1.1 m3/h lose medium, 4.84 gpm: 4.

    >>> drain_control_gpm(1.2, 2.0)
    5.0
    >>> drain_control_gpm(1.2, 1.1)
    4.0
    """
    flow = least(backwash_m3_h, largest_m3_h)
    return _size_gpm(flow * LITRE_PER_M3 / MINUTES_PER_HOUR / LITRE_PER_US_GALLON)


@law
@cites("PRACTICE", "next smaller size")
@cites("GALLONS", "231 cubic inches")
@valid(backwash_m3_h=[0, None])
def drain_control_alone_gpm(backwash_m3_h: Number) -> Number:
    """Drain flow control = next smaller usual size, where the room above the bed is not known.

    >>> drain_control_alone_gpm(1.2)
    5.0
    """
    return _size_gpm(backwash_m3_h * LITRE_PER_M3 / MINUTES_PER_HOUR / LITRE_PER_US_GALLON)


@law
@cites("GALLONS", "231 cubic inches")
def control_l_min(control_gpm: Number) -> Number:
    """Flow of a control in litres per minute.

    >>> control_l_min(10.0)
    37.85411784
    """
    return control_gpm * LITRE_PER_US_GALLON


@law
@cites("PRACTICE", "the backwash wanted, never above what keeps the medium in the coldest water")
def drain_valve_l_min(flows_m3_h: Sequence[Number]) -> Number:
    """Flow to set at an orifice or valve in the drain = the smaller of wanted and largest backwash.

    Worked by hand: 54 m3/h are 900 L/min.

    >>> drain_valve_l_min([54.0, 60.0])
    900.0
    """
    return least(flows_m3_h) * LITRE_PER_M3 / MINUTES_PER_HOUR


@law
@cites("GALLONS", "231 cubic inches")
def drain_valve_gpm(flow_l_min: Number) -> Number:
    """Flow to set at an orifice or valve in the drain, in US gallons per minute.

    >>> round(drain_valve_gpm(37.85411784), 9)
    10.0
    """
    return flow_l_min / LITRE_PER_US_GALLON


@law
@valid(volume_l=[0, None], step_min=(0, None))
def step_flow_l_min(volume_l: Number, step_bv: Number, step_min: Number) -> Number:
    """Flow of a step = bed volumes x medium / minutes.

    Worked by hand: 1.5 volumes of 100 L in 30 min.

    >>> step_flow_l_min(100.0, 1.5, 30.0)
    5.0
    """
    return volume_l * step_bv / step_min


@law
@valid(brine_bv=(0, None))
def slow_rinse_min(slow_rinse_bv: Number, brine_bv: Number, brine_min: Number) -> Number:
    """Slow rinse at the rate of the brine = its bed volumes / those of the brine x brining time.

    Worked by hand: 2 BV where 1.5 BV of brine take 30 min.

    >>> slow_rinse_min(2.0, 1.5, 30.0)
    40.0
    """
    return slow_rinse_bv / brine_bv * brine_min


@law
@valid(rate_bv_h=(0, None))
def rinse_at_rate_min(rinse_bv: Number, rate_bv_h: Number) -> Number:
    """Rinse = bed volumes / rate.

    Worked by hand: 5 BV at 15 BV/h.

    >>> rinse_at_rate_min(5.0, 15.0)
    20.0
    """
    return rinse_bv / rate_bv_h * MINUTES_PER_HOUR


@law
@valid(refill_l=[0, None], flow_l_min=(0, None))
def refill_at_flow_min(refill_l: Number, flow_l_min: Number) -> Number:
    """Refill = water of the refill / refill flow.

    Worked by hand: 90 L at 6 L/min.

    >>> refill_at_flow_min(90.0, 6.0)
    15.0
    """
    return refill_l / flow_l_min


@law
def both_min(brine_set_min: Number, slow_rinse_set_min: Number) -> Number:
    """Brine and slow rinse where a valve knows them as one step = their sum.

    >>> both_min(30.0, 40.0)
    70.0
    """
    return brine_set_min + slow_rinse_set_min
