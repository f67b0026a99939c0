"""The numerical heart of the speciation: arrays of shape (rows, waters), solved together.

Unknowns are the natural logarithms of the activities of the components. Every species holds
at most one *metal-like* component, and holds it once, so for given ligands and hydrogen ion
each metal follows in closed form from its own balance. What is left is Newton's method on the
ligands and the hydrogen ion, with derivatives taken along the metals' closed form. The ionic
strength follows with its own predicted change, free concentrations held.
Convergence is not assumed: the residual of every balance is returned.
"""

from functools import cache

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from pretreat.chemistry.layout import Layout
from pretreat.chemistry.species import Array

Mask = NDArray[np.bool_]

ABSENT = -700.0  # ln activity of what is not there; its exponential is zero
STEP = 2.5  # longest Newton step in ln activity
FEW = 160  # waters for which the library's solver beats elimination over arrays
MANY = 512  # waters from which the species of a metal are better taken metal by metal
MAX_ITERATIONS = 60
TOLERANCE = 1e-6  # relative change in the last step; the error left behind is a hundredth
STARTED_TOLERANCE = 1e-5  # of waters that are told where to start: draws, known no better
CROWDED = 0.7  # share of waters still open above which sorting out the others does not pay
ALKALINITY_FLOOR = 1e-9  # eq/kg: alkalinity has no natural scale near zero
WATER_ACTIVITY_SLOPE = 0.017  # PA13: a(H2O) = 1 - 0.017 sum of molalities


class Problem(Struct):
    """What is known of one block of waters.

    ``totals`` (C, N) in mol/kg of water; the row of H+ is not used, that of CO3 only where
    pH and alkalinity are not both known. Where pH is known it stays; else it follows from
    alkalinity and total inorganic carbon. ``more_co2`` is what CO2 counts in that total beside
    once, None where it counts once everywhere.
    """

    totals: Array
    ln_h: Array  # known, or a first guess
    alkalinity: Array  # eq/kg
    ph_known: Mask
    alkalinity_known: Mask
    ln_k: Array  # (S, N)
    slope_a: Array  # ln(10) times Debye-Hückel A
    slope_b: Array
    more_co2: Array | None = None

    def part(self, mask: Mask) -> "Problem":
        """Return the same problem for some of the waters."""
        return Problem(
            self.totals[:, mask],
            self.ln_h[mask],
            self.alkalinity[mask],
            self.ph_known[mask],
            self.alkalinity_known[mask],
            self.ln_k[:, mask],
            self.slope_a[mask],
            self.slope_b[mask],
            None if self.more_co2 is None else self.more_co2[mask],
        )


class State(Struct):
    """Solution of one block of waters; every array ends in the axis of the waters."""

    ln_activity: Array  # (C, N)
    ln_water: Array
    molality: Array  # (S, N)
    ionic_strength: Array
    alkalinity: Array
    totals: Array  # (C, N), summed over the species found
    residual: Array  # largest relative error of a balance

    def spread(self, twin: list[int]) -> "State":
        """Return the state of waters each of which is like one of these."""
        return State(*(getattr(self, name)[..., twin] for name in State.__struct_fields__))

    def replace(self, mask: Mask, other: "State") -> None:
        """Put the state of other waters in the place of some of these."""
        for name in State.__struct_fields__:
            getattr(self, name)[..., mask] = getattr(other, name)


def solve(
    lay: Layout, p: Problem, start: Array | None = None, strength: Array | None = None
) -> State:
    """Solve a block of waters.

    Parameters
    ----------
    lay : Layout
        Compiled model. [-]
    p : Problem
        Known quantities. [mol/kg]
    start : array, shape (C, N), optional
        First guess of the ln activities, NaN where there is none. [-]
    strength : array, shape (N,), optional
        First guess of the ionic strength, NaN where there is none. [mol/kg]

    Returns
    -------
    State
        The solution with its residual; not converged where the residual is large. [-]
    """
    x, terms, i_now = _begun(lay, p, start, strength)
    tolerance = TOLERANCE if start is None else STARTED_TOLERANCE
    total = np.zeros(p.totals.shape[1])
    m = np.empty(p.ln_k.shape)
    done_x, done_i, done_total = x.copy(), i_now.copy(), total.copy()
    of_all = held = _held(lay, p)
    index, now = np.arange(total.size), p
    waiting = np.ones(total.size, bool)
    for _ in range(MAX_ITERATIONS):
        m = _molalities(lay, now, x, terms, total, m)
        _balance_metals(lay, held, x, m)
        sums = _with_more_co2(lay, now, m, _sums(lay, m))
        worst, predicted = _step(lay, now, held, x, sums)
        i_new = np.minimum(np.maximum(sums[lay.at_strength] + predicted, 0.2 * i_now), 5.0 * i_now)
        np.maximum(worst, np.abs(i_new - i_now) / np.maximum(i_now, TOLERANCE), out=worst)
        new_terms = _activity_terms(now, lay.sizes, i_new)
        # Hold the free concentrations, not the activities, while the ionic strength moves.
        x -= lay.carriers @ (new_terms - terms)
        terms, i_now = new_terms, i_new
        np.maximum(worst, np.abs(sums[lay.at_sum] - total), out=worst)
        total = sums[lay.at_sum]
        # A water is put away at its own first convergence: no neighbour alters its result.
        done = waiting & (worst < tolerance)
        if np.count_nonzero(done):
            at = index[done]
            done_x[:, at], done_i[at], done_total[at] = x[:, done], i_now[done], total[done]
            waiting &= ~done
        left = np.count_nonzero(waiting)
        if left == 0:
            break
        if left > CROWDED * index.size:
            continue
        index = index[waiting]
        x, terms = x[:, waiting], terms[:, waiting]
        i_now, total, m = i_now[waiting], total[waiting], np.empty((len(m), left))
        now = now.part(waiting)
        held = _held(lay, now)
        waiting = np.ones(index.size, bool)
    else:
        at = index[waiting]
        done_x[:, at], done_i[at], done_total[at] = x[:, waiting], i_now[waiting], total[waiting]
    return _finish(lay, p, of_all, (done_x, done_i, done_total))


def _begun(
    lay: Layout, p: Problem, start: Array | None, strength: Array | None
) -> tuple[Array, Array, Array]:
    """Return the first ln activities, functions of ionic strength and ionic strength."""
    if strength is not None and (strength > 0.0).all():
        i_now = strength
    else:
        i_now = _first_strength(lay, p)
        i_now = i_now if strength is None else np.where(strength > 0.0, strength, i_now)
    terms = _activity_terms(p, lay.sizes, i_now)
    if start is not None and np.isfinite(start).all():
        x = start.copy()
    else:
        x = _first_guess(lay, p, terms)
        x = x if start is None else np.where(np.isfinite(start), start, x)
    x[0] = np.where(p.ph_known, p.ln_h, x[0])
    return x, terms, i_now


class _Held(Struct):
    """What stays the same through all steps of some waters."""

    metals: Array  # totals of the metals
    metals_there: Mask
    scale: Array  # 1 / root of the totals of the binding metals
    totals: Array  # of the ligands solved together, then of the spectators; 0 where none applies
    totals_there: Mask
    by_alkalinity: Mask  # (K, 1, N)
    balanced: Mask  # (K, 1, N)
    alkalinity_scale: Array
    plain: bool  # pH follows from alkalinity, and every ligand from its total, in all waters


def _held(lay: Layout, p: Problem) -> _Held:
    metals, binding = p.totals[lay.metals_at], p.totals[lay.binding]
    by_alk = np.zeros((len(lay.unknowns), p.alkalinity.size), bool)
    by_alk[0] = ~p.ph_known
    if "CO3" in lay.unknowns:
        by_alk[lay.unknowns.index("CO3")] = p.ph_known & p.alkalinity_known
    totals = p.totals[lay.solved_at].copy()
    balanced = np.zeros_like(by_alk)
    ligands = len(lay.unknowns) - 1
    balanced[1:] = (totals[:ligands] > 0) & ~by_alk[1:]
    totals[:ligands] = np.where(balanced[1:], totals[:ligands], 0.0)
    return _Held(
        metals,
        metals > 0,
        # Each factor carries the root of the metal's total: a product of two is divided by it.
        1.0 / np.sqrt(np.where(binding > 0, binding, np.inf)),
        totals,
        totals > 0,
        by_alk[:, None],
        balanced[:, None],
        np.abs(p.alkalinity) + ALKALINITY_FLOOR,
        bool(by_alk[0].all() and balanced[1:].all()),
    )


def _activity_terms(p: Problem, sizes: Array, strength: Array) -> Array:
    """Return the functions of ionic strength that `Layout.exponents` multiplies."""
    root = np.sqrt(strength)
    terms = np.empty((len(sizes) + 2, strength.size))
    np.divide(p.slope_a * root, 1.0 + sizes[:, None] * (p.slope_b * root), out=terms[:-2])
    terms[-2] = p.slope_a * (root / (1.0 + root) - 0.3 * strength)  # Davies
    terms[-1] = strength
    return terms


def _molalities(lay: Layout, p: Problem, x: Array, terms: Array, total: Array, m: Array) -> Array:
    """Fill ``m`` with the molality of every species, (S, N), and return it."""
    ln_water = np.log(np.maximum(1.0 - WATER_ACTIVITY_SLOPE * total, 0.1))
    np.matmul(lay.exponents, np.concatenate([x, terms, ln_water[None]]), out=m)
    m += p.ln_k
    np.minimum(m, 50.0, out=m)
    np.exp(m, out=m)
    return m


def _balance_metals(lay: Layout, held: _Held, x: Array, m: Array) -> None:
    """Scale each metal's species to its total; exact for given ligands."""
    if not lay.metals:
        return
    many = m.shape[1] > MANY
    if many:
        now = np.array([m[part].sum(axis=0) for _, part in lay.metals])
    else:
        now = np.add.reduceat(m[lay.metals_from :], lay.metals_start, axis=0)
    there = held.metals_there & (now > 0)
    if there.all():
        ratio = held.metals / now
    else:
        ratio = np.where(there, held.metals, 1.0) / np.where(there, now, 1.0)
    if many:
        for row, (_, part) in zip(ratio, lay.metals, strict=True):
            m[part] *= row
    else:
        m[lay.metals_from :] *= ratio[lay.metal_of]
    x[lay.metals_at] += np.log(ratio)


def _sums(lay: Layout, m: Array) -> Array:
    """Return every sum over species, shape (rows, N)."""
    if m.shape[1] <= MANY or not lay.of_metals:
        return np.asarray(lay.weights @ m)
    found = np.empty((len(lay.weights), m.shape[1]))
    np.matmul(lay.weights[: lay.shares], m, out=found[: lay.shares])
    # A metal's shares are sums over its own species alone.
    of_metals = found[lay.shares :].reshape(-1, len(lay.binding), m.shape[1])
    for j, (part, weights) in enumerate(lay.of_metals):
        of_metals[:, j] = weights @ m[part]
    return found


def _with_more_co2(lay: Layout, p: Problem, m: Array, sums: Array) -> Array:
    """Return the sums with CO2 counted as often as the balance of carbon counts it."""
    if p.more_co2 is not None and lay.co2 is not None:
        more = p.more_co2 * m[lay.co2.species]
        for row, times in lay.co2.in_rows:
            sums[row] += times * more
    return sums


def _step(lay: Layout, p: Problem, held: _Held, x: Array, sums: Array) -> tuple[Array, Array]:
    """Move the ligands and the hydrogen ion by one Newton step.

    Returns the largest relative error before the step, and the change of the ionic strength
    that the step brings.
    """
    slopes = _derivatives(lay, held, sums)
    miss, relative = _log_miss(held, sums[lay.solved_rows])
    matrix, right, error = _equations(p, held, sums[lay.at_alkalinity], slopes, (miss, relative))
    steps = _solve_small(matrix, right)
    moves = np.where(np.isfinite(steps), steps, 0.0)
    moves = np.minimum(np.maximum(moves, -STEP), STEP)
    x[lay.unknowns_at] += moves
    if lay.spectators:
        ligands = len(lay.unknowns) - 1
        slope = sums[lay.spectator_slopes]
        step = miss[ligands:] / np.where(slope > 0, slope, 1.0)
        x[lay.spectators_at] += np.minimum(np.maximum(step, -STEP), STEP)
        np.maximum(error, np.maximum.reduce(relative[ligands:]), out=error)
    return error, np.add.reduce(slopes[-1] * moves)


def _derivatives(lay: Layout, held: _Held, sums: Array) -> Array:
    """Return d f / d ln a(k) with the metals' totals held, shape (F, K, N)."""
    k = len(lay.unknowns)
    f = k + 1  # alk and I beside the unknown ligands
    n = sums.shape[1]
    slopes = sums[lay.direct : lay.shares].reshape(f, k, n)
    parts = sums[lay.shares :].reshape(f + 1, len(lay.binding), n) * held.scale
    by_unknown = np.concatenate([parts[-1:], parts[1 : f - 1]])  # H, then the ligands
    taken = np.einsum("fjn,kjn->fkn", parts[:-1], by_unknown)
    return np.asarray(slopes - taken)


def _log_miss(held: _Held, now: Array) -> tuple[Array, Array]:
    """Return what each balance lacks, by its logarithm (exact for a free ion), and relative."""
    there = held.totals_there & (now > 0)
    base = np.where(there, now, 1.0)
    ratio = np.where(there, held.totals, 1.0) / base
    return np.log(ratio) * base, np.abs(ratio - 1.0)


def _equations(
    p: Problem, held: _Held, alkalinity: Array, slopes: Array, missed: tuple[Array, Array]
) -> tuple[Array, Array, Array]:
    """Set up the linear system; a row that does not apply to a water says 'no change'.

    Returns the matrix (K, K, N), the right side (K, N) and the largest relative error.
    """
    miss, relative = (one[: len(slopes) - 2] for one in missed)
    alk_miss = p.alkalinity - alkalinity
    alk_error = np.abs(alk_miss) / held.alkalinity_scale
    if held.plain:
        error = np.maximum(alk_error, np.maximum.reduce(relative, initial=0.0))
        return slopes[:-1].copy(), np.concatenate([alk_miss[None], miss]), error
    by_alk = held.by_alkalinity
    unknowns = len(by_alk)
    right, error = np.zeros((unknowns, alk_miss.size)), np.zeros((unknowns, alk_miss.size))
    right[1:], error[1:] = miss, relative
    right = np.where(by_alk[:, 0], alk_miss, right)
    error = np.maximum.reduce(np.where(by_alk[:, 0], alk_error, error))
    matrix = np.where(held.balanced, slopes[:-1], _no_change(unknowns))
    matrix = np.where(by_alk, slopes[0], matrix)
    return matrix, right, error


@cache
def _no_change(unknowns: int) -> Array:
    return np.eye(unknowns)[:, :, None]


def _solve_small(matrix: Array, right: Array) -> Array:
    """Solve a small system for all waters at once; the diagonal leads.

    A few waters go to the library; for many, elimination over whole arrays is faster. A water
    whose system is singular gets no number that could be used.
    """
    n = len(right)
    if right.shape[1] <= FEW:
        try:
            columns = matrix.transpose(2, 0, 1), right.T[:, :, None]
            return np.asarray(np.linalg.solve(*columns)[:, :, 0].T)
        except np.linalg.LinAlgError:
            pass  # one singular water among them: the elimination keeps it to itself
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for k in range(n):
            for i in range(k + 1, n):
                factor = matrix[i, k] / matrix[k, k]
                matrix[i, k + 1 :] -= factor * matrix[k, k + 1 :]
                right[i] -= factor * right[k]
        for i in reversed(range(n)):
            for j in range(i + 1, n):
                right[i] -= matrix[i, j] * right[j]
            right[i] /= matrix[i, i]
    return right


def _first_guess(lay: Layout, p: Problem, terms: Array) -> Array:
    """No pairs but those with H+; carbonate from the alkalinity as bicarbonate."""
    names = lay.model.components
    x = np.log(np.where(p.totals > 0, p.totals, np.exp(ABSENT)))
    held = lay.protonated
    if held.at.size:
        share = p.ln_k[held.species] + held.protons * p.ln_h
        top = np.maximum.reduceat(share, held.start, axis=0)
        parts = np.exp(share - np.repeat(top, held.count, axis=0))
        x[held.at] -= top + np.log(np.add.reduceat(parts, held.start, axis=0))
    if "CO3" in names:
        c = names.index("CO3")
        hco3 = lay.model.species.index("HCO3-")
        guess = np.log(np.maximum(p.alkalinity, ALKALINITY_FLOOR)) - p.ln_k[hco3] - p.ln_h
        x[c] = np.where(p.ph_known & p.alkalinity_known, np.minimum(guess, 0.0), x[c])
    x = np.maximum(x - lay.carriers @ terms, ABSENT)
    x[0] = p.ln_h
    return x


def _first_strength(lay: Layout, p: Problem) -> Array:
    """Every component free, but carbonate as bicarbonate."""
    strength = 0.5 * np.abs(p.alkalinity)
    free = np.maximum(p.totals, 0.0) * lay.strength_of_free[:, None]
    for i in np.flatnonzero(lay.strength_of_free):
        strength = strength + free[i]
    return np.minimum(np.maximum(strength, 1e-7), 5.0)


def _finish(lay: Layout, p: Problem, held: _Held, found: tuple[Array, Array, Array]) -> State:
    """Evaluate every balance once more at the final point; the metals follow the last step."""
    x, strength, total = found
    m = np.empty(p.ln_k.shape)
    _molalities(lay, p, x, _activity_terms(p, lay.sizes, strength), total, m)
    _balance_metals(lay, held, x, m)
    totals = lay.model.stoichiometry.T @ m
    found_strength = lay.weights[lay.rows["I"]] @ m
    alkalinity = lay.weights[lay.rows["alk"]] @ m
    residual = np.abs(found_strength - strength) / np.maximum(strength, TOLERANCE)
    by_alk = ~p.ph_known | p.alkalinity_known
    gap = np.abs(alkalinity - p.alkalinity) / (np.abs(p.alkalinity) + ALKALINITY_FLOOR)
    residual = np.maximum(residual, np.where(by_alk, gap, 0.0))
    used = p.totals > 0
    used[0] = False
    if "CO3" in lay.model.components:
        used[lay.model.index("CO3")] &= ~(p.ph_known & p.alkalinity_known)
    counted = totals
    if p.more_co2 is not None and lay.co2 is not None:
        counted = totals.copy()
        counted[lay.model.index("CO3")] += p.more_co2 * m[lay.co2.species]
    gaps = np.abs(counted - p.totals) / np.where(used, p.totals, 1.0)
    residual = np.maximum(residual, np.where(used, gaps, 0.0).max(axis=0))
    ln_water = np.log(np.maximum(1.0 - WATER_ACTIVITY_SLOPE * total, 0.1))
    residual = np.where(np.isfinite(residual), residual, np.inf)
    return State(x, ln_water, m, found_strength, alkalinity, totals, residual)
