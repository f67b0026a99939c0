"""What intervals and lives do when hours, hardness, iron or chlorine change, vessels unchanged.

Nothing is computed here: the laws behind the figures are computed anew by the study's graph, all
factors at once.
"""

from collections.abc import Sequence, Set
from typing import Any

import numpy as np

from pretreat.core.basis import Series
from pretreat.core.equivalents import HARDNESS_IONS
from pretreat.stages import ORDER
from pretreat.stages.limits import train_limits
from pretreat.stages.train import Train

FACTORS = (0.5, 0.75, 1.0, 1.25, 1.5, 2.0)  # common practice: a quarter, a half, double
DAY_H = 24.0
HOURS = "machine.hours_per_day"
CHLORINE = ("carbon.free_chlorine_mg_l", "media_life.softener_chlorine_mg_l")
NAMES = {stage.key: stage.label for stage in ORDER}
Column = tuple[str, str, list[float | None]]  # stage, what changes, and the values by factor


def enter_sensitivity(train: Train) -> None:
    """Enter one table of intervals and one of lives against the factor of change.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode; lives are entered before. [-]
    """
    intervals: list[tuple[str, str, str]] = []
    lives: list[tuple[str, str, str]] = []
    for stage in ORDER:
        medium = stage.medium
        if medium is not None and train.has(stage.key):
            life = f"media_life.{stage.key}_years_likely"
            intervals += [(stage.key, c, medium.interval) for c in medium.interval_changes]
            lives += [(stage.key, c, life) for c in medium.life_changes]
    asked = {figure for _, _, figure in (*intervals, *lives)}
    changed = ("hours", "hardness", "iron", "chlorine")
    moved = {change: _moved(train, change, asked) for change in changed}
    for key, label, unit, wanted in (
        ("sensitivity.interval", "Interval when the water or the hours change", "d", intervals),
        ("sensitivity.life", "Likely life when the water or the hours change", "year", lives),
    ):
        columns = [
            (stage, change, _values(moved[change].get(figure)))
            for stage, change, figure in wanted
            if figure in train.entries.ledger
        ]
        _enter(train, key, label, unit, [c for c in columns if _moves(c[2])])


def _moved(train: Train, change: str, asked: Set[str]) -> dict[str, Any]:
    """Return the figures that follow a change, blank where it cannot be."""
    factors = np.array(FACTORS)
    ledger = train.entries.ledger
    allowed = factors > 0
    if change == "hours":
        allowed = train.entries.value(HOURS) * factors <= DAY_H
    if change == "iron":
        allowed = _iron_allowed(train, factors)
    changes: dict[str, Any] = {}
    for key in _keys(train, change):
        value = ledger.number(key)
        if value:
            changes[key] = np.where(allowed, value * factors, np.nan)
    return ledger.moved(changes, asked)[0] if changes else {}


def _keys(train: Train, change: str) -> Sequence[str]:
    """Return the keys of the figures that a change moves."""
    entries, raw = train.entries, train.raw
    if change == "hours":
        return (HOURS,)
    if change == "chlorine":
        return tuple(key for key in CHLORINE if key in entries.ledger)
    if change == "iron":
        return tuple(dict.fromkeys((entries.total(raw, "fe"), entries.dissolved(raw, "fe"))))
    if raw.from_test_kit:
        return ("water.hardness_mg_l_caco3",)
    return tuple(entries.dissolved(raw, ion) for ion in HARDNESS_IONS if ion in raw.mg_l)


def _iron_allowed(train: Train, factors: Any) -> Any:
    """Tell which factors of iron no limit of the codes or of the medium forbids."""
    limits, iron = train_limits(), train.raw.total("fe") * factors
    if train.has("iron_filter"):
        return iron <= limits["filter_iron_refuse"].value
    if train.has("softener"):
        return iron + train.raw.total("mn") < limits["softener_iron_refuse"].value
    return factors > 0


def _values(found: Any) -> list[float | None]:
    if not isinstance(found, np.ndarray):
        return [None] * len(FACTORS)
    return [float(v) if np.isfinite(v) else None for v in found]


def _moves(values: list[float | None]) -> bool:
    known = [value for value in values if value is not None]
    return bool(known) and max(known) > min(known)


def _enter(train: Train, key: str, label: str, unit: str, found: list[Column]) -> None:
    if not found:
        return
    hours = train.entries.value(HOURS)
    rows = tuple(
        (factor, *(values[i] for _, _, values in found), _why_blank(factor, hours, i, found))
        for i, factor in enumerate(FACTORS)
    )
    train.entries.ledger.table(
        Series(
            key,
            label,
            ("factor", *(f"{s}_{c}" for s, c, _ in found), "blank"),
            ("-", *(unit for _ in found), "-"),
            rows,
            cites=("PRACTICE",),
            headings=(
                "Times as now",
                *(f"{NAMES[s]}: {c}" for s, c, _ in found),
                "Where it is blank",
            ),
            method="one thing changes at a time, vessels and dose stay, what does not move is "
            "left out; a life by regenerations moves in steps, as the settings of a timer do "
            "(0.5, 1, 2, 3, 4, 7 days); estimates",
        )
    )


def _why_blank(factor: float, hours: float, row: int, found: list[Column]) -> str:
    """Say why a row has blanks."""
    changes = dict.fromkeys(c for _, c, values in found if values[row] is None)
    words = [
        f"hours: over {DAY_H:g} h a day"
        if c == "hours" and hours * factor > DAY_H
        else f"{c}: over a limit of iron"
        for c in changes
    ]
    return "; ".join(words)
