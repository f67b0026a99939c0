"""Set points: flows on the gauges, pressures to expect, recoveries allowed, start and stop."""

from pretreat.core.basis import Flag
from pretreat.core.results import Ledger
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.gauges.gauge_laws import flow_on_gauge_gpm, volume_us_gal
from pretreat.membrane.limits import MembranePoint
from pretreat.membrane.scaling_laws import highest_recovery
from pretreat.plant.clock import enter_clock_times
from pretreat.plant.hand_sheets import enter_record_sheet, enter_steps, gauges_left_out
from pretreat.plant.osmotic_figures import enter_osmotic
from pretreat.plant.settings.by_recovery import enter_by_recovery
from pretreat.plant.settings.order import DO_NOT_RUN, Order, enter_gauges, enter_order
from pretreat.plant.settings.pressure import enter_pressure
from pretreat.plant.slips import enter_site_slips
from pretreat.plant.summary import percent_down
from pretreat.site.design import DesignBasis


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
    pressure = None if curve is None else enter_pressure(ledger, curve, point, design, order)
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
