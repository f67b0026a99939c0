"""What a caller of the public functions may ask for; anything else is one clear error."""

import math
from collections.abc import Mapping, Sequence
from numbers import Real
from typing import Any

from pretreat.core.errors import OutOfRangeError, PretreatError
from pretreat.core.tables import rows
from pretreat.core.water import WaterAnalysis
from pretreat.site.design import LimitChoices

READING = ("sample", "sheet", "encoding", "decimal", "asked")
FILE_OR_WATER = "a file (str or Path) or a WaterAnalysis"
TEMPERATURE_C = (0.0, 60.0)
PH = (0.0, 14.0)
MOST_RECOVERY = 0.95
MOST_DRAWS = 2**20


def number(name: str, value: Any, low: float, high: float = math.inf) -> float:
    """Return a number of a caller, ends of its range included.

    Parameters
    ----------
    name : str
        How the argument is called. [-]
    value : object
        What was given. [any]
    low, high : float
        Its range. [any]

    Returns
    -------
    float
        The number. [any]

    Raises
    ------
    OutOfRangeError
        If it is no number, not finite, or outside the range.
    """
    known = isinstance(value, Real) and not isinstance(value, bool)
    if not known or not math.isfinite(float(value)) or not low <= float(value) <= high:
        ends = f"from {low:g} to {high:g}" if math.isfinite(high) else f"of {low:g} or more"
        raise OutOfRangeError(f"{name} = {value!r}: must be a number {ends}")
    return float(value)


def recovery(name: str, value: Any) -> None:
    """Refuse what is neither a recovery nor two measured flows.

    Parameters
    ----------
    name : str
        How the argument is called. [-]
    value : object
        Product / feed [-], or flows of product and drain [m3/h].

    Raises
    ------
    OutOfRangeError
        If it is neither.
    """
    if isinstance(value, tuple) and len(value) == 2:
        for one, flow in zip(("product", "drain"), value, strict=True):
            number(f"{name}, {one} flow in m3/h", flow, 1e-9)
        return
    number(name, value, 0.0, MOST_RECOVERY)


def draws(value: Any) -> None:
    """Refuse a number of draws that is no power of two, and not 0.

    Parameters
    ----------
    value : object
        What was given. [-]

    Raises
    ------
    OutOfRangeError
        If it is neither.
    """
    whole = isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= MOST_DRAWS
    if not whole or value & (value - 1):
        raise OutOfRangeError(
            f"draws = {value!r}: must be a power of two up to {MOST_DRAWS:,}, such as 1024, or 0"
        )


def passage(value: Any) -> None:
    """Refuse a passage that is neither a share nor shares by ion.

    Parameters
    ----------
    value : object
        Permeate / feed, for all ions or by ion. [-]

    Raises
    ------
    OutOfRangeError
        If a share is no number from 0 to 1.
    """
    if isinstance(value, Mapping):
        for ion, share in value.items():
            number(f"salt_passage of {ion}", share, 0.0, 1.0)
        return
    number("salt_passage", value, 0.0, 1.0)


def limits(value: Any) -> None:
    """Refuse limits that are not `LimitChoices`, and percents that are none.

    Parameters
    ----------
    value : object
        Limits chosen; None for the usual ones. [-]

    Raises
    ------
    PretreatError
        If they are something else, or name an unknown scale.
    """
    if value is None:
        return
    if not isinstance(value, LimitChoices):
        raise PretreatError(f"limits = {value!r}: must be a LimitChoices, or left out")
    known = {row["criterion"] for row in rows("limits.csv")}
    for scale, percent in value.percent_of_saturation.items():
        if scale not in known:
            names = ", ".join(sorted(known))
            raise PretreatError(f"limits: '{scale}' is no scale; write one of {names}")
        number(f"limits: percent of saturation of {scale}", percent, 1e-6)


def reading(given: Mapping[str, Any], *, of_file: bool) -> None:
    """Refuse arguments that a function does not have.

    Parameters
    ----------
    given : mapping
        What was given beside the named arguments. [-]
    of_file : bool
        Whether a file is read; an analysis takes none of them. [-]

    Raises
    ------
    PretreatError
        If one is unknown, or nothing is read.
    """
    for name in given:
        if name not in READING:
            raise PretreatError(f"'{name}' is no argument; of a report: {', '.join(READING)}")
        if not of_file:
            raise PretreatError(f"'{name}' is for a file; an analysis was given")


def water(found: Any) -> None:
    """Refuse an analysis with numbers that no water has.

    Parameters
    ----------
    found : object
        What was given as an analysis. [-]

    Raises
    ------
    OutOfRangeError
        If pH, temperature, alkalinity or an amount is outside what can be.
    """
    if not isinstance(found, WaterAnalysis):
        raise PretreatError(f"{found!r} is no water: give {FILE_OR_WATER}")
    if found.ph is not None:
        number("pH of the water", found.ph, *PH)
    if found.alkalinity_mg_l_caco3 is not None:
        number("alkalinity of the water", found.alkalinity_mg_l_caco3, 0.0)
    for ion, amount in found.mg_l.items():
        number(f"{ion} of the water, mg/L", amount, 0.0)


def recoveries(values: Any) -> None:
    """Refuse recoveries that are no list of them.

    Parameters
    ----------
    values : object
        What was given. [-]

    Raises
    ------
    OutOfRangeError
        If the list is empty or one of them is none.
    """
    listed = isinstance(values, Sequence) and not isinstance(values, str)
    if not listed or not values:
        raise OutOfRangeError(f"recoveries = {values!r}: give at least one, as in [0.5, 0.75]")
    for value in values:
        number("recovery", value, 0.0, MOST_RECOVERY)
