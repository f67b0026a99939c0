"""A plugin of pytest that notes what is compared: every `pytest.approx`, found and expected.

PRETREAT_COMPARED=out.json pytest -n 0 -p docs.generate.measure tests/published
"""

import json
import os
from pathlib import Path
from typing import Any

import numpy as np
import pytest

_approx = pytest.approx
_kept: dict[str, list[tuple[float, float]]] = {}
_passed: dict[str, bool] = {}


class _Noted:
    """An expected value that notes what it is compared with."""

    __array_ufunc__ = None
    __array_priority__ = 100
    __hash__ = None  # type: ignore[assignment]

    def __init__(self, expected: Any, inner: Any) -> None:
        self.expected, self.inner = expected, inner

    def __eq__(self, other: object) -> bool:
        _note(other, self.expected)
        return bool(self.inner == other)

    def __ne__(self, other: object) -> bool:
        return not self == other

    def __repr__(self) -> str:
        return repr(self.inner)


def _note(found: Any, expected: Any) -> None:
    test = os.environ.get("PYTEST_CURRENT_TEST", "").split(" (")[0]
    try:
        pairs = np.broadcast_arrays(np.asarray(found, float), np.asarray(expected, float))
    except (TypeError, ValueError):
        return
    kept = _kept.setdefault(test, [])
    kept += zip(pairs[0].ravel().tolist(), pairs[1].ravel().tolist(), strict=True)


def _noting(expected: Any, *args: Any, **more: Any) -> _Noted:
    return _Noted(expected, _approx(expected, *args, **more))


pytest.approx = _noting


def pytest_runtest_logreport(report: Any) -> None:
    """Keep whether each test passed."""
    if report.when == "call" or report.outcome != "passed":
        _passed[report.nodeid] = report.outcome == "passed"


def pytest_sessionfinish() -> None:
    """Write what was compared."""
    found = {test: {"passed": ok, "pairs": _kept.get(test, [])} for test, ok in _passed.items()}
    Path(os.environ["PRETREAT_COMPARED"]).write_text(json.dumps(found), "utf-8")
