"""Set points: flows on the gauges, pressures to expect, recoveries allowed, start and stop."""

import math
from collections.abc import Callable, Mapping
from typing import Any

from pretreat.core.basis import Flag, Series, Value, citations
from pretreat.core.results import Ledger
from pretreat.core.text import first_clause
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.gauges.gauge_laws import (
    expected_pressure_bar,
    flow_gpm,
    flow_l_min,
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
from pretreat.membrane.gauges.setpoints import flow_settings, split
from pretreat.membrane.limits import MembranePoint
from pretreat.membrane.rests import feed_keys
from pretreat.membrane.scaling_laws import highest_recovery
from pretreat.plant.clock import enter_clock_times
from pretreat.plant.hand_sheets import enter_record_sheet, enter_steps, gauges_left_out
from pretreat.plant.laws import drain_flow_m3_h, feed_flow_m3_h
from pretreat.plant.osmotic_figures import enter_osmotic
from pretreat.plant.slips import enter_site_slips
from pretreat.plant.summary import percent_down
from pretreat.site.design import DesignBasis

STEP = 0.05  # of recovery in the table of settings
PRESSURES_AGREE = 0.15  # PRACTICE: two gauges and the spread of new membranes
RECOVERIES = tuple(round(STEP * i, 2) for i in range(6, 18))  # 0.30 to 0.85
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
    _enter_flows(ledger, design)
    _enter_range(ledger, design)
    curve = None if feed is None else enter_osmotic(ledger, feed, point)
    pressure = None if curve is None else _enter_pressure(ledger, curve, point, design)
    _enter_table(ledger, design, curve, pressure)
    enter_steps(ledger)
    enter_clock_times(ledger)
    enter_record_sheet(ledger, left_out=gauges_left_out(ledger))
    enter_site_slips(ledger, design)


FITS = "fits"
DO_NOT_RUN = "DO NOT RUN"
GAUGES = (
    ("feed", "feed_flow", "Feed"),
    ("product", "product_flow", "Product"),
    ("drain", "concentrate_flow", "Drain"),
    ("recycle", "recycle_flow", "Recycle"),
)


def _enter_order(ledger: Ledger, design: DesignBasis) -> tuple[str, Mapping[str, str]]:
    """Enter the recovery that the card may order; return its key and those of its flows.

    Unless the verdict is `fits`, it is the recovery that is kept in 90 % of the draws, the
    machine's valves and the wanted recovery not exceeded; where there is none, the card says
    so in place of a setting.
    """
    wanted = {"feed": "machine.feed_flow_m3_h", "drain": "machine.concentrate_flow_m3_h"}
    figure = ledger.figure("verdict.answer")
    if figure is None or "verdict.card_recovery" not in ledger or figure.value == FITS:
        return "machine.recovery", wanted
    kept = ledger.number("verdict.card_recovery")
    valves = design.machine.recovery_range
    if not kept or (valves is not None and kept < valves[0]):
        why = first_clause(str(ledger.study().value("verdict.reasons") or ""))
        if kept is not None:
            why = f"{percent_down(kept)} is kept in 90 % of the draws, below what the valves allow"
        _enter_words(ledger, DO_NOT_RUN, f"{figure.value}: {why}")
        return "", {}
    if kept >= design.machine.recovery:
        _enter_words(ledger, f"{percent_down(design.machine.recovery)} recovery", figure.value)
        return "machine.recovery", wanted
    ledger.put(
        "settings.recovery",
        kept,
        "-",
        "Recovery to set",
        method="kept in 90 % of the draws in the worst season at the low limits, rounded down",
        evidence="common practice",
        cites=("PRACTICE",),
    )
    ledger.rests("settings.recovery", "verdict.card_recovery")
    ledger.law(
        "settings.feed_m3_h",
        feed_flow_m3_h,
        product_flow_m3_h="machine.product_flow_m3_h",
        recovery="settings.recovery",
        label="Feed at the recovery to set",
    )
    ledger.law(
        "settings.drain_m3_h",
        drain_flow_m3_h,
        feed_flow_m3_h="settings.feed_m3_h",
        product_flow_m3_h="machine.product_flow_m3_h",
        label="Drain at the recovery to set",
    )
    why = (
        f"{figure.value}: set for {percent_down(kept)}, which is kept in 90 % of the draws, not "
        f"for the {percent_down(design.machine.recovery)} wanted"
    )
    _enter_words(ledger, f"{percent_down(kept)} recovery", why)
    return "settings.recovery", {"feed": "settings.feed_m3_h", "drain": "settings.drain_m3_h"}


def _enter_words(ledger: Ledger, order: str, why: Value) -> None:
    for name, text, label in (("order", order, "Run at"), ("order_why", why, "Why")):
        ledger.put(f"settings.{name}", text, "-", label)
        ledger.rests(f"settings.{name}", "verdict.answer", "machine.recovery")


def _enter_flows(ledger: Ledger, design: DesignBasis) -> None:
    chosen, flows = _enter_order(ledger, design)
    if chosen:
        _enter_gauges(ledger, chosen, flows)
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
    if chosen:
        text = "an imperial gallon is 1.201 US gallons: look which of them a gauge shows"
        ledger.flag(Flag("gallons_differ", "info", text, "settings.feed_gpm"))
    else:  # no flow is shown to set on a machine that must not run
        why = ledger.study().value("settings.order_why")
        ledger.flag(Flag("do_not_run", "warning", f"{DO_NOT_RUN}: {why}", "settings.order"))


def _enter_gauges(ledger: Ledger, chosen: str, flows: Mapping[str, str]) -> None:
    recovery = ledger.number(chosen) or math.nan
    ledger.put(
        "settings.split",
        str(split(recovery)),
        "-",
        "Product to drain",
        method="simplest ratio of whole numbers",
    )
    ledger.rests("settings.split", chosen, again=_split_in_words(chosen))
    for name, key, label in GAUGES:
        source = flows.get(name, f"machine.{key}_m3_h")
        if ledger.number(source) is None:
            continue
        ledger.law(
            f"settings.{name}_l_min",
            flow_l_min,
            flow_m3_h=source,
            label=f"{label} on a gauge in litres",
        )
        ledger.law(
            f"settings.{name}_gpm",
            flow_gpm,
            flow_m3_h=source,
            label=f"{label} on a gauge in US gallons",
        )


def _split_in_words(key: str) -> Callable[[Callable[[str], Any]], Any]:
    """Return the split of a recovery in words; draws of it have no one split."""

    def words(value: Callable[[str], Any]) -> str | None:
        recovery = value(key)
        return str(split(recovery)) if isinstance(recovery, float) else None

    return words


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
    ledger: Ledger, curve: OsmoticCurve, point: MembranePoint, design: DesignBasis
) -> Operation | None:
    """Enter the feed pressure at each temperature, fitted to the one known point."""
    factor = array_factor(point.recovery, point.rho)
    known = _known_point(ledger, curve, factor, design)
    if known is None:
        return None
    water, flow = design.water, design.machine.product_flow_m3_h
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
        if not design.machine.feed_pressure_bar:
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
                "settings.known_pressure_bar",
                f"settings.feed_pressure{key}_temp_c",
                "machine.product_flow_m3_h",
                "machine.recovery",
                *feed_keys(ledger, treated=True),
            )
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


def _enter_table(
    ledger: Ledger, design: DesignBasis, curve: OsmoticCurve | None, known: Operation | None
) -> None:
    """Enter the settings against recovery, at the product flow of the design."""
    product, recycle = design.machine.product_flow_m3_h, design.machine.recycle_flow_m3_h
    table = []
    for recovery in sorted({*RECOVERIES, design.machine.recovery}):
        flows = flow_settings(product, recovery, recycle)
        pressure: float | None = None
        if curve is not None and known is not None:
            osmotic = curve.at(array_factor(recovery, recycle / (flows.feed_m3_h + recycle)))
            wanted = Operation(product, curve.temp_c, 0.0, 0.0, 0.0, osmotic)
            pressure = feed_pressure_kpa(known, wanted) / KPA_PER_BAR
        row: tuple[Value, ...] = (
            recovery,
            str(split(recovery)),
            product,
            flows.feed_m3_h,
            flows.drain_m3_h,
            *(flow_l_min(f) for f in (flows.feed_m3_h, product, flows.drain_m3_h)),
            *(flow_gpm(f) for f in (flows.feed_m3_h, product, flows.drain_m3_h)),
            pressure,
            *_allowed(ledger, design, recovery),
        )
        table.append(row)
    ledger.table(
        Series(
            "settings.by_recovery",
            "Settings against recovery, at the product flow wanted",
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


def _allowed(ledger: Ledger, design: DesignBasis, recovery: float) -> tuple[str, str]:
    """Return whether valves and water allow a recovery, and the same in short."""
    reasons, short = [], []
    valves, water = design.machine.recovery_range, ledger.number("recovery.max")
    inhibited = ledger.number("recovery.max_inhibited")
    if valves and not valves[0] <= recovery <= valves[1]:
        reasons.append("outside the valves")
        short.append("no: valves")
    if water is not None and recovery > water:
        helped = inhibited is not None and recovery <= inhibited
        reasons.append("scales without inhibitor" if helped else "scales")
        short.append("inhibitor only" if helped else "no: scales")
    answer, kept = ledger.figure("verdict.answer"), ledger.number("verdict.card_recovery")
    if answer is not None and answer.value != FITS and recovery > (kept or 0.0):
        reasons.append("not kept in 90 % of the draws")
        short.append("no: verdict" if not short else short[-1])
    last = "yes" if water is not None else "water not judged"
    return ", ".join(reasons) or last, short[-1] if short else last
