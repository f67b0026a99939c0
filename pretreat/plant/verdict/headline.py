"""The recovery that a reader is told first: of the worst season, and for which limits it holds."""

import math
from collections.abc import Sequence

import numpy as np

from pretreat.core.results import Ledger
from pretreat.plant.uncertainty.bands import Column
from pretreat.plant.uncertainty.spread import spread_of
from pretreat.plant.verdict.judge import Judgement

WORST = "recovery.max_worst_season"
SAME = 0.002  # PRACTICE: of the recovery; the draws are interpolated, half as exact
BAND: tuple[tuple[Column, str], ...] = (("low", "cautious"), ("high", "bold"))


def enter_worst_season(ledger: Ledger, found: Judgement, behind: Sequence[str]) -> None:
    """Enter the maximum recovery in the worst season, and at both ends of the limits.

    Parameters
    ----------
    ledger : Ledger
        With the maximum recovery of the operating water. [-]
    found : Judgement
        The verdict and what it rests on. [-]
    behind : sequence of str
        Keys of what it rests on. [-]
    """
    seasons = [s for s in found.case.seasons if math.isfinite(s.recovery_max)]
    if not seasons or not found.case.judged:
        return
    if len(found.case.seasons) > 1:
        _enter_season(ledger, found, behind)
    if not found.banded:
        return
    for column, word in BAND:
        value = found.case.nominal[column]
        if not math.isfinite(value):
            continue
        key = f"recovery.max_at_{word}_limits"
        ledger.put(
            key,
            value,
            "-",
            f"Maximum recovery, worst season, {word} limits",
            method="the water as analysed; limits of an inhibitor differ from source to source",
            evidence="common practice",
            cites=("PRACTICE",),
        )
        ledger.rests(key, *behind)


def _enter_season(ledger: Ledger, found: Judgement, behind: Sequence[str]) -> None:
    operating = next(s for s in found.case.seasons if s.name == "operating")
    worst = min(found.case.seasons, key=lambda s: s.recovery_max)
    if not worst.recovery_max < operating.recovery_max - SAME:
        worst = operating
    ends = {}
    drawn = found.found.worst("likely")
    spread = spread_of(drawn) if np.size(drawn) else None
    if spread is not None:
        ends = {"p10": float(spread.p10), "p90": float(spread.p90)}
    for key, value, label, more in (
        (WORST, worst.recovery_max, "Maximum recovery, worst season", ends),
        ("recovery.worst_season", f"{worst.name} ({worst.temp_c:g} °C)", "Worst season", {}),
        ("recovery.worst_limited_by", worst.limited_by, "Limited then by", {}),
    ):
        ledger.put(
            key,
            value,
            "-",
            label,
            method="the season that allows least, limits in force",
            evidence="computed",
            cites=("PRACTICE",),
            **more,
        )
        ledger.rests(key, *behind)
