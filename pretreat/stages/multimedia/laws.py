"""The vessel of a multimedia filter, and the silt density index that asks for one."""

from pretreat.core.basis import cites
from pretreat.core.errors import OutOfRangeError
from pretreat.stages.bed.media import media
from pretreat.stages.bed.vessels import Vessel, VesselOption
from pretreat.stages.filters import medium_of_depth_l

BACKWASH_MIN = 15.0  # DAVIS2010, Table 11-10: 10 to 20 min
RINSE_MIN = 5.0  # PRACTICE
DEPTH_M = 0.75  # DAVIS2010, Table 11-10: middle of the layers
BACKWASH_EVERY_D = 1.0  # PRACTICE: runs of 24 to 48 h


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
    room = vessel.freeboard_m(DEPTH_M) / DEPTH_M
    failures = []
    if velocity > medium["service_max_m_h"]:
        failures.append(f"{velocity:.1f} m/h, at most {medium['service_max_m_h']:g} m/h")
    if room < medium["expansion_target"]:
        failures.append(f"room for {room:.0%} expansion")
    media_l = medium_of_depth_l(area, DEPTH_M)
    return VesselOption(vessel, number, media_l, area, DEPTH_M, velocity, tuple(failures), ())
