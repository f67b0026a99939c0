"""The recovery limit of every draw, season and column of the limits, from one set of points.

A search draw by draw would speciate each draw some seven times for every column of the
limits. Here every draw is speciated at two concentrations and as it is, and in the seasons
beside the middle one at the furthest alone; between them its index is that of the nominal
water, which is known at many concentrations, plus a difference that hardly bends: a parabola
in the logarithm of the concentration factor. Against the search of `pretreat.membrane.recovery`
the recovery is right to 0.001; a test holds that.
"""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.chemistry.indexes import LSI_TDS_LIMIT_MG_L
from pretreat.chemistry.speciation import saturation_indexes
from pretreat.chemistry.species import Array
from pretreat.membrane.concentrate import Concentrate, Passage, concentrate, concentrate_tds_mg_l
from pretreat.membrane.feed import FeedWater, mapped_feed
from pretreat.membrane.limits import MembranePoint
from pretreat.membrane.recovery import CAP, NONE, Limits
from pretreat.plant.uncertainty.bands import COLUMNS, Column, LimitBand
from pretreat.plant.uncertainty.order import quantiles
from pretreat.plant.uncertainty.water_draws import Season, with_nominal

DENSE = 37  # concentrations at which the nominal water is known
MARGIN = 0.45  # beyond the nominal crossing, in the logarithm of the concentration factor
NODES = (0.0, 0.5, 1.0)  # of the way, where draws are speciated
SAME_Z = 1e-9
FURTHEST = -float(np.log1p(-CAP))
Mask = Any  # array of bool


class RecoveryDraws(Struct, frozen=True):
    """What the draws of a feed allow; arrays of shape (seasons, n) unless said otherwise.

    ``maximum`` by column of the limits; ``alone`` by column and scale; ``kept`` by column and
    scale, at ``recovery``. ``nominal_*`` are of the water as analysed, shape (seasons,).
    """

    seasons: tuple[Season, ...]
    scales: tuple[str, ...]
    recovery: float
    maximum: Mapping[Column, Array]
    alone: Mapping[Column, Mapping[str, Array]]
    kept: Mapping[Column, Mapping[str, Mask]]
    nominal_maximum: Mapping[Column, Array]
    nominal_limited_by: Mapping[Column, tuple[str, ...]]
    nominal_kept: Mapping[Column, Mapping[str, Mask]]
    sound: Mask  # shape (n,)
    unsound_share: float
    low_excess: Mapping[str, Array]  # by scale: index less its low limit, at ``recovery``

    def worst(self, column: Column) -> Array:
        """Return the maximum recovery in the worst season of each draw, shape (n,)."""
        return np.asarray(self.maximum[column].min(axis=0))

    def all_kept(self, column: Column) -> Mask:
        """Tell which draws keep every limit in every season, shape (n,)."""
        kept = [np.all(self.kept[column][k], axis=0) for k in self.scales]
        return np.all([self.sound, *kept], axis=0)

    def probability(self, column: Column, season: int | None = None) -> float:
        """Return the share of draws in which every scale keeps its limit at the recovery.

        In every season, or in one of them; a draw that could not be computed keeps nothing.
        """
        if season is None:
            return float(self.all_kept(column).mean())
        kept = [self.kept[column][k][season] for k in self.scales]
        return float(np.all([self.sound, *kept], axis=0).mean())

    def probability_of(self, column: Column, scale: str) -> float:
        """Return the share of draws in which one scale keeps its limit in every season."""
        return float((np.all(self.kept[column][scale], axis=0) & self.sound).mean())

    def kept_in(self, share: float, column: Column = "low") -> float:
        """Return the recovery that is kept in a share of the draws, worst season included.

        The lower of the two draws at the quantile, so that the share is never overstated; a
        draw that could not be computed allows no recovery.
        """
        worst = np.nan_to_num(self.worst(column), nan=0.0)
        return quantiles(worst, (1.0 - share,), "lower")[0]


class _Curves(Struct, frozen=True):
    """Indexes apart from their limits, on a grid; arrays of shape (grid, seasons, waters).

    ``step`` is where LSI gives way to S&DSI, shape (seasons, waters).
    """

    z: Array  # ln(1 / (1 - recovery)), shape (grid,)
    index: Mapping[str, Array]  # "lsi", "sdsi" and the minerals
    step: Array


class _Outcome(Struct, frozen=True):
    """What one set of limits makes of the curves; arrays of shape (seasons, waters)."""

    maximum: Array
    limited_by: Any
    alone: Mapping[str, Array]
    kept: Mapping[str, Mask]
    excess: Mapping[str, Array]


def recovery_draws(
    feed: FeedWater,
    seasons: Sequence[Season],
    band: LimitBand,
    point: MembranePoint,
    errors: Mapping[str, Array] | None = None,
) -> RecoveryDraws:
    """Return how far recovery may go for a feed and its draws.

    Parameters
    ----------
    feed : FeedWater
        Arrays of shape (seasons, n + 1), the first column the water as analysed. [-]
    seasons : sequence of Season
        The temperatures, in the order of the arrays. [-]
    band : LimitBand
        Limits in force; the three columns are run apart. [-]
    point : MembranePoint
        Design recovery, salt passage, recycle and wall factor. [-]
    errors : mapping of str to array, shape (n,), optional
        Error of each scale's index from the constants of the engine, draw by draw, as
        `engine_errors` gives it; it is never taken off a limit. [-]

    Returns
    -------
    RecoveryDraws
        Maximum recovery, what limits it and what is kept at the design recovery. [-]
    """
    return drawn_together(feed, [Share(tuple(seasons), band)], point, errors)[0]


class Share(Struct, frozen=True):
    """Rows of a feed that are judged together: their seasons, and the limits they keep."""

    seasons: tuple[Season, ...]
    band: LimitBand


def drawn_together(
    feed: FeedWater,
    shares: Sequence[Share],
    point: MembranePoint,
    errors: Mapping[str, Array] | None = None,
) -> list[RecoveryDraws]:
    """Return the same for shares of a feed, each as if it were asked alone.

    Parameters
    ----------
    feed : FeedWater
        Arrays of shape (rows, n + 1), the first column the waters as analysed. [-]
    shares : sequence of Share
        Who has how many of the rows, in their order; the scales of all are the same. [-]
    point : MembranePoint
        Design recovery, salt passage, recycle and wall factor. [-]
    errors : mapping of str to array, shape (n,), optional
        As `recovery_draws` takes them. [-]

    Returns
    -------
    list of RecoveryDraws
        One per share. [-]
    """
    nominal = mapped_feed(_full(feed), lambda v: v[:, :1])
    limits = shares[0].band.low
    own = _nominal_curves(nominal, limits, point)
    ends = np.cumsum([len(share.seasons) for share in shares])
    parts = [slice(end - len(share.seasons), end) for share, end in zip(shares, ends, strict=True)]
    tops = [
        _furthest(_part(own, part), share.band.high, point)
        for share, part in zip(shares, parts, strict=True)
    ]
    curves = _drawn_curves(feed, own, list(zip(parts, tops, strict=True)), limits, point)
    moved = {k: with_nominal(0.0, v) for k, v in (errors or {}).items()}
    converged = np.broadcast_to(feed.speciation.converged, curves.step.shape)
    return [
        _found(share, _part(curves, part), converged[part], moved, point)
        for share, part in zip(shares, parts, strict=True)
    ]


def _part(curves: _Curves, rows: slice) -> _Curves:
    return _Curves(curves.z, {k: v[:, rows] for k, v in curves.index.items()}, curves.step[rows])


def _found(
    share: Share,
    curves: _Curves,
    converged: Mask,
    errors: Mapping[str, Array],
    point: MembranePoint,
) -> RecoveryDraws:
    """Return what the draws of a share allow."""
    band = share.band
    nominal = {k: v[0, :, 0] for k, v in curves.index.items()}
    scales = tuple(k for k in band.low.criteria() if np.all(np.isfinite(nominal[_curve(k)])))
    sound = np.all(converged, axis=0)[1:]
    likely = _outcome(curves, band.likely, scales, errors, point)
    by_limits = {
        c: likely
        if c == "likely" or band.is_one
        else _outcome(curves, band.of(c), scales, errors, point)
        for c in COLUMNS
    }
    return RecoveryDraws(
        share.seasons,
        scales,
        point.recovery,
        {c: np.where(sound, o.maximum[:, 1:], np.nan) for c, o in by_limits.items()},
        {c: {k: v[:, 1:] for k, v in o.alone.items()} for c, o in by_limits.items()},
        {c: {k: v[:, 1:] for k, v in o.kept.items()} for c, o in by_limits.items()},
        {c: np.where(converged[:, 0], o.maximum[:, 0], np.nan) for c, o in by_limits.items()},
        {c: tuple(str(w) for w in o.limited_by[:, 0]) for c, o in by_limits.items()},
        {c: {k: v[:, 0] for k, v in o.kept.items()} for c, o in by_limits.items()},
        sound,
        float(1.0 - sound.mean()) if sound.size else 0.0,
        {k: v[:, 1:] for k, v in by_limits["low"].excess.items()},
    )


def _full(feed: FeedWater) -> FeedWater:
    shape = np.shape(feed.ph)
    return mapped_feed(feed, lambda v: np.broadcast_to(v, shape))


def _curve(scale: str) -> str:
    return "lsi" if scale == "calcite" else scale


def _indexes(brine: Concentrate, limits: Limits, shape: tuple[int, ...]) -> dict[str, Array]:
    """Return every index of a concentrate, apart from its limit."""
    found = saturation_indexes(brine.speciation, limits.si)
    found["lsi"], found["sdsi"] = brine.any_indexes(limits.k_chart)
    return {k: np.broadcast_to(v, shape) for k, v in found.items()}


def _along(
    feed: FeedWater, z: Array, limits: Limits, membrane: tuple[Passage, float, float]
) -> dict[str, Array]:
    """Return the indexes at concentrations for all rows, or row by row; (z, seasons, waters)."""
    recovery = -np.expm1(-z)[..., None] if z.ndim > 1 else -np.expm1(-z)[:, None, None]
    brine = concentrate(feed, recovery, *membrane)
    return _indexes(brine, limits, np.broadcast_shapes(recovery.shape, np.shape(feed.ph)))


def _nominal_curves(nominal: FeedWater, limits: Limits, point: MembranePoint) -> _Curves:
    """Return the indexes of the water as analysed on the whole grid, shape (grid, seasons, 1)."""
    at_design = -np.log1p(-min(point.recovery, CAP))
    z = np.sort(np.append(np.linspace(0.0, FURTHEST, DENSE), at_design))
    z = z[np.append(True, np.diff(z) > 0.0)]
    rows = np.shape(nominal.ph)
    return _Curves(z, _along(nominal, z, limits, point.membrane), np.empty(rows))


def _furthest(own: _Curves, limits: Limits, point: MembranePoint) -> float:
    """Return the concentration that the draws may reach: past what the nominal water does."""
    ends = {"lsi": limits.lsi, "sdsi": limits.sdsi, **limits.si}
    over = np.any([own.index[k] > v for k, v in ends.items()], axis=0)
    first = np.where(over.any(axis=0), own.z[np.argmax(over, axis=0)], FURTHEST)
    at_design = -np.log1p(-min(point.recovery, CAP))
    return float(min(max(at_design, first.max()) + MARGIN, FURTHEST))


def _drawn_curves(
    feed: FeedWater,
    own: _Curves,
    tops: Sequence[tuple[slice, float]],
    limits: Limits,
    point: MembranePoint,
) -> _Curves:
    """Return the curves of all waters: the nominal ones plus a difference along a parabola.

    ``tops`` are how far the draws of some rows reach. One season in the middle of them is
    speciated at every node; what another season differs from it hardly moves, and is a line
    from the feed to the furthest. Recycle acts on the difference through the concentration
    alone: the carbonate of the loop, which would have to be found by repetition, is that of
    the nominal water.
    """
    shape = np.shape(feed.ph)
    once_through = (point.passage, 0.0, point.wall_factor)
    start = _indexes(concentrate(feed, 0.0, *once_through), limits, shape)
    places = [place for part, one in tops for place in _places(part, one)]
    rows = np.array([row for row, _ in places])
    recovery = -np.expm1(-np.array([z for _, z in places]))[:, None]
    some = mapped_feed(_full(feed), lambda v: v[rows])
    brine = concentrate(some, recovery, *once_through)
    further = _indexes(brine, limits, (len(rows), shape[1]))
    index = {name: np.empty((own.z.size, *shape)) for name in own.index}
    first = 0
    for part, one in tops:
        last = first + len(_places(part, one))
        reached = np.minimum(own.z, one)
        weights, way = _through(one * np.array(NODES), reached), (reached / one)[:, None]
        for name, curve in own.index.items():
            moved = _moved(start[name][part], further[name][first:last], weights, way)
            index[name][:, part] = curve[:, part] + moved
        first = last
    return _Curves(own.z, index, _step(feed, own.z, point.membrane, shape))


def _places(rows: slice, top: float) -> list[tuple[int, float]]:
    """Return where draws are speciated, row and concentration: the middle one at every node."""
    middle = (rows.start + rows.stop) // 2
    others = [row for row in range(rows.start, rows.stop) if row != middle]
    return [*((middle, node * top) for node in NODES[1:]), *((row, top) for row in others)]


def _moved(start: Array, further: Array, weights: Array, way: Array) -> Array:
    """Return what the waters of some seasons differ from the nominal one, (z, seasons, waters).

    ``start`` is the index of the feeds, shape (seasons, waters), ``further`` that of `_places`.
    """
    start, further = start - start[..., :1], further - further[..., :1]
    middle, nodes = len(start) // 2, len(NODES) - 1
    values = _filled(np.concatenate([start[middle, None], further[:nodes]]))
    lead = weights @ values
    moved = np.empty((len(way), *start.shape))
    moved[:, middle] = lead
    others = [row for row in range(len(start)) if row != middle]
    for row, end in zip(others, further[nodes:], strict=True):
        near, far = _filled(np.stack([start[row] - values[0], end - values[-1]]))
        moved[:, row] = lead + near + way * (far - near)
    return moved


def _through(nodes: Array, z: Array) -> Array:
    """Return the weights of the nodes at places between them (Lagrange), shape (z, nodes)."""
    weights = np.ones((z.size, nodes.size))
    for i, node in enumerate(nodes):
        for other in np.delete(nodes, i):
            weights[:, i] *= (z - other) / (node - other)
    return weights


def _filled(difference: Array) -> Array:
    """Let a difference that could not be computed be that of the concentration below."""
    found = difference.copy()
    for i in range(1, len(found)):
        found[i] = np.where(np.isfinite(found[i]), found[i], found[i - 1])
    return found


def _step(
    feed: FeedWater, z: Array, membrane: tuple[Passage, float, float], shape: tuple[int, ...]
) -> Array:
    """Return where dissolved solids reach the change from LSI to S&DSI, past the end if never."""
    tds = concentrate_tds_mg_l(feed, -np.expm1(-z)[:, None, None], *membrane)
    found = _first_above(np.log(np.maximum(tds, SAME_Z) / LSI_TDS_LIMIT_MG_L), z)
    return np.broadcast_to(np.where(np.isnan(found), np.inf, found), shape)


def _first_above(values: Array, z: Array) -> Array:
    """Return the first place at which values along the first axis are above 0; NaN if never."""
    above = values > 0
    first = np.argmax(above, axis=0)
    passed = np.take_along_axis(above, first[None], axis=0)[0]
    before = np.maximum(first - 1, 0)
    high = np.take_along_axis(values, first[None], axis=0)[0]
    low = np.take_along_axis(values, before[None], axis=0)[0]
    low = np.where(np.isfinite(low), low, -high)
    share = np.where(first > 0, -low / np.where(high > low, high - low, 1.0), 0.0)
    return np.where(passed, z[before] + share * (z[first] - z[before]), np.nan)


def _outcome(
    curves: _Curves,
    limits: Limits,
    scales: Sequence[str],
    errors: Mapping[str, Array],
    point: MembranePoint,
) -> _Outcome:
    """Return what a set of limits allows."""
    at = int(np.searchsorted(curves.z, -np.log1p(-min(point.recovery, CAP)) - 1e-12))
    places, kept, excess, at_zero = {}, {}, {}, []
    for scale in scales:
        limit = limits.lsi if scale == "calcite" else limits.si[scale]
        over = curves.index[_curve(scale)] + (errors.get(scale, 0.0) - limit)
        place = np.nan_to_num(_first_above(over, curves.z), nan=np.inf)
        excess[scale] = over[at]
        if scale == "calcite":
            error = errors.get(scale, 0.0)
            place = _calcite(curves, limits, error, place)
            by_sdsi = curves.index["sdsi"][at] + (error - limits.sdsi)
            excess[scale] = np.where(curves.z[at] > curves.step, by_sdsi, over[at])
        places[scale] = place
        kept[scale] = ~(curves.z[at] > place + SAME_Z)
        at_zero.append(over[0])
    alone = {k: np.minimum(-np.expm1(-v), CAP) for k, v in places.items()}
    stack = np.stack([*alone.values(), np.full(curves.step.shape, CAP)])
    first, maximum = np.argmin(stack, axis=0), stack.min(axis=0)
    if at_zero:  # where the feed is over already, the scale that is furthest over is named
        first = np.where(maximum > 0.0, first, np.argmax(np.stack(at_zero), axis=0))
    return _Outcome(maximum, np.array([*alone, NONE])[first], alone, kept, excess)


def _calcite(curves: _Curves, limits: Limits, error: Any, by_lsi: Array) -> Array:
    """Return where calcite passes its limit: by LSI up to the step, by S&DSI beyond it."""
    if not np.any(np.isfinite(curves.step)):
        return by_lsi
    sdsi = _first_above(curves.index["sdsi"] + (error - limits.sdsi), curves.z)
    by_sdsi = np.maximum(np.nan_to_num(sdsi, nan=np.inf), curves.step)
    return np.where(by_lsi <= curves.step, by_lsi, by_sdsi)
