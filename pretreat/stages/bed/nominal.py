"""A vessel named by its nominal size, "10x54": its width, its height and its usual filling."""

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from pretreat.core.doors import quoted
from pretreat.core.errors import DesignError
from pretreat.core.text import lazy
from pretreat.site.keys import number
from pretreat.stages.bed.vessels import Vessel, nominal_vessels

WIDEST_M = 5.0
_SIZE = lazy(
    r"""^\s*(\d{1,2}(?:[.,]\d+)?)\s*(?:"|''|″|in\.?|inch)?\s*[x×*/]\s*"""
    r"""(\d{2,3}(?:[.,]\d+)?)\s*(?:"|''|″|in\.?|inch|inches)?\s*$""",
    re.IGNORECASE,
)
_SHORT = lazy(r"^\s*(\d{1,2})(\d{2})\s*$")  # 1054 is 10 by 54


def _known() -> dict[tuple[float, float], Vessel]:
    sizes = (v.name.removesuffix(" in").split(" x ") for v in nominal_vessels())
    pairs = ((float(wide), float(high)) for wide, high in sizes)
    return dict(zip(pairs, nominal_vessels(), strict=True))


def nominal_vessel(where: str, text: str) -> Vessel | None:
    """Read a nominal size.

    Parameters
    ----------
    where : str
        Place, for the message. [-]
    text : str
        Such as "10x54", "10 x 54 in" or "1054": nominal inches, width and height. [-]

    Returns
    -------
    Vessel or None
        The vessel of data/vessels.csv; None where the text is not of this form. [-]

    Raises
    ------
    DesignError
        If no such vessel is in the table.
    """
    found = _SIZE.match(text) or _SHORT.match(text)
    if found is None:
        return None
    wide, high = (float(part.replace(",", ".")) for part in found.groups())
    vessel = _known().get((wide, high))
    if vessel is None:
        near = min(_known(), key=lambda size: (abs(size[0] - wide), abs(size[1] - high)))
        raise DesignError(
            f"{where} = {quoted(text.strip())}: not a nominal size known here, the nearest is "
            f'"{near[0]:g}x{near[1]:g}"; for another vessel give vessel_diameter = "{wide:g} in" '
            "and what it is filled with"
        )
    return vessel


def _vessel(where: str, value: Any, _base: Path) -> Vessel:
    """Read a nominal size, as a text or, where a spreadsheet made a number of it, 1054."""
    whole = isinstance(value, int) and not isinstance(value, bool)
    vessel = nominal_vessel(where, str(value)) if whole or isinstance(value, str) else None
    if vessel is None:
        raise DesignError(
            f'{where} = {quoted(value)}: write a nominal size in inches, as in "10x54"'
        )
    return vessel


def _width(where: str, value: Any, base: Path) -> float | Vessel:
    """Read a diameter with its unit, or a nominal size."""
    vessel = nominal_vessel(where, value) if isinstance(value, str) else None
    return vessel or number(0.0, WIDEST_M, "m", open_low=True)(where, value, base)


def keys_of_vessel() -> dict[str, Any]:
    """Return the site file's keys for the size of a vessel.

    Returns
    -------
    dict
        Entries for a table of keys: vessel = "10x54", or vessel_diameter = "10 in". [-]
    """
    bare = number(0.0, WIDEST_M, "m", open_low=True)
    return {
        "vessel": ("vessel", _vessel, ""),
        "vessel_diameter": ("vessel_diameter_m", _width, "m"),
        "vessel_diameter_m": ("vessel_diameter_m", bare, "bare"),
    }


def one_width(stage: str) -> Callable[[Mapping[str, Any]], list[str]]:
    """Return a check that the width of a vessel is said once.

    Parameters
    ----------
    stage : str
        Key of the stage. [-]

    Returns
    -------
    callable
        Takes the values read, returns faults. [-]
    """

    def check(values: Mapping[str, Any]) -> list[str]:
        named, wide = values.get("vessel"), values.get("vessel_diameter_m")
        if named is None or wide is None or named is wide or named.diameter_m == wide:
            return []
        return [f"[{stage}] vessel and vessel_diameter both say how wide it is: keep one"]

    return check


def of_nominal(volume: str, *instead: str) -> Callable[[Mapping[str, Any]], dict[str, Any]]:
    """Return what fills in the width of a nominal vessel, and its usual filling.

    Parameters
    ----------
    volume : str
        Field of the volume of the medium. [-]
    *instead : str
        Fields that say how full it is in another way. [-]

    Returns
    -------
    callable
        Takes the values read, returns those to lay over them. [-]
    """

    def fill(values: Mapping[str, Any]) -> dict[str, Any]:
        vessel = values.get("vessel") or values.get("vessel_diameter_m")
        if not isinstance(vessel, Vessel):
            return {}
        over: dict[str, Any] = {"vessel": vessel.name, "vessel_diameter_m": vessel.diameter_m}
        if not {volume, *instead} & set(values):
            over[volume] = vessel.media_l
        return over

    return fill
