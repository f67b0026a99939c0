"""Sums that many tests ask for with the same numbers are done once in each process.

A study of a water with one more line in its report has the same machine, the same year and the
same highest recovery as the study before it. What is remembered is wrapped where the program uses
it, so that a test which imports one of these functions calls the function itself. Every
``CHECKED``-th answer from memory is computed anew and has to be the same to the last bit, which
holds the functions to be pure. With ``PRETREAT_ANEW=1`` (as ``.ci/run --all``) nothing is remembered.
"""

import functools
import hashlib
import importlib
import itertools
import os
import pickle
from collections import OrderedDict
from collections.abc import Callable, Mapping
from typing import Any

import msgspec
import numpy as np

USED = {
    "pretreat.membrane.envelope": ("recovery_limit",),
    "pretreat.membrane.metals": ("recovery_limit",),
    "pretreat.membrane.elements.checks": ("operate",),
    "pretreat.membrane.elements.machine": ("running", "_against_recovery"),
    "pretreat.plant.levers": ("recovery_limit", "dose_for_index"),
    "pretreat.plant.choices.waters": ("recovery_limit", "drawn_together"),
    "pretreat.plant.uncertainty.unjudged": ("_passing",),
    "pretreat.plant.verdict.judge": ("recovery_draws",),
    "pretreat.plant.water.product_tank": ("simulate",),
    "pretreat.plant.calendar.year_figures": ("simulate",),
}
CHECKED = 100
MOST_BYTES = 100_000_000  # of answers kept
_known: OrderedDict[bytes, bytes] = OrderedDict()
_size = [0]
_hits = itertools.count(1)


def plain(item: Any) -> Any:
    """Return the content of a record, bit by bit, as something that can be compared."""
    if isinstance(item, msgspec.Struct):
        return type(item).__name__, [plain(getattr(item, f)) for f in item.__struct_fields__]
    if isinstance(item, Mapping):
        return [(plain(key), plain(item[key])) for key in item]
    if isinstance(item, list | tuple):
        return [plain(part) for part in item]
    if isinstance(item, np.ndarray) and item.dtype != object:
        return item.shape, item.tobytes()
    return repr(item)


def remembered(function: Callable[..., Any]) -> Callable[..., Any]:
    """Return a function that answers from memory what it was asked before."""

    @functools.wraps(function)
    def answered(*given: Any, **named: Any) -> Any:
        asked = (function.__module__, function.__qualname__, given, named)
        key = hashlib.blake2b(pickle.dumps(asked, pickle.HIGHEST_PROTOCOL)).digest()
        if key not in _known:
            found = function(*given, **named)
            _keep(key, pickle.dumps(found, pickle.HIGHEST_PROTOCOL))
            return found
        _known.move_to_end(key)
        kept = pickle.loads(_known[key])  # a copy: whoever gets it may change it
        if next(_hits) % CHECKED == 0:
            assert plain(function(*given, **named)) == plain(kept), function.__qualname__
        return kept

    return answered


def _keep(key: bytes, answer: bytes) -> None:
    """Keep an answer; the ones not asked for the longest go first."""
    _known[key] = answer
    _size[0] += len(answer)
    while _size[0] > MOST_BYTES:
        _size[0] -= len(_known.popitem(last=False)[1])


def remember() -> None:
    """Wrap the functions where the program uses them."""
    if os.environ.get("PRETREAT_ANEW") == "1":
        return
    for module_name, names in USED.items():
        module = importlib.import_module(module_name)
        for name in names:
            setattr(module, name, remembered(getattr(module, name)))
