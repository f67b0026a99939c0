"""How the vessels of a stage stand to each other, and how many regenerate in an interval."""

from pathlib import Path
from typing import Any, Literal, Protocol

from msgspec import Struct

from pretreat.core.errors import DesignError
from pretreat.core.results import Ledger
from pretreat.site.keys import word

Arrangement = Literal["single", "parallel", "duty-standby", "lead-lag", "simplex", "duplex"]
ARRANGEMENTS = ("single", "parallel", "duty-standby", "lead-lag", "simplex", "duplex")
ALIASES = {"simplex": "single", "duplex": "duty-standby"}
MOST_VESSELS = 12
LEAD_LAG_VESSELS = 2  # one leads, the other lags behind it


class Choice(Protocol):
    """What a stage's choices say of its vessels."""

    @property
    def vessels(self) -> int | None:
        """All vessels, None where not given."""

    @property
    def arrangement(self) -> Arrangement | None:
        """How they stand, None where not given."""


class Standing(Struct, frozen=True):
    """Vessels of a stage: how they stand, how many share the flow, serve, and stand by.

    ``side_by_side`` vessels share the flow, and so many regenerate in an interval.
    """

    word: str
    side_by_side: int
    in_service: int
    standby: int

    @property
    def vessels(self) -> int:
        """All vessels."""
        return self.in_service + self.standby


def wanted_word(choice: Choice) -> str | None:
    """Return the arrangement asked for in its standard word, None where none is.

    Parameters
    ----------
    choice : Choice
        Choices of a stage. [-]

    Returns
    -------
    str or None
        single, parallel, duty-standby or lead-lag. [-]
    """
    word = choice.arrangement
    if word is None:
        if choice.vessels is None:
            return None
        return "single" if choice.vessels == 1 else "parallel"
    return ALIASES.get(word, word)


def wanted_side_by_side(choice: Choice, stage: str) -> int | None:
    """Return how many vessels share the flow, None where sizing is free to choose.

    Parameters
    ----------
    choice : Choice
        Choices of a stage. [-]
    stage : str
        Key of the stage, for the message. [-]

    Returns
    -------
    int or None
        Vessels side by side. [-]

    Raises
    ------
    DesignError
        If number and arrangement contradict each other.
    """
    word, vessels = wanted_word(choice), choice.vessels
    if vessels is None:
        return 1 if word in {"single", "lead-lag"} else None
    return standing(word or "single", vessels, stage).side_by_side


def least_side_by_side(choice: Choice) -> int:
    """Return the fewest vessels side by side that the arrangement means.

    Parameters
    ----------
    choice : Choice
        Choices of a stage. [-]

    Returns
    -------
    int
        Two for parallel, else one. [-]
    """
    return 2 if wanted_word(choice) == "parallel" else 1


def standing(word: str, vessels: int, stage: str) -> Standing:
    """Return how a number of vessels stands in an arrangement.

    Parameters
    ----------
    word : str
        single, parallel, duty-standby or lead-lag. [-]
    vessels : int
        All vessels. [-]
    stage : str
        Key of the stage, for the message. [-]

    Returns
    -------
    Standing
        How they stand. [-]

    Raises
    ------
    DesignError
        If the arrangement is not possible with the number.
    """
    least = 1 if word == "single" else 2
    most = {"single": 1, "lead-lag": LEAD_LAG_VESSELS}.get(word, MOST_VESSELS)
    if not least <= vessels <= most:
        limit = f"takes {least}" if least == most else f"takes {least} to {most}"
        raise DesignError(
            f'[{stage}] vessels = {vessels} with arrangement = "{word}": that arrangement {limit}; '
            "correct one of the two"
        )
    if word == "duty-standby":
        return Standing(word, vessels - 1, vessels - 1, 1)
    if word == "lead-lag":
        return Standing(word, 1, vessels, 0)
    return Standing(word, vessels, vessels, 0)


def standing_of(choice: Choice, stage: str, found: int | None = None) -> Standing:
    """Return how the vessels of a stage stand.

    Parameters
    ----------
    choice : Choice
        Choices of a stage. [-]
    stage : str
        Key of the stage. [-]
    found : int, optional
        Vessels side by side that sizing has chosen. [-]

    Returns
    -------
    Standing
        How they stand; single where nothing is said. [-]
    """
    word = wanted_word(choice)
    if word is None:
        word = "single" if found in {None, 1} else "parallel"
    usual = {"parallel": found or 2, "duty-standby": (found or 1) + 1, "lead-lag": LEAD_LAG_VESSELS}
    vessels = choice.vessels if choice.vessels is not None else usual.get(word, 1)
    return standing(word, vessels, stage)


def numbers_to_try(choice: Choice, stage: str, most: int) -> range:
    """Return the numbers of vessels side by side that sizing may try, fewest first.

    Parameters
    ----------
    choice : Choice
        Choices of a stage. [-]
    stage : str
        Key of the stage. [-]
    most : int
        Most vessels side by side where the number is free. [-]

    Returns
    -------
    range
        Numbers. [-]
    """
    given = wanted_side_by_side(choice, stage)
    if given is not None:
        return range(given, given + 1)
    return range(least_side_by_side(choice), most + 1)


def _read_whole(where: str, value: Any, _base: Path) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise DesignError(f"{where} = {value!r}: write a whole number of vessels, such as 2")
    if not 1 <= value <= MOST_VESSELS:
        raise DesignError(f"{where} is {value}: must be from 1 to {MOST_VESSELS}")
    return value


def arrangement_of(ledger: Ledger, stage: str) -> str:
    """Return the arrangement entered for a stage, single where none is.

    Parameters
    ----------
    ledger : Ledger
        Figures so far. [-]
    stage : str
        Key of the stage. [-]

    Returns
    -------
    str
        single, parallel, duty-standby or lead-lag. [-]
    """
    figure = ledger.figure(f"{stage}.arrangement")
    return "single" if figure is None else str(figure.value)


def keys_of_vessels() -> dict[str, Any]:
    """Return the site file's keys for the number and the arrangement of vessels.

    Returns
    -------
    dict
        Entries for a table of keys. [-]
    """
    return {
        "vessels": ("vessels", _read_whole, "bare"),
        "arrangement": ("arrangement", word(*ARRANGEMENTS), ""),
    }
