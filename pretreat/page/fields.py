"""Fields of a form read as options of the commands are, with the same words."""

import datetime
from pathlib import Path
from typing import Any, Literal

from pretreat.core.errors import PretreatError
from pretreat.page.task import Sent, Task
from pretreat.site.design import LimitChoices
from pretreat.site.keys import HIGHEST_RECOVERY, number

DRAWS = 1024
MOST_DRAWS = 8_192  # of one request; the command takes more
_WARMEST_C = 60.0
_MOST_FLOW_M3_H = 10_000.0
_YES = {"true", "yes", "on", "1"}
_NO = {"false", "no", "off", "0", ""}


class FieldError(PretreatError):
    """A field of a form that is missing or cannot be used."""


def needed(task: Task, name: str, example: str) -> str:
    """Return the text of a field that must be there."""
    text = task.one(name)
    if text is None:
        raise FieldError(f"the field {name} is missing; send {name} = {example}")
    return text


def one_file(task: Task, name: str) -> Sent:
    """Return the one file of a field that must be there."""
    sent = task.of(name)
    if len(sent) == 1:
        return sent[0]
    if sent:
        raise FieldError(f"{len(sent)} files were sent as {name}; send one")
    raise FieldError(f"the field {name} is missing; send the file in it")


def a_number(task: Task, name: str) -> float | None:
    """Return a field that holds a number, None where it was not sent.

    Parameters
    ----------
    task : Task
        The task. [-]
    name : str
        The field. [-]

    Returns
    -------
    float or None
        The number. [as the field]

    Raises
    ------
    FieldError
        If it is no number.
    """
    text = task.one(name)
    if text is None:
        return None
    try:
        return float(text)
    except ValueError:
        raise FieldError(f"{name} = '{text[:60]}': is no number; write 0.65") from None


def recovery(task: Task) -> float | tuple[float, float]:
    """Return the recovery, or the flows of product and drain that give it.

    Parameters
    ----------
    task : Task
        The task, with ``recovery``, or ``product`` and ``drain``. [-]

    Returns
    -------
    float or tuple of float
        Product / feed [-], or both flows [m3/h].

    Raises
    ------
    FieldError
        If neither is there, or it is out of range.
    """
    value, product, drain = a_number(task, "recovery"), task.one("product"), task.one("drain")
    by_meters = product is not None and drain is not None
    if (value is None) != by_meters or (product is None) != (drain is None):
        raise FieldError("send recovery = 0.65, or both product and drain with their units")
    if value is None:
        read = number(0.0, _MOST_FLOW_M3_H, "m3/h", open_low=True)
        return read("product", product, Path()), read("drain", drain, Path())
    if not 0 <= value <= HIGHEST_RECOVERY:
        raise FieldError(f"{value:g} is not a recovery from 0 to 0.95; write 0.65 for 65 %")
    return value


def temperature_c(task: Task) -> float | None:
    """Return the operating temperature, None where it was not sent.

    Parameters
    ----------
    task : Task
        The task. [-]

    Returns
    -------
    float or None
        Temperature. [°C]
    """
    value = a_number(task, "temperature")
    if value is not None and not 0 <= value <= _WARMEST_C:
        raise FieldError(f"temperature is {value:g} °C: must be from 0 to 60 °C")
    return value


def salt_passage(task: Task) -> float:
    """Return the salt passage of every ion.

    Parameters
    ----------
    task : Task
        The task. [-]

    Returns
    -------
    float
        Permeate / feed. [-]
    """
    value = a_number(task, "salt_passage") or 0.0
    if not 0 <= value < 1:
        raise FieldError(f"{value:g} is not a fraction from 0 to below 1; write 0.65 for 65 %")
    return value


def draws(task: Task) -> int:
    """Return the number of draws."""
    text = task.one("draws")
    if text is None:
        return DRAWS
    count = int(text) if text.isascii() and text.isdigit() and len(text) < len("100000") else -1
    if count and (not 0 < count <= MOST_DRAWS or count & (count - 1)):
        raise FieldError(
            f"{text[:20]} draws: write a power of two up to {MOST_DRAWS:,}, such as 1024, or 0 for "
            "none"
        )
    return count


def yes(task: Task, name: str) -> bool:
    """Return a field that says yes or no; no where it was not sent."""
    text = (task.one(name) or "").strip().casefold()
    if text not in _YES | _NO:
        raise FieldError(f"{name} = '{text[:20]}': write true or false")
    return text in _YES


def units(task: Task) -> Literal["si", "us"]:
    """Return the units of the reader."""
    text = task.one("units") or "si"
    if text == "si":
        return "si"
    if text == "us":
        return "us"
    raise FieldError(f"units = '{text[:20]}': write si or us")


def date(task: Task) -> datetime.date | None:
    """Return the date of a document, None where it was not sent."""
    text = task.one("date")
    if text is None:
        return None
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise FieldError(f"'{text[:20]}' is not a date; write 2031-05-14") from None


def reading(task: Task) -> dict[str, Any]:
    """Return how a report is read: sample, sheet, encoding, decimal mark, column and units.

    Parameters
    ----------
    task : Task
        The task. [-]

    Returns
    -------
    dict
        Arguments of `pretreat.lab.read_analysis`. [-]
    """
    from pretreat.lab.read.report import Asked

    asked = Asked.of(task.one("column"), [u for u in task.fields.get("unit", ()) if u])
    plain = {name: task.one(name) for name in ("sample", "sheet", "encoding", "decimal")}
    return {**plain, "asked": asked}


def limits(task: Task, folder: Path) -> LimitChoices:
    """Return the limits of scaling: with an inhibitor or without, and files of the user's own."""
    from pretreat.site.limits import with_files

    files = [
        folder / one_file(task, name).name if task.of(name) else None
        for name in ("limits", "k_chart")
    ]
    return with_files(LimitChoices(inhibitor=yes(task, "inhibitor")), *files)
