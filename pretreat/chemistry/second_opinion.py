"""The same water once more, by PHREEQC with two of its databases.

PHREEQC is a second pair of eyes: it recomputes the design point with an ion-association
database and with a Pitzer database. Where it cannot be loaded the result is empty, and the
caller says so with a flag.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from pretreat.core.basis import cites
from pretreat.core.tables import Row, rows

DATABASES = ("wateq4f.dat", "pitzer.dat")
PHASES = {
    "calcite": "Calcite",
    "gypsum": "Gypsum",
    "barite": "Barite",
    "celestite": "Celestite",
    "fluorite": "Fluorite",
    "silica": "SiO2(a)",
}
ELEMENTS = {
    "Ca": "Ca", "Mg": "Mg", "Na": "Na", "K": "K", "Sr": "Sr", "Ba": "Ba", "Fe": "Fe(2)",
    "Mn": "Mn(2)", "NH4": "N(-3)", "Al": "Al", "SO4": "S(6)", "Cl": "Cl", "F": "F",
    "NO3": "N(5)", "NO2": "N(3)", "Br": "Br", "PO4": "P", "Si": "Si", "B": "B",
}  # fmt: skip
# What the Pitzer database lacks, its charge, and the ion that takes its place eq for eq.
REPLACED = {
    "F": (1, "Cl"), "NO3": (1, "Cl"), "NO2": (1, "Cl"), "PO4": (1, "Cl"),
    "NH4": (1, "Na"), "Al": (3, "Na"),
}  # fmt: skip
IN_PITZER = {"Fe": "Fe", "Mn": "Mn"}  # written without a redox state there
LEAST_CARBON = 1e-15  # mol/kg: below it there is none
SATURATED = -99.0  # PHREEQC writes -999.999 for a mineral whose element is absent


@dataclass(frozen=True, slots=True)
class Opinion:
    """What PHREEQC finds with one database."""

    database: str
    ph: float
    ionic_strength_mol_kg: float
    water_activity: float
    si: Mapping[str, float]
    replaced: tuple[str, ...]


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

    Returns
    -------
    tuple of Opinion
        One per database that gave an answer; empty where PHREEQC cannot be loaded. [-]
    """
    if not available():
        return ()
    found = []
    for database in DATABASES:
        totals: dict[str, float] = dict(totals_mol_kg)
        replaced: tuple[str, ...] = ()
        if database == "pitzer.dat":
            totals, replaced = _without_missing(totals)
        carbonate = alkalinity_eq_kg, inorganic_carbon_mol_kg, ph
        text = _input(totals, carbonate, temp_c, database)
        row = _run(database, text)
        if row is not None:
            found.append(_opinion(database, row, replaced))
    return tuple(found)


def _without_missing(totals: dict[str, float]) -> tuple[dict[str, float], tuple[str, ...]]:
    replaced = tuple(n for n in REPLACED if totals.get(n, 0.0) > 0)
    kept = {n: v for n, v in totals.items() if n not in REPLACED}
    for name in replaced:
        charge, stand_in = REPLACED[name]
        kept[stand_in] = kept.get(stand_in, 0.0) + charge * totals[name]
    return kept, replaced


def _input(
    totals: Mapping[str, float], carbonate: tuple[float, float, float], temp_c: float, database: str
) -> str:
    alkalinity, carbon, ph = carbonate
    lines = _redefined() if database == "pitzer.dat" else []
    lines += ["SOLUTION 1", "units mol/kgw", f"temp {temp_c:.10g}", f"pH {ph:.10g}"]
    if carbon > LEAST_CARBON:
        lines += [f"C(4) {carbon:.12g}", f"Alkalinity {alkalinity:.12g}"]
    for name, amount in totals.items():
        if amount > 0 and name in ELEMENTS:
            element = IN_PITZER.get(name) if database == "pitzer.dat" else None
            lines.append(f"{element or ELEMENTS[name]} {amount:.12g}")
    lines += ["SELECTED_OUTPUT 1", "-reset false", "-high_precision true", "-pH true"]
    lines += ["-ionic_strength true", "-saturation_indices " + " ".join(PHASES.values())]
    lines += ["USER_PUNCH 1", "-headings aw", '10 PUNCH ACT("H2O")', "END"]
    return "\n".join(lines) + "\n"


def _redefined() -> list[str]:
    """Give the Pitzer database the barite and celestite constants that are on the safe side."""
    by_key: dict[str, Row] = {r["mineral"]: r for r in rows("minerals.csv")}
    lines = ["PHASES"]
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
