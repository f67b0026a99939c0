"""How far the speciation is from measured solubilities, mineral by mineral."""

from functools import lru_cache
from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.core.basis import cites
from pretreat.core.tables import rows

STRONG_MOL_KG = 0.2  # above it the engines part from each other and from measurements


class ErrorRange(Struct, frozen=True):
    """SI that an engine gives where 0 is true, in a range of ionic strength. [log10 units].

    Positive calls scale too early. ``pitzer`` is that of pitzer.dat as this program loads it,
    None where it was not compared; ``supported`` is "wateq4f" (as here), "pitzer" or "either".
    """

    mineral: str
    strength: tuple[float, float]
    ours: tuple[float, float]
    pitzer: tuple[float, float] | None
    supported: str


@lru_cache(maxsize=1)
def error_ranges() -> dict[str, tuple[ErrorRange, ...]]:
    """Return the ranges of data/engine_error.csv by mineral, weakest water first.

    Returns
    -------
    dict of str to tuple of ErrorRange
        One or more per mineral, without gaps between them. [-]
    """
    found: dict[str, list[ErrorRange]] = {}
    for row in rows("engine_error.csv"):
        pitzer = None
        if row["pitzer_low"]:
            pitzer = float(row["pitzer_low"]), float(row["pitzer_high"])
        found.setdefault(row["mineral"], []).append(
            ErrorRange(
                row["mineral"],
                (float(row["strength_from"]), float(row["strength_to"])),
                (float(row["low"]), float(row["high"])),
                pitzer,
                row["supported"],
            )
        )
    return {mineral: tuple(ranges) for mineral, ranges in found.items()}


def error_range(mineral: str, ionic_strength_mol_kg: float) -> ErrorRange:
    """Return the range that holds at an ionic strength; beyond the last, the last.

    Parameters
    ----------
    mineral : str
        Key of data/minerals.csv that has a limit. [-]
    ionic_strength_mol_kg : float
        Ionic strength of the water. [mol/kg]

    Returns
    -------
    ErrorRange
        What was found there. [-]
    """
    ranges = error_ranges()[mineral]
    for found in ranges:
        if ionic_strength_mol_kg < found.strength[1]:
            return found
    return ranges[-1]


@cites("USGS_MYTEST", "measured solubilities, in the range of the mineral")
@cites("FELMY90", "barite in sodium sulfate")
@cites("BARITE_SEAWATER", "barite in seawater")
def engine_error(mineral: str, ionic_strength_mol_kg: Any) -> tuple[Any, Any]:
    """Return the smallest and the largest error of a saturation index of this program.

    The true index lies between ``SI - high`` and ``SI - low``. It is a spread to draw from, never
    a correction to apply.

    Parameters
    ----------
    mineral : str
        Key of data/minerals.csv that has a limit; calcite for LSI and S&DSI too. [-]
    ionic_strength_mol_kg : float or array
        Ionic strength of the water; NaN counts as the strongest. [mol/kg]

    Returns
    -------
    tuple of float or array
        Low and high; positive calls scale too early. [log10 units]

    Raises
    ------
    KeyError
        If the mineral has no limit.
    """
    ranges = error_ranges()[mineral]
    edges = np.array([r.strength[1] for r in ranges[:-1]])
    at = np.searchsorted(edges, np.asarray(ionic_strength_mol_kg, float), side="right")
    low, high = (np.array([r.ours[i] for r in ranges])[at] for i in (0, 1))
    if np.ndim(at) == 0:
        return float(low), float(high)
    return low, high
