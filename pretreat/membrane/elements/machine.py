"""The machine that a site file describes: array, membrane, pump, limits of use."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.basis import Flag
from pretreat.core.errors import PretreatError
from pretreat.membrane.balance import MarchedPassage
from pretreat.membrane.elements.permeability import Membrane
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.limits import MembranePoint
from pretreat.site.design import DesignBasis
from pretreat.site.design import Machine as Choices

if TYPE_CHECKING:
    from pretreat.membrane.elements.array import Array
    from pretreat.membrane.elements.checks import MachineLimits
    from pretreat.membrane.elements.energy import PumpSet
    from pretreat.membrane.elements.operate import Duty, Operation

MARCHED = np.linspace(0.05, 0.95, 37)  # recoveries at which the elements are marched


class Machine(Struct, frozen=True):
    """Elements, membrane and pump of a site, and the duty it is to do."""

    array: "Array"
    membrane: Membrane
    pump: "PumpSet"
    limits: "MachineLimits"
    duty: "Duty"
    chosen: bool  # the array was chosen here, not given


def machine_of(design: DesignBasis) -> Machine | None:
    """Return the machine of a site, None where neither element size nor area is given.

    Parameters
    ----------
    design : DesignBasis
        The engineer's choices. [-]

    Returns
    -------
    Machine or None
        What is not given has the usual value. [-]

    Raises
    ------
    DesignError
        If the size is not known, or the array cannot be built.
    """
    own = design.machine
    if not own.elements_known:
        return None
    from pretreat.membrane.elements.arrange import choose_array
    from pretreat.membrane.elements.array import Array, check_array
    from pretreat.membrane.elements.checks import usual_limits
    from pretreat.membrane.elements.element import element
    from pretreat.membrane.elements.energy import usual_pump
    from pretreat.membrane.elements.operate import Duty

    box = element(own.element, area_m2=own.element_area_m2)
    if own.array is None:
        array = choose_array(
            box, own.product_flow_m3_h, own.recovery, own.feed_kind, own.flux_l_m2_h
        ).array
    else:
        array = Array(box, own.array, own.elements_per_vessel or 1)
    array = _given(
        array, product_bar=own.product_pressure_bar, interstage_bar=own.interstage_loss_bar
    )
    check_array(array)
    limits = _given(
        usual_limits(own.feed_kind),
        element_recovery=own.max_element_recovery,
        vessel_pressure_bar=own.vessel_pressure_bar,
    )
    pump = _given(
        usual_pump(),
        suction_bar=own.suction_pressure_bar,
        pump_efficiency=own.pump_efficiency,
        motor_efficiency=own.motor_efficiency,
    )
    duty = Duty(own.product_flow_m3_h, own.recovery, own.recycle_flow_m3_h)
    return Machine(array, _membrane(own), pump, limits, duty, own.array is None)


def _given(record: Any, **values: Any) -> Any:
    """Return a record with the values that are given in place of its own."""
    return replace(record, **{k: v for k, v in values.items() if v is not None})


def _membrane(own: Choices) -> Membrane:
    salt, one_by_one = own.salt_permeability_lmh, {}
    if isinstance(salt, Mapping):
        one_by_one = {k: v for k, v in salt.items() if k != "default"}
        salt = salt.get("default")
    found: Membrane = _given(
        Membrane(wall=own.wall, salt_lmh_of=one_by_one),
        water_lmh_bar=own.water_permeability_lmh_bar,
        salt_lmh=salt,
        drop_factor=own.drop_factor,
    )
    return found


def running(
    machine: Machine | None, feed: FeedWater, temps_c: Any = None
) -> tuple["Operation | None", Flag | None]:
    """Return the machine running on a feed, or the flag that says why it does not.

    Parameters
    ----------
    machine : Machine or None
        The machine. [-]
    feed : FeedWater
        What enters the membranes; a single water. [-]
    temps_c : array, optional
        Temperatures of the same water; that of the feed if omitted. [°C]

    Returns
    -------
    tuple
        The operation or None; the flag ``machine_not_settled`` or None. [-]
    """
    if machine is None:
        return None, None
    from pretreat.membrane.elements.feed import element_feed
    from pretreat.membrane.elements.operate import operate

    alkalinity = float(np.nan_to_num(np.asarray(feed.alkalinity_mg_l_caco3, float)))
    temps = feed.temp_c if temps_c is None else temps_c
    try:
        water = element_feed(feed.mg_l, temps, alkalinity)
        return operate(machine.array, machine.membrane, water, machine.duty), None
    except PretreatError as problem:
        text = f"the elements cannot be run on this water: {problem}"
        return None, Flag("machine_not_settled", "warning", text, "machine.feed_pressure_bar")


def marched(
    point: MembranePoint, found: "Operation | None", machine: Machine | None
) -> MembranePoint:
    """Return the design point with the passage of each ion that the elements give.

    Where recovery is swept the elements are marched anew: the same product, the same share
    recycled. Recoveries that they cannot run at have the passage of the nearest that they can.

    Parameters
    ----------
    point : MembranePoint
        Recovery, recycle, and the passage of the site file. [-]
    found : Operation or None
        The machine running; None leaves the point as it is. [-]
    machine : Machine or None
        Its elements. [-]

    Returns
    -------
    MembranePoint
        The design point. [-]
    """
    if found is None or machine is None:
        return point
    design = {k: float(v) for k, v in found.passage.items()}
    recoveries, table = _against_recovery(found, machine, design)
    return replace(point, passage=MarchedPassage(design, recoveries, table))


def _against_recovery(
    found: "Operation", machine: Machine, design: Mapping[str, float]
) -> tuple[list[float], dict[str, list[float]]]:
    """March the elements at recoveries up to the highest; the design is one of them."""
    from pretreat.membrane.elements.operate import Duty, operate

    duty = found.duty
    here, rho = float(np.asarray(duty.recovery)), float(np.asarray(duty.rho))
    fresh = np.asarray(duty.product_m3_h) / MARCHED
    swept = Duty(duty.product_m3_h, MARCHED, fresh * rho / (1.0 - rho))
    wide = replace(
        found.fresh,
        amounts=np.repeat(found.fresh.amounts[:, None], MARCHED.size, axis=1),
        temp_c=np.full(MARCHED.size, float(np.asarray(found.fresh.temp_c))),
    )
    try:
        run = operate(machine.array, machine.membrane, wide, swept)
    except PretreatError:  # flows beyond any machine: what the design gives is all there is
        return [here], {k: [v] for k, v in design.items()}
    rows = {
        float(y): {k: float(v[i]) for k, v in run.passage.items()}
        for i, y in enumerate(MARCHED)
        if run.settled[i]
    }
    rows[here] = dict(design)
    recoveries = sorted(rows)
    return recoveries, {k: [rows[y][k] for y in recoveries] for k in design}
