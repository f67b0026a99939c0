"""Speciation of one water or of many: totals in, activities and saturation indices out."""

import os
from collections.abc import Iterable, Mapping, Sequence
from functools import cache, lru_cache
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike

from pretreat.chemistry.activity import TEMPERATURE_RANGE_C, debye_huckel
from pretreat.chemistry.composition import known_ion
from pretreat.chemistry.kernel import ABSENT, Problem, State, solve
from pretreat.chemistry.layout import Layout, layout
from pretreat.chemistry.species import LN10, Array, log_k_basis, minerals, model
from pretreat.core.basis import cites
from pretreat.core.errors import AnalysisError, OutOfRangeError, one_of
from pretreat.core.units import CACO3_MG_PER_MEQ, HCO3_PER_CACO3, ZERO_C_IN_K, molar_mass

CONVERGED = 1e-6  # largest relative error of a balance that is accepted
BLOCK = 2048  # waters solved together; keeps the arrays in the processor's cache
FEW_BLOCKS = 4  # as fast one after the other: each waits for the interpreter half of the time
TWINS_AMONG = 512  # waters among which those that stand there twice are looked for
MOST_APART = 0.8  # share of different ones up to which that pays
STARTED_FROM = 512  # waters in a row from which telling them where to start pays
REMEMBERED = 64  # waters asked for at once of which the answer is kept
WORK_BYTES = 31 << 20  # of the arrays of a block; a little below the most that glibc heeds
STAND_IN_C = 25.0  # for a water that is left out, so that the arrays stay whole
MG_PER_KG = 1e6
MG_PER_G = 1e3


class Start(Struct, frozen=True):
    """About what will be found of many waters, in one row; NaN where that is not known."""

    ln_activity: Mapping[str, Array]
    ionic_strength_mol_kg: Array

    def part(self, components: Sequence[str], waters: slice) -> tuple[Array, Array]:
        """Return the activities of components, shape (components, waters), and the strength."""
        strength = self.ionic_strength_mol_kg[waters]
        unknown = np.full(strength.size, np.nan)
        known = [self.ln_activity.get(name) for name in components]
        return np.array([unknown if v is None else v[waters] for v in known]), strength


class Totals(Struct, frozen=True):
    """Component totals [mol/kg of water] and alkalinity [eq/kg of water], arrays alike."""

    mol_kg: Mapping[str, Any]
    alkalinity_eq_kg: Any


@cites("PA13", "input in mg/L, density 1: kilograms of water = 1 - solutes")
def molal_totals(mg_l: Mapping[str, Any], alkalinity_mg_l_caco3: Any = None) -> Totals:
    """Return component totals per kilogram of water from concentrations per litre.

    A litre is taken as a kilogram of solution, as PHREEQC reads mg/L; bicarbonate and
    carbonate enter through the alkalinity.

    Parameters
    ----------
    mg_l : mapping of str to float or array
        Composition by the keys of data/analytes.csv. [mg/L as the ion]
    alkalinity_mg_l_caco3 : float or array, optional
        Total alkalinity. [mg/L as CaCO3]

    Returns
    -------
    Totals
        Totals and alkalinity. [mol/kg and eq/kg of water]

    Raises
    ------
    AnalysisError
        If an ion is not known.
    """
    alkalinity: Any = 0.0 if alkalinity_mg_l_caco3 is None else alkalinity_mg_l_caco3
    solutes = HCO3_PER_CACO3 * np.maximum(alkalinity, 0.0)
    moles: dict[str, Any] = {}
    for key, amount in mg_l.items():
        ion = known_ion(key)
        if key in {"hco3", "co3"} or not ion.component:
            continue
        solutes = solutes + amount
        moles[ion.component] = amount / (molar_mass(ion.formula) * MG_PER_G)
    kg_water = 1.0 - solutes / MG_PER_KG
    return Totals(
        {component: amount / kg_water for component, amount in moles.items()},
        alkalinity / CACO3_MG_PER_MEQ / MG_PER_G / kg_water,
    )


class Speciation(Struct, frozen=True):
    """A speciated water, or many; every array has the common shape of the input.

    Where ``converged`` is False every result is NaN: nothing is reported that does not close.
    """

    temp_c: Array
    ph: Array
    ionic_strength_mol_kg: Array
    water_activity: Array
    alkalinity_eq_kg: Array
    inorganic_carbon_mol_kg: Array
    co2_mol_kg: Array
    charge_eq_kg: Array
    residual: Array
    converged: Any
    totals_mol_kg: Mapping[str, Array]
    ln_activity: Mapping[str, Array]  # of the components and of H+
    molality: Mapping[str, Array]  # of the species; of many waters empty where not asked for

    def si(self, mineral: str) -> Array:
        """Return log10(IAP/K) of a mineral of data/minerals.csv, NaN where an ion is absent."""
        return saturation_indexes(self, (mineral,))[mineral]


@cites("WATEQ4F", "SOLUTION_SPECIES")
@cites("PB82", "carbonate constants")
@cites("TJ74", "extended Debye-Hückel equation with b term")
def speciate(  # noqa: PLR0913 - what may be known of a water, all by name
    totals: Mapping[str, ArrayLike],
    *,
    temp_c: ArrayLike,
    ph: ArrayLike | None = None,
    alkalinity_eq_kg: ArrayLike | None = None,
    inorganic_carbon_mol_kg: ArrayLike | None = None,
    ph_guess: ArrayLike | None = None,
    co2_counts: ArrayLike | None = None,
    near: Speciation | None = None,
    species: bool = False,
) -> Speciation:
    """Speciate by ion association; two of pH, alkalinity and inorganic carbon fix the rest.

    Arguments broadcast against each other. Where pH and alkalinity are given, inorganic carbon
    follows; where alkalinity and inorganic carbon are given, pH follows; pH alone means a
    water whose carbonate is not known and is left out. NaN counts as not given, water by water.

    Parameters
    ----------
    totals : mapping of str to float or array
        Totals by component of data/components.csv. [mol/kg of water]
    temp_c : float or array
        Temperature, 0 to 90. [°C]
    ph : float or array, optional
        pH on the activity scale. [-]
    alkalinity_eq_kg : float or array, optional
        Total alkalinity. [eq/kg of water]
    inorganic_carbon_mol_kg : float or array, optional
        Total inorganic carbon. [mol/kg of water]
    ph_guess : float or array, optional
        Where to start looking where pH is not given. [-]
    co2_counts : float or array, optional
        How often CO2 counts in the inorganic carbon that is given, where alkalinity is given
        with it; once if omitted. [-]
    near : Speciation, optional
        Where these waters come from. Of rows of draws, arrays of two dimensions, what a water
        differs in from the first of its row there is about what it differs in here, which tells
        many of them where to start looking, and no more. [-]
    species : bool
        Keep the molality of every species of many waters too; of a few it is kept. [-]

    Returns
    -------
    Speciation
        The solution; NaN where it does not converge. [-]

    Raises
    ------
    OutOfRangeError
        If a single water is outside the temperature range, or has a negative total.
    AnalysisError
        If a component is not known.
    """
    unknown = [name for name in totals if name not in model().components]
    if unknown:
        raise AnalysisError(
            f"{unknown[0]!r} is not a component of the speciation"
            f"{one_of(str(unknown[0]), model().components)}"
        )
    given = {name: np.asarray(value, float) for name, value in totals.items()}
    fixed = [
        np.asarray(np.nan if v is None else v, float)
        for v in (temp_c, ph, alkalinity_eq_kg, inorganic_carbon_mol_kg, ph_guess, co2_counts)
    ]
    shape = np.broadcast_shapes(*(a.shape for a in (*given.values(), *fixed)))
    flat = {n: _flat(a, shape, whole=False) for n, a in given.items() if a.any()}
    flat_fixed = [_flat(a, shape) for a in fixed]
    _refuse_single(shape, flat, flat_fixed[0])
    if flat_fixed[0].size > REMEMBERED:
        start = None if near is None else _start(near, given, fixed, shape)
        return _speciated(flat, flat_fixed, shape, keep=species, start=start)
    amounts = tuple(a.tobytes() for a in (*flat.values(), *flat_fixed))
    return _remembered(tuple(flat), amounts, shape)


def _start(
    near: Speciation, totals: Mapping[str, Array], fixed: list[Array], shape: tuple[int, ...]
) -> Start | None:
    """Return about what is found of each water, in one row; None where these are no draws.

    The first of every row is solved; the others are as far from it as they are in ``near``.
    Waters that have nothing to do with each other are not moved by what stands beside them.
    """
    if len(shape) < 2 or shape[-1] < STARTED_FROM or np.shape(near.ph)[-1:] != shape[-1:]:
        return None

    def first(values: Array) -> Array:
        return values[..., :1] if np.shape(values)[-1:] == shape[-1:] else values

    temp_c, ph, alkalinity, carbon, guess, co2_counts = (first(a) for a in fixed)
    lead = speciate(
        {name: first(a) for name, a in totals.items()},
        temp_c=temp_c,
        ph=ph,
        alkalinity_eq_kg=alkalinity,
        inorganic_carbon_mol_kg=carbon,
        ph_guess=guess,
        co2_counts=co2_counts,
    )

    def row(values: Array) -> Array:
        return np.broadcast_to(values, shape).reshape(-1)

    strength = near.ionic_strength_mol_kg
    return Start(
        {
            name: row(lead.ln_activity[name] + (known - known[..., :1]))
            for name, known in near.ln_activity.items()
            if name in lead.ln_activity
        },
        row(lead.ionic_strength_mol_kg * strength / strength[..., :1]),
    )


@lru_cache(maxsize=256)
def _remembered(
    names: tuple[str, ...], amounts: tuple[bytes, ...], shape: tuple[int, ...]
) -> Speciation:
    """Solve a few waters once: the ways of a train are tried on the same ones."""
    arrays = [np.frombuffer(amount) for amount in amounts]
    totals = dict(zip(names, arrays, strict=False))
    found = _speciated(totals, arrays[len(names) :], shape, keep=True)
    for value in (getattr(found, name) for name in Speciation.__struct_fields__):
        for array in value.values() if isinstance(value, dict) else (value,):
            array.flags.writeable = False  # it is handed out again
    return found


def forget() -> None:
    """Forget the waters that were solved before, so that a measured time is that of a new one."""
    _remembered.cache_clear()


def _speciated(
    totals: Mapping[str, Array],
    fixed: list[Array],
    shape: tuple[int, ...],
    *,
    keep: bool,
    start: Start | None = None,
) -> Speciation:
    lay = layout(_present(totals, fixed))
    size = fixed[0].size
    if 1 < size <= TWINS_AMONG:
        first, twin = _twins([*(a for a in totals.values() if a.size == size), *fixed])
        if len(first) <= MOST_APART * size:
            some = {name: a[first] if a.size == size else a for name, a in totals.items()}
            solved = _blocks(lay, some, [a[first] for a in fixed])
            parts = [(state.spread(twin), usable[twin]) for state, usable in solved]
            return _collect(lay, parts, fixed[0], shape, keep=keep)
    return _collect(lay, _blocks(lay, totals, fixed, start), fixed[0], shape, keep=keep)


def _twins(given: list[Array]) -> tuple[list[int], list[int]]:
    """Return the waters that are not like one before them, and which of these each one is like."""
    found: dict[bytes, int] = {}
    first: list[int] = []
    twin: list[int] = []
    for i, water in enumerate(np.array(given).T.copy()):
        what = water.tobytes()
        if what not in found:
            found[what] = len(first)
            first.append(i)
        twin.append(found[what])
    return first, twin


def _flat(values: Array, shape: tuple[int, ...], *, whole: bool = True) -> Array:
    """Return an array of waters in one row; a single value may stand for all of them."""
    if values.shape == shape or (values.size == 1 and not whole):
        return values.reshape(-1)
    return np.broadcast_to(values, shape).reshape(-1)


def _blocks(
    lay: Layout, totals: Mapping[str, Array], fixed: list[Array], start: Start | None = None
) -> list[tuple[State, Any]]:
    """Solve block by block, on all processors where there are many blocks."""
    slices = [slice(i, i + BLOCK) for i in range(0, fixed[0].size or 1, BLOCK)]
    if fixed[0].size > REMEMBERED:
        _keep_work_memory()
    if len(slices) <= FEW_BLOCKS:
        return [_block(lay, totals, fixed, part, start) for part in slices]
    from concurrent.futures import ThreadPoolExecutor

    with ThreadPoolExecutor(max_workers=min(len(slices), os.cpu_count() or 1)) as pool:
        return list(pool.map(lambda part: _block(lay, totals, fixed, part, start), slices))


@cache
def _keep_work_memory() -> None:
    """Let the allocator keep the memory of work arrays for the next ones.

    The C library of Linux maps every large array anew, and the system clears it page by page,
    until it has seen a larger one given back (mallopt(3), M_MMAP_THRESHOLD): here is one, of
    which no page is touched. Elsewhere this does nothing.
    """
    np.empty(WORK_BYTES, np.uint8)


def _refuse_single(shape: tuple[int, ...], totals: Mapping[str, Array], temp_c: Array) -> None:
    if shape != ():
        return
    low, high = TEMPERATURE_RANGE_C
    if not low <= temp_c[0] <= high:
        raise OutOfRangeError(
            f"water temperature is {temp_c[0]:g} °C; the carbonate constants (PB82) hold from "
            f"{low:g} to {high:g} °C: use a temperature inside that range"
        )
    for name, amount in totals.items():
        if not amount[0] >= 0:
            raise OutOfRangeError(
                f"total of {name} is {amount[0]:g} mol/kg: it is a number of 0 or more"
            )


def _present(totals: Mapping[str, Array], fixed: list[Array]) -> frozenset[str]:
    present = set(totals)
    carbonate = np.any(np.isfinite(fixed[2])) or np.any(fixed[3] > 0)
    return frozenset(present | {"CO3"} if carbonate else present - {"CO3"})


def _block(
    lay: Layout,
    totals: Mapping[str, Array],
    fixed: list[Array],
    part: slice,
    start: Start | None = None,
) -> tuple[State, Any]:
    """Solve one block; return the state and which waters could be tried.

    What was given stands in the state as it was given, to the last digit.
    """
    temp_c, ph, alkalinity, carbon, near, co2_counts = (a[part] for a in fixed)
    names = lay.model.components
    table = np.zeros((len(names), temp_c.size))
    for name, amount in totals.items():
        if name in names:
            table[names.index(name)] = amount if amount.size == 1 else amount[part]
    ph_known, alk_known = np.isfinite(ph), np.isfinite(alkalinity)
    low, high = TEMPERATURE_RANGE_C
    usable = (temp_c >= low) & (temp_c <= high) & np.all(table >= 0, axis=0)
    usable &= ph_known | (alk_known & np.isfinite(carbon))
    carbon_now = np.where(np.isfinite(carbon) & usable, carbon, 0.0)
    if "CO3" in names:
        by_alk = ph_known & alk_known
        table[names.index("CO3")] = np.where(by_alk, 0.0, carbon_now)
    table = np.where(usable, table, 0.0)
    warm = np.where(usable, temp_c, STAND_IN_C)
    slope_a, slope_b = debye_huckel(warm)
    guess = np.where(
        np.isfinite(near), near, _guess_ph(np.where(alk_known, alkalinity, 0.0), carbon_now)
    )
    problem = Problem(
        totals=table,
        ln_h=-LN10 * np.where(ph_known, ph, guess),
        alkalinity=np.where(alk_known & usable, alkalinity, 0.0),
        ph_known=ph_known | ~usable,
        alkalinity_known=alk_known & usable,
        ln_k=lay.ln_k(warm + ZERO_C_IN_K),
        slope_a=LN10 * slope_a,
        slope_b=slope_b,
    )
    given = table > 0
    counted = np.isfinite(co2_counts)
    if counted.any():
        problem.more_co2 = np.where(counted, co2_counts - 1.0, 0.0)
        if "CO3" in names:
            given[names.index("CO3")] &= ~counted
    state = _solved(lay, problem, None if start is None else start.part(names, part))
    state.totals = np.where(given, table, state.totals)
    state.alkalinity = np.where(alk_known & usable, alkalinity, state.alkalinity)
    return state, usable


def _solved(lay: Layout, problem: Problem, start: tuple[Array, Array] | None) -> State:
    """Solve a block; a water that was started in the wrong place is started anew."""
    if start is None:
        return solve(lay, problem)
    state = solve(lay, problem, *start)
    lost = ~(state.residual < CONVERGED)
    if lost.any():
        state.replace(lost, solve(lay, problem.part(lost)))
    return state


@cites("PB82", "pK1 and pK2 near 25 °C, rounded; a first guess only")
def _guess_ph(alkalinity: Array, carbon: Array) -> Array:
    """First guess of pH from the share of bicarbonate, near 25 °C."""
    share = np.clip(alkalinity / np.where(carbon > 0, carbon, 1.0), 0.02, 1.6)
    acid = 6.3 + np.log10(share / np.maximum(1.0 - share, 0.01))
    return np.where(carbon > 0, np.where(share < 1.0, np.minimum(acid, 8.3), 9.5), 7.0)


def _collect(
    lay: Layout,
    parts: list[tuple[State, Any]],
    temp_c: Array,
    shape: tuple[int, ...],
    *,
    keep: bool,
) -> Speciation:
    def joined(pick: Any) -> Array:
        found = [pick(state) for state, _ in parts]
        return found[0] if len(found) == 1 else np.concatenate(found, axis=-1)

    residual = joined(lambda s: s.residual)
    usable = np.concatenate([u for _, u in parts])
    converged = usable & (residual < CONVERGED)

    def out(values: Array) -> Array:
        return np.where(converged, values, np.nan).reshape(shape)

    ln_activity, totals = joined(lambda s: s.ln_activity), joined(lambda s: s.totals)
    m = lay.model
    molality = joined(lambda s: s.molality)
    co2 = molality[m.species.index("CO2")] if "CO2" in m.species else np.zeros(residual.shape)
    carbon = totals[m.index("CO3")] if "CO3" in m.components else np.zeros(residual.shape)
    absent = ln_activity <= ABSENT / 2

    def each(names: tuple[str, ...], values: Array) -> dict[str, Array]:
        found = np.where(converged, values, np.nan).reshape(len(names), *shape)
        return {name: found[i, ...] for i, name in enumerate(names)}

    return Speciation(
        temp_c=temp_c.reshape(shape),
        ph=out(-ln_activity[0] / LN10),
        ionic_strength_mol_kg=out(joined(lambda s: s.ionic_strength)),
        water_activity=out(np.exp(joined(lambda s: s.ln_water))),
        alkalinity_eq_kg=out(joined(lambda s: s.alkalinity)),
        inorganic_carbon_mol_kg=out(carbon),
        co2_mol_kg=out(co2),
        charge_eq_kg=out(m.charge @ molality),
        residual=residual.reshape(shape),
        converged=converged.reshape(shape),
        totals_mol_kg=each(m.components[1:], np.where(absent, 0.0, totals)[1:]),
        ln_activity=each(m.components, np.where(absent, np.nan, ln_activity)),
        molality=each(m.species, molality) if keep else {},
    )


def saturation_indexes(water: Speciation, names: Iterable[str]) -> dict[str, Array]:
    """Return the saturation indexes of minerals.

    Parameters
    ----------
    water : Speciation
        A speciated water, or many. [-]
    names : iterable of str
        Keys of data/minerals.csv. [-]

    Returns
    -------
    dict of str to float or array
        log10(IAP/K) by mineral; NaN where an ion of it is absent or was not measured. [-]
    """
    basis = log_k_basis(water.temp_c + ZERO_C_IN_K)
    log_water = np.log(water.water_activity) / LN10
    found: dict[str, Array] = {}
    for name in names:
        row = minerals()[name]
        if not row.stoichiometry.keys() <= water.ln_activity.keys():
            found[name] = np.full(np.shape(water.ph), np.nan)
            continue
        log_iap: Array = row.water * log_water
        for component, n in row.stoichiometry.items():
            log_iap = log_iap + n * water.ln_activity[component] / LN10
        found[name] = log_iap - row.log_k_of(basis)
    return found
