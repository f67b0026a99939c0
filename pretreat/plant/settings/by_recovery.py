"""The settings against recovery: flows, pressure, and whether the plant may run there."""

import math
from collections.abc import Iterator

from pretreat.core.basis import Series, Value
from pretreat.core.results import Ledger
from pretreat.membrane.elements.machine import machine_of
from pretreat.membrane.gauges.gauge_laws import flow_gpm, flow_l_min
from pretreat.membrane.gauges.pressure import Operation, OsmoticCurve
from pretreat.membrane.gauges.setpoints import FlowSettings, flow_settings, split
from pretreat.plant.settings.order import CONDITIONS, FITS, Order
from pretreat.plant.settings.pressure import expected_bar
from pretreat.site.design import DesignBasis

STEP = 0.05  # of recovery
RECOVERIES = tuple(round(STEP * i, 2) for i in range(6, 18))  # 0.30 to 0.85


def enter_by_recovery(
    ledger: Ledger,
    design: DesignBasis,
    order: Order,
    pressure: tuple[OsmoticCurve | None, Operation | None],
) -> None:
    """Enter the settings against recovery.

    They are at the product flow of the design; where the card orders a lower recovery than
    wanted, at its feed, as the card sets it.

    Parameters
    ----------
    ledger : Ledger
        With machine, verdict and order entered. [-]
    design : DesignBasis
        The engineer's choices. [-]
    order : Order
        What the card orders. [-]
    pressure : tuple of OsmoticCurve and Operation
        Osmotic pressure, and the point at which flow and pressure are known; None where not. [-]
    """
    curve, known = pressure
    feed_m3_h, recycle = ledger.number("machine.feed_flow_m3_h"), _recycle_m3_h(ledger, order)
    table, most = [], _most_kept(ledger, design)
    for recovery in sorted({*RECOVERIES, design.machine.recovery, *_ordered(ledger, order)}):
        product = design.machine.product_flow_m3_h
        if order.backed_off and feed_m3_h is not None:
            product = feed_m3_h * recovery
        flows = flow_settings(product, recovery, recycle)
        bar: float | None = None
        if curve is not None and known is not None:
            bar = expected_bar(known, curve, flows, curve.temp_c)
        row: tuple[Value, ...] = (
            recovery,
            str(split(recovery)),
            product,
            flows.feed_m3_h,
            flows.drain_m3_h,
            *(flow_l_min(f) for f in (flows.feed_m3_h, product, flows.drain_m3_h)),
            *(flow_gpm(f) for f in (flows.feed_m3_h, product, flows.drain_m3_h)),
            bar,
            *_allowed(ledger, design, flows, most),
        )
        table.append(row)
    ledger.table(
        Series(
            "settings.by_recovery",
            "Settings against recovery, at the "
            + ("feed of the design" if order.backed_off else "product flow wanted"),
            (
                "recovery",
                "split",
                "product_m3_h",
                "feed_m3_h",
                "drain_m3_h",
                "feed_l_min",
                "product_l_min",
                "drain_l_min",
                "feed_gpm",
                "product_gpm",
                "drain_gpm",
                "feed_pressure_bar",
                "allowed",
                "card",
            ),
            (
                "-",
                "-",
                "m3/h",
                "m3/h",
                "m3/h",
                "L/min",
                "L/min",
                "L/min",
                "gpm",
                "gpm",
                "gpm",
                "bar",
                "-",
                "-",
            ),
            tuple(table),
            method="feed = product / recovery; drain = feed - product",
            cites=("GALLONS", "D4516"),
            headings=(
                "Recovery",
                "Product : drain",
                "Product",
                "Feed",
                "Drain",
                "Feed",
                "Product",
                "Drain",
                "Feed",
                "Product",
                "Drain",
                "Feed pressure",
                "Allowed",
                "In short",
            ),
        )
    )


def _ordered(ledger: Ledger, order: Order) -> tuple[float, ...]:
    found = ledger.number(order.recovery) if order.backed_off else None
    return () if found is None else (found,)


def _recycle_m3_h(ledger: Ledger, order: Order) -> float:
    return ledger.number(order.flows.get("recycle", "machine.recycle_flow_m3_h")) or 0.0


def _allowed(
    ledger: Ledger, design: DesignBasis, flows: FlowSettings, most: float | None
) -> tuple[str, str]:
    """Return whether water, machine and supply allow a setting, and the same in short."""
    found = [*_by_water(ledger, design, flows.recovery, most), *_by_machine(design, flows)]
    last = "yes" if ledger.number("recovery.max") is not None else "water not judged"
    reasons = ", ".join(dict.fromkeys(reason for reason, _ in found))
    return reasons or last, found[0][1] if found else last


def _most_kept(ledger: Ledger, design: DesignBasis) -> float | None:
    """Return the highest recovery that the verdict lets be set; None where it lets none."""
    answer, card = ledger.figure("verdict.answer"), ledger.number("verdict.card_recovery")
    if answer is None or card is None:
        return math.inf if answer is None else None
    blind = any(flag.code == "unjudged_scale" for flag in ledger.study().flags)
    if answer.value == FITS or (answer.value == CONDITIONS and not blind):
        return max(design.machine.recovery, ledger.number("verdict.kept_recovery") or 0.0)
    return card


def _by_water(
    ledger: Ledger, design: DesignBasis, recovery: float, most: float | None
) -> Iterator[tuple[str, str]]:
    """Yield why the water does not allow a recovery, at length and in short."""
    valves, water = design.machine.recovery_range, ledger.number("recovery.max")
    inhibited = ledger.number("recovery.max_inhibited")
    if valves and not valves[0] <= recovery <= valves[1]:
        yield "outside the valves", "no: valves"
    if water is not None and recovery > water:
        helped = inhibited is not None and recovery <= inhibited
        yield (
            ("scales without inhibitor", "inhibitor only") if helped else ("scales", "no: scales")
        )
    if water is None and (most is None or recovery > most):
        yield "no chemistry given", "no analysis"
    elif most is None:
        yield "nothing is to be set: see the verdict", "no: verdict"
    elif recovery > most:
        kept = ledger.number("verdict.kept_recovery")
        if kept is not None and recovery <= kept:
            yield "not before what the verdict leaves open is settled", "see verdict"
        else:
            yield "not kept in 90 % of the draws: only as far as readings allow", "by readings"


def _by_machine(design: DesignBasis, flows: FlowSettings) -> Iterator[tuple[str, str]]:
    """Yield why machine and supply do not take the flows; the design itself has its flags."""
    if flows.recovery == design.machine.recovery:
        return
    supply, machine = design.supply, machine_of(design)
    if supply.pump_flow_m3_h is not None and flows.feed_m3_h > supply.pump_flow_m3_h:
        yield "more than the pump gives", "no: pump"
    tank = supply.raw_tank_volume_m3
    if not tank and supply.well_yield_m3_h is not None and flows.feed_m3_h > supply.well_yield_m3_h:
        yield "more than the well gives", "no: well"
    if machine is None:
        return
    from pretreat.membrane.elements.arrange import LEAST_FLOW_M3_H, recycle_needed_m3_h

    array, most = machine.array, machine.limits.element_recovery
    if (flows.feed_m3_h + flows.recycle_m3_h) / array.vessels[0] > array.element.max_feed_m3_h:
        yield "more than a vessel takes", "no: elements"
    needed = recycle_needed_m3_h(array, flows.product_m3_h, flows.recovery, most)
    if needed > flows.recycle_m3_h + LEAST_FLOW_M3_H:
        yield f"needs {needed:.2g} m3/h of recycle", "no: recycle"
