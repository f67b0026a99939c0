"""How many regenerations there should have been, against those that the counter shows."""

import datetime
import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from itertools import product
from statistics import median

from msgspec import Struct

from pretreat.core.basis import cites
from pretreat.record.day import Day, Evidence
from pretreat.record.readings import Reading
from pretreat.record.reference import Reference

SECONDS_PER_DAY = 86_400.0
DAYS_PER_WEEK = 7.0
LEAST_DAYS = 28.0  # RECORD_STATISTICS: looked back at least so far
LEAST_EXPECTED = 8.0  # RECORD_STATISTICS: and over at least so many regenerations
FEWEST_COUNTED = 4  # RECORD_STATISTICS: readings of the counter in that time
MISSING, EXTRA = 0.85, 1.3  # RECORD_STATISTICS: share counted of those due, beyond the noise
ONE_OFF = 1.0  # the one under way at either end


class Regenerations(Struct, frozen=True):
    """Regenerations of a span of the record: counted, and due by load, programme and salt.

    ``by_salt`` is how many the salt filled was enough for; None where it cannot be said.
    """

    first: Reading
    last: Reading
    counted: float
    treated_m3: float | None = None
    by_load: float | None = None
    by_programme: float | None = None
    by_salt: float | None = None

    @property
    def days(self) -> float:
        """Length of the span. [d]."""
        return (self.last.when - self.first.when).total_seconds() / SECONDS_PER_DAY


def _counted(readings: Sequence[Reading]) -> list[Reading]:
    """Return the readings of the counter since it was last set back; lone misreadings left out."""
    read = [r for r in readings if math.isfinite(r.get("regenerations"))]
    values = [r.get("regenerations") for r in read]
    kept = [
        r
        for i, r in enumerate(read)
        if i in {0, len(read) - 1}
        or values[i - 1] <= values[i] <= values[i + 1]
        or values[i + 1] < values[i - 1]
    ]
    start = 0
    for i in range(1, len(kept)):
        if kept[i].get("regenerations") < kept[i - 1].get("regenerations"):
            start = i
    return kept[start:]


@cites("RECORD_STATISTICS", "hours run times the median of the feed flow")
def _treated_m3(span: Sequence[Reading], reference: Reference) -> float | None:
    """Return the water treated over a span: hours of the counter, else those of the design."""
    flows = [f for r in span if math.isfinite(f := r.get("feed_flow_m3_h"))]
    flows = flows or [
        f for r in span if math.isfinite(f := r.get("product_flow_m3_h") + r.get("drain_flow_m3_h"))
    ]
    hours = span[-1].get("machine_hours_h") - span[0].get("machine_hours_h")
    if not math.isfinite(hours):
        days = (span[-1].when - span[0].when).total_seconds() / SECONDS_PER_DAY
        hours = days * (reference.hours_per_day or math.nan)
    if not flows or not hours >= 0.0:
        return None
    return hours * median(flows)


def regenerations_of(span: Sequence[Reading], reference: Reference) -> Regenerations:
    """Return the regenerations of a span of readings.

    Parameters
    ----------
    span : sequence of Reading
        Readings by date; the first and the last show the counter. [-]
    reference : Reference
        Design of the site. [-]

    Returns
    -------
    Regenerations
        Counted and due. [-]
    """
    first, last = span[0], span[-1]
    counted = last.get("regenerations") - first.get("regenerations")
    found = Regenerations(first, last, counted)
    treated, capacity = _treated_m3(span, reference), reference.usable_capacity_kg
    per_week, salt = reference.regenerations_per_week, reference.salt_per_regeneration_kg
    filled = [r.get("salt_filled_kg") for r in span[1:] if "salt_filled_kg" in r.values]
    load = _load_mg_l(span, reference)
    due = None
    if treated is not None and capacity and load is not None:
        due = treated * load / 1000.0 / capacity  # g/m3 to kg/m3
    return Regenerations(
        first,
        last,
        counted,
        treated,
        due,
        None if per_week is None else found.days / DAYS_PER_WEEK * per_week,
        math.fsum(filled) / salt if filled and salt else None,
    )


def _load_mg_l(span: Sequence[Reading], reference: Reference) -> float | None:
    """Return the hardness load: as measured where it was, with the design's iron on top."""
    design, hardness = reference.load_mg_l_caco3, reference.raw_hardness_mg_l_caco3
    read = [h for r in span if (h := r.get("raw_hardness_mg_l_caco3")) > 0.0]
    if design is None or hardness is None or not read:
        return design
    return median(read) + max(design - hardness, 0.0)


def last_span(readings: Sequence[Reading], reference: Reference) -> tuple[Reading, ...]:
    """Return the readings of the last weeks over which regenerations can be judged.

    Parameters
    ----------
    readings : sequence of Reading
        Readings by date. [-]
    reference : Reference
        Design of the site. [-]

    Returns
    -------
    tuple of Reading
        Long enough for eight regenerations and four weeks; empty where there are not. [-]
    """
    counted = _counted(readings)
    for start in range(len(counted) - FEWEST_COUNTED, -1, -1):
        if counted[-1].when - counted[start].when < datetime.timedelta(days=LEAST_DAYS):
            continue
        span = _between(readings, counted[start], counted[-1])
        found = regenerations_of(span, reference)
        due = max(found.by_load or 0.0, found.by_programme or 0.0, found.counted)
        if due >= LEAST_EXPECTED:
            return span
    return ()


def _between(readings: Sequence[Reading], first: Reading, last: Reading) -> tuple[Reading, ...]:
    start = bisect_left(readings, first.when, key=_when)
    return tuple(readings[start : bisect_right(readings, last.when, key=_when)])


def _when(taken: Reading) -> datetime.datetime:
    return taken.when


def _verdict(found: Regenerations) -> str:
    """Return "few", "many" or nothing, beyond what the gauges may be off."""
    due = [d for d in (found.by_load, found.by_programme) if d is not None]
    if due and found.counted + ONE_OFF < MISSING * due[0]:  # by load, where it is known
        return "few"
    many = bool(due) and found.counted - ONE_OFF > EXTRA * max(due)
    return "many" if many else ""


@cites("RECORD_STATISTICS", "counted against due, whichever reading begins and ends the span")
def regenerations(day: Day) -> Evidence | None:
    """Judge the regenerations counted against those due by load and by programme."""
    span = last_span(day.tracks.readings, day.reference)
    counted = _counted(span)
    if len(counted) < FEWEST_COUNTED:
        return None
    found = regenerations_of(span, day.reference)
    verdict = _verdict(found)
    ends = product(counted[:2], counted[-2:])  # a single misread counter or hour decides nothing
    if not verdict or any(
        _verdict(regenerations_of(_between(span, a, b), day.reference)) != verdict for a, b in ends
    ):
        return None
    return Evidence(f"regenerations_{verdict}", sentences(found))


def sentences(found: Regenerations) -> tuple[str, ...]:
    """Return what was counted and what was due, in words.

    Parameters
    ----------
    found : Regenerations
        Regenerations of a span. [-]

    Returns
    -------
    tuple of str
        Sentences. [-]
    """
    told = [f"{found.counted:.0f} regenerations counted in {found.days:.0f} days"]
    if found.by_load is not None and found.treated_m3 is not None:
        told.append(f"{found.treated_m3:.0f} m3 of water treated called for {found.by_load:.0f}")
    if found.by_programme is not None:
        told.append(f"the programme is {found.by_programme:.0f}")
    if found.by_salt is not None:
        told.append(f"the salt filled was enough for {found.by_salt:.0f}")
    return tuple(told)
