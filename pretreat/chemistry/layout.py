"""The aqueous model compiled for the solver: species sorted by metal, sums as one matrix."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from pretreat.chemistry.species import LN10, Array, Model, log_k_basis, model

LIGANDS = ("CO3", "SO4", "F", "PO4", "Cl", "NO3")
SPECTATORS = ("Cl", "NO3")  # hardly paired: each moves by itself
BINDING = ("Ca", "Mg", "Na", "Al")  # metals whose pairing bends a ligand's balance
PROTONATED = ("B", "Si", "NH4")  # whose loss of H+ bends the alkalinity alone
CARRIER = {"CO3": "HCO3-", "PO4": "HPO4-2"}  # the species that holds most of it near pH 7


@dataclass(frozen=True, slots=True)
class Pairings:
    """Which rows of the weights hold a metal's part of a sum, and which products to take off.

    ``rows`` and ``metals`` (component indices) go together; ``products`` lists, for each
    derivative (f, k), the positions in ``rows`` of the two factors, metal by metal.
    """

    rows: Any
    metals: Any
    products: dict[tuple[str, str], tuple[tuple[int, int], ...]]


@dataclass(frozen=True, slots=True)
class Layout:
    """A model sorted by metal, with the matrices that the iteration needs.

    ``exponents`` (S, C + terms + 1) multiplies ln activities, activity terms and ln a(H2O) to
    give ln molality less ln K. ``weights`` (rows, S) makes every sum over species at once;
    ``rows`` names them: ``f`` a sum, ``f,k`` its derivative to ln activity of k, ``M:metal:f``
    the part of one metal. ``carriers`` (C, terms) is the activity rule of the species that
    carries most of a component.
    """

    model: Model
    metals: tuple[tuple[int, slice], ...]  # component index, its species
    unknowns: tuple[str, ...]  # H and the paired ligands, solved together
    spectators: tuple[str, ...]
    exponents: Array
    sizes: tuple[float, ...]
    weights: Array
    rows: dict[str, int]
    carriers: Array
    protonated: tuple[tuple[int, Any], ...]  # component, its species with H+ alone
    pairings: Pairings

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
    weights, rows = _weights(m, metals, ("H", *ligands))
    carriers = np.zeros((len(names), activity.shape[1]))
    for i, name in enumerate(names[1:], start=1):
        carriers[i] = activity[m.species.index(CARRIER.get(name, _free(m, i)))]
    return Layout(
        model=m,
        metals=metals,
        unknowns=unknowns,
        spectators=tuple(n for n in ligands if n in SPECTATORS),
        exponents=np.hstack([m.stoichiometry, activity, m.water[:, None]]),
        sizes=sizes,
        weights=weights,
        rows=rows,
        carriers=carriers,
        protonated=tuple((i, _with_h_alone(m, i)) for i in range(1, len(names))),
        pairings=_pairings(names, rows, unknowns),
    )


def _pairings(names: tuple[str, ...], rows: dict[str, int], unknowns: tuple[str, ...]) -> Pairings:
    parts = [key.split(":")[1:] for key in rows if key.startswith("M:")]
    at = {(metal, f): i for i, (metal, f) in enumerate(parts)}
    metals = dict.fromkeys(metal for metal, _ in parts)
    products = {
        (f, k): tuple((at[j, f], at[j, k]) for j in metals if (j, f) in at and (j, k) in at)
        for f in ("alk", "I", *unknowns[1:])
        for k in unknowns
    }
    return Pairings(
        np.array([rows[f"M:{j}:{f}"] for j, f in parts], int),
        np.array([names.index(j) for j, _ in parts], int),
        products,
    )


def _sorted_by_metal(full: Model) -> tuple[Model, tuple[tuple[int, slice], ...]]:
    names = full.components
    metal_ids = [i for i, n in enumerate(names) if n != "H" and n not in LIGANDS]
    owner = np.full(len(full.species), -1)
    for i in metal_ids:
        owner[full.stoichiometry[:, i] > 0] = i
    order = np.argsort(owner, kind="stable")
    fields = ("stoichiometry", "water", "log_k", "charge", "alkalinity", "size", "slope")
    m = Model(
        components=names,
        species=tuple(full.species[i] for i in order),
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


def _weights(
    m: Model, metals: tuple[tuple[int, slice], ...], moving: tuple[str, ...]
) -> tuple[Array, dict[str, int]]:
    names, a = m.components, m.stoichiometry
    sums: dict[str, Array] = {n: a[:, names.index(n)] for n in moving if n != "H"}
    sums |= {"alk": m.alkalinity, "I": 0.5 * m.charge**2, "sum": np.ones(len(m.species))}
    stack = dict(sums)
    for f in (*moving[1:], "alk", "I"):
        for k in moving:
            row = sums[f] * a[:, names.index(k)]
            apart = f != k and bool({f, k} & set(SPECTATORS))
            if np.any(row) and not apart:
                stack[f"{f},{k}"] = row
    by_metal = {**sums, "H": a[:, 0]}
    for i, part in metals:
        for f, row in by_metal.items():
            masked = np.zeros(len(m.species))
            masked[part] = row[part]
            if _metal_bends(names[i], f) and np.any(masked):
                stack[f"M:{names[i]}:{f}"] = masked
    return np.array(list(stack.values())), {key: i for i, key in enumerate(stack)}


def _metal_bends(metal: str, f: str) -> bool:
    """Tell whether a metal's pairing must show in the derivative of f."""
    if f in SPECTATORS or f == "sum":
        return False
    return metal in BINDING or (metal in PROTONATED and f in {"alk", "H"})
