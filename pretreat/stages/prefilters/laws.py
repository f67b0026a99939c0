"""Multimedia and cartridge filters, and the silt density index."""

import math

from pretreat.core.basis import cites
from pretreat.core.errors import OutOfRangeError
from pretreat.stages.bed.media import media
from pretreat.stages.bed.vessels import Vessel, VesselOption, choose_vessel, nominal_vessels

CARTRIDGE_FLOW_M3_H = 0.7  # PRACTICE: 3 to 5 gpm for a 10 in element of 5 µm, the low end
CARTRIDGE_LIFE_MONTHS = 3.0  # PRACTICE: or at +0.7 to 1.0 bar
MULTIMEDIA_BACKWASH_MIN = 15.0  # DAVIS2010, Table 11-10: 10 to 20 min
MULTIMEDIA_RINSE_MIN = 5.0  # PRACTICE
MULTIMEDIA_DEPTH_M = 0.75  # DAVIS2010, Table 11-10: middle of the layers


@cites("PRACTICE", "3 to 5 gpm for a 10 in element")
def cartridges_needed(flow_m3_h: float, flow_each_m3_h: float = CARTRIDGE_FLOW_M3_H) -> int:
    """Return the number of 10 in cartridges for a flow.

    Parameters
    ----------
    flow_m3_h : float
        Flow, above 0. [m³/h]
    flow_each_m3_h : float
        Flow of one cartridge. [m³/h]

    Returns
    -------
    int
        Cartridges. [-]

    Raises
    ------
    OutOfRangeError
        If there is no flow.
    """
    if not (flow_m3_h > 0 and flow_each_m3_h > 0):
        raise OutOfRangeError(f"cartridge filter with {flow_m3_h:g} m3/h: flow must be above 0")
    return math.ceil(flow_m3_h / flow_each_m3_h)


@cites("D4189", "definition")
def silt_density_index(first_s: float, last_s: float, minutes: float = 15.0) -> float:
    """Return the silt density index from the two filling times.

    Parameters
    ----------
    first_s, last_s : float
        Times to fill 500 mL at the start and at the end. [s]
    minutes : float
        Time between them. [min]

    Returns
    -------
    float
        Index. [%/min]

    Raises
    ------
    OutOfRangeError
        If the times do not make sense.
    """
    if not (0 < first_s <= last_s and minutes > 0):
        raise OutOfRangeError(
            f"silt density index from {first_s:g} s and {last_s:g} s: the last filling must take "
            "at least as long as the first"
        )
    return 100.0 * (1.0 - first_s / last_s) / minutes


@cites("DAVIS2010", "Table 11-10")
def try_multimedia_vessel(flow_m3_h: float, vessel: Vessel, number: int) -> VesselOption:
    """Judge a number of vessels filled to the usual depth.

    Parameters
    ----------
    flow_m3_h : float
        Flow while running. [m³/h]
    vessel : Vessel
        The vessel. [-]
    number : int
        Vessels in service side by side. [-]

    Returns
    -------
    VesselOption
        What fails. [-]
    """
    medium = media()["multimedia"]
    area = number * vessel.area_m2
    velocity = flow_m3_h / area
    room = vessel.freeboard_m(MULTIMEDIA_DEPTH_M) / MULTIMEDIA_DEPTH_M
    failures = []
    if velocity > medium["service_max_m_h"]:
        failures.append(f"{velocity:.1f} m/h, at most {medium['service_max_m_h']:g}")
    if room < medium["expansion_target"]:
        failures.append(f"room for {room:.0%} expansion")
    return VesselOption(
        vessel, number, area * MULTIMEDIA_DEPTH_M * 1000.0, area, MULTIMEDIA_DEPTH_M, velocity,
        tuple(failures), (),
    )  # fmt: skip


@cites("DAVIS2010", "Table 11-10")
def choose_multimedia_vessel(flow_m3_h: float) -> tuple[VesselOption, ...]:
    """Choose the vessel of a multimedia filter; the chosen option first, then the others.

    Parameters
    ----------
    flow_m3_h : float
        Flow while running. [m³/h]

    Returns
    -------
    tuple of VesselOption
        Options. [-]
    """
    return choose_vessel(lambda v, n: try_multimedia_vessel(flow_m3_h, v, n), nominal_vessels())
