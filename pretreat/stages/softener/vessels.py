"""The vessel of a softener: what it must meet and what is only noted."""

from msgspec import Struct

from pretreat.core.basis import cites
from pretreat.stages.bed.media import media
from pretreat.stages.bed.vessels import (
    Vessel,
    VesselOption,
)
from pretreat.stages.softener.laws import LOW_VELOCITY_M_H

ROOMY = 0.9  # PRACTICE: nine tenths of the expansion wanted still clean a bed
LEAST_ROOM = 0.25  # PRACTICE: half of the usual expansion of 50 %


class SoftenerDuty(Struct, frozen=True):
    """What a softener's vessel must meet: resin [L] and the flow through it [m³/h]."""

    resin_l: float
    flow_m3_h: float


@cites("TSS", "7 gpm/ft2, 3 ft of resin")
@cites("DAVIS2010", "Table 8-3, p. 8-20")
def try_softener_vessel(duty: SoftenerDuty, vessel: Vessel, number: int) -> VesselOption:
    """Judge a number of vessels, each filled with its nominal volume.

    Parameters
    ----------
    duty : SoftenerDuty
        What must be met. [-]
    vessel : Vessel
        The vessel. [-]
    number : int
        Vessels in service side by side. [-]

    Returns
    -------
    VesselOption
        What fails and what is noted. [-]
    """
    resin = media()["softening resin"]
    media_l, area = number * vessel.media_l, number * vessel.area_m2
    depth = media_l / 1000.0 / area
    velocity = duty.flow_m3_h / area
    room = vessel.freeboard_m(depth) / depth
    failures, notes = [], []
    if media_l < duty.resin_l:
        failures.append(f"holds {media_l:.0f} L of the {duty.resin_l:.0f} L needed")
    if velocity > resin["service_max_m_h"]:
        failures.append(f"{velocity:.1f} m/h, at most {resin['service_max_m_h']:g} m/h")
    if room < LEAST_ROOM:
        failures.append(f"room for {room:.0%} expansion, at least {LEAST_ROOM:.0%}")
    if depth < resin["depth_min_m"]:
        notes.append(f"bed {depth:.2f} m deep; the code for municipal units asks 0.914 m")
    if velocity < LOW_VELOCITY_M_H:
        notes.append(f"{velocity:.1f} m/h; below {LOW_VELOCITY_M_H:g} m/h the flow may channel")
    if room < resin["expansion_target"]:
        notes.append(f"room for {room:.0%} expansion, 50 % is usual")
    return VesselOption(
        vessel,
        number,
        media_l,
        area,
        depth,
        velocity,
        tuple(failures),
        tuple(notes),
        room >= ROOMY * resin["expansion_target"],
    )
