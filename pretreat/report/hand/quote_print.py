"""How a quote is set on its pages: sizes of print, and where the last page begins."""

from collections.abc import Sequence

from msgspec import Struct

from pretreat.core.text import lazy

ENOUGH = 0.5  # of the last page
Place = tuple[int, float]  # page, and how far down it [mm]


class Print(Struct, frozen=True):
    """Sizes of letters in points, line height in mm a point, room around rows, share of gaps."""

    body: float = 9.0
    small: float = 8.0
    head: float = 10.5
    title: float = 18.0
    lead: float = 0.45
    pad: float = 0.7
    gap: float = 1.0


USUAL = Print()
NO_BREAK = "\N{NO-BREAK SPACE}"
_UNITS = "|".join(
    ("%", "°dH", "m³", "ft³", "ft3", "L", "kg", "g", "lb", "gal", "gpg", "grains", "in", "h")
)
_PER_VOLUME = "[mµn]g/L|CFU|pCi/L|Bq/L|MFL"
_TIME = "days|hours|horas|días|Stunden|Tagen"
_BETWEEN = lazy(rf"(?<=\d) (?=(?:{_UNITS}|{_PER_VOLUME}|{_TIME})(?!\w))")
_MARK = lazy(r"\((\w+) (?=[\d.,]+ %\))")  # of a rate of tax behind a line
CLOSE = Print(8.5, 7.6, 9.5, 15.0, 0.42, 0.45, 0.55)  # where it saves a page


def kept_together(text: str) -> str:
    """Return a text in which no line ends between a number and its unit, or within a rate.

    Parameters
    ----------
    text : str
        As it is read. [-]

    Returns
    -------
    str
        With a space between them that does not break. [-]
    """
    return _BETWEEN.sub(NO_BREAK, _MARK.sub(rf"(\1{NO_BREAK}", text))


def freed(line: str) -> str:
    """Return a line that is cut, with the usual spaces, so that it is found when searched for.

    Parameters
    ----------
    line : str
        One line. [-]

    Returns
    -------
    str
        The same words. [-]
    """
    return line.replace(NO_BREAK, " ").rstrip()


def even_start(
    parts: Sequence[Place], ends: Sequence[Place], end: Place, page: tuple[float, float]
) -> int | None:
    """Return the part that should begin the last page, so that no page is nearly empty.

    Parameters
    ----------
    parts : sequence of Place
        Where each part begins. [mm]
    ends : sequence of Place
        Where each page but the last was left. [mm]
    end : Place
        Where the last part ends. [mm]
    page : tuple of float
        Top and bottom of what a page holds. [mm]

    Returns
    -------
    int or None
        Number of the part; None where the last page is half full, or nothing can be moved. [-]
    """
    (last, below), (top, bottom) = end, page
    whole, tail = bottom - top, below - top
    if last < 2 or tail >= ENOUGH * whole:
        return None
    left = max((y for number, y in ends if number == last - 1), default=bottom)
    ahead = [(y, n) for n, (number, y) in enumerate(parts) if number == last - 1]
    evens = [(min(y - top, tail + left - y), n) for y, n in ahead if tail + left - y <= whole]
    return max(evens)[1] if evens else None
