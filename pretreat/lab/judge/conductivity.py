"""Electrical conductivity of a water from its ions."""

from collections.abc import Mapping
from functools import lru_cache
from math import sqrt

from msgspec import Struct

from pretreat.chemistry.activity import davies_pf
from pretreat.chemistry.composition import CARBONATES
from pretreat.core.basis import cites
from pretreat.core.tables import analytes, rows
from pretreat.core.units import CACO3_MG_PER_MEQ, molar_mass

IONIC_STRENGTH_RANGE = (0.0, 0.7)  # MCCLESKEY2012: up to 0.7 mol/kg
PAIRS, SULFATE = {"ca": "CaSO4", "mg": "MgSO4"}, "so4"  # of data/species.csv
DAVIES_SLOPE = 0.509  # DAVIES62: 25 °C
PAIRING_TURNS = 40  # NUMERICAL: far past what settles
EC_TEMPERATURE_C = 25.0  # the temperature a conductivity is reported at


class _Mobility(Struct, frozen=True):
    """Coefficients of one ion, in the order of data/conductivity.csv."""

    at_zero: tuple[float, float, float]
    slope: tuple[float, float, float]
    b: float


@lru_cache(maxsize=1)
def _mobilities() -> dict[str, _Mobility]:
    found = {}
    for row in rows("conductivity.csv"):
        at_zero = tuple(float(row[f"lambda_{letter}"]) for letter in "abc")
        slope = tuple(float(row[f"a_{letter}"]) for letter in "abc")
        found[row["key"]] = _Mobility(at_zero, slope, float(row["b"]))  # type: ignore[arg-type]
    return found


def molal(mg_l: Mapping[str, float], alkalinity_mg_l_caco3: float) -> dict[str, float]:
    """Return the charged species of an analysis, alkalinity as bicarbonate unless CO3 is given.

    Parameters
    ----------
    mg_l : mapping of str to float
        Composition. [mg/L as the ion]
    alkalinity_mg_l_caco3 : float
        Total alkalinity. [mg/L as CaCO3]

    Returns
    -------
    dict of str to float
        Ions by key; one litre is taken as one kilogram of water. [mol/kg]
    """
    found = {}
    for key, amount in mg_l.items():
        ion = analytes()[key]
        if ion.charge != 0 and key not in CARBONATES:
            found[key] = amount / molar_mass(ion.formula) / 1000
    carbonate = mg_l.get("co3", 0.0) / molar_mass("CO3") / 1000
    found["co3"] = carbonate
    found["hco3"] = max(alkalinity_mg_l_caco3 / CACO3_MG_PER_MEQ / 1000 - 2 * carbonate, 0.0)
    return found


@cites("MCCLESKEY2012", "equations 2 to 5")
def conductivity_us_cm(ions_mol_kg: Mapping[str, float], temp_c: float = EC_TEMPERATURE_C) -> float:
    """Return the conductivity of a solution of ions.

    Ion pairs are not taken out, so waters rich in sulfate come out 5 to 30 % high (see
    `least_conductivity_us_cm`); ions without coefficients (Fe, Mn, Al, Br, PO4, NO2) are left
    out.

    Parameters
    ----------
    ions_mol_kg : mapping of str to float
        Ions by key. [mol/kg]
    temp_c : float
        Temperature, 0 to 95. [°C]

    Returns
    -------
    float
        Conductivity. [µS/cm]
    """
    strength = 0.5 * sum(m * _charge(key) ** 2 for key, m in ions_mol_kg.items())
    total = 0.0
    for key, amount in ions_mol_kg.items():
        mobility = _mobilities().get(key)
        if mobility is None:
            continue
        at_zero = _quadratic(mobility.at_zero, temp_c)
        slope = _quadratic(mobility.slope, temp_c)
        root = sqrt(strength)
        total += amount * (at_zero - slope * root / (1 + mobility.b * root))
    return 1000 * total


@cites("WATEQ4F", "log K of CaSO4 and MgSO4")
def least_conductivity_us_cm(ions_mol_kg: Mapping[str, float]) -> float:
    """Return the conductivity at 25 °C without what calcium, magnesium and sulfate pair up.

    The pairs carry no charge. Measured waters lie between this and `conductivity_us_cm`, whose
    coefficients were taken of whole salts.

    Parameters
    ----------
    ions_mol_kg : mapping of str to float
        Ions by key. [mol/kg]

    Returns
    -------
    float
        Conductivity. [µS/cm]
    """
    free = dict(ions_mol_kg)
    held = {ion: k for ion, k in _pairs().items() if free.get(ion)}
    for _ in range(PAIRING_TURNS if held and free.get(SULFATE) else 0):
        strength = 0.5 * sum(m * _charge(key) ** 2 for key, m in free.items())
        both = 10.0 ** (-8.0 * float(davies_pf(strength, DAVIES_SLOPE)))  # two divalent ions
        sulfate = ions_mol_kg[SULFATE] / (1.0 + both * sum(k * free[i] for i, k in held.items()))
        free[SULFATE] = 0.5 * (free[SULFATE] + sulfate)
        for ion, k in held.items():
            free[ion] = ions_mol_kg[ion] / (1.0 + both * k * free[SULFATE])
    return conductivity_us_cm(free)


@lru_cache(maxsize=1)
def _pairs() -> dict[str, float]:
    """Return the constants of the uncharged pairs with sulfate, 25 °C."""
    log_k = {row["species"]: row["log_k"] for row in rows("species.csv")}
    return {ion: 10.0 ** float(log_k[name]) for ion, name in PAIRS.items()}


def _charge(key: str) -> int:
    return 1 if key == "h" else analytes()[key].charge


def _quadratic(coefficients: tuple[float, float, float], temp_c: float) -> float:
    a, b, c = coefficients
    return (a * temp_c + b) * temp_c + c
