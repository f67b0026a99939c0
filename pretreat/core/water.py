"""One validated water in canonical units."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.core.basis import Flag

EMPTY: Mapping[str, float] = MappingProxyType({})
EMPTY_LIMITS: Mapping[str, float | None] = MappingProxyType({})
NO_LINES: Mapping[str, str] = MappingProxyType({})
TEST_KIT = "test kit"  # the sample of a water that no laboratory analysed


def nothing() -> Mapping[str, float]:
    """Return the shared empty mapping (a default that cannot be changed)."""
    return EMPTY


def no_limits() -> Mapping[str, float | None]:
    """Return the shared empty mapping of limits."""
    return EMPTY_LIMITS


def no_lines() -> Mapping[str, str]:
    """Return the shared empty mapping of lines."""
    return NO_LINES


class Reading(Struct, frozen=True):
    """The trail of one result: where it stands, what is printed, what was made of it."""

    place: str  # "line 7" or "Sheet1!C12"
    analyte: str  # key of data/analytes.csv or of a property such as "ph"
    name: str  # the analyte as printed
    text: str  # the value as printed
    unit: str  # the unit as printed, or as assumed
    basis: str  # "as N", or empty
    fraction: str  # "total", "dissolved" or empty
    factor: float | None  # value x factor = result; None where the step is not a product
    value: float | None  # result in the canonical unit; None for a non-detect
    below: float | None = None  # the limit of a non-detect, canonical unit
    used: bool = True  # False where another row was preferred
    note: str = ""


class OtherLine(Struct, frozen=True):
    """A result of a report that no analyte of ours was made of."""

    name: str  # as printed
    text: str  # the value as printed
    unit: str  # as printed
    value: float | None = None  # as printed; None where the cell holds a word
    above: bool = False  # more than the method could tell
    known: bool = False  # its name is an analyte of ours, its result could not be used
    below: float | None = None  # limit of detection as printed, where it was not found


class WaterAnalysis(Struct, frozen=True):
    """One sample of one water as a lab measured it.

    ``mg_l`` holds the detected results, mg/L as the ion, by the keys of data/analytes.csv;
    for fe, mn and al the dissolved result where it is given, else the total.
    ``below_mg_l`` holds the non-detects with their limit, None where the lab gives none.
    ``unread`` holds what the report prints in a line that could not be read: the line by the key.
    ``properties`` holds what is not an ion: turbidity_ntu, toc_mg_l, h2s_mg_l,
    hardness_mg_l_caco3 (as printed), free_chlorine_mg_l, sdi, tds_mg_l, ec_us_cm.
    ``below_properties`` holds the limits of those that were not detected. ``others`` holds what
    was found and is none of these.
    """

    sample: str
    source: str
    ph: float | None = None
    ph_kind: Literal["field", "lab", "unknown"] = "unknown"
    ph_temperature_c: float | None = None
    temperature_c: float | None = None
    alkalinity_mg_l_caco3: float | None = None
    mg_l: Mapping[str, float] = field(default_factory=nothing)
    below_mg_l: Mapping[str, float | None] = field(default_factory=no_limits)
    total_mg_l: Mapping[str, float] = field(default_factory=nothing)
    dissolved_mg_l: Mapping[str, float] = field(default_factory=nothing)
    properties: Mapping[str, float] = field(default_factory=nothing)
    readings: tuple[Reading, ...] = ()
    flags: tuple[Flag, ...] = ()
    below_properties: Mapping[str, float | None] = field(default_factory=no_limits)
    samples: tuple[str, ...] = field(default=())
    date: str = ""
    others: tuple[OtherLine, ...] = ()
    unread: Mapping[str, str] = field(default_factory=no_lines)

    def get(self, key: str) -> float | None:
        """Return the detected concentration of an analyte, mg/L as the ion, or None."""
        return self.mg_l.get(key)

    def measured(self, key: str) -> bool:
        """Tell whether the lab looked for the analyte or property, detected or not."""
        return any(
            key in found
            for found in (self.mg_l, self.below_mg_l, self.properties, self.below_properties)
        )

    def with_flags(self, *flags: Flag) -> "WaterAnalysis":
        """Return the same water with more flags."""
        return replace(self, flags=(*self.flags, *flags))
