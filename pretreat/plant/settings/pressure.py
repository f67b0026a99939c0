"""The feed pressure that the card sets: as read on the machine, or of its elements."""

import numpy as np
from msgspec.structs import replace

from pretreat.core.basis import Flag, citations
from pretreat.core.results import Ledger
from pretreat.membrane.elements.machine import Machine, running
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.gauges.gauge_laws import expected_pressure_bar
from pretreat.membrane.gauges.pressure import (
    KPA_PER_BAR,
    Operation,
    OsmoticCurve,
    array_factor,
    average_factor,
    feed_pressure_kpa,
    temperature_factor,
)
from pretreat.membrane.gauges.setpoints import FlowSettings, flow_settings
from pretreat.membrane.limits import MembranePoint
from pretreat.membrane.rests import feed_keys
from pretreat.plant.settings.order import Order
from pretreat.site.design import DesignBasis

PRESSURES_AGREE = 0.15  # PRACTICE: two gauges and the spread of new membranes
OF_ELEMENTS, READ = "machine.feed_pressure", "settings.known_pressure_bar"
SEASONS = (("", "operating"), ("_coldest", "coldest"), ("_warmest", "warmest"))


def expected_bar(
    known: Operation, curve: OsmoticCurve, flows: FlowSettings, temp_c: float
) -> float:
    """Return the feed pressure at which a setting gives its product, from one known point.

    Parameters
    ----------
    known : Operation
        The point at which flow and pressure are known. [-]
    curve : OsmoticCurve
        Osmotic pressure of the feed as it is concentrated. [-]
    flows : FlowSettings
        Recovery, feed, product and recycle of the setting. [-]
    temp_c : float
        Temperature of the water. [°C]

    Returns
    -------
    float
        Feed pressure. [bar]
    """
    rho = flows.recycle_m3_h / (flows.feed_m3_h + flows.recycle_m3_h)
    osmotic = curve.at(array_factor(flows.recovery, rho), temp_c)
    wanted = Operation(flows.product_m3_h, temp_c, 0.0, 0.0, 0.0, osmotic)
    return feed_pressure_kpa(known, wanted) / KPA_PER_BAR


def flag_pressure_read(
    ledger: Ledger, design: DesignBasis, machine: Machine, feed: FeedWater
) -> None:
    """Flag a pressure read on the machine that cannot press the product through its elements.

    It is said ahead of the verdict, which takes it up.

    Parameters
    ----------
    ledger : Ledger
        With the pressure of the elements entered. [-]
    design : DesignBasis
        The engineer's choices. [-]
    machine : Machine
        The elements. [-]
    feed : FeedWater
        What enters the membranes. [-]
    """
    read, needed = design.machine.feed_pressure_bar, ledger.number(f"{OF_ELEMENTS}_bar")
    temp, given = float(np.asarray(feed.temp_c)), design.machine.reference_temperature_c
    if read and given is not None and given != temp:
        run = running(machine, feed, np.array([given]))[0]
        needed, temp = (None if run is None else float(run.feed_bar[0])), given
    if not read or needed is None or read >= needed * (1.0 - PRESSURES_AGREE):
        return
    text = (
        f"{read:g} bar read does not make {design.machine.product_flow_m3_h:.4g} m3/h on these "
        f"elements at {temp:g} °C, about {needed:.1f} bar does: read gauge and flow again, raise "
        "the pressure, or give the permeability of these membranes"
    )
    ledger.flag(Flag("pressure_too_low", "caution", text, f"{OF_ELEMENTS}_bar"))


def enter_pressure(
    ledger: Ledger, curve: OsmoticCurve, point: MembranePoint, design: DesignBasis, order: Order
) -> Operation | None:
    """Enter the feed pressure at each temperature, at the flows that the card orders.

    Parameters
    ----------
    ledger : Ledger
        With the order and the osmotic pressure entered. [-]
    curve : OsmoticCurve
        Osmotic pressure of the feed as it is concentrated. [-]
    point : MembranePoint
        Recovery and recycle of the design. [-]
    design : DesignBasis
        The engineer's choices. [-]
    order : Order
        What the card orders. [-]

    Returns
    -------
    Operation or None
        The point at which flow and pressure are known; None where none is. [-]
    """
    factor = array_factor(point.recovery, point.rho)
    known = _read(ledger, curve, factor, design)
    if known is None and not design.machine.feed_pressure_bar:
        known = _of_elements(ledger, curve, factor, design)
    if known is None:
        return None
    water = design.water
    temps = (curve.temp_c, water.coldest_temperature_c, water.warmest_temperature_c)
    for (key, label), temp in zip(SEASONS, temps, strict=True):
        if temp is None:
            continue
        ledger.put(
            f"settings.feed_pressure{key}_temp_c",
            temp,
            "°C",
            f"Temperature, {label}",
            origin="chosen",
        )
        named = f"Feed pressure to expect at the {label} temperature, {temp:g} °C"
        as_designed = not order.backed_off and "recycle" not in order.flows
        if not design.machine.feed_pressure_bar and as_designed:
            marched = f"{OF_ELEMENTS}{key}_bar"
            if ledger.number(marched) is not None:
                ledger.law(
                    f"settings.feed_pressure{key}_bar",
                    expected_pressure_bar,
                    pressure_bar=marched,
                    label=named,
                    method="march along the elements",
                )
        else:
            _enter_expected(ledger, (key, named, temp), (curve, known), design, order)
    if design.machine.feed_pressure_bar:
        _compare(ledger, "settings.feed_pressure_bar", f"{OF_ELEMENTS}_bar")
    return known


def _enter_expected(
    ledger: Ledger,
    season: tuple[str, str, float],
    pressure: tuple[OsmoticCurve, Operation],
    design: DesignBasis,
    order: Order,
) -> None:
    """Enter the pressure of a season at the flows ordered, from what is known nearest to it."""
    key, label, temp = season
    curve, known = pressure
    recovery, product, recycle = (
        order.recovery or "machine.recovery",
        order.flows.get("product", "machine.product_flow_m3_h"),
        order.flows.get("recycle", "machine.recycle_flow_m3_h"),
    )
    behind = READ if design.machine.feed_pressure_bar else f"{OF_ELEMENTS}_bar"
    marched = ledger.number(f"{OF_ELEMENTS}{key}_bar")
    if behind != READ and marched is not None:
        behind = f"{OF_ELEMENTS}{key}_bar"
        osmotic = known.osmotic_feed_side_kpa * curve.at(1.0, temp) / curve.at(1.0, known.temp_c)
        known = replace(
            known,
            temp_c=temp,
            feed_kpa=marched * KPA_PER_BAR,
            osmotic_feed_side_kpa=osmotic,
        )
    made, share = ledger.number(product), ledger.number(recovery)
    flows = flow_settings(
        made or design.machine.product_flow_m3_h,
        share or design.machine.recovery,
        ledger.number(recycle) or 0.0,
    )
    ledger.put(
        f"settings.feed_pressure{key}_bar",
        expected_bar(known, curve, flows, temp),
        "bar",
        label,
        method="permeability fitted to the known point, drop along the membranes "
        "and product pressure as there",
        cites=citations(temperature_factor, average_factor),
    )
    rests = (behind, f"settings.feed_pressure{key}_temp_c", product, recovery, recycle)
    known_keys = (one for one in rests if one in ledger)
    ledger.rests(f"settings.feed_pressure{key}_bar", *known_keys, *feed_keys(ledger, treated=True))


def _of_elements(
    ledger: Ledger, curve: OsmoticCurve, factor: float, design: DesignBasis
) -> Operation | None:
    """Return the point that the march along the elements gives, if they are known."""
    bar = ledger.number(f"{OF_ELEMENTS}_bar")
    if bar is not None:
        return _point(curve, factor, design, (bar, curve.temp_c))
    text = (
        "no feed pressure is known at any flow: the pressure to expect is left open; give "
        "feed_pressure and reference_temperature in [machine]"
    )
    ledger.flag(Flag("pressure_open", "info", text))
    return None


def _point(
    curve: OsmoticCurve, factor: float, design: DesignBasis, at: tuple[float, float]
) -> Operation:
    bar, temp_c = at
    flow = design.machine.product_flow_m3_h
    return Operation(flow, temp_c, bar * KPA_PER_BAR, 0.0, 0.0, curve.at(factor, temp_c))


def _read(
    ledger: Ledger, curve: OsmoticCurve, factor: float, design: DesignBasis
) -> Operation | None:
    """Return the point read on the machine: on the water as it is, where no other is named."""
    bar, given = design.machine.feed_pressure_bar, design.machine.reference_temperature_c
    if not bar:
        return None
    known_c = curve.temp_c if given is None else given
    ledger.put(READ, bar, "bar", f"Feed pressure as read, at {known_c:g} °C", origin="chosen")
    if given is None:
        text = (
            f"feed_pressure is given without reference_temperature: taken as read at {known_c:g} °C"
        )
        ledger.flag(Flag("pressure_temperature_assumed", "caution", text, READ))
    known = _point(curve, factor, design, (bar, known_c))
    if known.driving_kpa > 0.0:
        return known
    text = (
        f"the feed pressure given, {bar:g} bar, is below the osmotic pressure "
        f"{known.osmotic_feed_side_kpa / KPA_PER_BAR:.1f} bar: no product would flow; check its "
        "unit"
    )
    ledger.flag(Flag("pressure_below_osmotic", "warning", text, READ))
    return None


def _compare(ledger: Ledger, fitted: str, marched: str) -> None:
    """Flag a pressure read on the machine that is more than its elements explain."""
    read = ledger.number(fitted)
    calculated = ledger.number(marched)
    told = any(flag.code == "pressure_too_low" for flag in ledger.study().flags)
    if told or read is None or calculated is None:
        return
    if abs(read / calculated - 1.0) <= PRESSURES_AGREE:
        return
    text = (
        f"by the pressure given {read:.1f} bar are to be expected, by the elements "
        f"{calculated:.1f} bar: the membranes are older or other than assumed; give "
        "water_permeability_lmh_bar"
    )
    ledger.flag(Flag("pressures_differ", "caution", text, fitted))
