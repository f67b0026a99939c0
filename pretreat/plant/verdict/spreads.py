"""P10 and P90 of what follows from the drawn water and plant, the vessels held."""

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from pretreat.core.basis import Flag
from pretreat.core.results import Ledger, Study
from pretreat.plant.uncertainty.draws import Draws
from pretreat.plant.uncertainty.order import quantiles
from pretreat.plant.verdict.train_draws import uncertain_train

# Figures that carry P10 and P90, by the end of their key.
SPREAD_ENDS = (
    ".interval_d",
    ".interval_all_water_d",
    ".salt_kg_per_year",
    ".life_years",
    ".permanganate_kg_per_year",
    "quote.cost_per_year",
    "quote.cost_per_m3",
)
LIVES = "media_life."
LIFE_ENDS = ("_years_low", "_years_likely", "_years_high")
# Draws of the plant scale these figures, by the keys of data/uncertainty.csv.
SCALED = {
    "hours": ("machine.hours_per_day",),
    "resin_capacity": ("softener.capacity_g_caco3_l",),
    "media_capacity": (
        "iron_filter.solids_limit_g_m2",
        "iron_filter.iron_capacity_g_l",
        "iron_filter.manganese_capacity_g_l",
    ),
}
DAY_H = 24.0
LOW, HIGH = 0.1, 0.9  # STATISTICS: the percentiles P10 and P90
COSTS_MORE = ("_per_year", "_per_m3")  # of these much is bad, of the others little


def uncertain_values(ledger: Ledger) -> dict[str, float]:
    """Return the values of the plant that are drawn, by the keys of data/uncertainty.csv.

    Parameters
    ----------
    ledger : Ledger
        A ledger with machine and train entered. [-]

    Returns
    -------
    dict
        Running hours as they are; capacities as factors of one. [h/d or -]
    """
    hours = ledger.number("machine.hours_per_day")
    found = {} if hours is None else {"hours": hours}
    for key in ("resin_capacity", "media_capacity"):
        if any(ledger.number(one) is not None for one in SCALED[key]):
            found[key] = 1.0
    return found | uncertain_train(ledger)


def enter_spreads(ledger: Ledger, draws: Draws) -> None:
    """Put P10 and P90 on intervals, salt, lives and costs.

    Parameters
    ----------
    ledger : Ledger
        A finished ledger. [-]
    draws : Draws
        Draws of water and plant; none of them leaves everything as it is. [-]
    """
    if not draws.count:
        return
    study = ledger.study()
    changes = _changes(ledger, draws)
    wanted = [k for k, f in study.figures.items() if _spread(k) and isinstance(f.value, float)]
    graph = study.graph
    if graph is None or not wanted:
        return
    behind = {key for one in wanted for key in (one, *graph.behind(one))}
    values = {k: f.value for k, f in study.figures.items() if k in behind}
    loose = (k for k in values if study.figures[k].origin == "calculated")
    moved, stale = graph.recompute({k: v for k, v in changes.items() if k in behind}, values, loose)
    most = ("", 0.0)
    for key in wanted:
        drawn = moved.get(key)
        if key in stale or not isinstance(drawn, np.ndarray):
            continue
        blank = _blank(study, graph.behind(key), moved, drawn) | ~np.isfinite(drawn)
        ends = percentiles(drawn, blank, bad=np.inf if key.endswith(COSTS_MORE) else 0.0)
        ledger.amend(key, **ends)
        if blank.mean() > most[1]:
            most = (key, float(blank.mean()))
    if most[0]:
        ledger.flag(_counted(study, *most))


def percentiles(drawn: Any, blank: Any, bad: float) -> dict[str, float]:
    """Return P10 and P90 of a figure, its blanks counted at the bad end.

    Parameters
    ----------
    drawn : array, shape (n,)
        Draws of the figure. [any unit]
    blank : array of bool, shape (n,)
        Draws that rest on a blank: no setting holds there. [-]
    bad : float
        The bad end: infinite for what costs, 0 for what lasts. [same unit]

    Returns
    -------
    dict
        "p10" and "p90"; one that falls among infinite blanks is left out. [same unit]
    """
    filled = np.where(blank, bad, drawn)
    ends = {
        "p10": quantiles(filled, (LOW,), "lower")[0],
        "p90": quantiles(filled, (HIGH,), "higher")[0],
    }
    return {name: end for name, end in ends.items() if np.isfinite(end)}


def _counted(study: Study, key: str, share: float) -> Flag:
    text = (
        f"in {100.0 * share:.2g} % of the draws no setting holds ({study[key].label}); they are "
        "counted at the bad end of each spread that rests on one"
    )
    return Flag("draws_without_setting", "info", text, key)


def _blank(study: Study, behind: Iterable[str], moved: Mapping[str, Any], drawn: Any) -> Any:
    """Return where a figure rests on a blank: a total skips it, and would look cheap."""
    blank = np.zeros(drawn.shape, bool)
    for one in behind:
        other = moved.get(one)
        if isinstance(other, np.ndarray) and isinstance(study.value(one), float):
            blank |= np.isnan(other)
    return blank


def _spread(key: str) -> bool:
    return key.endswith(SPREAD_ENDS) or (key.startswith(LIVES) and key.endswith(LIFE_ENDS))


def _changes(ledger: Ledger, draws: Draws) -> Mapping[str, np.ndarray]:
    """Return the figures that are drawn, each as an array."""
    found: dict[str, np.ndarray] = {}
    for key, drawn in draws.values.items():
        for name in (f"water.{key}_mg_l", f"water.{key}_total_mg_l"):
            value, taken = ledger.number(name), ledger.number(f"water.{key}_mg_l")
            if value and taken:
                found[name] = drawn * (value / taken)
    if "hardness" in draws.values:
        found["water.hardness_mg_l_caco3"] = draws.values["hardness"]
    for key in SCALED.keys() & draws.values.keys():
        nominal = ledger.number("machine.hours_per_day") if key == "hours" else 1.0
        factor = draws.values[key] / (nominal or 1.0)
        found |= _scaled(ledger, key, factor)
    return found


def _scaled(ledger: Ledger, key: str, factor: Any) -> dict[str, Any]:
    most = DAY_H if key == "hours" else np.inf
    values = {name: ledger.number(name) for name in SCALED[key]}
    return {name: np.minimum(value * factor, most) for name, value in values.items() if value}
