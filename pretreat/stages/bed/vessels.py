"""Pressure vessels: geometry, the generic nominal sizes, and the choice among them."""

import math
from collections.abc import Callable, Sequence
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.basis import cites
from pretreat.core.errors import OutOfRangeError
from pretreat.core.tables import rows
from pretreat.core.units import LITRE_PER_CUBIC_FOOT, METRE_PER_FOOT

LITRE_PER_M3 = 1000.0
INCH_PER_FOOT = 12.0
HEAD_DEPTH_PER_DIAMETER = 0.25  # 2:1 elliptical heads, geometry; real vessels differ a little
MOST_IN_PARALLEL = 6
ANY_NUMBER = range(1, MOST_IN_PARALLEL + 1)
NOMINAL_WIDTH_SLACK = 0.04  # the inside of a vessel is one or two percent less than nominal


class Vessel(Struct, frozen=True):
    """A vessel by its nominal size: outside diameter and overall height [m], media [L]."""

    name: str
    diameter_m: float
    height_m: float
    media_l: float

    @property
    def area_m2(self) -> float:
        """Cross section of the nominal diameter; the inside is one or two percent less."""
        return vessel_area_m2(self.diameter_m)

    @property
    def straight_m(self) -> float:
        """Height between the heads, for the bed and the room above it."""
        return self.height_m - 2.0 * HEAD_DEPTH_PER_DIAMETER * self.diameter_m

    def freeboard_m(self, depth_m: float) -> float:
        """Return the room above a bed; gravel fills the lower head."""
        return self.straight_m - depth_m


def vessel_area_m2(diameter_m: float) -> float:
    """Return the cross section of a round vessel.

    Parameters
    ----------
    diameter_m : float
        Diameter. [m]

    Returns
    -------
    float
        Area. [m²]

    Raises
    ------
    OutOfRangeError
        If the diameter is not positive.
    """
    if not diameter_m > 0:
        raise OutOfRangeError(f"vessel diameter is {diameter_m:g} m: must be above 0 m")
    return math.pi / 4.0 * diameter_m**2


@cites("WIRTH2014", "D²/183, inches to square feet")
def quick_area_ft2(diameter_in: float) -> float:
    """Return the area of a vessel by the trade's rule.

    Parameters
    ----------
    diameter_in : float
        Diameter. [in]

    Returns
    -------
    float
        Area. [ft²]
    """
    return diameter_in**2 / 183.0


@lru_cache(maxsize=1)
def nominal_vessels() -> tuple[Vessel, ...]:
    """Return the generic nominal vessels, smallest first.

    Returns
    -------
    tuple of Vessel
        Vessels of data/vessels.csv. [-]
    """
    inch = METRE_PER_FOOT / INCH_PER_FOOT
    return tuple(
        Vessel(
            f"{row['name']} in",
            float(row["diameter_in"]) * inch,
            float(row["height_in"]) * inch,
            float(row["media_ft3"]) * LITRE_PER_CUBIC_FOOT,
        )
        for row in rows("vessels.csv")
    )


def nominal_vessel_of(diameter_m: float) -> Vessel | None:
    """Return the nominal vessel of a diameter, None where none is within 4 %.

    Parameters
    ----------
    diameter_m : float
        Diameter as the site file gives it. [m]

    Returns
    -------
    Vessel or None
        The vessel whose height may be assumed. [-]
    """
    near = min(nominal_vessels(), key=lambda vessel: abs(vessel.diameter_m - diameter_m))
    return near if abs(near.diameter_m - diameter_m) <= NOMINAL_WIDTH_SLACK * diameter_m else None


class VesselOption(Struct, frozen=True):
    """A vessel tried for a duty: how many stand side by side, what fails and what is noted.

    ``media_l`` and ``area_m2`` are sums over the vessels in service.
    """

    vessel: Vessel
    number: int
    media_l: float
    area_m2: float
    depth_m: float
    velocity_m_h: float
    failures: tuple[str, ...]
    notes: tuple[str, ...]
    roomy: bool = True  # room above the bed for nearly all of the expansion wanted

    @property
    def fits(self) -> bool:
        """Tell whether nothing fails."""
        return not self.failures


Trial = Callable[[Vessel, int], VesselOption]


def within_pump(trial: Trial, backwash_m_h: float, pump_m3_h: float) -> Trial:
    """Return the same trial with one more limit: what the pump gives for a backwash.

    Parameters
    ----------
    trial : callable
        Judges a vessel and a number of them. [-]
    backwash_m_h : float
        Velocity of the backwash. [m/h]
    pump_m3_h : float
        Flow of the pump. [m³/h]

    Returns
    -------
    callable
        The stricter trial. [-]
    """

    def stricter(vessel: Vessel, number: int) -> VesselOption:
        option = trial(vessel, number)
        need = backwash_m_h * vessel.area_m2
        if need <= pump_m3_h:
            return option
        failure = f"backwash needs {need:.1f} m3/h, the pump gives {pump_m3_h:.1f}"
        return replace(option, failures=(*option.failures, failure))

    return stricter


def choose_vessel(
    trial: Trial, vessels: Sequence[Vessel], numbers: Sequence[int] = ANY_NUMBER
) -> tuple[VesselOption, ...]:
    """Try every vessel, singly and then side by side, and put the chosen one first.

    The fewest vessels that fit win, and among them the smallest that has the room to expand.

    Parameters
    ----------
    trial : callable
        Judges a vessel and a number of them. [-]
    vessels : sequence of Vessel
        Vessels to try, smallest first. [-]
    numbers : sequence of int
        Numbers side by side to try, fewest first. [-]

    Returns
    -------
    tuple of VesselOption
        The chosen option, then the others in the order tried. [-]

    Raises
    ------
    OutOfRangeError
        If none fits, with what stopped the largest.
    """
    tried: list[VesselOption] = []
    for number in numbers:
        options = [trial(vessel, number) for vessel in vessels]
        tried += options
        fitting = [option for option in options if option.fits]
        best = next((option for option in fitting if option.roomy), next(iter(fitting), None))
        if best is not None:
            return (best, *(option for option in tried if option is not best))
    last = tried[-1]
    fixed = "more vessels, or " if len(numbers) == 1 else ""
    raise OutOfRangeError(
        f"no vessel fits: even {last.number} of {last.vessel.name} fail "
        f"({'; '.join(last.failures)}): {fixed}split the flow over several trains or regenerate "
        "oftener"
    )
