"""The aqueous model compiled for the solver: species sorted by metal, sums as one matrix.

Components stand in the order in which they are solved: H+, the ligands that are solved together,
the spectators, the metals. What the iteration takes of an array is therefore a part in one piece.
"""

from functools import lru_cache
from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.chemistry.species import LN10, Array, Model, log_k_basis, model

LIGANDS = ("CO3", "SO4", "F", "PO4", "Cl", "NO3")  # those of SPECTATORS last
SPECTATORS = ("Cl", "NO3")  # hardly paired: each moves by itself
# Whose pairing bends a ligand's balance, or whose loss of H+ bends the alkalinity.
BINDING = ("Ca", "Mg", "Na", "Al", "B", "Si", "NH4")
CARRIER = {"CO3": "HCO3-", "PO4": "HPO4-2"}  # the species that holds most of it near pH 7


class CarbonDioxide(Struct, frozen=True):
    """The species CO2, and how often it stands in each row that the carbon balance rests on."""

    species: int
    in_rows: tuple[tuple[int, float], ...]


class Protonated(Struct, frozen=True):
    """The species that hold one component and H+ alone, where they are several; one after another.

    ``at`` are the components, ``start`` and ``count`` where the species of each stand.
    """

    at: Any
    species: Any
    protons: Array  # (species, 1)
    start: Any
    count: Any


class Layout(Struct, frozen=True):
    """A model sorted by metal, with the matrices that the iteration needs.

    ``exponents`` (S, C + terms + 1) multiplies ln activities, activity terms and ln a(H2O) to
    give ln molality less ln K. ``weights`` makes every sum over species at once: first the
    named sums of ``rows``, then from row ``direct`` on the derivatives of the F functions
    (alk, the unknown ligands, I) to ln activity of the K unknowns, then from row ``shares`` on
    the part that each binding metal has in every function and in H. ``carriers`` (C, terms) is
    the activity rule of the species that carries most of a component.
    """

    model: Model
    metals: tuple[tuple[int, slice], ...]  # component index, its species
    binding: Any  # component indices of the metals in ``shares``
    direct: int
    shares: int
    unknowns: tuple[str, ...]  # H and the paired ligands, solved together
    spectators: tuple[str, ...]
    exponents: Array
    sizes: Array
    weights: Array
    rows: dict[str, int]
    carriers: Array
    protonated: "Protonated"
    strength_of_free: Array  # (C,) half the squared charge of the free ion, 0 for H and CO3
    of_metals: tuple[tuple[slice, Array], ...]  # species of each binding metal, their own shares
    metals_at: slice  # the metals among the components
    metals_from: int  # first species of a metal; all after it are of metals
    metals_start: Any  # first species of each metal, counted from there
    metal_of: Any  # the metal of each of these species
    unknowns_at: slice  # the unknowns among the components
    solved_at: slice  # all ligands: those of the unknowns, then the spectators
    spectators_at: slice
    solved_rows: slice  # sums of all ligands
    spectator_slopes: slice  # rows of the spectators' own derivatives
    at_alkalinity: int
    at_strength: int
    at_sum: int
    co2: CarbonDioxide | None

    def ln_k(self, temp_k: Any) -> Array:
        """Return ln K of every species (S, N) at absolute temperatures (N,)."""
        found: Array = LN10 * (self.model.log_k @ log_k_basis(temp_k))
        return found


@lru_cache(maxsize=16)
def layout(present: frozenset[str]) -> Layout:
    """Return the compiled layout for the components present.

    Parameters
    ----------
    present : frozenset of str
        Components besides H+. [-]

    Returns
    -------
    Layout
        Sorted model and matrices. [-]
    """
    m, metals = _sorted_by_metal(model(present))
    names = m.components
    ligands = tuple(n for n in LIGANDS if n in names)
    unknowns = ("H", *(n for n in ligands if n not in SPECTATORS))
    activity, sizes = _activity_exponents(m)
    spectators = tuple(n for n in ligands if n in SPECTATORS)
    named, rows = _named_sums(m, (*unknowns[1:], *spectators))
    functions = ("alk", *unknowns[1:], "I")
    direct = _direct(m, named, rows, functions, unknowns)
    binding = tuple(i for i, _ in metals if names[i] in BINDING)
    shares = _shares(m, named, rows, (*functions, "H"), dict(metals), binding)
    carriers = np.zeros((len(names), activity.shape[1]))
    for i, name in enumerate(names[1:], start=1):
        carriers[i] = activity[m.species.index(CARRIER.get(name, _free(m, i)))]
    with_h = [(i, _with_h_alone(m, i)) for i in range(1, len(names))]
    first = metals[0][1].start if metals else len(m.species)
    return Layout(
        model=m,
        metals=metals,
        binding=np.array(binding, int),
        direct=len(rows),
        shares=len(rows) + len(direct),
        unknowns=unknowns,
        spectators=spectators,
        exponents=np.hstack([m.stoichiometry, activity, m.water[:, None]]),
        sizes=np.array(sizes, float),
        weights=np.vstack([named, direct, shares]),
        rows=rows,
        carriers=carriers,
        protonated=_protonated(m, with_h),
        strength_of_free=_strength_of_free(m, with_h),
        of_metals=tuple(
            (part, np.ascontiguousarray(shares[j :: len(binding), part]))
            for j, part in enumerate(dict(metals)[i] for i in binding)
        ),
        metals_at=slice(1 + len(ligands), len(names)),
        metals_from=first,
        metals_start=np.array([part.start - first for _, part in metals], int),
        metal_of=np.array(
            [k for k, (_, part) in enumerate(metals) for _ in range(part.start, part.stop)], int
        ),
        unknowns_at=slice(0, len(unknowns)),
        solved_at=slice(1, 1 + len(ligands)),
        spectators_at=slice(len(unknowns), 1 + len(ligands)),
        solved_rows=slice(0, len(ligands)),
        spectator_slopes=slice(len(ligands), len(ligands) + len(spectators)),
        at_alkalinity=rows["alk"],
        at_strength=rows["I"],
        at_sum=rows["sum"],
        co2=_carbon_dioxide(m, rows, unknowns),
    )


def _carbon_dioxide(
    m: Model, rows: dict[str, int], unknowns: tuple[str, ...]
) -> CarbonDioxide | None:
    if "CO2" not in m.species or "CO3" not in unknowns:
        return None
    species, at = m.species.index("CO2"), unknowns.index("CO3")
    held = m.stoichiometry[species]
    carbon = float(held[m.index("CO3")])
    # its balance, and from there the derivatives to each unknown (`functions` has alk first)
    slopes = len(rows) + at * len(unknowns)
    each = ((slopes + k, carbon * float(held[m.index(n)])) for k, n in enumerate(unknowns))
    in_rows = ((rows["CO3"], carbon), *((row, times) for row, times in each if times))
    return CarbonDioxide(species, in_rows)


def _sorted_by_metal(full: Model) -> tuple[Model, tuple[tuple[int, slice], ...]]:
    ligands = [n for n in LIGANDS if n in full.components]
    metal_names = [n for n in full.components if n != "H" and n not in LIGANDS]
    names = ("H", *ligands, *metal_names)
    stoichiometry = full.stoichiometry[:, [full.index(n) for n in names]]
    metal_ids = range(1 + len(ligands), len(names))
    owner = np.full(len(full.species), -1)
    for i in metal_ids:
        owner[stoichiometry[:, i] > 0] = i
    order = np.argsort(owner, kind="stable")
    fields = ("water", "log_k", "charge", "alkalinity", "size", "slope")
    m = Model(
        components=names,
        species=tuple(full.species[i] for i in order),
        stoichiometry=stoichiometry[order],
        **{name: getattr(full, name)[order] for name in fields},
    )
    slices = []
    for i in metal_ids:
        at = np.flatnonzero(owner[order] == i)
        slices.append((i, slice(int(at[0]), int(at[-1]) + 1)))
    return m, tuple(slices)


def _with_h_alone(m: Model, i: int) -> Any:
    """Return the species that hold component i once and nothing else but H+."""
    others = np.abs(np.delete(m.stoichiometry, [0, i], axis=1)).sum(axis=1)
    return np.flatnonzero((m.stoichiometry[:, i] == 1) & (others == 0))


def _protonated(m: Model, with_h: list[tuple[int, Any]]) -> Protonated:
    several = [(i, species) for i, species in with_h if len(species) > 1]
    species = np.concatenate([s for _, s in several] or [np.empty(0, int)])
    count = np.array([len(s) for _, s in several], int)
    start = np.cumsum(count) - count
    at = np.array([i for i, _ in several], int)
    return Protonated(at, species, m.stoichiometry[species, :1], start, count)


def _strength_of_free(m: Model, with_h: list[tuple[int, Any]]) -> Array:
    """Return what a mole of each component adds to the ionic strength where all of it is free."""
    found = np.zeros(len(m.components))
    for i, species in with_h:
        if m.components[i] != "CO3":
            free = next(s for s in species if m.stoichiometry[s, 0] == 0)
            found[i] = 0.5 * m.charge[free] ** 2
    return found


def _free(m: Model, i: int) -> str:
    found = (int(s) for s in _with_h_alone(m, i) if m.stoichiometry[s, 0] == 0)
    return m.species[next(found)]


def _activity_exponents(m: Model) -> tuple[Array, tuple[float, ...]]:
    """Return the factors of -ln gamma: a column per ion size, one for Davies, one for I."""
    sizes = tuple(sorted({float(a) for a in m.size if a > 0}))
    table = np.zeros((len(m.species), len(sizes) + 2))
    for s, size in enumerate(m.size):
        column = sizes.index(size) if size > 0 else len(sizes)
        if not np.isnan(size):
            table[s, column] = m.charge[s] ** 2
        table[s, -1] = -LN10 * m.slope[s]
    return table, sizes


def _named_sums(m: Model, ligands: tuple[str, ...]) -> tuple[Array, dict[str, int]]:
    """Return the sums an iteration looks at by name."""
    a = m.stoichiometry
    sums: dict[str, Array] = {n: a[:, m.index(n)] for n in ligands}
    sums |= {f"{n},{n}": a[:, m.index(n)] ** 2 for n in ligands if n in SPECTATORS}
    sums |= {"alk": m.alkalinity, "I": 0.5 * m.charge**2, "sum": np.ones(len(m.species))}
    return np.array(list(sums.values())), {key: i for i, key in enumerate(sums)}


def _direct(
    m: Model,
    named: Array,
    rows: dict[str, int],
    functions: tuple[str, ...],
    unknowns: tuple[str, ...],
) -> Array:
    """Return derivatives of each function to each unknown with every other activity held."""
    return np.array(
        [named[rows[f]] * m.stoichiometry[:, m.index(k)] for f in functions for k in unknowns]
    )


def _shares(
    m: Model,
    named: Array,
    rows: dict[str, int],
    functions: tuple[str, ...],
    parts: dict[int, slice],
    binding: tuple[int, ...],
) -> Array:
    """Return the part of each binding metal in each function, metals running fastest."""
    table = []
    for f in functions:
        row = m.stoichiometry[:, 0] if f == "H" else named[rows[f]]
        for i in binding:
            masked = np.zeros(len(m.species))
            masked[parts[i]] = row[parts[i]]
            table.append(masked)
    return np.array(table).reshape(-1, len(m.species))
