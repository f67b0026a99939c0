"""What a movement of A, B and the pressure drop of the elements means."""

from functools import lru_cache

from msgspec import Struct

from pretreat.core.basis import cites
from pretreat.core.tables import rows
from pretreat.membrane.elements.permeability import Membrane, aged

DAYS_PER_YEAR = 365.25
# PRACTICE: cleaned when flow is 10 to 15 % down, salt passage 10 to 15 %, a drop 15 % up; beyond
# them two gauges of 2 % are not the reason either.
WATER_MOVED, SALT_MOVED, DROP_MOVED = 0.10, 0.15, 0.15
ERRORS = 2.5  # RECORD_STATISTICS: what gauges alone show in one of a hundred readings
MOST_YEARS = 20.0  # PRACTICE: no element is older


class Movement(Struct, frozen=True):
    """Last over baseline of A, B and the factor of the pressure drop, and the years between.

    ``drop`` is 1 where no pressure of the concentrate was read; ``drop_error`` is one standard
    deviation of it, that of a difference of gauges.
    """

    water: float
    salt: float
    drop: float
    years: float
    drop_error: float = 0.0


class Meaning(Struct, frozen=True):
    """What a movement means: its key, a word of the trade, what happens and where to look."""

    key: str
    name: str
    words: str
    look: str


@lru_cache(maxsize=1)
def _known() -> tuple[tuple[Meaning, tuple[str, str, str]], ...]:
    return tuple(
        (
            Meaning(r["key"], r["name"], r["words"], r["look"]),
            (r["water"], r["salt"], r["drop"]),
        )
        for r in rows("fit_meanings.csv")
    )


def _sign(ratio: float, most: float) -> str:
    if ratio >= 1.0 + most:
        return "up"
    return "down" if ratio <= 1.0 - most else "same"


@cites("PRACTICE", "ageing of membranes taken off, then the triggers of a cleaning")
def meaning(moved: Movement) -> Meaning:
    """Return what a movement means.

    Only a fall of A and a rise of B within the yearly ageing of `aged` are taken off.

    Parameters
    ----------
    moved : Movement
        Last over baseline. [-]

    Returns
    -------
    Meaning
        The first of data/fit_meanings.csv that fits. [-]
    """
    old = aged(Membrane(1.0, 1.0), min(max(moved.years, 0.0), MOST_YEARS))
    water = _beyond(moved.water, float(old.water_lmh_bar))
    salt = _beyond(moved.salt, float(old.salt_lmh))
    signs = (
        _sign(water, WATER_MOVED),
        _sign(salt, SALT_MOVED),
        _sign(moved.drop, max(DROP_MOVED, ERRORS * moved.drop_error)),
    )
    for found, wanted in _known():
        if all(sign in some.split("/") for sign, some in zip(signs, wanted, strict=True)):
            return found
    return _known()[-1][0]


def _beyond(ratio: float, by_age: float) -> float:
    """Return a ratio without the part that age explains; age never turns a movement round."""
    if by_age < 1.0:
        return ratio if ratio >= 1.0 else min(ratio / by_age, 1.0)
    return ratio if ratio <= 1.0 else max(ratio / by_age, 1.0)
