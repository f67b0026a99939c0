"""What of the scaling section moves with a slider: limits, curve, each scale at any recovery."""

import math
from typing import Any

import numpy as np

from pretreat.chemistry.indexes import LSI_TDS_LIMIT_MG_L
from pretreat.core.basis import Series
from pretreat.core.results import Ledger
from pretreat.membrane.bands import limit_bands
from pretreat.membrane.concentrate import concentrate
from pretreat.membrane.feed import FeedWater, widened
from pretreat.membrane.limits import MembranePoint, enter_limits, limits_from, shown
from pretreat.membrane.scaling import enter_recovery, enter_sweep
from pretreat.membrane.scaling_laws import percent_of_saturation
from pretreat.site.design import LimitChoices

ALONG = tuple(round(0.01 * i, 2) for i in range(1, 96))  # every recovery that a slider can show


def enter_moved(
    ledger: Ledger, feed: FeedWater, point: MembranePoint, choices: LimitChoices
) -> None:
    """Enter limits and curve of a feed, and each scale against its limit at every recovery.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go. [-]
    feed : FeedWater
        A single feed at the operating temperature. [-]
    point : MembranePoint
        Recovery, salt passage, recycle. [-]
    choices : LimitChoices
        Limits chosen by the user. [-]
    """
    enter_recovery(ledger, point, "")
    brine = concentrate(feed, point.recovery, *point.membrane)
    enter_limits(ledger, feed, brine, point, choices, "")
    enter_sweep(ledger, feed, point, choices.k_chart, "")
    _enter_along(ledger, feed, point, choices)


def _enter_along(
    ledger: Ledger, feed: FeedWater, point: MembranePoint, choices: LimitChoices
) -> None:
    recoveries = np.array(ALONG)
    brine = concentrate(widened(feed), recoveries, *point.membrane)
    limits = limits_from(choices, choices.inhibitor)
    above = _each(brine.tds_mg_l > LSI_TDS_LIMIT_MG_L)
    index = np.where(above, brine.any_sdsi(limits.k_chart), brine.any_lsi())
    bands = limit_bands(choices.inhibitor)
    table: list[tuple[str | float | None, ...]] = []
    for key in limits.criteria():
        calcite = key == "calcite"
        values = _each(index if calcite else percent_of_saturation(brine.speciation.si(key)))
        for recovery, value, over_step in zip(ALONG, values, above, strict=True):
            limit = shown(limits, key, bool(over_step))
            measure = ("S&DSI" if over_step else "LSI") if calcite else "% of saturation"
            judged = "within" if value <= limit else "over"
            verdict = "not measured" if math.isnan(value) else judged
            row = (recovery, key, bands[key].name, measure, float(value), limit, verdict)
            table.append(row)
    ledger.table(
        Series(
            "scaling.along",
            "Scales against their limits at every recovery",
            ("recovery", "scale", "name", "measure", "now", "limit", "verdict"),
            ("-", "-", "-", "-", "as named", "as named", "-"),
            tuple(table),
            method="speciation of the concentrate at each recovery",
            cites=("WATEQ4F", "PB82", "D3739"),
            headings=("Recovery", "Scale", "Scale", "Measure", "Now", "Limit", "Verdict"),
        )
    )


def _each(values: Any) -> Any:
    return np.broadcast_to(values, (len(ALONG),))
