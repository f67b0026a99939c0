"""Scales that the report does not let one judge, and whether they could limit the recovery."""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.core.tables import analytes, rows
from pretreat.membrane.concentrate import concentrate
from pretreat.membrane.feed import feed_water
from pretreat.membrane.limits import NEEDED, MembranePoint
from pretreat.membrane.recovery import CAP, Limits, excesses
from pretreat.plant.uncertainty.water_draws import Season

NEEDS = {**NEEDED, "calcium_phosphate": ("ca", "po4")}
NEEDS_PH = frozenset({"calcium_phosphate"})  # and calcite
SELDOM_ANALYSED = frozenset({"po4"})  # PRACTICE: absent from most reports of wells
# PRACTICE: a resin takes barium and strontium before calcium, sulfate as it is.
HELD_WITH_CALCIUM = frozenset({"ba", "sr", "so4"})
FULLY_SOFTENED = 0.1  # PRACTICE: of the barium left; with a bypass more is
PARTS, NARROWINGS = 16, 2  # the least level that matters is found to 1/256
MOST_PH = 8.5  # PRACTICE: few wells are above it


class UnjudgedScale(Struct, frozen=True):
    """A scale that was not judged, the ions that are missing, and whether it could limit.

    ``assumed_mg_l`` is what the missing ions were taken as to find out: high, yet plausible.
    ``held`` where a softener takes what is missing; ``from_mg_l`` is how much of the one missing
    ion of the well would limit. [mg/L]
    """

    scale: str
    missing: tuple[str, ...]
    could_limit: bool
    assumed_mg_l: tuple[float, ...] = ()
    held: bool = False
    from_mg_l: float | None = None
    unread: bool = False  # the report prints it in a line that could not be read

    @property
    def usual(self) -> bool:
        """True where a usual analysis holds what is missing."""
        return not SELDOM_ANALYSED.issuperset(self.missing)

    @property
    def names(self) -> str:
        """The missing ions in words."""
        known = {k: analytes()[k].name for k in self.missing if k in analytes()}
        words = [known.get(k, {"ph": "pH"}.get(k, k)) for k in self.missing]
        return " and ".join(words)


@lru_cache(maxsize=1)
def plausible_highs() -> Mapping[str, float]:
    """Return what an ion that was not measured may be, high yet plausible, in mg/L."""
    return {row["key"]: float(row["mg_l"]) for row in rows("plausible_highs.csv")}


def unjudged_scales(
    mg_l: Mapping[str, float],
    water: tuple[float, float | None, float],
    seasons: Sequence[Season],
    limits: Limits,
    point: MembranePoint,
    treated_share: Mapping[str, float] | None = None,
) -> tuple[UnjudgedScale, ...]:
    """Return the scales that a feed does not let one judge.

    Parameters
    ----------
    mg_l : mapping of str to float
        Feed of the membranes; what was not measured (or was not detected without a limit) is
        absent. A non-detect that stands at its limit is there. [mg/L as the ion]
    water : tuple
        Alkalinity [mg/L as CaCO3, NaN where not measured], pH (None where not measured) and
        the temperature to which it belongs. [°C]
    seasons : sequence of Season
        Temperatures of the plant. [-]
    limits : Limits
        The cautious limits. [-]
    point : MembranePoint
        The design point. [-]
    treated_share : mapping of str to float, optional
        What the train leaves of an ion (a softener takes barium and strontium); 1 if
        omitted. [-]

    Returns
    -------
    tuple of UnjudgedScale
        One per scale with a missing ion; ``could_limit`` where it passes its limit at the
        design recovery with plausibly high amounts of what is missing. [-]
    """
    alkalinity, ph, temp_c = water
    no_carbonate = not np.isfinite(alkalinity) or ph is None
    found = []
    for scale in limits.criteria():
        missing = [k for k in NEEDS.get(scale, ()) if k not in mg_l]
        if scale == "calcite" and no_carbonate:
            missing += ["ph" if ph is None else "alkalinity"]
            found.append(UnjudgedScale(scale, tuple(missing), True))
        elif ph is None and scale in NEEDS_PH:
            found.append(UnjudgedScale(scale, ("ph",), True))
        elif missing:
            guessed = {
                k: plausible_highs().get(k, 0.0) * (treated_share or {}).get(k, 1.0)
                for k in missing
            }
            filled = {**mg_l, **guessed}
            known = (0.0 if no_carbonate else alkalinity, MOST_PH if ph is None else ph, temp_c)
            none = any(mg_l.get(k) == 0.0 for k in NEEDS.get(scale, ()))
            over = not none and _passes(scale, filled, known, seasons, limits, point)
            held = "ba" in missing and HELD_WITH_CALCIUM.issuperset(missing)
            held = held and (treated_share or {}).get("ba", 1.0) <= FULLY_SOFTENED

            state = (scale, mg_l, guessed, known)
            most = plausible_highs().get(missing[0], 0.0) if len(missing) == 1 else 0.0
            level = (
                most * _least(state, seasons, limits, point) if over and most and not held else None
            )
            found.append(
                UnjudgedScale(scale, tuple(missing), over, tuple(guessed.values()), held, level)
            )
    return tuple(found)


def _least(
    state: tuple[str, Mapping[str, float], Mapping[str, float], tuple[float, float, float]],
    seasons: Sequence[Season],
    limits: Limits,
    point: MembranePoint,
) -> float:
    """Return the least part of a high level that passes a limit."""
    scale, mg_l, guessed, water = state
    low, high = 0.0, 1.0
    for _ in range(NARROWINGS):
        parts = low + (high - low) * np.arange(1, PARTS + 1) / PARTS
        some = {k: parts * v for k, v in guessed.items()}
        over = _passing(scale, {**mg_l, **some}, water, seasons, limits, point)
        first = int(np.argmax(over)) if over.any() else PARTS - 1
        low, high = (float(parts[first - 1]) if first else low), float(parts[first])
    return high


def _passes(
    scale: str,
    mg_l: Mapping[str, float],
    water: tuple[float, float, float],
    seasons: Sequence[Season],
    limits: Limits,
    point: MembranePoint,
) -> bool:
    return bool(_passing(scale, mg_l, water, seasons, limits, point)[0])


def _passing(
    scale: str,
    mg_l: Mapping[str, Any],
    water: tuple[float, float, float],
    seasons: Sequence[Season],
    limits: Limits,
    point: MembranePoint,
) -> Any:
    """Tell of each of some waters whether a scale passes its limit in any season."""
    alkalinity, ph, measured = water
    temps = np.array([s.temp_c for s in seasons])
    each = {k: np.repeat(v, temps.size) if np.ndim(v) else v for k, v in mg_l.items()}
    waters = max((np.size(v) for v in mg_l.values()), default=1)
    feed = feed_water(each, alkalinity, ph, measured, np.tile(temps, waters))
    recovery = np.full(temps.size * waters, min(point.recovery, CAP))
    over = np.asarray(excesses(concentrate(feed, recovery, *point.membrane), limits)[scale])
    return (~(over <= 0.0)).reshape(waters, -1).any(axis=1)  # what cannot be computed is not safe
