"""Backwash of a bed: what the pump must give, and what the room above the bed allows."""

from msgspec import Struct

from pretreat.core.basis import cites
from pretreat.stages.bed.hydraulics import bed_expansion, velocity_for_expansion_m_h
from pretreat.stages.bed.media import Medium

LEAST_SHARE_OF_TARGET = 0.5  # PRACTICE: below half the target the bed is not cleaned


class Backwash(Struct, frozen=True):
    """Velocities of a backwash [m/h] and the room there is, as expansion [-].

    ``needed`` reaches the target expansion in the warmest water; ``largest`` fills the room
    above the bed in the coldest water, None where the height of the vessel is not known.
    """

    needed_m_h: float
    largest_m_h: float | None
    room: float | None
    expansion_coldest: float

    @property
    def conflict(self) -> bool:
        """Tell whether no single flow cleans in summer and keeps the medium in winter."""
        return self.largest_m_h is not None and self.needed_m_h > self.largest_m_h


@cites("HEN2011", "Eq. 12.53 and 12.55")
def backwash_of(
    medium: Medium,
    depth_m: float,
    freeboard_m: float | None,
    *,
    coldest_c: float,
    warmest_c: float,
) -> Backwash:
    """Return what a backwash needs and what it may be.

    Parameters
    ----------
    medium : Medium
        The medium. [-]
    depth_m : float
        Settled depth. [m]
    freeboard_m : float or None
        Room above the bed, None where it is not known. [m]
    coldest_c, warmest_c : float
        Coldest and warmest water of the year. [°C]

    Returns
    -------
    Backwash
        Velocities and room. [-]

    Raises
    ------
    OutOfRangeError
        If there is no room above the bed.
    """
    grains = medium.settled
    needed = velocity_for_expansion_m_h(grains, medium["expansion_target"], warmest_c)
    room = None if freeboard_m is None else freeboard_m / depth_m
    largest = None if room is None else velocity_for_expansion_m_h(grains, room, coldest_c)
    return Backwash(needed, largest, room, bed_expansion(grains, needed, coldest_c))
