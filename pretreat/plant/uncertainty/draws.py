"""Uncertain inputs and their draws."""

from collections.abc import Mapping, Sequence

import numpy as np
from msgspec import Struct

from pretreat.chemistry.species import Array
from pretreat.plant.uncertainty.distributions import Distribution
from pretreat.plant.uncertainty.sobol import scrambled_sobol

DRAWS = 1024  # a power of two: it keeps the even spread of the points


class Uncertain(Struct, frozen=True):
    """One uncertain input: its key, its name for people, and what it may be.

    ``origin`` says where the uncertainty comes from; ``measure`` is what one would do to
    narrow it, empty where no measurement does.
    """

    key: str
    name: str
    distribution: Distribution
    origin: str
    measure: str = ""


class Draws(Struct, frozen=True):
    """Draws of uncertain inputs: ``values`` by key, arrays of shape (n,)."""

    inputs: tuple[Uncertain, ...]
    values: Mapping[str, Array]
    count: int

    def get(self, key: str, otherwise: float) -> Array:
        """Return the draws of an input, or the same value throughout where it is certain."""
        return self.values[key] if key in self.values else np.full(self.count, otherwise)


def drawn(inputs: Sequence[Uncertain], count: int = DRAWS) -> Draws:
    """Draw the inputs independently of each other, the same way on every run.

    Parameters
    ----------
    inputs : sequence of Uncertain
        At most as many as there are dimensions of the points. [-]
    count : int
        Number of draws; a power of two keeps them even, 0 turns them off. [-]

    Returns
    -------
    Draws
        The draws, each an array of shape (count,). [-]
    """
    if not inputs or count == 0:
        return Draws(tuple(inputs), {i.key: np.empty(0) for i in inputs}, count)
    points = scrambled_sobol(count, len(inputs))
    values = {item.key: item.distribution.at(points[:, i]) for i, item in enumerate(inputs)}
    return Draws(tuple(inputs), values, count)
