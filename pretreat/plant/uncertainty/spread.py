"""What the draws say: percentiles, what drives the spread, which measurement would narrow it."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.chemistry.species import Array
from pretreat.core.basis import cites
from pretreat.plant.uncertainty.draws import Draws, Uncertain
from pretreat.plant.uncertainty.order import quantiles, ranks

BINS = 20  # of equal count, for the share of the variance
LEAST_SHARE = 0.005  # of the variance: below it an input is noise of the estimate
RESULTS = 16  # possible results of a further measurement that are tried
LEFT_BY_A_SECOND = 0.5  # of the uncertainty: what a careful further measurement leaves
LIKELY = 0.90  # PRACTICE: a scale that keeps its limit in so many draws is safe
UNLIKELY = 0.10
LIMIT_MEASURE = "the limit that the supplier of the inhibitor vouches for, or a jar test"


class Spread(Struct, frozen=True):
    """Percentiles of a result over the draws; P10 is the value that 10 % lie below."""

    p5: float
    p10: float
    p50: float
    p90: float
    p95: float
    mean: float
    u: float

    @property
    def width(self) -> float:
        """From P10 to P90."""
        return self.p90 - self.p10


@cites("JCGM101", "7.7: quantiles of the ordered draws")
def spread_of(values: Any) -> Spread | None:
    """Return the percentiles of a result.

    Parameters
    ----------
    values : array
        One value per draw; what could not be computed is left out. [any unit]

    Returns
    -------
    Spread or None
        Percentiles, mean and standard deviation, None without any value. [same unit]
    """
    found = np.asarray(values, float)
    found = found[np.isfinite(found)]
    if not found.size:
        return None
    p5, p10, p50, p90, p95 = quantiles(found, (0.05, 0.1, 0.5, 0.9, 0.95))
    return Spread(p5, p10, p50, p90, p95, float(found.mean()), float(found.std()))


@cites("SALTELLI2008", "S = Var(E[y|x]) / Var(y), by bins of equal count")
def first_order_share(x: Array, y: Array, bins: int = BINS) -> float:
    """Return the share of the variance of y that x alone explains.

    Unlike a rank correlation it sees an effect that first rises and then falls. What the
    scatter within the bins adds to the scatter of their means is taken off.

    Parameters
    ----------
    x, y : array, shape (n,)
        An input and the result, draw by draw. [any unit]
    bins : int
        Number of bins. [-]

    Returns
    -------
    float
        First-order index, 0 to 1. [-]
    """
    sound = np.isfinite(y)
    return float(_explained(y[sound][np.argsort(x[sound], kind="stable")][None], bins)[0])


def _explained(ordered: Array, bins: int = BINS) -> Array:
    """Return the share for results put in the order of some inputs, (inputs, n) to (inputs,)."""
    inputs, size = ordered.shape
    total = ordered.var(axis=1)
    if size < 2 * bins:
        return np.zeros(inputs)
    parts = _binned(ordered, bins)
    means = [part.mean(axis=2) for part in parts]
    whole = ordered.mean(axis=1, keepdims=True)
    within, between = np.zeros(inputs), np.zeros(inputs)
    for part, mean in zip(parts, means, strict=True):
        within += ((part - mean[..., None]) ** 2).sum(axis=(1, 2))
        between += part.shape[2] * ((mean - whole) ** 2).sum(axis=1)
    own = (between - (bins - 1) * within / (size - bins)) / size
    varies = total > 0.0
    return np.where(varies, np.clip(own / np.where(varies, total, 1.0), 0.0, 1.0), 0.0)


def _binned(ordered: Array, bins: int) -> list[Array]:
    """Return rows in bins of equal count, the first ones longer by one where they must be."""
    inputs, n = ordered.shape
    size, longer = divmod(n, bins)
    cut = longer * (size + 1)
    return [
        part.reshape(inputs, -1, length)
        for part, length in ((ordered[:, :cut], size + 1), (ordered[:, cut:], size))
        if part.size
    ]


@cites("STATISTICS", "Spearman's rank correlation")
def rank_correlation(x: Array, y: Array) -> float:
    """Return Spearman's rank correlation of an input and the result.

    Parameters
    ----------
    x, y : array, shape (n,)
        An input and the result. [any unit]

    Returns
    -------
    float
        -1 to 1; 0 where one of them does not vary. [-]
    """
    sound = np.isfinite(y)
    a, b = ranks(x[sound]), ranks(y[sound])
    a, b = a - a.mean(), b - b.mean()
    size = float(np.sqrt((a @ a) * (b @ b)))
    return float(a @ b) / size if size > 0 else 0.0


@cites("STATISTICS", "variance explained by one input scales with its own variance")
def width_after(width: float, share: float, left: float) -> float:
    """Return the width of a spread after one input was measured again.

    Parameters
    ----------
    width : float
        Now. [any unit]
    share : float
        Share of the variance that the input explains, 0 to 1. [-]
    left : float
        What the measurement leaves of its uncertainty, 0 to 1. [-]

    Returns
    -------
    float
        width sqrt(1 - share (1 - left^2)). [same unit]
    """
    return float(width * np.sqrt(max(1.0 - share * (1.0 - left**2), 0.0)))


@cites("STATISTICS", "inverse-variance weighting")
def combined_u(*us: float) -> float:
    """Return the standard uncertainty of the weighted mean of independent results.

    Parameters
    ----------
    *us : float
        Standard uncertainties, above 0. [any unit]

    Returns
    -------
    float
        (sum u^-2)^-1/2. [same unit]
    """
    return float(sum(u**-2 for u in us) ** -0.5)


class Driver(Struct, frozen=True):
    """What one input contributes to a spread, and what measuring it again would leave.

    ``u`` is its standard uncertainty; ``width_if_halved`` and ``width_if_exact`` are the
    widths from P10 to P90 that would be left.
    """

    key: str
    name: str
    u: float
    origin: str
    share: float
    rank_correlation: float
    width_if_halved: float
    width_if_exact: float
    measure: str


def _unexplained(order: Array, y: Array, bins: int = BINS) -> Array:
    """Return what an input leaves of a result: each draw less the mean of its bin."""
    left = y.copy()
    for part in np.array_split(order, bins):
        if part.size:
            left[part] -= left[part].mean()
    return left


def _shares(draws: Draws, result: Array) -> dict[str, float]:
    """Return the share of each input, what stronger ones explain taken off first.

    The draws of some pairs of inputs are not quite free of one another, so an idle input
    would else take on a little of a strong one. Inputs below the least share are left out.
    """
    y = np.asarray(result, float)
    sound = np.isfinite(y)
    left = y[sound]
    keys = list(draws.values)
    x = np.array([draws.values[key] for key in keys])[:, sound]
    orders = np.argsort(x, axis=1, kind="stable")
    alone = dict(zip(keys, _explained(left[orders]).tolist(), strict=True))
    order_of = dict(zip(keys, orders, strict=True))
    total, found = float(left.var()), {}
    for key in sorted(alone, key=lambda k: (-alone[k], k)):
        if alone[key] < LEAST_SHARE:
            break
        order = order_of[key]
        part = float(left.var()) / total if total > 0.0 else 0.0
        share = min(alone[key], float(_explained(left[order][None])[0]) * part)
        if share >= LEAST_SHARE:
            found[key] = share
            left = _unexplained(order, left)
    return found


def drivers(draws: Draws, result: Array) -> tuple[Driver, ...]:
    """Return what drives the spread of a result, the strongest first.

    Parameters
    ----------
    draws : Draws
        Independent draws of the inputs. [-]
    result : array, shape (n,)
        The result of each draw. [any unit]

    Returns
    -------
    tuple of Driver
        Inputs that explain a half percent of the variance or more. [-]
    """
    spread = spread_of(result)
    if spread is None:
        return ()
    found, shares = [], _shares(draws, result)
    for item in draws.inputs:
        x, share = draws.values[item.key], shares.get(item.key)
        if share is None:
            continue
        found.append(
            Driver(
                item.key,
                item.name,
                item.distribution.u,
                item.origin,
                share,
                rank_correlation(x, result),
                width_after(spread.width, share, LEFT_BY_A_SECOND),
                width_after(spread.width, share, 0.0),
                item.measure,
            )
        )
    return tuple(sorted(found, key=lambda d: (-d.share, d.key)))


class Measurement(Struct, frozen=True):
    """A measurement that could be made, and how often the verdict would stay open after it."""

    key: str
    name: str
    measure: str
    undecided: float
    width: float


@cites("STATISTICS", "reweighting of draws by a normal likelihood")
def undecided_after(
    item: Uncertain, x: Array, kept_low: Any, kept_high: Any, left: float = LEFT_BY_A_SECOND
) -> float:
    """Return how often the verdict would stay open after an input was measured again.

    Sixteen possible results are taken evenly from what the input may be; each draw then
    counts by how well it agrees with the result.

    Parameters
    ----------
    item : Uncertain
        The input. [-]
    x : array, shape (n,)
        Its draws. [unit of the input]
    kept_low, kept_high : array of bool, shape (n,)
        Draws that keep every limit, at the low limits and at the high ones. [-]
    left : float
        What the measurement leaves of the uncertainty. [-]

    Returns
    -------
    float
        Share of the possible results after which neither "fits" nor "does not fit" is sure. [-]
    """
    results = item.distribution.at((np.arange(RESULTS) + 0.5) / RESULTS)
    width = max(left * item.distribution.u, 1e-12)
    weights = np.exp(-0.5 * ((x[:, None] - results) / width) ** 2)
    total = weights.sum(axis=0)
    usable = total > 0
    low = (weights * np.asarray(kept_low, float)[:, None]).sum(axis=0)[usable] / total[usable]
    high = (weights * np.asarray(kept_high, float)[:, None]).sum(axis=0)[usable] / total[usable]
    return float(np.mean((low < LIKELY) & (high >= UNLIKELY))) if usable.any() else 1.0


def undecided_by_limits(shares: Mapping[str, float]) -> float:
    """Return how often the verdict would stay open if the limits were known.

    Parameters
    ----------
    shares : mapping of str to float
        Share of draws that keep every limit, by column of the limits. [-]

    Returns
    -------
    float
        Share of the columns under which the verdict stays open. [-]
    """
    return float(np.mean([UNLIKELY <= p < LIKELY for p in shares.values()]))


def measurements(
    draws: Draws,
    result: Array,
    kept: Mapping[str, Any],
    *,
    banded: bool = True,
    known: Sequence[Driver] | None = None,
) -> tuple[Measurement, ...]:
    """Return the measurements that could be made, the most useful first.

    Parameters
    ----------
    draws : Draws
        Draws of the inputs. [-]
    result : array, shape (n,)
        Maximum recovery in the worst season, draw by draw. [-]
    kept : mapping of str to array of bool
        Draws that keep every limit, by column "low", "likely", "high". [-]
    banded : bool
        The limits are a band, so that knowing them better is worth something. [-]
    known : sequence of Driver, optional
        What drives the result, where it is known already. [-]

    Returns
    -------
    tuple of Measurement
        Where the verdict is open, by how rarely it stays so; then by the width that is left. [-]
    """
    spread = spread_of(result)
    if spread is None:
        return ()
    by_key = {d.key: d for d in (drivers(draws, result) if known is None else known)}
    found = []
    for item in draws.inputs:
        if item.key not in by_key or not item.measure:
            continue
        left = undecided_after(item, draws.values[item.key], kept["low"], kept["high"])
        width = by_key[item.key].width_if_halved
        found.append(Measurement(item.key, item.name, item.measure, left, width))
    if banded:
        open_still = undecided_by_limits({c: float(np.mean(v)) for c, v in kept.items()})
        found.append(
            Measurement("limits", "limits with inhibitor", LIMIT_MEASURE, open_still, spread.width)
        )
    is_open = np.mean(kept["low"]) < LIKELY and np.mean(kept["high"]) >= UNLIKELY
    return tuple(sorted(found, key=lambda m: (m.undecided if is_open else 0.0, m.width, m.key)))


def strongest(found: Sequence[Measurement]) -> Measurement | None:
    """Return the first measurement, or None where there is none."""
    return found[0] if found else None
