"""Traces that matter to health alone: metals by mass, radionuclides by activity."""

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache

from msgspec import Struct

from pretreat.core.basis import cites
from pretreat.core.errors import UnitError
from pretreat.core.tables import rows
from pretreat.core.text import lazy
from pretreat.core.units.concentration import ConcentrationUnit, concentration_unit
from pretreat.core.water import Reading

PCI_PER_BQ = 27.027  # STOICHIOMETRY: 1 pCi is 0.037 Bq
COUNTED = "CFU/100 mL"
MOST_COUNTED = frozenset(
    {"present", "positive", "detected", "pos", "p", "+", "tntc", "nachweisbar"}
)
_PER_ML = lazy(r"/(?P<number>\d*)(?P<unit>ml|l)$")
ML_IN_100_ML = {"ml": 100.0, "l": 0.1}
ACTIVITY_PCI_L = {"pci/l": 1.0, "bq/l": PCI_PER_BQ, "mbq/l": PCI_PER_BQ / 1000.0}


class Trace(Struct, frozen=True):
    """A trace: its property of the analysis, its name, its unit, and what a picocurie of it is.

    ``per_pci`` is the amount of one picocurie in ``unit``; None where it has no activity.
    """

    property: str
    name: str
    unit: str
    per_pci: float | None


@lru_cache(maxsize=1)
def traces() -> Mapping[str, Trace]:
    """Return the traces of data/traces.csv by key."""
    return {
        r["key"]: Trace(
            r["property"], r["name"], r["unit"], float(r["per_pci"]) if r["per_pci"] else None
        )
        for r in rows("traces.csv")
    }


@cites("NATURAL_URANIUM", "0.67 pCi per microgram")
def trace_factor(key: str, unit: str) -> tuple[float, str, str, str]:
    """Return how a printed trace is led to its unit.

    Parameters
    ----------
    key : str
        Key of data/traces.csv. [-]
    unit : str
        Unit as printed; empty where none is. [-]

    Returns
    -------
    tuple
        Factor, unit as printed or as assumed, basis, and what was assumed. [-]

    Raises
    ------
    UnitError
        If the unit is no mass of a metal, or no activity of a radionuclide.
    """
    trace = traces()[key]
    bare = re.sub(r"\s+", "", unit).casefold()
    activity = ACTIVITY_PCI_L.get(bare)
    if activity is not None and trace.per_pci is not None:
        basis = "natural uranium, 0.67 pCi/µg" if trace.unit == "mg/L" else ""
        return activity * trace.per_pci, unit, basis, ""
    if trace.unit == COUNTED:
        return _counted(bare, unit)
    if trace.unit != "mg/L":
        if not unit:
            return 1.0, "pCi/L", "", "pCi/L"
        raise UnitError(f"'{unit}' does not measure {trace.name}; use pCi/L or Bq/L")
    known: ConcentrationUnit = concentration_unit(unit or "mg/L")
    if known.kind != "mass":
        raise UnitError(f"'{unit}' does not measure {trace.name}; use mg/L")
    return known.factor, unit or "mg/L", "", "" if unit else "mg/L"


def _counted(bare: str, unit: str) -> tuple[float, str, str, str]:
    """Return how a count of germs is led to 100 mL; any word for what was counted will do."""
    volume = _PER_ML.search(bare)
    if volume is None:
        return 1.0, unit or COUNTED, "", "" if unit else COUNTED
    number = float(volume["number"] or 1.0)
    return ML_IN_100_ML[volume["unit"]] / max(number, 1.0), unit, "", ""


def is_counted(key: str) -> bool:
    """Tell whether an analyte is counted in colonies.

    Parameters
    ----------
    key : str
        Key of the analyte. [-]

    Returns
    -------
    bool
        True for germs. [-]
    """
    trace = traces().get(key)
    return trace is not None and trace.unit == COUNTED


def found_alive(key: str, text: str) -> bool:
    """Tell whether a word says that germs were found.

    Parameters
    ----------
    key : str
        Key of the analyte. [-]
    text : str
        Result as printed. [-]

    Returns
    -------
    bool
        False for what is not counted in colonies. [-]
    """
    return is_counted(key) and text.strip().casefold() in MOST_COUNTED


def only_present(readings: Iterable[Reading]) -> frozenset[str]:
    """Return the properties of germs that a report says are there, and does not count.

    Parameters
    ----------
    readings : iterable of Reading
        Readings of an analysis. [-]

    Returns
    -------
    frozenset of str
        Their property stands at the least that may be there, one colony in 100 mL. [-]
    """
    germs = {trace.property for trace in traces().values() if trace.unit == COUNTED}
    said = (r for r in readings if r.used and r.text.strip().casefold() in MOST_COUNTED)
    return frozenset(r.analyte for r in said if r.analyte in germs)


def combined_radium(found: Mapping[str, float]) -> float | None:
    """Return radium 226 and 228 together, as printed or as the sum of what was measured.

    Parameters
    ----------
    found : mapping of str to float
        Properties of an analysis. [pCi/L]

    Returns
    -------
    float or None
        None where neither was measured. [pCi/L]
    """
    if "ra_pci_l" in found:
        return found["ra_pci_l"]
    parts = [found[k] for k in ("ra226_pci_l", "ra228_pci_l") if k in found]
    return sum(parts) if parts else None
