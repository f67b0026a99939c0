"""The same water once more, by PHREEQC with two of its databases.

PHREEQC is a second pair of eyes: it takes the fresh feed, concentrates it by itself, recycle
included, with an ion-association database and with a Pitzer database. Where it cannot be loaded
the result is empty, and the caller says so with a flag.
"""

import math
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from msgspec import Struct

from pretreat.core.basis import cites
from pretreat.core.tables import Row, rows

DATABASES = ("wateq4f.dat", "pitzer.dat")
# Headings of what PHREEQC writes.
CARBON, CO2, ALKALINITY = "C(4)(mol/kgw)", "m_CO2(mol/kgw)", "Alk(eq/kgw)"
PHASES = {
    "calcite": "Calcite",
    "gypsum": "Gypsum",
    "barite": "Barite",
    "celestite": "Celestite",
    "fluorite": "Fluorite",
    "silica": "SiO2(a)",
}
ELEMENTS = {
    "Ca": "Ca",
    "Mg": "Mg",
    "Na": "Na",
    "K": "K",
    "Sr": "Sr",
    "Ba": "Ba",
    "Fe": "Fe(2)",
    "Mn": "Mn(2)",
    "NH4": "N(-3)",
    "Al": "Al",
    "SO4": "S(6)",
    "Cl": "Cl",
    "F": "F",
    "NO3": "N(5)",
    "NO2": "N(3)",
    "Br": "Br",
    "PO4": "P",
    "Si": "Si",
    "B": "B",
}
# What the Pitzer database lacks, its charge, and the ion that takes its place eq for eq.
REPLACED = {
    "F": (1, "Cl"),
    "NO3": (1, "Cl"),
    "NO2": (1, "Cl"),
    "PO4": (1, "Cl"),
    "NH4": (1, "Na"),
    "Al": (3, "Na"),
}
IN_PITZER = {"Fe": "Fe", "Mn": "Mn"}  # written without a redox state there
LOG_K_BASO4 = 2.72  # FELMY90: association of Ba+2 and SO4-2, 25 °C; pitzer.dat has no such pair
TURNS = 60
PH_BRACKET = (0.5, 13.0)
CLOSED = 1e-9  # of the carbon balance of a recycling array, relative
LEAST_CARBON = 1e-15  # mol/kg: below it there is none
SATURATED = -99.0  # PHREEQC writes -999.999 for a mineral whose element is absent


class Opinion(Struct, frozen=True):
    """What PHREEQC finds with one database."""

    database: str
    ph: float
    ionic_strength_mol_kg: float
    water_activity: float
    si: Mapping[str, float]
    replaced: tuple[str, ...]


class Concentration(Struct, frozen=True):
    """What a machine does to each component of its fresh feed; "CO3" is the alkalinity.

    ``drain`` is concentrate / fresh feed, wall factor included; ``array`` is array feed / fresh
    feed; ``carbon`` is concentrate / array feed of what carbon does not pass as CO2; ``wall`` is
    at the membrane / in bulk.
    """

    drain: Mapping[str, float]
    array: Mapping[str, float]
    carbon: float
    rho: float = 0.0
    wall: float = 1.0


def available() -> bool:
    """Tell whether the PHREEQC package can be loaded on this machine.

    Returns
    -------
    bool
        True if it can. [-]
    """
    try:
        import phreeqc  # noqa: F401
    except (ImportError, OSError):
        return False
    return True


@cites("PA13", "wateq4f.dat and pitzer.dat of PHREEQC 3.8.6")
def second_opinions(
    totals_mol_kg: Mapping[str, float],
    alkalinity_eq_kg: float,
    inorganic_carbon_mol_kg: float,
    temp_c: float,
    ph: float = 7.5,
    databases: Sequence[str] = DATABASES,
) -> tuple[Opinion, ...]:
    """Return what PHREEQC finds for one water, pH solved from alkalinity and carbon.

    Parameters
    ----------
    totals_mol_kg : mapping of str to float
        Component totals. [mol/kg of water]
    alkalinity_eq_kg : float
        Alkalinity. [eq/kg of water]
    inorganic_carbon_mol_kg : float
        Total inorganic carbon. [mol/kg of water]
    temp_c : float
        Temperature. [°C]
    ph : float
        pH of a water without carbon; where PHREEQC starts to look otherwise. [-]
    databases : sequence of str
        Those to ask. [-]

    Returns
    -------
    tuple of Opinion
        One per database that gave an answer; empty where PHREEQC cannot be loaded. [-]
    """
    if not available():
        return ()
    found = []
    for database in databases:
        totals, replaced = _known_to(database, totals_mol_kg)
        carbonate = _Carbonate(alkalinity_eq_kg, inorganic_carbon_mol_kg, ph)
        row = _solved(database, totals, carbonate, temp_c)
        if row is not None:
            found.append(_opinion(database, row, replaced))
    return tuple(found)


@cites("PA13", "wateq4f.dat and pitzer.dat of PHREEQC 3.8.6")
@cites("FELMY90", "BaSO4(aq) beside pitzer.dat")
def concentrate_opinions(
    fresh_mol_kg: Mapping[str, float],
    alkalinity_eq_kg: float,
    ph: float,
    temp_c: float,
    machine: Concentration,
) -> tuple[Opinion, ...]:
    """Return what PHREEQC finds for the concentrate of a fresh feed, by its own way there.

    Its own inorganic carbon and CO2 of the fresh feed follow from pH and alkalinity; CO2 passes
    the membrane; with recycle the array feed is the one whose concentrate it holds.

    Parameters
    ----------
    fresh_mol_kg : mapping of str to float
        Component totals of the fresh feed. [mol/kg of water]
    alkalinity_eq_kg : float
        Alkalinity of the fresh feed. [eq/kg of water]
    ph : float
        pH of the fresh feed. [-]
    temp_c : float
        Temperature. [°C]
    machine : Concentration
        Factors of the machine. [-]

    Returns
    -------
    tuple of Opinion
        One per database that gave an answer; empty where PHREEQC cannot be loaded. [-]
    """
    if not available():
        return ()
    found = []
    for database in DATABASES:
        fresh = _solved(
            database,
            _known_to(database, fresh_mol_kg)[0],
            _Carbonate(alkalinity_eq_kg, None, ph),
            temp_c,
        )
        carbon = (
            None
            if fresh is None
            else _drain_carbon(database, fresh_mol_kg, alkalinity_eq_kg, (fresh, temp_c), machine)
        )
        if carbon is None:
            continue
        totals, replaced = _known_to(database, _times(fresh_mol_kg, machine.drain))
        drain = _Carbonate(alkalinity_eq_kg * machine.drain["CO3"], carbon, ph)
        if fresh is not None and fresh[CARBON] <= LEAST_CARBON:
            acid = fresh[ALKALINITY] * machine.drain["CO3"]
            drain = _without_carbon(database, totals, acid, temp_c)
        row = _solved(database, totals, drain, temp_c)
        if row is not None:
            found.append(_opinion(database, row, replaced))
    return tuple(found)


def _without_carbon(
    database: str, totals: Mapping[str, float], alkalinity: float, temp_c: float
) -> "_Carbonate":
    """Find the pH at which a water without carbon has an alkalinity, negative in an acid one."""
    low, high = PH_BRACKET
    for _ in range(TURNS):
        ph = 0.5 * (low + high)
        row = _solved(database, totals, _Carbonate(alkalinity, 0.0, ph), temp_c)
        above = row is None or row[ALKALINITY] > alkalinity
        low, high = (low, ph) if above else (ph, high)
    return _Carbonate(alkalinity, 0.0, 0.5 * (low + high))


class _Carbonate(Struct, frozen=True):
    """Alkalinity with carbon, and where to look for pH; or alkalinity with pH, carbon None."""

    alkalinity: float
    carbon: float | None
    ph: float


def _times(totals: Mapping[str, float], factors: Mapping[str, float]) -> dict[str, float]:
    return {name: amount * factors.get(name, 1.0) for name, amount in totals.items()}


def _drain_carbon(
    database: str,
    fresh_mol_kg: Mapping[str, float],
    alkalinity: float,
    at: tuple[Mapping[str, Any], float],
    machine: Concentration,
) -> float | None:
    """Return the inorganic carbon of the concentrate, None where a recycle does not close."""
    fresh, temp_c = at
    carbon, co2 = fresh[CARBON], fresh[CO2]
    if machine.rho == 0.0 or carbon <= LEAST_CARBON:
        return float((carbon - co2) * machine.carbon * machine.wall + co2)
    totals = _known_to(database, _times(fresh_mol_kg, machine.array))[0]
    mixed = alkalinity * machine.array["CO3"]
    rho, factor = machine.rho, machine.carbon

    def left(ph: float) -> tuple[float, float, float]:
        """Return how much carbon the loop has too much, the array feed's, and its CO2."""
        row = _solved(database, totals, _Carbonate(mixed, None, ph), temp_c)
        if row is None or row[CARBON] <= LEAST_CARBON:
            return -carbon, math.nan, math.nan  # no such water: a pH too high
        held = (row[CARBON] - row[CO2]) * factor + row[CO2]
        return row[CARBON] - (1.0 - rho) * carbon - rho * held, row[CARBON], row[CO2]

    low, high = PH_BRACKET
    for _ in range(TURNS):
        ph = 0.5 * (low + high)
        over, array, passing = left(ph)
        if abs(over) < CLOSED * carbon:
            return float((array - passing) * factor * machine.wall + passing)
        low, high = (ph, high) if over > 0 else (low, ph)
    return None


def _known_to(
    database: str, totals: Mapping[str, float]
) -> tuple[dict[str, float], tuple[str, ...]]:
    """Return the totals that a database knows, and what stands in for something else."""
    if database == "pitzer.dat":
        return _without_missing(dict(totals))
    return dict(totals), ()


def _without_missing(totals: dict[str, float]) -> tuple[dict[str, float], tuple[str, ...]]:
    replaced = tuple(n for n in REPLACED if totals.get(n, 0.0) > 0)
    kept = {n: v for n, v in totals.items() if n not in REPLACED}
    for name in replaced:
        charge, stand_in = REPLACED[name]
        kept[stand_in] = kept.get(stand_in, 0.0) + charge * totals[name]
    return kept, replaced


def _solved(
    database: str, totals: Mapping[str, float], carbonate: _Carbonate, temp_c: float
) -> dict[str, Any] | None:
    lines = _redefined() if database == "pitzer.dat" else []
    lines += ["SOLUTION 1", "units mol/kgw", f"temp {temp_c:.10g}", f"pH {carbonate.ph:.12g}"]
    if carbonate.carbon is None or carbonate.carbon > LEAST_CARBON:
        lines.append(f"Alkalinity {carbonate.alkalinity:.12g}")
        if carbonate.carbon is not None:
            lines.append(f"C(4) {carbonate.carbon:.12g}")
    for name, amount in totals.items():
        if amount > 0 and name in ELEMENTS:
            element = IN_PITZER.get(name) if database == "pitzer.dat" else None
            lines.append(f"{element or ELEMENTS[name]} {amount:.12g}")
    lines += ["SELECTED_OUTPUT 1", "-reset false", "-high_precision true", "-pH true"]
    lines += ["-ionic_strength true", "-alkalinity true", "-totals C(4)", "-molalities CO2"]
    lines += ["-saturation_indices " + " ".join(PHASES.values())]
    lines += ["USER_PUNCH 1", "-headings aw", '10 PUNCH ACT("H2O")', "END"]
    return _run(database, "\n".join(lines) + "\n")


def _redefined() -> list[str]:
    """Give the Pitzer database the barite and celestite constants that are on the safe side.

    And the pair BaSO4(aq), without which it reads 0.2 to 0.3 too high in sulfate waters.
    """
    by_key: dict[str, Row] = {r["mineral"]: r for r in rows("minerals.csv")}
    lines = ["SOLUTION_SPECIES", "Ba+2 + SO4-2 = BaSO4", f"log_k {LOG_K_BASO4}", "PHASES"]
    for key in ("barite", "celestite"):
        row = by_key[key]
        numbers = " ".join(row[f"a{i}"] for i in range(1, 6))
        lines += [PHASES[key], row["reaction"], f"log_k {row['log_k']}", f"-analytical {numbers}"]
    return lines


@lru_cache(maxsize=4)
def _engine(database: str) -> Any:
    """Load PHREEQC with a database, once a process."""
    import phreeqc

    engine = phreeqc.Phreeqc()
    return engine if engine.LoadBuiltInDatabase(database) == 0 else None


def _run(database: str, text: str) -> dict[str, Any] | None:
    engine = _engine(database)
    if engine is None or engine.RunString(text) != 0:
        return None
    output = engine.GetSelectedOutput()
    return {name: values[-1] for name, values in output.items() if values}


def _opinion(database: str, row: Mapping[str, Any], replaced: tuple[str, ...]) -> Opinion:
    si = {}
    for key, phase in PHASES.items():
        value = row.get(f"si_{phase}")
        if isinstance(value, float) and value > SATURATED:
            si[key] = value
    return Opinion(database, row["pH"], row["mu"], row["aw"], si, replaced)
