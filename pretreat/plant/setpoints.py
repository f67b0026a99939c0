"""Set points: flows on the gauges, pressures to expect, recoveries allowed, start and stop."""

from pretreat.core.basis import Flag, citations
from pretreat.core.results import Ledger
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.gauges.gauge_laws import (
    expected_pressure_bar,
    flow_on_gauge_gpm,
    volume_us_gal,
)
from pretreat.membrane.gauges.pressure import (
    KPA_PER_BAR,
    Operation,
    OsmoticCurve,
    array_factor,
    average_factor,
    feed_pressure_kpa,
    temperature_factor,
)
from pretreat.membrane.limits import MembranePoint
from pretreat.membrane.rests import feed_keys
from pretreat.membrane.scaling_laws import highest_recovery
from pretreat.plant.clock import enter_clock_times
from pretreat.plant.hand_sheets import enter_record_sheet, enter_steps, gauges_left_out
from pretreat.plant.osmotic_figures import enter_osmotic
from pretreat.plant.settings.by_recovery import enter_by_recovery
from pretreat.plant.settings.order import DO_NOT_RUN, Order, enter_gauges, enter_order
from pretreat.plant.slips import enter_site_slips
from pretreat.plant.summary import percent_down
from pretreat.site.design import DesignBasis

PRESSURES_AGREE = 0.15  # PRACTICE: two gauges and the spread of new membranes
USUAL_TEMPERATURE_C = 25.0


def enter_setpoints(
    ledger: Ledger, feed: FeedWater | None, point: MembranePoint, design: DesignBasis
) -> None:
    """Enter flows, pressures, the table of settings, start-up and shutdown.

    Parameters
    ----------
    ledger : Ledger
        A ledger with the machine and the scaling limits entered. [-]
    feed : FeedWater or None
        Water that enters the membranes; None where its chemistry is not known. [-]
    point : MembranePoint
        Recovery, salt passage, recycle. [-]
    design : DesignBasis
        The engineer's choices. [-]
    """
    order = _enter_flows(ledger, design)
    _enter_range(ledger, design)
    curve = None if feed is None else enter_osmotic(ledger, feed, point)
    pressure = None if curve is None else _enter_pressure(ledger, curve, point, design, order)
    enter_by_recovery(ledger, design, order, (curve, pressure))
    enter_steps(ledger)
    enter_clock_times(ledger)
    enter_record_sheet(ledger, left_out=gauges_left_out(ledger))
    enter_site_slips(ledger, design)


def _enter_flows(ledger: Ledger, design: DesignBasis) -> Order:
    order = enter_order(ledger, design)
    if order.recovery:
        enter_gauges(ledger, order)
    if ledger.number("softener.refill_l") is not None:
        ledger.law(
            "settings.refill_us_gal",
            volume_us_gal,
            volume_l="softener.refill_l",
            label="Refill of the brine tank in US gallons",
        )
    for name, words in (("refill", "Refill flow"), ("brine", "Flow of brine and slow rinse")):
        if ledger.number(f"softener.{name}_flow_l_min") is not None:
            ledger.law(
                f"settings.{name}_flow_gpm",
                flow_on_gauge_gpm,
                flow_l_min=f"softener.{name}_flow_l_min",
                label=f"{words} in US gallons",
            )
    if order.recovery:
        text = "an imperial gallon is 1.201 US gallons: look which of them a gauge shows"
        ledger.flag(Flag("gallons_differ", "info", text, "settings.feed_gpm"))
    else:  # no flow is shown to set on a machine that must not run
        why = ledger.study().value("settings.order_why")
        ledger.flag(Flag("do_not_run", "warning", f"{DO_NOT_RUN}: {why}", "settings.order"))
    return order


def _enter_range(ledger: Ledger, design: DesignBasis) -> None:
    water = ledger.number("recovery.max")
    machine = design.machine.recovery_range
    bounds = [v for v in (water, machine[1] if machine else None) if v is not None]
    if not bounds:
        return
    if machine:
        ledger.put(
            "settings.recovery_lowest",
            machine[0],
            "-",
            "Lowest recovery of the machine",
            origin=design.origin("machine.recovery_range"),
        )
    allowed = ["recovery.max"] if water is not None else []
    ledger.law(
        "settings.recovery_highest",
        highest_recovery,
        allowed=[*allowed, *(machine[1:] if machine else ())],
        label="Highest recovery that water and machine allow",
        method="the lower of scaling limit and valves",
    )
    if machine and min(bounds) < machine[0]:
        text = (
            f"the water allows {percent_down(min(bounds))}, the valves begin at "
            f"{machine[0]:.0%}: no setting suits both"
        )
        ledger.flag(Flag("no_common_recovery", "warning", text, "settings.recovery_highest"))


def _known_point(
    ledger: Ledger, curve: OsmoticCurve, factor: float, design: DesignBasis
) -> Operation | None:
    """Return the one point at which flow and feed pressure are known, if one is given."""
    machine = design.machine
    from_elements = ledger.number("machine.feed_pressure_bar")
    if not machine.feed_pressure_bar and from_elements is not None:
        return Operation(
            machine.product_flow_m3_h,
            curve.temp_c,
            from_elements * KPA_PER_BAR,
            0.0,
            0.0,
            curve.at(factor, curve.temp_c),
        )
    if not machine.feed_pressure_bar:
        text = (
            "no feed pressure is known at any flow: the pressure to expect is left open; give "
            "feed_pressure and reference_temperature in [machine]"
        )
        ledger.flag(Flag("pressure_open", "info", text))
        return None
    given = machine.reference_temperature_c
    known_c = USUAL_TEMPERATURE_C if given is None else given
    ledger.put(
        "settings.known_pressure_bar",
        machine.feed_pressure_bar,
        "bar",
        f"Feed pressure known at {known_c:g} °C",
        origin="chosen",
    )
    if given is None:
        text = "feed_pressure is given without reference_temperature: taken as at 25 °C"
        ledger.flag(
            Flag("pressure_temperature_assumed", "caution", text, "settings.known_pressure_bar")
        )
    known = Operation(
        machine.product_flow_m3_h,
        known_c,
        machine.feed_pressure_bar * KPA_PER_BAR,
        0.0,
        0.0,
        curve.at(factor, known_c),
    )
    if not known.driving_kpa > 0.0:
        text = (
            f"the feed pressure given, {machine.feed_pressure_bar:g} bar, is below the osmotic "
            f"pressure {known.osmotic_feed_side_kpa / KPA_PER_BAR:.1f} bar: no product would "
            "flow; check its unit"
        )
        ledger.flag(Flag("pressure_below_osmotic", "warning", text, "settings.known_pressure_bar"))
        return None
    return known


def _enter_pressure(
    ledger: Ledger, curve: OsmoticCurve, point: MembranePoint, design: DesignBasis, order: Order
) -> Operation | None:
    """Enter the feed pressure at each temperature, fitted to the one known point."""
    factor = array_factor(point.recovery, point.rho)
    known = _known_point(ledger, curve, factor, design)
    if known is None:
        return None
    water, flow = design.water, design.machine.product_flow_m3_h
    recovery, product = "machine.recovery", "machine.product_flow_m3_h"
    if order.backed_off:
        recovery, product = order.recovery, order.flows["product"]
        flow = ledger.number(product) or flow
        factor = array_factor(ledger.number(recovery) or point.recovery, point.rho)
    for key, temp, label in (
        ("", curve.temp_c, "operating"),
        ("_coldest", water.coldest_temperature_c, "coldest"),
        ("_warmest", water.warmest_temperature_c, "warmest"),
    ):
        if temp is None:
            continue
        ledger.put(
            f"settings.feed_pressure{key}_temp_c",
            temp,
            "°C",
            f"Temperature, {label}",
            origin="chosen",
        )
        if not design.machine.feed_pressure_bar and not order.backed_off:
            marched = f"machine.feed_pressure{key}_bar"
            if ledger.number(marched) is not None:
                ledger.law(
                    f"settings.feed_pressure{key}_bar",
                    expected_pressure_bar,
                    pressure_bar=marched,
                    label=f"Feed pressure to expect at the {label} temperature, {temp:g} °C",
                    method="march along the elements",
                )
        else:
            wanted = Operation(flow, temp, 0.0, 0.0, 0.0, curve.at(factor, temp))
            bar = feed_pressure_kpa(known, wanted) / KPA_PER_BAR
            ledger.put(
                f"settings.feed_pressure{key}_bar",
                bar,
                "bar",
                f"Feed pressure to expect at the {label} temperature, {temp:g} °C",
                method="permeability fitted to the known point, drop along the membranes "
                "and product pressure as there",
                cites=citations(temperature_factor, average_factor),
            )
            ledger.rests(
                f"settings.feed_pressure{key}_bar",
                "settings.known_pressure_bar"
                if design.machine.feed_pressure_bar
                else "machine.feed_pressure_bar",
                f"settings.feed_pressure{key}_temp_c",
                product,
                recovery,
                *feed_keys(ledger, treated=True),
            )
    if not order.backed_off:
        _compare(ledger, "settings.feed_pressure_bar", "machine.feed_pressure_bar")
    return known


def _compare(ledger: Ledger, fitted: str, marched: str) -> None:
    """Flag a pressure read on the machine that its elements do not explain."""
    read, calculated = ledger.number(fitted), ledger.number(marched)
    if read is None or calculated is None or abs(read / calculated - 1.0) <= PRESSURES_AGREE:
        return
    text = (
        f"by the pressure given {read:.1f} bar are to be expected, by the elements "
        f"{calculated:.1f} bar: the membranes are older or other than assumed; give "
        "water_permeability_lmh_bar"
    )
    ledger.flag(Flag("pressures_differ", "caution", text, fitted))
