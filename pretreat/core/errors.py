"""What can go wrong, each kind with a name of its own.

Every message says what was found, its value and unit, the limit it broke and what to do.
The command line prints one line per fault and exits with code 1.
"""

from collections.abc import Sequence

from pretreat.core.text import one_line

LONGEST_FAULT = 990  # characters


class PretreatError(Exception):
    """Base of every error the program raises on purpose; its faults are printable lines.

    Parameters
    ----------
    *faults : str
        One clear line per fault found. [-]
    """

    def __init__(self, *faults: str) -> None:
        self.faults: tuple[str, ...] = tuple(one_line(fault, LONGEST_FAULT) for fault in faults)
        super().__init__("\n".join(self.faults))


class AnalysisError(PretreatError):
    """A lab report that cannot be read, or a water that cannot be used as it is."""


class DesignError(PretreatError):
    """A site file with an unknown key, a missing value or an impossible choice."""


class UnitError(PretreatError):
    """A unit or a basis that is not known, or does not measure what is asked."""


class OutOfRangeError(PretreatError):
    """A value outside the range for which a correlation, table or rule holds."""


class DataTableError(PretreatError):
    """A row of the program's own data that is damaged or does not name its source."""


def check_range(
    name: str, value: float, limits: tuple[float, float], unit: str, source: str
) -> None:
    """Refuse a value outside ``limits``, ends included; not-a-number is refused too.

    Parameters
    ----------
    name : str
        Name of the quantity, for the message. [-]
    value : float
        Its value. [unit]
    limits : tuple of float
        Lowest and highest value allowed. [unit]
    unit : str
        Unit of value and limits. [-]
    source : str
        Key of the source that sets the limits. [-]

    Raises
    ------
    OutOfRangeError
        If ``value`` is outside ``limits`` or not a number.
    """
    low, high = limits
    if not low <= value <= high:
        raise OutOfRangeError(
            f"{name} is {value:g} {unit}; {source} holds from {low:g} to {high:g} {unit}: "
            "use a value inside that range"
        )


LONGEST_WORD = 60  # characters that are compared


def one_of(word: str, known: Sequence[str]) -> str:
    """Return a hint naming the known word nearest to ``word``, or an empty text.

    Parameters
    ----------
    word : str
        The word that was not recognised. [-]
    known : sequence of str
        The words that are. [-]

    Returns
    -------
    str
        "; did you mean 'x'?" or "". [-]
    """
    from difflib import get_close_matches

    near = get_close_matches(word[:LONGEST_WORD], known, n=1, cutoff=0.0)
    return f"; did you mean '{near[0]}'?" if near else ""
