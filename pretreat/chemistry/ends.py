"""Two ends around the zero of a falling function, drawn together for many functions at once."""

from typing import Any

import numpy as np
from msgspec import Struct

HALVED = 8  # every eighth place is the middle: no function can hold the ends apart


class Ends(Struct, frozen=True):
    """Places where a function is positive (``low``) and where it is not (``high``).

    ``weight_low`` and ``weight_high`` are the values there, less where an end has stayed: the
    rule of Anderson and Björck (1973), BIT 13, 253, which a plain secant between the ends lacks.
    """

    low: Any
    high: Any
    weight_low: Any
    weight_high: Any
    moved: Any = 0.0  # 1 where the low end moved last, -1 where the high end did
    turn: int = 0

    def between(self) -> Any:
        """Return where to look next. [as the ends]."""
        fall = self.weight_low - self.weight_high
        share = self.weight_low / np.where(fall > 0, fall, 1.0)
        share = np.full_like(share, 0.5) if self.turn % HALVED == HALVED - 1 else share
        return self.low + (self.high - self.low) * share

    def drawn(self, place: Any, value: Any) -> "Ends":
        """Return the ends after a look.

        Parameters
        ----------
        place : array
            Where the functions were looked at. [as the ends]
        value : array
            What they are there. [-]

        Returns
        -------
        Ends
            One of the two at ``place``. [-]
        """
        up = value > 0
        stayed = np.where(up, self.moved > 0, self.moved < 0)
        before = np.where(up, self.weight_low, self.weight_high)
        left = 1.0 - value / np.where(before == 0.0, 1.0, before)
        kept = np.where(stayed, np.where(left > 0, left, 0.5), 1.0)
        return Ends(
            np.where(up, place, self.low),
            np.where(up, self.high, place),
            np.where(up, value, self.weight_low * kept),
            np.where(up, self.weight_high * kept, value),
            np.where(up, 1.0, -1.0),
            self.turn + 1,
        )
