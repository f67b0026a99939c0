"""Spiral-wound elements by nominal size: area, feed channel, limits; data/elements.csv."""

import re
from collections.abc import Mapping
from functools import lru_cache
from math import log
from types import MappingProxyType

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.basis import cites
from pretreat.core.errors import DesignError, check_range, one_of
from pretreat.core.tables import rows
from pretreat.core.text import lazy

AREA_RANGE_M2 = (0.2, 60.0)  # smallest household element to the largest of nominal 8 inch
LENGTH_RANGE_M = (0.2, 1.6)
_SPELLING = lazy(r"[\s\"″]*(?:by|x|×|\*)[\s\"″]*", re.IGNORECASE)


class Element(Struct, frozen=True):
    """One element and what its makers usually allow; every number may be replaced."""

    name: str
    area_m2: float
    length_m: float
    cross_section_m2: float
    hydraulic_diameter_m: float
    max_feed_m3_h: float
    min_concentrate_m3_h: float
    max_drop_bar: float
    max_vessel_drop_bar: float
    vessel_pressure_bar: float
    hold_up_l: float


@cites("SCHOCKMIQUEL1987", "feed channel of a spiral-wound element: height, porosity, diameter")
def channel_section_m2(area_m2: float, length_m: float) -> float:
    """Return the free cross-section of the feed channel.

    ``S / (2 L) h eps`` with a spacer of 0.71 mm and a porosity of 0.89.

    Parameters
    ----------
    area_m2 : float
        Membrane area. [m²]
    length_m : float
        Length of the flow path. [m]

    Returns
    -------
    float
        Cross-section. [m²]
    """
    return area_m2 / (2.0 * length_m) * 0.71e-3 * 0.89


@cites("SCHOCKMIQUEL1987", "flow path and hydraulic diameter of an element of nominal 40 inch")
def _channel() -> tuple[float, float]:
    return 0.9, 1.0e-3  # flow path and hydraulic diameter, m


@lru_cache(maxsize=1)
def elements() -> Mapping[str, Element]:
    """Return the usual nominal sizes by name.

    Returns
    -------
    mapping of str to Element
        For example "4x40": nominal diameter and length in inches. [-]
    """
    length, diameter = _channel()
    numbers = (
        "max_feed_m3_h",
        "min_concentrate_m3_h",
        "max_drop_bar",
        "max_vessel_drop_bar",
        "vessel_pressure_bar",
        "hold_up_l",
    )
    found = {}
    for row in rows("elements.csv"):
        area = float(row["area_m2"])
        found[row["name"]] = Element(
            name=row["name"],
            area_m2=area,
            length_m=length,
            cross_section_m2=channel_section_m2(area, length),
            hydraulic_diameter_m=diameter,
            **{name: float(row[name]) for name in numbers},
        )
    return MappingProxyType(found)


def element(
    name: str | None = None, *, area_m2: float | None = None, length_m: float | None = None
) -> Element:
    """Return an element by nominal size, by area, or by both.

    Limits of flow and pressure are those of the nominal size; where only the area is given,
    those of the size whose area is nearest. The channel's cross-section follows the area.

    Parameters
    ----------
    name : str, optional
        Nominal diameter x length in inches, such as "4x40". [-]
    area_m2 : float, optional
        Membrane area, 0.2 to 60; the usual area of the size where left out. [m²]
    length_m : float, optional
        Length of the flow path, 0.2 to 1.6; 0.9 for nominal 40 inch. [m]

    Returns
    -------
    Element
        The element. [-]

    Raises
    ------
    DesignError
        If neither is given, or the name is not a known size.
    OutOfRangeError
        If area or length is outside its range.
    """
    known = elements()
    if name is None and area_m2 is None:
        raise DesignError(
            f"no element: give a nominal size ({', '.join(known)}) or the membrane area in m2"
        )
    if area_m2 is not None:
        check_range("element area", area_m2, AREA_RANGE_M2, "m2", "PRACTICE")
    if length_m is not None:
        check_range("length of the flow path", length_m, LENGTH_RANGE_M, "m", "PRACTICE")
    base = _by_name(name) if name is not None else _nearest(float(area_m2 or 0.0))
    area = base.area_m2 if area_m2 is None else area_m2
    length = base.length_m if length_m is None else length_m
    label = base.name if name is not None else f"{area:g} m2"
    return replace(
        base,
        name=label,
        area_m2=area,
        length_m=length,
        cross_section_m2=channel_section_m2(area, length),
    )


def _by_name(name: str) -> Element:
    known = elements()
    plain = _SPELLING.sub("x", name.strip().lower().rstrip('"″ in'))
    if plain not in known:
        raise DesignError(
            f"element '{name}' is no size known here ({', '.join(known)})"
            f"{one_of(plain, list(known))} Give the element area for another size"
        )
    return known[plain]


def _nearest(area_m2: float) -> Element:
    """Choose by the ratio of areas, for sizes grow by factors."""
    return min(elements().values(), key=lambda e: abs(log(area_m2 / e.area_m2)))
