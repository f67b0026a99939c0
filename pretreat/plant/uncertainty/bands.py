"""Limits as bands: the cautious, the usual and the bold limit of every scale."""

from typing import Literal

from msgspec import Struct

from pretreat.membrane.limits import limits_from
from pretreat.membrane.recovery import Limits
from pretreat.site.design import LimitChoices

Column = Literal["low", "likely", "high"]
COLUMNS: tuple[Column, ...] = ("low", "likely", "high")


class LimitBand(Struct, frozen=True):
    """Three sets of limits of the same scales; they are run apart, never drawn."""

    low: Limits
    likely: Limits
    high: Limits

    def of(self, column: Column) -> Limits:
        """Return one of the three."""
        found: Limits = getattr(self, column)
        return found

    @property
    def is_one(self) -> bool:
        """True where the three are the same: nothing hangs on the limits."""
        return self.low == self.high


def one_limit(limits: Limits) -> LimitBand:
    """Return the band of limits that are taken as they are."""
    return LimitBand(limits, limits, limits)


def limit_band(choices: LimitChoices, inhibitor: bool | None = None) -> LimitBand:
    """Return the band of the limits in force.

    A limit that the user sets, one by one or by a file, is taken as it is: its band has no
    width. Every other limit has the band of data/limits.csv. Without an inhibitor saturation
    is the limit: no column is lower or higher than the likely one.

    Parameters
    ----------
    choices : LimitChoices
        The user's choices. [-]
    inhibitor : bool, optional
        With an inhibitor, or without; as chosen if omitted. [-]

    Returns
    -------
    LimitBand
        The three sets of limits. [-]
    """
    treated = choices.inhibitor if inhibitor is None else inhibitor
    if not treated:
        return one_limit(limits_from(choices, False))
    return LimitBand(*(limits_from(choices, True, column) for column in COLUMNS))
