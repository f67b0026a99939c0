"""The water that the elements see: amounts by constituent, as the march counts them."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from pretreat.core.errors import AnalysisError, one_of
from pretreat.core.units import CACO3_MG_PER_MEQ, HCO3_PER_CACO3, molar_mass
from pretreat.membrane.elements.permeability import (
    TEMPERATURE_RANGE_C,
    ion_classes,
    refuse_outside,
)

Array = NDArray[np.float64]
MOST_MG_L = 200_000.0  # no water holds more of one constituent


class ElementFeed(Struct, frozen=True):
    """A water for the march; ``amounts`` has one row per key, then the shape of the waters.

    Rows are mmol/L; those of traces without molar mass keep the unit they came in.
    """

    keys: tuple[str, ...]
    amounts: Array
    temp_c: Any

    def mg_l(self, amounts: Any) -> dict[str, Any]:
        """Return rows of amounts as mg/L by key; traces in their own unit."""
        return {k: amounts[i] * _mass(k) for i, k in enumerate(self.keys)}

    def charges(self) -> Array:
        """Return the charge number of each row as counted in the balance. [-]."""
        return np.array([ion_classes()[k].charge for k in self.keys], float)

    def osmotic(self) -> Array:
        """Return 1 for rows that count in the osmotic pressure, 0 for traces. [-]."""
        return np.array([float(np.isfinite(ion_classes()[k].molar_mass)) for k in self.keys])


def _mass(key: str) -> float:
    mass = ion_classes()[key].molar_mass
    return mass if np.isfinite(mass) else 1.0


def element_feed(
    mg_l: Mapping[str, Any], temp_c: Any, alkalinity_mg_l_caco3: Any = None
) -> ElementFeed:
    """Return the water that the elements see.

    A printed alkalinity beats bicarbonate and carbonate; without one, carbonate joins the
    bicarbonate equivalent by equivalent. What was not measured (NaN) counts as absent.

    Parameters
    ----------
    mg_l : mapping of str to float or array
        Composition by the keys of data/ion_permeability.csv, 0 to 200 000; traces (as3, u, ra)
        in any unit. [mg/L as the ion]
    temp_c : float or array
        Temperature, 0 to 45. [°C]
    alkalinity_mg_l_caco3 : float or array, optional
        Total alkalinity. [mg/L as CaCO3]

    Returns
    -------
    ElementFeed
        The water. [-]

    Raises
    ------
    AnalysisError
        If a key is not known, a value is negative or not a number, or nothing is dissolved.
    OutOfRangeError
        If the temperature is outside its range.
    """
    refuse_outside("water temperature", temp_c, TEMPERATURE_RANGE_C, "°C")
    plain = {key: _numbers(key, value) for key, value in mg_l.items()}
    if alkalinity_mg_l_caco3 is not None:
        alkalinity = _numbers("alkalinity", alkalinity_mg_l_caco3)
        plain["hco3"] = HCO3_PER_CACO3 * alkalinity
    elif "co3" in plain:
        per_co3 = 2.0 * molar_mass("HCO3") / molar_mass("CO3")
        plain["hco3"] = plain.get("hco3", np.asarray(0.0)) + per_co3 * plain["co3"]
    plain.pop("co3", None)
    if not plain:
        raise AnalysisError("the feed of the elements has no dissolved constituent: give mg/L")
    shape = np.broadcast_shapes(np.shape(temp_c), *(v.shape for v in plain.values()))
    filled = [np.broadcast_to(v / _mass(k), shape) for k, v in plain.items()]
    return ElementFeed(tuple(plain), np.array(filled), np.asarray(temp_c, float))


def _numbers(key: str, value: Any) -> Array:
    known = ion_classes()
    if key not in known and key not in {"co3", "alkalinity"}:
        raise AnalysisError(
            f"'{key}' is not a constituent whose passage is known{one_of(key, list(known))} "
            f"Leave it out, or use one of: {', '.join(known)}"
        )
    try:
        numbers = np.asarray(value, float)
    except (TypeError, ValueError):
        raise AnalysisError(f"{key} is {value!r} in the feed: give a number in mg/L") from None
    bad = (numbers < 0.0) | (numbers > MOST_MG_L)
    if bad.any():
        raise AnalysisError(
            f"{key} is {np.atleast_1d(numbers)[np.atleast_1d(bad)][0]:g} mg/L in the feed of the "
            f"elements: it must be from 0 to {MOST_MG_L:g} mg/L"
        )
    absent_as_zero: Array = np.nan_to_num(numbers)
    return absent_as_zero


def dissolved_mg_l(feed: ElementFeed, amounts: Any) -> Any:
    """Return total dissolved solids of rows of amounts: ions with full bicarbonate, and silica.

    Parameters
    ----------
    feed : ElementFeed
        Whose keys the rows have. [-]
    amounts : array
        Rows of amounts. [mmol/L]

    Returns
    -------
    float or array
        Sum; traces of unknown unit are left out. [mg/L]
    """
    counted = feed.osmotic()
    masses = np.array([_mass(k) for k in feed.keys]) * counted
    return np.tensordot(masses, amounts, axes=1)


def imbalance_pct(feed: ElementFeed, amounts: Any) -> Any:
    """Return the charge imbalance of rows of amounts.

    Parameters
    ----------
    feed : ElementFeed
        Whose keys the rows have. [-]
    amounts : array
        Rows of amounts. [mmol/L]

    Returns
    -------
    float or array
        100 (cations - anions) / (cations + anions), NaN where there are no ions. [%]
    """
    charge = feed.charges()
    cations = np.tensordot(np.maximum(charge, 0.0), amounts, axes=1)
    anions = np.tensordot(np.maximum(-charge, 0.0), amounts, axes=1)
    total = cations + anions
    share = np.divide(
        cations - anions, total, out=np.full(np.shape(total), np.nan), where=total > 0
    )
    return 100.0 * share


def alkalinity_mg_l_caco3(feed: ElementFeed, amounts: Any) -> Any:
    """Return the alkalinity of rows of amounts, all of it counted as bicarbonate.

    Parameters
    ----------
    feed : ElementFeed
        Whose keys the rows have. [-]
    amounts : array
        Rows of amounts. [mmol/L]

    Returns
    -------
    float or array
        Alkalinity. [mg/L as CaCO3]
    """
    if "hco3" not in feed.keys:
        return 0.0 * amounts[0]
    return amounts[feed.keys.index("hco3")] * CACO3_MG_PER_MEQ
