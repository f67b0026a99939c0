"""How far recovery may go: the first crossing of each scaling limit, counted from zero."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from pretreat.chemistry.indexes import LSI_TDS_LIMIT_MG_L
from pretreat.chemistry.species import Array
from pretreat.membrane.concentrate import (
    NO_PASSAGE,
    Concentrate,
    FeedWater,
    Passage,
    concentrate,
)
from pretreat.tables import rows

CAP = 0.95  # recoveries above this are not looked at
GRID = (0.0, 0.15, 0.3, 0.45, 0.55, 0.65, 0.72, 0.78, 0.83, 0.87, 0.9, 0.925, 0.94, CAP)
REFINEMENTS = 40
INDEX_TOLERANCE = 2e-4  # the index at the reported maximum meets its limit this closely
NONE = "none"


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits in force: index of carbonate, and SI of the minerals (log10 of saturation)."""

    lsi: float
    sdsi: float
    si: Mapping[str, float]

    def criteria(self) -> tuple[str, ...]:
        """Return the names of the scales, calcite first."""
        return ("calcite", *self.si)


@lru_cache(maxsize=4)
def default_limits(inhibitor: bool) -> Limits:
    """Return the default limits of data/limits.csv.

    Parameters
    ----------
    inhibitor : bool
        With an inhibitor (common practice, no source) or without (saturation). [-]

    Returns
    -------
    Limits
        The limits. [-]
    """
    column = "with_inhibitor" if inhibitor else "without_inhibitor"
    table = {r["criterion"]: float(r[column]) for r in rows("limits.csv")}
    index = table.pop("calcite")
    return Limits(index, index, {k: float(np.log10(v / 100.0)) for k, v in table.items()})


def excesses(brine: Concentrate, limits: Limits) -> dict[str, Array]:
    """Return by how much each index exceeds its limit; NaN where an ion is not known.

    Parameters
    ----------
    brine : Concentrate
        Concentrate at one or many recoveries. [-]
    limits : Limits
        Limits in force. [-]

    Returns
    -------
    dict of str to array
        Index minus limit, in log10 units, by scale. [-]
    """
    above = brine.tds_mg_l > LSI_TDS_LIMIT_MG_L
    found = {"calcite": np.where(above, brine.sdsi() - limits.sdsi, brine.lsi() - limits.lsi)}
    for mineral, limit in limits.si.items():
        found[mineral] = brine.speciation.si(mineral) - limit
    return found


@dataclass(frozen=True, slots=True)
class RecoveryLimit:
    """The largest recovery of each water, the scale that stops it, and how it stops.

    ``at_step`` is True where the limit falls inside the step from LSI to S&DSI;
    ``supersaturated`` where the feed is over a limit already.
    """

    maximum: Array
    limited_by: Any  # array of names
    supersaturated: Any
    at_step: Any


Evaluate = Callable[[FeedWater, Any, Any], tuple[Array, Any, Array]]


def recovery_limit(
    feed: FeedWater,
    limits: Limits,
    passage: Passage = NO_PASSAGE,
    rho: float = 0.0,
    only: Sequence[str] | None = None,
    wall_factor: float = 1.0,
) -> RecoveryLimit:
    """Return the first recovery, from zero up, at which a scale reaches its limit.

    Parameters
    ----------
    feed : FeedWater
        Feeds; one-dimensional arrays or a single water. [-]
    limits : Limits
        Limits in force. [-]
    passage : mapping of str to float
        Salt passage by analyte key. [-]
    rho : float
        Recycle / (fresh feed + recycle). [-]
    only : sequence of str, optional
        One scale per water, the only one looked at there; all scales if omitted. [-]
    wall_factor : float
        Concentration polarisation; 1 is bulk. [-]

    Returns
    -------
    RecoveryLimit
        0 where the feed is over already, 0.95 and "none" where nothing is reached, NaN
        where the water could not be computed. [-]
    """
    chosen = None if only is None else np.array([limits.criteria().index(k) for k in only])

    def at(waters: FeedWater, recovery: Any, index: Any) -> tuple[Array, Any, Array]:
        brine = concentrate(waters, recovery, passage, rho, wall_factor)
        pick = None if chosen is None else chosen[index]
        return _worst(excesses(brine, limits), brine, pick)

    everyone = np.arange(np.size(feed.ph)).reshape(np.shape(feed.ph))
    worst, which, sound = at(_with_axis(feed), np.array(GRID), everyone[..., None])
    return _first_crossing(feed, at, worst, which, sound)


def scale_limits(
    feed: FeedWater,
    limits: Limits,
    passage: Passage = NO_PASSAGE,
    rho: float = 0.0,
    wall_factor: float = 1.0,
) -> dict[str, float]:
    """Return the largest recovery of a single water by each scale alone.

    Parameters
    ----------
    feed : FeedWater
        A single water. [-]
    limits : Limits
        Limits in force. [-]
    passage : mapping of str to float
        Salt passage by analyte key. [-]
    rho : float
        Recycle / (fresh feed + recycle). [-]
    wall_factor : float
        Concentration polarisation; 1 is bulk. [-]

    Returns
    -------
    dict of str to float
        Recovery by scale; NaN where an ion of the scale is not known. [-]
    """
    names = limits.criteria()
    many = _mapped(feed, lambda v: np.broadcast_to(v, (len(names),)))
    found = recovery_limit(many, limits, passage, rho, names, wall_factor)
    known = excesses(concentrate(feed, 0.0, passage, rho, wall_factor), limits)
    return {
        k: float(v) if np.isfinite(known[k]) else float("nan")
        for k, v in zip(names, found.maximum, strict=True)
    }


def _worst(found: Mapping[str, Array], brine: Concentrate, pick: Any) -> tuple[Array, Any, Array]:
    """Return the largest excess, its scale, and where the water was computed."""
    shape = np.shape(brine.ph)
    names = np.array(list(found))
    stack = np.stack([np.broadcast_to(v, shape) for v in found.values()])
    filled = np.where(np.isfinite(stack), stack, -np.inf)
    best = np.argmax(filled, axis=0) if pick is None else np.broadcast_to(pick, shape)
    worst = np.take_along_axis(filled, best[None], axis=0)[0]
    return worst, names[best], np.broadcast_to(brine.speciation.converged, shape)


def _with_axis(feed: FeedWater) -> FeedWater:
    """Give every array of a feed a last axis for the recoveries."""

    def wide(value: Any) -> Any:
        return np.asarray(value, float)[..., None]

    return _mapped(feed, wide)


def _mapped(feed: FeedWater, change: Callable[[Any], Any]) -> FeedWater:
    s = feed.speciation
    fields = {
        name: change(getattr(s, name))
        for name in s.__dataclass_fields__
        if name not in {"totals_mol_kg", "ln_activity", "molality"}
    }
    moved = type(s)(
        totals_mol_kg={k: change(v) for k, v in s.totals_mol_kg.items()},
        ln_activity={k: change(v) for k, v in s.ln_activity.items()},
        molality={},
        **fields,
    )
    return FeedWater(
        {k: change(v) for k, v in feed.mg_l.items()},
        change(feed.alkalinity_mg_l_caco3),
        change(feed.temp_c),
        moved,
    )


def _first_crossing(
    feed: FeedWater, at: Evaluate, worst: Array, which: Any, sound: Array
) -> RecoveryLimit:
    shape = worst.shape[:-1]
    worst, which = worst.reshape(-1, len(GRID)), which.reshape(-1, len(GRID))
    usable = sound.reshape(-1, len(GRID))[:, 0] & np.any(np.isfinite(worst), axis=1)
    over = worst > 0
    first = np.argmax(over, axis=1)
    crossed = over.any(axis=1)
    start = crossed & (first == 0)
    maximum = np.where(start, 0.0, CAP)
    named = np.where(crossed, which[np.arange(len(first)), first], NONE).astype(object)
    step = np.zeros(len(first), bool)
    todo = np.flatnonzero(crossed & ~start & usable)
    if todo.size:
        low = np.array(GRID)[first[todo] - 1]
        high = np.array(GRID)[first[todo]]
        some = _mapped(feed, lambda v: np.broadcast_to(v, shape).ravel()[todo])
        below = (low, worst[todo, first[todo] - 1])
        above = (high, worst[todo, first[todo]])
        root, name, gap = _refine(some, at, below, above, todo)
        maximum[todo], named[todo] = root, name
        step[todo] = gap
    maximum = np.where(usable, maximum, np.nan)
    named = np.where(usable, named, "")
    return RecoveryLimit(
        maximum.reshape(shape),
        named.reshape(shape),
        (start & usable).reshape(shape),
        step.reshape(shape),
    )


def _refine(
    feed: FeedWater,
    at: Evaluate,
    low: tuple[Array, Array],
    high: tuple[Array, Array],
    index: Any,
) -> tuple[Array, Any, Any]:
    """Close the bracket in the logarithm of the concentration factor (Illinois' rule).

    The lower end is always below the limit and the upper end above it, so at a step of the
    index the answer lands on the step.
    """
    a, fa = -np.log1p(-low[0]), np.where(np.isfinite(low[1]), low[1], -1.0)
    b, fb = -np.log1p(-high[0]), high[1].copy()
    names = np.full(len(a), "", dtype=object)
    side = np.zeros(len(a))
    low_value = fa.copy()
    high_value = fb.copy()
    active = np.arange(len(a))
    for turn in range(REFINEMENTS):
        ia = active
        span = b[ia] - a[ia]
        mid = b[ia] - fb[ia] * span / (fb[ia] - fa[ia])
        mid = np.where(turn % 3 == 2, 0.5 * (a[ia] + b[ia]), mid)
        mid = np.clip(mid, a[ia] + 0.001 * span, b[ia] - 0.001 * span)
        some = _mapped(feed, lambda v, ia=ia: np.broadcast_to(v, a.shape)[ia])  # type: ignore[misc]
        value, which, _ = at(some, -np.expm1(-mid), index[ia])
        value = np.where(np.isfinite(value), value, -1.0)
        up = value > 0
        fa[ia] = np.where(up, np.where(side[ia] > 0, fa[ia] / 2, fa[ia]), value)
        fb[ia] = np.where(up, value, np.where(side[ia] < 0, fb[ia] / 2, fb[ia]))
        a[ia], b[ia] = np.where(up, a[ia], mid), np.where(up, mid, b[ia])
        low_value[ia] = np.where(up, low_value[ia], value)
        high_value[ia] = np.where(up, value, high_value[ia])
        side[ia] = np.where(up, 1.0, -1.0)
        names[ia] = which
        close = (np.abs(value) < INDEX_TOLERANCE) | (b[ia] - a[ia] < 1e-10)
        hit = np.abs(value) < INDEX_TOLERANCE
        a[ia] = np.where(hit, mid, a[ia])
        low_value[ia] = np.where(hit, value, low_value[ia])
        active = ia[~close]
        if not active.size:
            break
    step = low_value < -INDEX_TOLERANCE
    return -np.expm1(-a), names, step
