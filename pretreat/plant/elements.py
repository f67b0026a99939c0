"""The elements on a feed, and the recycle of those that are chosen here."""

from contextlib import suppress
from typing import Any

import numpy as np
from msgspec.structs import replace

from pretreat.core.errors import PretreatError
from pretreat.core.results import Ledger
from pretreat.core.water import WaterAnalysis
from pretreat.lab.site_values import whole_hardness
from pretreat.lab.water_figures import enter_water
from pretreat.membrane.elements.machine import Machine, machine_of, marched, running
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.limits import MembranePoint
from pretreat.plant.raw_water import raw_water
from pretreat.plant.settings.pressure import flag_pressure_read
from pretreat.plant.verdict.gaps import without_ph
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
    from pretreat.membrane.elements.figures import enter_operation

    seasons = None if seasons_c is None else running(machine, feed, seasons_c)[0]
    enter_operation(ledger, machine, run, seasons)
    flag_pressure_read(ledger, design, machine, feed)
    return marched(point, run, machine)


RECYCLE_MARGIN = 0.01  # of the limit, PRACTICE: water behind the train runs a little otherwise


def with_recycle_of_its_own(design: DesignBasis, water: WaterAnalysis | None) -> DesignBasis:
    """Return the design with the recycle that the elements chosen here need.

    Where array or recycle is given in the site file, it stands. The elements are marched on the
    raw water at its operating, coldest and warmest temperature; where they cannot be, the recycle
    is that of elements of equal recovery.

    Parameters
    ----------
    design : DesignBasis
        The engineer's choices. [-]
    water : WaterAnalysis or None
        The analysis. [-]

    Returns
    -------
    DesignBasis
        The same where nothing is chosen here. [-]
    """
    machine = machine_of(design)
    given = design.origin("machine.recycle_flow_m3_h") == "chosen"
    if machine is None or not machine.chosen or given or design.machine.recycle_flow_m3_h:
        return design
    from pretreat.membrane.elements.arrange import metered_m3_h, recycle_needed_m3_h

    duty = machine.duty
    most = machine.limits.element_recovery
    least = recycle_needed_m3_h(machine.array, duty.product_m3_h, duty.recovery, most)
    with suppress(PretreatError):  # said where the elements are run on the water
        least = max(least, _marched_m3_h(machine, design, water))
    own = replace(design.machine, recycle_flow_m3_h=metered_m3_h(least))
    return replace(design, machine=own)


def _marched_m3_h(machine: Machine, design: DesignBasis, water: WaterAnalysis | None) -> float:
    """Return the least recycle at which every element keeps its limits in every season."""
    if water is None:
        return 0.0
    from pretreat.membrane.elements.checks import least_recycle_m3_h
    from pretreat.membrane.elements.feed import element_feed

    water = whole_hardness(water)
    found = without_ph(water, enter_water(Ledger(), water, design.water))
    raw = raw_water(water, found, design)
    alkalinity = float(np.nan_to_num(found.alkalinity_mg_l_caco3))
    limits = replace(
        machine.limits, element_recovery=machine.limits.element_recovery * (1.0 - RECYCLE_MARGIN)
    )
    temps = np.array(sorted({raw.coldest_c, raw.temperature_c, raw.warmest_c}))
    feed = element_feed(found.scaling, temps, alkalinity)
    needed = least_recycle_m3_h(machine.array, machine.membrane, feed, machine.duty, limits)
    return float(np.max(needed))
