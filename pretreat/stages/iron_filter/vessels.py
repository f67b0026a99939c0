"""The vessel of an iron filter: what it must meet and what is only noted."""

from dataclasses import dataclass

from pretreat.core.basis import cites
from pretreat.stages.bed.media import Medium
from pretreat.stages.bed.vessels import Vessel, VesselOption, choose_vessel, nominal_vessels
from pretreat.stages.iron_filter.laws import (
    FilterLoad,
    oxidation_load_l_m3,
    oxidation_run_h,
    solids_load_mg_l,
    solids_run_h,
)

ROOMY = 0.9  # PRACTICE: nine tenths of the expansion wanted still clean a bed


@dataclass(frozen=True, slots=True)
class FilterDuty:
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
    """
    solids = solids_run_h(
        duty.solids_limit_g_m2, area_m2, duty.flow_m3_h, solids_load_mg_l(duty.load)
    )
    if not duty.intermittent:
        return solids, None
    used = oxidation_load_l_m3(duty.load, medium)
    if used == 0:
        return solids, None
    return solids, oxidation_run_h(area_m2 * duty.depth_m * 1000.0, duty.flow_m3_h, used)


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
        failures.append(f"{velocity:.1f} m/h, at most {medium['service_max_m_h']:g}")
    if run < duty.run_h:
        failures.append(f"runs {run:.0f} h of the {duty.run_h:.0f} h wanted")
    if room < medium["expansion_target"] / 2.0:
        failures.append(f"room for {room:.0%} expansion of a bed {duty.depth_m:.2f} m deep")
    elif room < medium["expansion_target"]:
        notes.append(f"room for {room:.0%} expansion, {medium['expansion_target']:.0%} wanted")
    media_l = area * duty.depth_m * 1000.0
    return VesselOption(
        vessel, number, media_l, area, duty.depth_m, velocity, tuple(failures), tuple(notes),
        room >= ROOMY * medium["expansion_target"],
    )  # fmt: skip


def choose_filter_vessel(duty: FilterDuty, medium: Medium) -> tuple[VesselOption, ...]:
    """Choose the vessels of an iron filter; the chosen option first, then the others.

    Parameters
    ----------
    duty : FilterDuty
        What must be met. [-]
    medium : Medium
        The medium. [-]

    Returns
    -------
    tuple of VesselOption
        Options. [-]
    """
    return choose_vessel(lambda v, n: try_filter_vessel(duty, medium, v, n), nominal_vessels())
