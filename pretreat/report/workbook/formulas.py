"""A figure's formula over keys -> a spreadsheet formula over cells."""

import re
from collections.abc import Mapping
from functools import cache, lru_cache

from pretreat.core.errors import PretreatError
from pretreat.core.units import US_CUSTOMARY
from pretreat.report.workbook.pages import Place

_KEY = re.compile(r"\{([a-z0-9_.]+)\}")
_SAFE = re.compile(
    r"""(?> \s | [-+*/^(),;<>=&%] | \d+(?:\.\d+)?(?:[eE][-+]?\d+)? | "[^"]*"
        | \b(?:ABS|AND|CEILING|COUNT|EXP|FALSE|FLOOR|IF|INT|LN|LOG10|MAX|MID|MIN|MOD|N|NOT|OR|PI
              |POWER|ROUND|ROUNDDOWN|ROUNDUP|SQRT|SUM|TRUE)\b
    )*+""",
    re.VERBOSE,
)


@lru_cache(maxsize=4096)
def keys_in(formula: str) -> tuple[str, ...]:
    """Return the keys a formula refers to, in order, each once.

    Parameters
    ----------
    formula : str
        Expression with keys in braces. [-]

    Returns
    -------
    tuple of str
        Keys of figures. [-]
    """
    return tuple(dict.fromkeys(_KEY.findall(formula)))


def repeated_key(formula: str | None) -> str | None:
    """Return the key of the figure that a formula does no more than repeat.

    Parameters
    ----------
    formula : str or None
        Expression with keys in braces. [-]

    Returns
    -------
    str or None
        Key, None where the formula does more. [-]
    """
    keys = keys_in(formula or "")
    if len(keys) != 1:
        return None
    cell = f"{{{keys[0]}}}"
    return keys[0] if formula in {cell, f'IF(COUNT({cell})<1,"",{cell})'} else None


def reference(place: Place, sheet: str) -> str:
    """Return the reference to a cell as seen from a sheet.

    Parameters
    ----------
    place : Place
        The cell. [-]
    sheet : str
        Name of the sheet that holds the formula; empty to name the sheet always. [-]

    Returns
    -------
    str
        Such as "$B$5" or "'Iron filter'!$B$5". [-]
    """
    cell = f"${column_letter(place.column)}${place.row + 1}"
    if place.sheet == sheet:
        return cell
    quoted = place.sheet.replace("'", "''")
    return f"'{quoted}'!{cell}"


@cache
def column_letter(column: int) -> str:
    """Return the letters of a column counted from zero.

    Parameters
    ----------
    column : int
        Column from zero. [-]

    Returns
    -------
    str
        Such as "AA". [-]
    """
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def cell_formula(formula: str, places: Mapping[str, Place], sheet: str) -> str | None:
    """Translate a figure's formula.

    Parameters
    ----------
    formula : str
        Expression with keys in braces. [-]
    places : mapping of str to Place
        Cells of the figures that hold a number. [-]
    sheet : str
        Name of the sheet that holds the formula. [-]

    Returns
    -------
    str or None
        A formula that starts with "=", None if a key has no cell with a number. [-]

    Raises
    ------
    PretreatError
        If the expression holds anything but arithmetic and a few functions.
    """
    parts = _KEY.split(formula.lstrip("="))  # what is no key, and the keys between
    if not _SAFE.fullmatch("0".join(parts[::2])):
        raise PretreatError(f"formula '{formula}' holds more than arithmetic; it is not written")
    if any(key not in places for key in parts[1::2]):
        return None
    parts[1::2] = [reference(places[key], sheet) for key in parts[1::2]]
    return "=" + "".join(parts)


def us_formula(cell: str, unit: str) -> str:
    """Return the formula that shows a cell in US customary units.

    Parameters
    ----------
    cell : str
        Reference to the cell in the unit of the study. [-]
    unit : str
        That unit; it has a US customary display. [-]

    Returns
    -------
    str
        A formula that starts with "=". [-]
    """
    shown = US_CUSTOMARY[unit]
    offset = f"+{shown.offset!r}" if shown.offset else ""
    return f"={cell}*{shown.factor!r}{offset}"


def si_formula(cell: str, unit: str) -> str:
    """Return the formula that turns a cell in US customary units into the unit of the study.

    Parameters
    ----------
    cell : str
        Reference to the cell in US customary units. [-]
    unit : str
        Unit of the study; it has a US customary display. [-]

    Returns
    -------
    str
        A formula that starts with "=". [-]
    """
    shown = US_CUSTOMARY[unit]
    less = f"({cell}-{shown.offset!r})" if shown.offset else cell
    return f"={less}/{shown.factor!r}"
