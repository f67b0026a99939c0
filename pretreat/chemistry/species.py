"""The aqueous model: components, species and minerals of ``data/`` as matrices.

Every reaction in the tables is written as its source writes it. Here each species becomes a
row of integers over the components (H+ first), a log K as a function of temperature with five
coefficients, and an activity-coefficient rule.
"""

import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from pretreat.core.errors import DataTableError
from pretreat.core.tables import Row, rows

Array = NDArray[np.float64]

GAS_CONSTANT_KJ = 0.008314462618  # CODATA 2018, kJ/(mol K)
KJ_PER_KCAL = 4.184  # thermochemical calorie, by definition
REFERENCE_K = 298.15
LN10 = float(np.log(10.0))

_TERM = re.compile(r"^(\d+(?:\.\d+)?)?\s*([A-Z(].*)$")


def log_k_basis(temp_k: Any) -> Array:
    """Return the five functions of temperature that multiply a log K's coefficients.

    Parameters
    ----------
    temp_k : array
        Absolute temperature. [K]

    Returns
    -------
    array, shape (5, ...)
        1, T, 1/T, log10 T and 1/T². [-]
    """
    t = np.asarray(temp_k, float)
    return np.stack([np.ones_like(t), t, 1.0 / t, np.log10(t), 1.0 / t**2])


def log_k_coefficients(row: Row) -> Array:
    """Return a log K as five coefficients; van 't Hoff fits the same form.

    Parameters
    ----------
    row : mapping of str to str
        Row with log_k and delta_h_kcal, or a1 to a5. [-]

    Returns
    -------
    array, shape (5,)
        Multiplied by `log_k_basis` they give log10 K. [-]
    """
    if row["a1"]:
        return np.array([float(row[f"a{i}"]) for i in range(1, 6)])
    log_k = float(row["log_k"])
    if not row["delta_h_kcal"]:
        return np.array([log_k, 0.0, 0.0, 0.0, 0.0])
    slope = float(row["delta_h_kcal"]) * KJ_PER_KCAL / (LN10 * GAS_CONSTANT_KJ)
    return np.array([log_k + slope / REFERENCE_K, 0.0, -slope, 0.0, 0.0])


def reaction_terms(side: str) -> list[tuple[float, str]]:
    """Split one side of a reaction into coefficients and species.

    Parameters
    ----------
    side : str
        As in "Fe+3 + 2 H2O". [-]

    Returns
    -------
    list of tuple
        Coefficient and species. [-]

    Raises
    ------
    DataTableError
        If a term cannot be read.
    """
    found = []
    for term in re.split(r"\s+\+\s+", side.strip()):
        match = _TERM.match(term.strip())
        if match is None:
            raise DataTableError(f"reaction term '{term}' cannot be read")
        found.append((float(match[1] or 1.0), match[2]))
    return found


class Model(Struct, frozen=True):
    """The aqueous model as arrays; C components with H+ first, S species.

    ``stoichiometry`` (S, C) and ``water`` (S,) give each species over components and H2O;
    ``log_k`` (S, 5); ``charge`` and ``alkalinity`` (S,);
    ``size`` (S,) is the ion-size parameter, 0 for the Davies rule, NaN for neither;
    ``slope`` (S,) multiplies the ionic strength.
    """

    components: tuple[str, ...]
    species: tuple[str, ...]
    stoichiometry: Array
    water: Array
    log_k: Array
    charge: Array
    alkalinity: Array
    size: Array
    slope: Array

    def index(self, component: str) -> int:
        """Return the position of a component."""
        return self.components.index(component)


def charge_number(formula: str) -> int:
    """Return the charge a formula ends in: -1 of "Fe(OH)4-"; 0 without one.

    Parameters
    ----------
    formula : str
        Formula as the tables write it. [-]

    Returns
    -------
    int
        Charge number. [-]
    """
    match = re.search(r"([+-])(\d*)$", formula)
    return 0 if match is None else int(f"{match[1]}{match[2] or 1}")


def activity_rule(row: Row, charge: int) -> tuple[float, float]:
    """Return ion size and slope; PHREEQC's defaults where the table gives none.

    Parameters
    ----------
    row : mapping of str to str
        Row with gamma_a and gamma_b. [-]
    charge : int
        Charge number. [-]

    Returns
    -------
    tuple of float
        Ion size, 0 for the Davies rule and NaN for neither [Å]; slope [kg/mol].
    """
    if row["gamma_a"]:
        return float(row["gamma_a"]), float(row["gamma_b"])
    if charge == 0:
        return np.nan, NEUTRAL_SLOPE
    return 0.0, 0.0


NEUTRAL_SLOPE = 0.1  # PA13: log gamma = 0.1 I for an uncharged species without its own rule


@lru_cache(maxsize=8)
def model(present: frozenset[str] | None = None) -> Model:
    """Return the aqueous model, reduced to the components present.

    Parameters
    ----------
    present : frozenset of str, optional
        Components to keep besides H+; all of data/components.csv if omitted. [-]

    Returns
    -------
    Model
        The matrices. [-]
    """
    table = [r for r in rows("components.csv") if _wanted(r["component"], present)]
    names = tuple(r["component"] for r in table)
    unit = np.eye(len(names))
    known: dict[str, tuple[Array, float, Array]] = {"H2O": (np.zeros(len(names)), 1.0, np.zeros(5))}
    for i, row in enumerate(table):
        known[row["species"]] = (unit[i], 0.0, np.zeros(5))
    kept: list[tuple[str, Row]] = [(r["species"], r) for r in table]
    for row in rows("species.csv"):
        entry = _species(row, known)
        if entry is not None:
            known[row["species"]] = entry
            kept.append((row["species"], row))
    return _assemble(names, kept, known, np.array([float(r["alkalinity"]) for r in table]))


def _wanted(component: str, present: frozenset[str] | None) -> bool:
    return component == "H" or present is None or component in present


def _species(
    row: Row, known: Mapping[str, tuple[Array, float, Array]]
) -> tuple[Array, float, Array] | None:
    """Write the first product of a reaction over the components; None if one is absent."""
    left, right = row["reaction"].split(" = ")
    products = reaction_terms(right)
    if products[0][1] != row["species"] or products[0][0] != 1.0:
        raise DataTableError(f"species.csv, {row['species']}: must be the first product, once")
    parts = reaction_terms(left) + [(-n, s) for n, s in products[1:]]
    if any(s not in known for _, s in parts):
        return None
    stoichiometry = sum(n * known[s][0] for n, s in parts)
    water = sum(n * known[s][1] for n, s in parts)
    log_k = log_k_coefficients(row) + sum(n * known[s][2] for n, s in parts)
    return np.asarray(stoichiometry), float(water), log_k


def _assemble(
    names: tuple[str, ...],
    kept: list[tuple[str, Row]],
    known: Mapping[str, tuple[Array, float, Array]],
    component_alkalinity: Array,
) -> Model:
    entries = [known[name] for name, _ in kept]
    charge = [charge_number(name) for name, _ in kept]
    rules = [activity_rule(row, z) for (_, row), z in zip(kept, charge, strict=True)]
    stoichiometry = np.array([e[0] for e in entries])
    return Model(
        components=names,
        species=tuple(name for name, _ in kept),
        stoichiometry=stoichiometry,
        water=np.array([e[1] for e in entries]),
        log_k=np.array([e[2] for e in entries]),
        charge=np.array(charge, float),
        alkalinity=stoichiometry @ component_alkalinity,
        size=np.array([r[0] for r in rules]),
        slope=np.array([r[1] for r in rules]),
    )


class Mineral(Struct, frozen=True):
    """One row of data/minerals.csv, its dissolution written over the components of a model."""

    key: str
    name: str
    formula: str
    stoichiometry: Mapping[str, float]
    water: float
    log_k: Array
    limit_scale: bool
    source: str
    note: str

    def log_k_at(self, temp_k: Any) -> Array:
        """Return log10 K at a temperature [K]."""
        return self.log_k_of(log_k_basis(temp_k))

    def log_k_of(self, basis: Array) -> Array:
        """Return log10 K from the functions of temperature of `log_k_basis`."""
        return np.tensordot(self.log_k, basis, axes=1)


@lru_cache(maxsize=1)
def minerals() -> Mapping[str, Mineral]:
    """Return every mineral of data/minerals.csv by key.

    Returns
    -------
    mapping of str to Mineral
        The minerals, scaling ones first. [-]
    """
    full = model()
    known = {name: full.stoichiometry[i] for i, name in enumerate(full.species)}
    extra = {name: full.water[i] for i, name in enumerate(full.species)}
    log_k = {name: full.log_k[i] for i, name in enumerate(full.species)}
    found: dict[str, Mineral] = {}
    for row in rows("minerals.csv"):
        left, right = row["reaction"].split(" = ")
        parts = reaction_terms(right) + [(-n, s) for n, s in reaction_terms(left)[1:]]
        vector = np.zeros(len(full.components))
        water, shift = 0.0, np.zeros(5)
        for n, s in parts:
            if s == "H2O":
                water += n
                continue
            vector = vector + n * known[s]
            water += n * extra[s]
            shift = shift - n * log_k[s]
        found[row["mineral"]] = Mineral(
            key=row["mineral"],
            name=row["name"],
            formula=row["formula"],
            stoichiometry={c: v for c, v in zip(full.components, vector, strict=True) if v},
            water=water,
            log_k=log_k_coefficients(row) + shift,
            limit_scale=row["role"] == "scale",
            source=row["source"],
            note=row["note"],
        )
    return found
