"""How the figures of a study follow from each other, and what a change of some does to the rest."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

import numpy as np
from msgspec import Struct, field

from pretreat.core.errors import PretreatError
from pretreat.core.law import Applied

Again = Callable[[Callable[[str], Any]], Any]  # the values of other figures in, the value out


def elementwise(function: Callable[..., Any]) -> Callable[..., Any]:
    """Return a function of numbers that takes arrays too, element by element.

    Parameters
    ----------
    function : callable
        Numbers in, number out. [-]

    Returns
    -------
    callable
        The same, blank where an input is blank or out of its range. [-]
    """

    def one(*values: float) -> float:
        if any(v != v for v in values):  # noqa: PLR0124 - NaN is a blank
            return np.nan
        try:
            return float(function(*values))
        except PretreatError:
            return np.nan

    def each(*values: Any) -> Any:
        if any(v is None for v in values):
            return None
        if any(isinstance(v, np.ndarray) for v in values):
            return np.array([one(*row) for row in zip(*np.broadcast_arrays(*values), strict=True)])
        found = one(*values)
        return None if found != found else found  # noqa: PLR0124

    return each


class Computed(Struct, frozen=True):
    """A value that is no law: the figures it rests on, and the function that makes it anew.

    Without a function it cannot follow a change of what it rests on and becomes stale;
    ``held`` says that it stays as it is on purpose, as a vessel that is chosen does.
    """

    inputs: tuple[str, ...] = ()
    again: Again | None = None
    held: bool = False


Node = Applied | Computed


class Graph(Struct):
    """The nodes of a study by key, in the order in which they were entered.

    A figure of origin "calculated" without a node may rest on anything: it is stale after
    any change of a figure entered before it.
    """

    nodes: dict[str, Node] = field(default_factory=dict)

    def inputs(self, key: str) -> tuple[str, ...]:
        """Return the keys that a figure rests on directly."""
        node = self.nodes.get(key)
        return () if node is None else node.inputs

    def behind(self, key: str) -> tuple[str, ...]:
        """Return all keys that a figure rests on, nearest first.

        Parameters
        ----------
        key : str
            Key of the figure. [-]

        Returns
        -------
        tuple of str
            Keys. [-]
        """
        found: dict[str, None] = {}
        waiting = list(self.inputs(key))
        while waiting:
            one = waiting.pop(0)
            if one not in found:
                found[one] = None
                waiting += self.inputs(one)
        return tuple(found)

    def recompute(
        self, changes: Mapping[str, Any], values: Mapping[str, Any], loose: Iterable[str]
    ) -> tuple[dict[str, Any], tuple[str, ...]]:
        """Return what moves when some figures change.

        Parameters
        ----------
        changes : mapping
            New values by key, floats or arrays of one length. [any]
        values : mapping
            Values of the study by key, in the order of entry. [any]
        loose : iterable of str
            Keys of calculated figures whose inputs are not known. [-]

        Returns
        -------
        dict
            New values by key, the changes among them; None is a blank. [any]
        tuple of str
            Keys that cannot follow: stale, None in the values. [-]
        """
        moved: dict[str, Any] = dict(changes)
        stale: dict[str, None] = {}
        unknown, begun = set(loose), False

        def value(key: str) -> Any:
            return moved[key] if key in moved else values.get(key)

        for key in values:
            node = self.nodes.get(key)
            if key in changes:
                begun = True
            elif node is None:
                if begun and key in unknown:
                    moved[key] = stale[key] = None
            elif not moved.keys().isdisjoint(node.inputs):
                _follow(key, node, value, moved, stale)
        return moved, tuple(stale)


def _follow(
    key: str,
    node: Node,
    value: Callable[[str], Any],
    moved: dict[str, Any],
    stale: dict[str, None],
) -> None:
    """Compute a node whose inputs moved, or mark it stale."""
    on_stale = not stale.keys().isdisjoint(node.inputs)
    if isinstance(node, Computed) and node.held:
        return
    if on_stale:  # even where a total could skip what is not known
        moved[key] = stale[key] = None
    elif isinstance(node, Applied):
        moved[key] = node.compute(value)
    elif node.again is not None:
        moved[key] = node.again(value)
    else:
        moved[key] = stale[key] = None
