"""The elements on a feed."""

from typing import Any

from pretreat.core.results import Ledger
from pretreat.membrane.elements.figures import enter_operation
from pretreat.membrane.elements.machine import machine_of, marched, running
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.limits import MembranePoint
from pretreat.plant.settings.pressure import flag_pressure_read
from pretreat.site.design import DesignBasis


def machine_on(
    ledger: Ledger,
    feed: FeedWater,
    point: MembranePoint,
    design: DesignBasis,
    seasons_c: Any,
) -> MembranePoint:
    """Enter the elements running on a feed; return the design point with their passage.

    Parameters
    ----------
    ledger : Ledger
        Takes the figures. [-]
    feed : FeedWater
        Water onto the membranes at the operating temperature. [-]
    point : MembranePoint
        The design point. [-]
    design : DesignBasis
        The engineer's choices. [-]
    seasons_c : array or None
        Coldest and warmest water. [°C]

    Returns
    -------
    MembranePoint
        The same point where no element is named. [-]
    """
    machine = machine_of(design)
    if machine is None:
        return point
    run, problem = running(machine, feed)
    if run is None or problem is not None:
        ledger.put("machine.feed_pressure_bar", None, "bar", "Feed pressure of the elements")
        ledger.rests("machine.feed_pressure_bar")
        ledger.flag(*([] if problem is None else [problem]))
        return point
    seasons = None if seasons_c is None else running(machine, feed, seasons_c)[0]
    enter_operation(ledger, machine, run, seasons)
    flag_pressure_read(ledger, design, machine, feed)
    return marched(point, run, machine)
