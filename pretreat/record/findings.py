"""Findings: what a record shows, since when, why, and what to look at next."""

import datetime
from collections.abc import Mapping, Sequence
from functools import lru_cache
from types import MappingProxyType

from msgspec import Struct

from pretreat.core.tables import Row, rows
from pretreat.record.day import Day, Evidence, day_of
from pretreat.record.readings import Reading
from pretreat.record.reference import Reference
from pretreat.record.rules.causes import explained, ordered
from pretreat.record.rules.membranes import membranes, pressure, water
from pretreat.record.rules.pretreatment import (
    cartridge,
    channelled,
    chlorine,
    filter_pressure,
    iron,
    resin,
)
from pretreat.record.rules.regenerations import regenerations
from pretreat.record.rules.salt import salt
from pretreat.record.signs import Tracks, growing

# Named at once: chlorine, which destroys membranes, and what its rule reads off two readings that
# agree. The rest is named when two readings in a row show it, unless they are far apart.
AT_ONCE = frozenset({"chlorine", "resin_capacity", "channelled_bed", "iron_passing"})
FAR_APART_DAYS = 10.0  # RECORD_STATISTICS
_RULES = (
    chlorine,
    membranes,
    resin,
    channelled,
    salt,
    regenerations,
    iron,
    cartridge,
    filter_pressure,
    water,
)


class Finding(Struct, frozen=True):
    """One fault: when it was first seen, whether it still is, and what goes with it."""

    key: str
    name: str
    first: datetime.datetime
    standing: bool
    evidence: tuple[str, ...]
    causes: tuple[str, ...]
    following: tuple[str, ...]
    usual: str
    safety: tuple[str, ...] = ()  # topics of data/cautions.csv that its next steps ask for


@lru_cache(maxsize=1)
def _texts() -> Mapping[str, Row]:
    return MappingProxyType({row["key"]: row for row in rows("findings.csv")})


def faults_of(day: Day) -> tuple[Evidence, ...]:
    """Return the faults that a record shows at its last date.

    Parameters
    ----------
    day : Day
        The record up to that date. [-]

    Returns
    -------
    tuple of Evidence
        Faults with what shows them; empty where nothing moved beyond noise. [-]
    """
    found = [evidence for rule in _RULES if (evidence := rule(day)) is not None]
    low = pressure(day)
    if low is not None and not any(e.fault == "cartridge" for e in found):
        found.append(low)
    return tuple(explained(evidence, day) for evidence in found)


def findings(readings: Sequence[Reading], reference: Reference) -> tuple[Finding, ...]:
    """Return what a record shows, each fault once, the first seen first.

    Every date is judged from the readings up to it only, so the first date is the one at
    which a person who ran the program after each reading would have been told.

    Parameters
    ----------
    readings : sequence of Reading
        Readings by date. [-]
    reference : Reference
        Design of the site. [-]

    Returns
    -------
    tuple of Finding
        Findings; empty where nothing moved beyond noise. [-]
    """
    first: dict[str, datetime.datetime] = {}
    latest: dict[str, Evidence] = {}
    before: set[str] = set()
    for found in growing(readings, reference):
        now = {e.fault: e for e in faults_of(day_of(found, reference))}
        for fault, evidence in now.items():
            if fault in before or evidence.at_once or fault in AT_ONCE or _far_apart(found):
                first.setdefault(fault, found.readings[-1].when)
                latest[fault] = evidence
        before = set(now)
    return tuple(
        _finding(key, when, latest[key], standing=key in before) for key, when in first.items()
    )


def _far_apart(found: Tracks) -> bool:
    """Tell whether the last reading is so late that waiting for another would cost too much."""
    days = found.by_name["temperature"].days[-2:]
    return days[-1] - days[0] >= FAR_APART_DAYS


def _parts(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(";"))


def _finding(key: str, when: datetime.datetime, evidence: Evidence, *, standing: bool) -> Finding:
    row = _texts()[key]
    return Finding(
        key,
        evidence.name or row["name"],
        when,
        standing,
        evidence.sentences,
        ordered(_parts(row["causes"]), evidence),
        _parts(row["next"]),
        row["usual"],
        tuple(row["safety"].split()),
    )
