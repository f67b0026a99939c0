"""Brackets around the first crossing of a limit, one per water, found at stations."""

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from pretreat.chemistry.species import Array

Value = Callable[[Any, Any], Array]  # of waters (by index) and recoveries


class Brackets:
    """The lower and upper end of the bracket of each water, and the index there.

    The lower end never passes the limit; the upper end is NaN until it is passed. ``beside`` is
    the place looked at below the lower end, NaN where there is none.

    Parameters
    ----------
    at_zero : array
        Index less its limit at no recovery. [-]
    """

    def __init__(self, at_zero: Array) -> None:
        self.low, self.low_value = np.zeros(at_zero.size), at_zero.copy()
        self.high, self.high_value = np.full(at_zero.size, np.nan), np.full(at_zero.size, np.nan)
        self.beside, self.beside_value = self.high.copy(), self.high.copy()

    def of(self, waters: Any) -> "Brackets":
        """Return the brackets of some of the waters."""
        some = Brackets(self.low_value[waters])
        for name in vars(some):
            setattr(some, name, getattr(self, name)[waters])
        return some

    def look_at_once(
        self, value: Value, waters: Any, stations: Sequence[float], step_at: Array
    ) -> None:
        """Look at every station of a few waters in one call, which costs less than many."""
        if not waters.size:
            return
        own = np.where(np.isnan(step_at[waters]), stations[-1], step_at[waters])
        places = np.sort(np.vstack([np.outer(stations, np.ones(waters.size)), own]), axis=0)
        values = value(np.tile(waters, len(places)), places.ravel()).reshape(places.shape)
        passed = values > 0
        for i, water in enumerate(waters):
            up = int(np.argmax(passed[:, i])) if passed[:, i].any() else len(places)
            for at in range(max(up - 2, 0), up):
                self._rise(water, places[at, i], values[at, i])
            if up < len(places):
                self.high[water], self.high_value[water] = places[up, i], values[up, i]

    def walk_up(self, value: Value, waters: Any, stations: Sequence[float], step_at: Array) -> None:
        """Look at the stations in turn; a water leaves when its limit is passed."""
        for station in stations:
            met = waters[(step_at[waters] > self.low[waters]) & (step_at[waters] < station)]
            self._visit(value, met, step_at[met])
            waters = waters[np.isnan(self.high[waters])]
            self._visit(value, waters, station)
            waters = waters[np.isnan(self.high[waters])]
            if not waters.size:
                break

    def _visit(self, value: Value, waters: Any, station: Any) -> None:
        """Make a station the upper end of the bracket, or the lower."""
        if not waters.size:
            return
        found = value(waters, station)
        places = np.broadcast_to(station, waters.shape)
        up, down = waters[found > 0], waters[~(found > 0)]
        self.high[up], self.high_value[up] = places[found > 0], found[found > 0]
        self._rise(down, places[~(found > 0)], found[~(found > 0)])

    def _rise(self, waters: Any, places: Any, found: Any) -> None:
        """Make places the lower ends; what these were stays beside."""
        self.beside[waters], self.beside_value[waters] = self.low[waters], self.low_value[waters]
        self.low[waters], self.low_value[waters] = places, found
