"""Salt per regeneration: what was filled, over what the counter shows."""

import math
from collections.abc import Sequence

from pretreat.core.basis import cites
from pretreat.record.day import Day, Evidence
from pretreat.record.readings import Reading
from pretreat.record.rules.regenerations import last_span

SALT_OFF = 0.25  # PRACTICE: salt per regeneration against the programme
FEWEST_READINGS = 3
FEWEST_REGENERATIONS = 5.0  # RECORD_STATISTICS: fillings are coarse
FILLINGS = 4.0  # RECORD_STATISTICS: a tank is filled up unevenly: so many fillings tell


def salt(day: Day) -> Evidence | None:
    """Judge salt per regeneration against the programme, of the last weeks."""
    wanted = day.reference.salt_per_regeneration_kg
    used = None if wanted is None else salt_per_regeneration_kg(day)
    if wanted is None or used is None or abs(used / wanted - 1.0) <= SALT_OFF:
        return None
    return Evidence(
        "salt_use",
        (
            f"{used:.1f} kg of salt per regeneration in the last weeks, "
            f"the programme is {wanted:.1f} kg",
        ),
    )


@cites("RECORD_STATISTICS", "salt filled over regenerations counted, since enough fillings ago")
def salt_per_regeneration_kg(day: Day) -> float | None:
    """Return the salt filled per regeneration over the last weeks.

    A tank takes a filling before it shows, so that the span begins and ends at a filling: what
    was filled after its first reading replaces what was used up to the last.

    Parameters
    ----------
    day : Day
        The record up to a date. [-]

    Returns
    -------
    float or None
        None while too few regenerations are counted. [kg]
    """
    counted = [r for r in day.tracks.readings if math.isfinite(r.get("regenerations"))]
    start = _start(counted, day)
    if start is None:
        return None
    done = counted[-1].get("regenerations") - counted[start].get("regenerations")
    filled = _filled(day.tracks.readings, counted[start], counted[-1])
    return filled / done if done >= FEWEST_REGENERATIONS and filled > 0.0 else None


def _start(counted: Sequence[Reading], day: Day) -> int | None:
    """Return the place from which salt is summed: four fillings and a judged span ago."""
    span = last_span(day.tracks.readings, day.reference)
    begins = span[0].when if span else None
    for place in range(len(counted) - FEWEST_READINGS, -1, -1):
        first = counted[place]
        if begins is not None and first.when > begins:
            continue
        fillings = [
            r
            for r in day.tracks.readings
            if first.when < r.when <= counted[-1].when and r.values.get("salt_filled_kg", 0.0) > 0.0
        ]
        if len(fillings) >= FILLINGS:
            return place
    return 0 if len(counted) >= FEWEST_READINGS else None


def _filled(readings: Sequence[Reading], first: Reading, last: Reading) -> float:
    return math.fsum(
        r.values["salt_filled_kg"]
        for r in readings
        if first.when < r.when <= last.when and "salt_filled_kg" in r.values
    )
