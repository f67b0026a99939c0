"""The vessel of an iron filter: what it must meet and what is only noted."""

from msgspec import Struct

from pretreat.core.basis import cites
from pretreat.core.errors import OutOfRangeError
from pretreat.stages.bed.media import Medium
from pretreat.stages.bed.vessels import (
    Vessel,
    VesselOption,
)
from pretreat.stages.filters import medium_of_depth_l
from pretreat.stages.iron_filter.laws import FilterLoad, oxidation_run_h, solids_run_h

ROOMY = 0.9  # PRACTICE: nine tenths of the expansion wanted still clean a bed


class FilterDuty(Struct, frozen=True):
    """What a filter's vessel must meet.

    ``run_h`` is the running time wanted between two backwashes; ``depth_m`` the depth of
    medium; ``intermittent`` says that the medium is regenerated from time to time.
    """

    load: FilterLoad
    flow_m3_h: float
    run_h: float
    depth_m: float
    solids_limit_g_m2: float
    intermittent: bool


def run_of(duty: FilterDuty, medium: Medium, area_m2: float) -> tuple[float, float | None]:
    """Return the running hours allowed by solids and by oxidation capacity.

    Parameters
    ----------
    duty : FilterDuty
        Load, flow and depth. [-]
    medium : Medium
        The medium. [-]
    area_m2 : float
        Area of the bed. [m²]

    Returns
    -------
    tuple of float
        Hours until clogged, and until exhausted (None for continuous regeneration). [h]

    Raises
    ------
    OutOfRangeError
        If there is nothing to hold back, or the medium stores no oxidation capacity.
    """
    load_mg_l = duty.load.solids_mg_l
    if not (load_mg_l > 0 and duty.flow_m3_h > 0 and area_m2 > 0):
        raise OutOfRangeError(
            f"iron filter with {duty.flow_m3_h:g} m3/h, {area_m2:g} m2 and {load_mg_l:g} mg/L: "
            "flow, area and iron or manganese must be above 0, else leave it out (include = false)"
        )
    solids = solids_run_h(duty.solids_limit_g_m2, area_m2, duty.flow_m3_h, load_mg_l)
    if not duty.intermittent:
        return solids, None
    used = duty.load.oxidation_l_m3(medium)
    if used == 0:
        return solids, None
    return solids, oxidation_run_h(medium_of_depth_l(area_m2, duty.depth_m), duty.flow_m3_h, used)


@cites("TSS", "OAC 252:626-9-7: 3 gpm/ft2")
def try_filter_vessel(
    duty: FilterDuty, medium: Medium, vessel: Vessel, number: int
) -> VesselOption:
    """Judge a number of vessels with the depth of medium wanted.

    Parameters
    ----------
    duty : FilterDuty
        What must be met. [-]
    medium : Medium
        The medium. [-]
    vessel : Vessel
        The vessel. [-]
    number : int
        Vessels in service side by side. [-]

    Returns
    -------
    VesselOption
        What fails and what is noted. [-]
    """
    area = number * vessel.area_m2
    velocity = duty.flow_m3_h / area
    run = min(r for r in run_of(duty, medium, area) if r is not None)
    room = vessel.freeboard_m(duty.depth_m) / duty.depth_m
    failures, notes = [], []
    if velocity > medium["service_max_m_h"]:
        failures.append(f"{velocity:.1f} m/h, at most {medium['service_max_m_h']:g} m/h")
    if run < duty.run_h:
        failures.append(f"runs {run:.0f} h of the {duty.run_h:.0f} h wanted")
    if room < medium["expansion_target"] / 2.0:
        failures.append(f"room for {room:.0%} expansion of a bed {duty.depth_m:.2f} m deep")
    elif room < medium["expansion_target"]:
        notes.append(f"room for {room:.0%} expansion, {medium['expansion_target']:.0%} wanted")
    return VesselOption(
        vessel,
        number,
        medium_of_depth_l(area, duty.depth_m),
        area,
        duty.depth_m,
        velocity,
        tuple(failures),
        tuple(notes),
        room >= ROOMY * medium["expansion_target"],
    )
