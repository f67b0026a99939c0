"""What no water and no machine has is refused in one line; in a batch it is a gap (NaN)."""

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from pretreat.chemistry.composition import known_ion
from pretreat.core.errors import AnalysisError, DesignError, OutOfRangeError, one_of
from pretreat.core.tables import analytes

PH_RANGE = (0.0, 14.0)
MOST_SOLUTES_MG_L = 500_000.0  # half of the litre; a saturated brine holds 320 g/L of NaCl


def numbers(name: str, value: Any) -> Any:
    """Return a value as an array of numbers, refusing what is none.

    Parameters
    ----------
    name : str
        Name of the quantity, for the message. [-]
    value : float or array
        What was given. [-]

    Returns
    -------
    array
        Its numbers. [-]

    Raises
    ------
    AnalysisError
        If it holds text, None or the like.
    """
    try:
        return np.asarray(value, float)
    except (TypeError, ValueError):
        raise AnalysisError(f"{name} is {value!r}: not a number; give a number") from None


def same_shape(arrays: Mapping[str, Any]) -> None:
    """Refuse arrays that do not go together.

    Parameters
    ----------
    arrays : mapping of str to array
        What is to be computed together, by name. [-]

    Raises
    ------
    AnalysisError
        If their shapes do not broadcast, or one of them is empty.
    """
    shapes = {name: np.shape(v) for name, v in arrays.items() if np.ndim(v)}
    try:
        empty = 0 in np.broadcast_shapes(*shapes.values())
    except ValueError:
        empty = True
    if empty:
        words = ", ".join(f"{name} {shape}" for name, shape in shapes.items())
        raise AnalysisError(f"arrays that do not go together: {words}; give one number per water")


def checked_water(
    mg_l: Mapping[str, Any], alkalinity_mg_l_caco3: Any, ph: Any
) -> tuple[dict[str, Any], Any, Any]:
    """Return composition, alkalinity and pH as numbers, refusing what no water has.

    Parameters
    ----------
    mg_l : mapping of str to float or array
        Composition. [mg/L as the ion]
    alkalinity_mg_l_caco3 : float or array
        Alkalinity; NaN where it was not measured. [mg/L as CaCO3]
    ph : float or array
        pH. [-]

    Returns
    -------
    tuple
        The same as arrays; of many waters, those that no water has are NaN in their pH. [-]

    Raises
    ------
    AnalysisError
        If an ion is not known, or something is no number.
    OutOfRangeError
        If a single water has a negative or missing concentration, a negative alkalinity, a pH
        outside 0 to 14, or more solutes than water.
    """
    ions = {key: numbers(known_ion(key).name, value) for key, value in mg_l.items()}
    alkalinity, acidity = numbers("alkalinity", alkalinity_mg_l_caco3), numbers("pH", ph)
    if all(np.ndim(v) == 0 for v in (*ions.values(), alkalinity, acidity)):
        _refuse_single(ions, float(alkalinity), float(acidity))
        return ions, alkalinity, acidity
    same_shape(ions | {"alkalinity": alkalinity, "pH": acidity})
    wrong: Any = False
    for amount in ions.values():
        wrong = wrong | ~(np.isfinite(amount) & (amount >= 0))
    wrong = wrong | (alkalinity < 0) | np.isinf(alkalinity)
    low, high = PH_RANGE
    wrong = wrong | ~((acidity >= low) & (acidity <= high))
    ions = {k: np.where(np.isfinite(v) & (v >= 0), v, np.nan) for k, v in ions.items()}
    alkalinity = np.where(np.isfinite(alkalinity) & (alkalinity >= 0), alkalinity, np.nan)
    return ions, alkalinity, np.where(wrong, np.nan, acidity)


def _refuse_single(ions: Mapping[str, Any], alkalinity: float, ph: float) -> None:
    for key, amount in ions.items():
        value = float(amount)
        if not (math.isfinite(value) and value >= 0):
            raise OutOfRangeError(
                f"{analytes()[key].name} is {value:g} mg/L: a concentration is a number of 0 or "
                "more; leave out what was not measured"
            )
    if alkalinity < 0 or math.isinf(alkalinity):
        raise OutOfRangeError(
            f"alkalinity is {alkalinity:g} mg/L as CaCO3: give 0 or more, or NaN where it was "
            "not measured; a water below pH 4.5 has none, write 0"
        )
    low, high = PH_RANGE
    if not low <= ph <= high:
        raise OutOfRangeError(f"pH is {ph:g}: a pH lies between {low:g} and {high:g}; measure it")
    total = sum(float(v) for v in ions.values())
    if total > MOST_SOLUTES_MG_L:
        raise OutOfRangeError(
            f"the ions add up to {total:,.0f} mg/L: more than {MOST_SOLUTES_MG_L:,.0f} mg/L is "
            "no water; check the units"
        )


def checked_machine(
    recovery: Any, passage: Mapping[str, Any], rho: float, wall_factor: float = 1.0
) -> Any:
    """Return the recovery as numbers, refusing what no machine has.

    Parameters
    ----------
    recovery : float or array
        Product / fresh feed. [-]
    passage : mapping of str to float or array
        Salt passage by analyte key, or "default". [-]
    rho : float
        Recycle / (fresh feed + recycle). [-]
    wall_factor : float
        Concentration polarisation. [-]

    Returns
    -------
    array
        Recovery; of many, those outside 0 to below 1 are NaN. [-]

    Raises
    ------
    OutOfRangeError
        If a single recovery is outside 0 to below 1, a passage outside 0 to 1, a recycle
        share outside 0 to below 1, or a wall factor below 1.
    DesignError
        If a passage is that of no ion.
    """
    found = numbers("recovery", recovery)
    inside = (found >= 0.0) & (found < 1.0)
    if found.ndim == 0 and not inside:
        raise OutOfRangeError(
            f"recovery is {float(found):g}: product / feed is a number from 0 to below 1; "
            "65 % is written 0.65"
        )
    for key, value in passage.items():
        if key != "default" and key not in analytes():
            known = [*analytes(), "default"]
            raise DesignError(f"salt passage of {key!r}: not an ion{one_of(str(key), known)}")
        share = numbers(f"salt passage of {key!r}", value)
        if not np.all((share >= 0.0) & (share <= 1.0) | (np.isnan(share) & (share.ndim > 0))):
            raise OutOfRangeError(
                f"salt passage of {key} is {value}: permeate / feed is a number from 0 to 1"
            )
    same_shape({"recovery": found} | {k: np.asarray(v, float) for k, v in passage.items()})
    for name, value, low, high in (
        ("recycle share", rho, 0.0, 1.0),
        ("wall factor", wall_factor, 1.0, math.inf),
    ):
        number = float(numbers(name, value))
        if not low <= number < high:
            raise OutOfRangeError(f"{name} is {number:g}: it lies from {low:g} to below {high:g}")
    return found if np.all(inside) else np.where(inside, found, np.nan)
