"""How far recovery may go: the first crossing of each scaling limit, counted from zero."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.chemistry.ends import Ends
from pretreat.chemistry.indexes import LSI_TDS_LIMIT_MG_L
from pretreat.chemistry.speciation import saturation_indexes
from pretreat.chemistry.species import Array
from pretreat.core.errors import OutOfRangeError
from pretreat.membrane.bands import Limits, default_limits
from pretreat.membrane.brackets import Brackets
from pretreat.membrane.concentrate import (
    NO_PASSAGE,
    Concentrate,
    Passage,
    concentrate,
    concentrate_tds_mg_l,
)
from pretreat.membrane.feed import FeedWater, mapped_feed, some_of_feed

__all__ = [
    "CAP",
    "NONE",
    "Limits",
    "Reach",
    "RecoveryLimit",
    "carbonate_excess",
    "default_limits",
    "excesses",
    "reaches",
    "recovery_limit",
]

CAP = 0.95  # recoveries above this are not looked at
STATIONS = (0.3, 0.5, 0.65, 0.75, 0.83, 0.9, CAP)  # looked at in turn until a limit is passed
REFINEMENTS = 40
TOGETHER = 512  # points: below it all stations are looked at in one call
STEP_MARGIN = 1e-9  # of the recovery at the change of the index
STEP_FOUND = 1e-11  # relative, of the solids there
LEAST_TDS_MG_L = 1e-6  # of a water that has none
MOST_BEND = 0.01  # of a bracket: how far an index that one scale makes is off a straight line
INDEX_TOLERANCE = 2e-4  # the index at the reported maximum meets its limit this closely
NONE = "none"


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
    found = {"calcite": carbonate_excess(brine, limits)}
    for mineral, index in saturation_indexes(brine.speciation, limits.si).items():
        found[mineral] = index - limits.si[mineral]
    return found


def carbonate_excess(brine: Concentrate, limits: Limits) -> Array:
    """Return by how much the carbonate index of a concentrate exceeds its limit.

    Parameters
    ----------
    brine : Concentrate
        Concentrate at one or many recoveries. [-]
    limits : Limits
        Limits in force. [-]

    Returns
    -------
    array
        Index minus limit, in log10 units. [-]
    """
    lsi, sdsi = brine.any_indexes(limits.k_chart)
    above = brine.tds_mg_l > LSI_TDS_LIMIT_MG_L
    return np.asarray(np.where(above, sdsi - limits.sdsi, lsi - limits.lsi))


class RecoveryLimit(Struct, frozen=True):
    """The maximum recovery of each water, the scale that stops it, and how it stops.

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
        where the water, or a concentrate on the way to the limit, could not be computed. [-]

    Raises
    ------
    OutOfRangeError
        If a limit is not a number, or the passage, the recycle or the wall factor is one that
        no machine has.
    """
    _refuse_no_number(limits)
    chosen = None if only is None else np.array([limits.criteria().index(k) for k in only])
    shape = np.shape(feed.ph)
    flat = mapped_feed(feed, lambda v: np.broadcast_to(v, shape).ravel())
    gap = np.full(flat.ph.size, np.inf)  # the lowest recovery that could not be computed

    def at(waters: FeedWater, recovery: Any, index: Any) -> tuple[Array, Any, Array]:
        brine = concentrate(waters, recovery, passage, rho, wall_factor)
        pick = None if chosen is None else chosen[index]
        worst, which, sound = _worst(excesses(brine, limits.of(index)), brine, pick)
        np.minimum.at(gap, index, np.where(sound, np.inf, recovery))
        return worst, which, sound

    maximum, named, over, step = _search(flat, at, _below_step(flat, passage, rho, wall_factor))
    unknown = gap < maximum
    maximum, named = np.where(unknown, np.nan, maximum), np.where(unknown, "", named)
    found = maximum, named, over & ~unknown, step & ~unknown
    return RecoveryLimit(*(part.reshape(shape) for part in found))


def _refuse_no_number(limits: Limits) -> None:
    named = {"calcite (LSI)": limits.lsi, "calcite (S&DSI)": limits.sdsi, **limits.si}
    for name, value in named.items():
        if np.any(np.isnan(np.asarray(value, float))):
            raise OutOfRangeError(f"limit of {name} is not a number: give one, or the default")


class Reach(Struct, frozen=True):
    """How far recovery of a single water may go, and how far by each scale alone.

    ``alone`` is NaN where an ion of the scale is not known.
    """

    alone: Mapping[str, float]
    maximum: float
    limited_by: str
    supersaturated: bool
    at_step: bool


def reaches(
    feed: FeedWater,
    limits: Sequence[Limits],
    passage: Passage = NO_PASSAGE,
    rho: float = 0.0,
    wall_factor: float = 1.0,
) -> tuple[Reach, ...]:
    """Return how far a single water may go under several sets of limits.

    Parameters
    ----------
    feed : FeedWater
        A single water. [-]
    limits : sequence of Limits
        Sets of limits, of the same scales. [-]
    passage : mapping of str to float
        Salt passage by analyte key. [-]
    rho : float
        Recycle / (fresh feed + recycle). [-]
    wall_factor : float
        Concentration polarisation; 1 is bulk. [-]

    Returns
    -------
    tuple of Reach
        One per set of limits. [-]
    """
    names = limits[0].criteria()
    rows_ = len(names) * len(limits)
    many = mapped_feed(feed, lambda v: np.broadcast_to(v, (rows_,)))

    def spread(values: list[float]) -> Array:
        return np.repeat(np.array(values, float), len(names))

    every = Limits(
        spread([s.lsi for s in limits]),
        spread([s.sdsi for s in limits]),
        {k: spread([s.si[k] for s in limits]) for k in names[1:]},
        limits[0].k_chart,
    )
    found = recovery_limit(many, every, passage, rho, names * len(limits), wall_factor)
    at_zero = excesses(concentrate(feed, 0.0, passage, rho, wall_factor), limits[0])
    unknown = np.array([not np.isfinite(at_zero[k]) for k in names])
    results = []
    for i in range(len(limits)):
        part = slice(i * len(names), (i + 1) * len(names))
        over = excesses(concentrate(feed, 0.0, passage, rho, wall_factor), limits[i])
        results.append(_reach(names, found, part, unknown, over))
    return tuple(results)


def _reach(
    names: tuple[str, ...],
    found: RecoveryLimit,
    part: slice,
    unknown: Any,
    over: Mapping[str, Array],
) -> Reach:
    alone = np.where(unknown, np.nan, found.maximum[part])
    if not np.any(np.isfinite(alone)):
        return Reach(dict.fromkeys(names, np.nan), np.nan, "", False, False)
    first = int(np.nanargmin(alone))
    start = bool(np.any(found.supersaturated[part] & ~unknown))
    if start:  # several scales may be over at zero: name the one that is furthest over
        first = max(range(len(names)), key=lambda i: np.nan_to_num(over[names[i]], nan=-np.inf))
    maximum = float(alone[first])
    stopped = start or found.limited_by[part][first] != NONE
    return Reach(
        dict(zip(names, map(float, alone), strict=True)),
        maximum,
        names[first] if stopped else NONE,
        start,
        bool(found.at_step[part][first]),
    )


def _worst(found: Mapping[str, Array], brine: Concentrate, pick: Any) -> tuple[Array, Any, Array]:
    """Return the largest excess, its scale, and where the water was computed."""
    shape = np.shape(brine.ph)
    names = np.array(list(found))
    stack = np.stack([np.broadcast_to(v, shape) for v in found.values()])
    filled = np.where(np.isfinite(stack), stack, -np.inf)
    best = np.argmax(filled, axis=0) if pick is None else np.broadcast_to(pick, shape)
    worst = np.take_along_axis(filled, best[None], axis=0)[0]
    return worst, names[best], np.broadcast_to(brine.speciation.converged, shape)


def _below_step(feed: FeedWater, passage: Passage, rho: float, wall_factor: float) -> Array:
    """Return the recovery just below the change from LSI to S&DSI; NaN where it is not met.

    It is a station of its own for each water, for the index may fall at the change.
    """
    plain = not any(passage.values()) and rho == 0.0
    if plain:
        high = 1.0 - feed.tds_mg_l * wall_factor / LSI_TDS_LIMIT_MG_L
    else:

        def left(z: Array) -> Array:
            """Return how far solids are below the change, by their logarithm: nearly straight."""
            tds = concentrate_tds_mg_l(feed, -np.expm1(-z), passage, rho, wall_factor)
            return np.asarray(np.log(LSI_TDS_LIMIT_MG_L / np.maximum(tds, LEAST_TDS_MG_L)))

        low, high = np.zeros(feed.ph.size), np.full(feed.ph.size, -np.log1p(-CAP))
        ends = Ends(low, high, left(low), left(high))
        met = (ends.weight_low > 0.0) & (ends.weight_high <= 0.0)
        for _ in range(REFINEMENTS):
            place = np.where(met, ends.between(), low)
            value = left(place)
            ends = ends.drawn(place, value)
            if np.all(~met | (np.abs(value) < STEP_FOUND)):
                break
        high = np.where(met, -np.expm1(-place), np.nan)
    found = high * (1.0 - STEP_MARGIN)
    return np.where((found > 0.0) & (found < CAP - STEP_MARGIN), found, np.nan)


def _search(feed: FeedWater, at: Evaluate, step_at: Array) -> tuple[Array, Any, Any, Any]:
    """Walk up the stations; a water leaves when a limit is passed, and is then refined."""
    everyone = np.arange(feed.ph.size)
    at_zero, which, sound = at(feed, 0.0, everyone)
    usable = sound & np.isfinite(at_zero)
    over = usable & (at_zero > 0)
    maximum = np.where(over, 0.0, CAP)
    named = np.where(over, which, NONE).astype(object)
    step = np.zeros(everyone.size, bool)
    found = Brackets(at_zero)

    def value(waters: Any, recovery: Any) -> Array:
        return at(some_of_feed(feed, waters), recovery, waters)[0]

    open_still = everyone[usable & ~over]
    if everyone.size * len(STATIONS) <= TOGETHER:
        found.look_at_once(value, open_still, STATIONS, step_at)
    else:
        found.walk_up(value, open_still, STATIONS, step_at)
    todo = np.flatnonzero(np.isfinite(found.high))
    if todo.size:
        some, ends = some_of_feed(feed, todo), found.of(todo)
        maximum[todo], named[todo], step[todo] = _refine(some, at, ends, todo)
    maximum = np.where(usable, maximum, np.nan)
    return maximum, np.where(usable, named, ""), over, step


def _refine(
    feed: FeedWater,
    at: Evaluate,
    ends: Brackets,
    index: Any,
) -> tuple[Array, Any, Any]:
    """Close the bracket in the logarithm of the concentration factor (Illinois' rule).

    The lower end is always below the limit and the upper end above it, so at a step of the
    index the answer lands on the step. The first look is where a parabola through a place
    below them meets the limit, unless another scale was the first there.
    """
    a, b, below = (-np.log1p(-x) for x in (ends.low, ends.high, ends.beside))
    fa = np.where(np.isfinite(ends.low_value), ends.low_value, -1.0)
    fb = ends.high_value
    first = _parabola_root((a, b, below), (fa, fb, ends.beside_value))
    names = np.full(len(a), "", dtype=object)
    side = np.zeros(len(a))
    low_value = fa.copy()
    high_value = fb.copy()
    active = np.arange(len(a))
    for turn in range(REFINEMENTS):
        ia = active
        span = b[ia] - a[ia]
        mid = b[ia] - fb[ia] * span / (fb[ia] - fa[ia])
        if turn == 0:
            mid = np.where(np.abs(first - mid) < MOST_BEND * span, first, mid)
        mid = np.where(turn % 3 == 2, 0.5 * (a[ia] + b[ia]), mid)
        mid = np.clip(mid, a[ia] + 0.001 * span, b[ia] - 0.001 * span)
        value, which, _ = at(some_of_feed(feed, ia), -np.expm1(-mid), index[ia])
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


def _parabola_root(places: tuple[Array, ...], values: tuple[Array, ...]) -> Array:
    """Return where a parabola through three points, place over value, meets 0; NaN for none."""
    found: Array = np.zeros_like(places[0])
    with np.errstate(divide="ignore", invalid="ignore"):
        for i, place in enumerate(places):
            share = place
            for other in np.delete(np.arange(len(places)), i):
                share = share * values[other] / (values[other] - values[i])
            found = found + share
    return found
