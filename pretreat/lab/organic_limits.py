"""Organics of a report against the limits for drinking water, found or not found.

The names stand in data/organics.csv, the limits in data/organic_limits.csv.
"""

import re
from collections.abc import Sequence
from functools import lru_cache

from msgspec import Struct

from pretreat.core.tables import rows
from pretreat.core.text import lazy
from pretreat.core.water import OtherLine, WaterAnalysis
from pretreat.lab.health import Jurisdiction
from pretreat.lab.others import mass_of, plain_name

_TOTAL = lazy(r"\b(sum|total|summe|somme|suma|somma|together)\b")


class OrganicLimit(Struct, frozen=True):
    """A limit for drinking water [mg/L], and how the law words it."""

    limit: float
    printed: str
    law: str
    jurisdiction: str


class Organic(Struct, frozen=True):
    """A substance, or several that a limit takes together.

    ``passes`` is the most of it that membranes are taken to let through, ``takers`` the stages
    of a train that take it, ``way`` what would.
    """

    key: str
    name: str
    pattern: re.Pattern[str]
    adds: bool
    passes: float
    takers: tuple[str, ...]
    way: str
    limits: tuple[OrganicLimit, ...]


class OverLimit(Struct, frozen=True):
    """What a report holds of an organic above a limit, or how coarsely it was looked for [mg/L].

    ``binds`` is False where the body that binds names no limit, and another's is taken.
    """

    organic: Organic
    amount: float
    limit: OrganicLimit
    names: tuple[str, ...]
    shown: str
    binds: bool

    @property
    def times(self) -> float:
        """How many times the limit."""
        return self.amount / self.limit.limit


@lru_cache(maxsize=1)
def organics() -> tuple[Organic, ...]:
    """Return every organic of data/organics.csv that has a limit.

    Returns
    -------
    tuple of Organic
        In the order of the table. [-]
    """
    known: dict[str, list[OrganicLimit]] = {}
    for r in rows("organic_limits.csv"):
        one = OrganicLimit(float(r["limit"]), r["printed"], r["law"], r["jurisdiction"])
        known.setdefault(r["key"], []).append(one)
    return tuple(
        Organic(
            r["key"],
            r["name"],
            lazy(r["pattern"]),
            bool(r["sum"]),
            float(r["passes"]),
            tuple(r["takers"].split()),
            r["way"],
            tuple(known[r["key"]]),
        )
        for r in rows("organics.csv")
        if r["key"] in known
    )


def over_limits(water: WaterAnalysis, whose: Jurisdiction | None = None) -> tuple[OverLimit, ...]:
    """Return the organics that were found above a limit, the farthest over first.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    whose : {"us", "eu", "who"}, optional
        Whose limits bind; where that body names none, the strictest other is taken. [-]

    Returns
    -------
    tuple of OverLimit
        Each line of the report once. [-]
    """
    amounts = [(line, mass_of(line, line.value)) for line in water.others]
    found = [(line, amount) for line, amount in amounts if amount]
    return _told_once(_over(found, whose))


def unseen_limits(water: WaterAnalysis, whose: Jurisdiction | None = None) -> tuple[OverLimit, ...]:
    """Return the organics that were not found with a limit of detection above that of the law.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    whose : {"us", "eu", "who"}, optional
        Whose limits bind. [-]

    Returns
    -------
    tuple of OverLimit
        ``amount`` is the limit of detection. [mg/L]
    """
    amounts = [(line, mass_of(line, line.below)) for line in water.others]
    each = [_over([(line, amount)], whose) for line, amount in amounts if amount]
    return _told_once([one for several in each for one in several])


def _over(lines: Sequence[tuple[OtherLine, float]], whose: Jurisdiction | None) -> list[OverLimit]:
    found = []
    for organic in organics():
        mine = [(n, a) for n, a in lines if organic.pattern.search(plain_name(n.name))]
        limit, binds = _limit_of(organic, whose)
        for group in [mine] if organic.adds else [[one] for one in mine]:
            amount = _together(group)
            if amount > limit.limit:
                names = tuple(line.name for line, _ in group)
                shown = ", ".join(f"{n.name} {n.text} {n.unit}".strip() for n, _ in group)
                found.append(OverLimit(organic, amount, limit, names, shown, binds))
    return found


def _limit_of(organic: Organic, whose: Jurisdiction | None) -> tuple[OrganicLimit, bool]:
    own = [x for x in organic.limits if whose in (None, x.jurisdiction)]
    return min(own or organic.limits, key=lambda x: x.limit), bool(own)


def _together(lines: Sequence[tuple[OtherLine, float]]) -> float:
    """Return a sum; where the report prints one itself, the larger of the two."""
    printed = [a for line, a in lines if _TOTAL.search(plain_name(line.name))]
    single = [a for line, a in lines if not _TOTAL.search(plain_name(line.name))]
    return max([sum(single), *printed])


def _told_once(found: list[OverLimit]) -> tuple[OverLimit, ...]:
    """Return what is over, each line of the report once; law before advice."""
    told: set[str] = set()
    kept = []
    for one in sorted(found, key=lambda x: (not x.binds, x.organic.adds, -x.times)):
        if not told.issuperset(one.names):
            kept.append(one)
            told.update(one.names)
    return tuple(sorted(kept, key=lambda x: -x.times))
