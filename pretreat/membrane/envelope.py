"""Coldest and warmest water: each index at the worse end."""

import math
from typing import Any

import numpy as np

from pretreat.chemistry.species import minerals
from pretreat.core.basis import Series
from pretreat.core.results import Ledger
from pretreat.membrane.concentrate import Concentrate, concentrate
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.limits import MembranePoint, limits_from
from pretreat.membrane.recovery import recovery_limit
from pretreat.membrane.rests import feed_keys
from pretreat.site.design import KChart, LimitChoices

ENDS = ("coldest", "operating", "warmest")


def enter_envelope(
    ledger: Ledger, feeds: FeedWater, point: MembranePoint, choices: LimitChoices
) -> None:
    """Enter every index at the coldest, the operating and the warmest temperature.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go. [-]
    feeds : FeedWater
        The same water at the three temperatures, in the order of `ENDS`. [-]
    point : MembranePoint
        The design point. [-]
    choices : LimitChoices
        Limits chosen by the user. [-]
    """
    brine = concentrate(feeds, point.recovery, point.passage, point.rho, point.wall_factor)
    force = limits_from(choices, choices.inhibitor)
    reach = recovery_limit(feeds, force, point.passage, point.rho, None, point.wall_factor)
    rows: list[tuple[str | float | None, ...]] = []
    for name, unit, values in _indexes(brine, choices.k_chart):
        numbers = [float(v) for v in values]
        if any(math.isnan(n) for n in numbers):
            continue
        rows.append((name, unit, *numbers, ENDS[int(np.argmax(numbers))]))
    maxima = [float(v) for v in reach.maximum]
    rows.append(("Maximum recovery", "-", *maxima, ENDS[int(np.argmin(maxima))]))
    temps = [float(t) for t in np.asarray(feeds.temp_c)]
    ledger.table(
        Series(
            "scaling.envelope",
            "Coldest and warmest water: each index at the worse end",
            ("index", "unit", *ENDS, "worse"),
            ("-", "-", *(f"at {t:g} °C" for t in temps), "-"),
            tuple(rows),
            method="alkalinity and inorganic carbon kept, pH solved at each temperature",
            cites=("WATEQ4F", "PB82"),
            headings=("Index", "Unit", "Coldest", "Operating", "Warmest", "Worse at"),
        )
    )
    for end, value in zip(ENDS, maxima, strict=True):
        if end != "operating":
            ledger.put(
                f"recovery.max_{end}",
                value,
                "-",
                f"Maximum recovery, {end} water",
                method="first crossing of a limit, counted from zero",
                cites=("D3739", "D4692"),
            )
            inputs = (f"train.{end}_c", *feed_keys(ledger, treated=True))
            ledger.rests(f"recovery.max_{end}", *inputs)


def _indexes(brine: Concentrate, chart: KChart | None) -> list[tuple[str, str, Any]]:
    found: list[tuple[str, str, Any]] = [
        ("Langelier index (LSI)", "-", brine.lsi()),
        ("Stiff and Davis index (S&DSI)", "-", brine.sdsi(chart)),
    ]
    for key, mineral in minerals().items():
        if mineral.limit_scale:
            percent = 100.0 * 10.0 ** np.broadcast_to(brine.speciation.si(key), (len(ENDS),))
            found.append((f"Saturation, {mineral.name}", "% of saturation", percent))
    return found
