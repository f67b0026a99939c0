"""A ledger to try things on, of which figures alone are read."""

from collections.abc import Mapping

from pretreat.core.basis import Figure, Flag, Series
from pretreat.core.graph import Again
from pretreat.core.results import Ledger


class Scratch(Ledger):
    """A ledger to try things on: it begins with the figures of another, and keeps no more.

    Tables, flags and what a value rests on are for readers, of which it has none.

    Parameters
    ----------
    figures : mapping of str to Figure
        Those to begin with. [-]
    """

    shown = False

    def __init__(self, figures: Mapping[str, Figure]) -> None:
        super().__init__()
        self._figures = dict(figures)

    def table(self, series: Series) -> None:
        """Leave a table aside."""

    def flag(self, *flags: Flag) -> None:
        """Leave flags aside."""

    def rests(self, key: str, *inputs: str, again: Again | None = None, held: bool = False) -> None:
        """Leave aside what a value rests on."""
