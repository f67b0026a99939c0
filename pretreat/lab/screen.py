"""Many waters at many recoveries at once: one row per water and recovery."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from pretreat.chemistry.carbonate import MOST_CO2_MOL_KG
from pretreat.chemistry.composition import ion_sums_meq_l
from pretreat.core.errors import check_range
from pretreat.lab.samples.screen_table import WaterTable, frame_chunks
from pretreat.lab.water_figures import AT_LIMIT, DECIDING, LAB_TEMPERATURE_C, SHARE
from pretreat.lab.water_laws import ion_balance_pct
from pretreat.membrane.concentrate import Passage, concentrate
from pretreat.membrane.feed import FeedWater, feed_water
from pretreat.membrane.recovery import Limits, RecoveryLimit, default_limits, recovery_limit
from pretreat.membrane.scaling import STRONG
from pretreat.site.design import KChart
from pretreat.site.keys import HIGHEST_RECOVERY

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]

SCREENED = ("calcite", "aragonite", "gypsum", "barite", "celestite", "fluorite", "silica")
COLUMNS = (
    "id",
    "recovery",
    "status",
    "ph",
    "ionic_strength_mol_kg",
    "tds_mg_l",
    "ion_balance_pct",
    "lsi",
    "sdsi",
    *(f"si_{m}" for m in SCREENED),
    "max_recovery",
    "limited_by",
    "flags",
)
IMBALANCE_PCT = 10.0  # common practice, no source: beyond it a screening result is doubtful
FATAL = (
    "not_converged",
    "ph_missing",
    "not_a_number",
    "negative_value",
    "row_length",
    "ph_alkalinity_mismatch",
)
HARMLESS = ("non_detect",)  # information that leaves a row "ok"


class ScreenBlock(Struct, frozen=True):
    """The screening result of a chunk: one array per column of `COLUMNS`, rows in order.

    Numbers are float arrays, NaN where blank; words are lists of str.
    """

    columns: dict[str, Any]

    def __len__(self) -> int:
        return len(self.columns["id"])


def screen(
    table: WaterTable, recoveries: Sequence[float], passage: Passage, limits: Limits | None = None
) -> ScreenBlock:
    """Return the screening rows of a chunk of waters, in order.

    Parameters
    ----------
    table : WaterTable
        The waters. [-]
    recoveries : sequence of float
        Recoveries; 0 is the feed itself. [-]
    passage : mapping of str to float
        Salt passage per ion. [-]
    limits : Limits, optional
        Limits in force; without inhibitor if omitted. [-]

    Returns
    -------
    ScreenBlock
        One row per water and recovery. [-]
    """
    feed, balance, usable = _feeds(table)
    in_force = limits or default_limits(False)
    reach = recovery_limit(feed, in_force, passage)
    points = [_point(feed, y, passage, in_force.k_chart) for y in recoveries]
    codes, which = _codes(table, reach, np.asarray(usable, bool), balance)
    n = len(recoveries)
    numbers = {
        name: np.stack([p.columns[name] for p in points], axis=1).ravel()
        for name in points[0].columns
    }
    failed = ~np.stack([np.broadcast_to(p.sound, usable.shape) for p in points], axis=1).ravel()
    strong = numbers["ionic_strength_mol_kg"] > STRONG
    status, flags = _words(codes, np.repeat(which, n), failed, strong)
    words: dict[str, Any] = {
        "id": [name for name in table.ids for _ in range(n)],
        "recovery": np.tile(np.array(recoveries, float), len(table)),
        "status": status,
        "ion_balance_pct": np.repeat(balance, n),
        "max_recovery": np.repeat(reach.maximum, n),
        "limited_by": [str(name) for name in reach.limited_by for _ in range(n)],
        "flags": flags,
    }
    found = numbers | words
    return ScreenBlock({name: found[name] for name in COLUMNS})


def screen_frame(
    frame: "pd.DataFrame", recoveries: Sequence[float], passage: Passage, limits: Limits
) -> "pd.DataFrame":
    """Return the screening rows of a frame of waters, in order (see `pretreat.screen`).

    Parameters
    ----------
    frame : pandas.DataFrame
        One water per row. [as the headings]
    recoveries : sequence of float
        Recoveries. [-]
    passage : mapping of str to float
        Salt passage per ion. [-]
    limits : Limits
        Limits in force. [-]

    Returns
    -------
    pandas.DataFrame
        One row per water and recovery. [-]
    """
    import pandas as pd

    for recovery in recoveries:
        check_range("recovery", recovery, (0.0, HIGHEST_RECOVERY), "-", "PRACTICE")
    blocks = [screen(table, recoveries, passage, limits) for table in frame_chunks(frame)]
    return pd.DataFrame(
        {
            name: np.concatenate([np.asarray(block.columns[name]) for block in blocks])
            if blocks
            else []
            for name in COLUMNS
        }
    )


def _words(
    codes: list[list[str]],
    which: NDArray[np.intp],
    failed: NDArray[np.bool_],
    strong: NDArray[np.bool_],
) -> tuple[list[str], list[str]]:
    """Return status and flags of every row; ``which`` tells whose codes are a row's."""
    worded = [
        _worded(own, bad, high) for own in codes for bad in (False, True) for high in (False, True)
    ]
    row = 4 * which + 2 * failed + strong
    status, flags = np.array(worded, dtype=object).T
    return status[row].tolist(), flags[row].tolist()


def _worded(own: list[str], failed: bool, strong: bool) -> tuple[str, str]:
    """Return status and flags of one row."""
    if failed:
        fatal = bool(set(own) & set(FATAL))
        return "failed", ";".join(own if fatal else [*own, "not_converged"])
    if strong:
        return "flagged", ";".join([*own, "high_ionic_strength"])
    return ("flagged" if set(own) - set(HARMLESS) else "ok"), ";".join(own)


def _feeds(table: WaterTable) -> tuple[FeedWater, Array, Any]:
    """Speciate the feeds; a water that cannot be used becomes NaN throughout."""
    usable = np.isfinite(table.ph) & np.array([not f for f in table.faults], bool)
    mg_l: dict[str, Array] = {}
    for_balance: dict[str, Array] = {}
    for key, values in table.mg_l.items():
        share = np.where(table.below[key], SHARE["limit" if key in AT_LIMIT else "half"], 1.0)
        mg_l[key] = np.where(usable, np.nan_to_num(values * share), 0.0)
        half = np.where(table.below[key], SHARE["half"], 1.0)
        for_balance[key] = np.nan_to_num(values * half)
    temp = np.where(np.isfinite(table.temp_c), table.temp_c, LAB_TEMPERATURE_C)
    alkalinity = np.where(usable, table.alkalinity_mg_l_caco3, np.nan)
    feed = feed_water(mg_l, alkalinity, np.where(usable, table.ph, np.nan), temp)
    sums = ion_sums_meq_l(for_balance, np.nan_to_num(table.alkalinity_mg_l_caco3))
    known = np.nan_to_num(feed.speciation.co2_mol_kg) <= MOST_CO2_MOL_KG
    for i in map(int, np.flatnonzero(~known & usable)):
        table.faults[i].append("ph_alkalinity_mismatch")
    if not np.all(known | ~usable):
        usable &= known
        alkalinity = np.where(usable, alkalinity, np.nan)
        feed = feed_water(mg_l, alkalinity, np.where(usable, table.ph, np.nan), temp)
    whole = np.array([not f for f in table.faults], bool)
    balance = np.where(whole, np.broadcast_to(ion_balance_pct(*sums), usable.shape), np.nan)
    return feed, balance, usable & feed.speciation.converged


class _Point(Struct, frozen=True):
    """Numeric columns of one recovery for all waters, and where they were computed."""

    columns: dict[str, Array]
    sound: Any


def _point(feed: FeedWater, recovery: float, passage: Passage, chart: KChart | None) -> _Point:
    brine = concentrate(feed, recovery, passage)
    found = brine.speciation
    shape = np.shape(found.ph)
    columns = {
        "ph": found.ph,
        "ionic_strength_mol_kg": found.ionic_strength_mol_kg,
        "tds_mg_l": np.where(found.converged, brine.tds_mg_l, np.nan),
        "lsi": brine.lsi(),
        "sdsi": brine.sdsi(chart),
        **{f"si_{m}": found.si(m) for m in SCREENED},
    }
    return _Point({k: np.broadcast_to(v, shape) for k, v in columns.items()}, found.converged)


def _codes(
    table: WaterTable, reach: RecoveryLimit, usable: NDArray[np.bool_], balance: Array
) -> tuple[list[list[str]], NDArray[np.intp]]:
    """Return the lists of flag codes that occur, and which of them is that of each water."""
    n = len(table)
    faulty = np.array([bool(f) for f in table.faults], bool)
    no_ph = ~np.isfinite(table.ph)
    missing = ~np.isfinite(table.alkalinity_mg_l_caco3)
    for key in DECIDING:
        missing = missing | ~np.isfinite(table.mg_l.get(key, np.full(n, np.nan)))
    raised = {
        "ph_missing": no_ph,
        "not_converged": ~usable & ~no_ph & ~faulty,
        "temperature_assumed": ~np.isfinite(table.temp_c),
        "not_measured": missing,
        "non_detect": np.any(list(table.below.values()), axis=0),
        "charge_balance": np.abs(np.nan_to_num(balance)) > IMBALANCE_PCT,
        "supersaturated_feed": np.asarray(reach.supersaturated, bool),
        "limit_at_index_step": np.asarray(reach.at_step, bool),
    }
    names = tuple(raised)
    patterns, which = np.unique(np.array(list(raised.values())), axis=1, return_inverse=True)
    codes = [[k for k, yes in zip(names, column, strict=True) if yes] for column in patterns.T]
    which = which.reshape(n)
    for i in map(int, np.flatnonzero(faulty)):
        codes.append(list(dict.fromkeys([*table.faults[i], *codes[which[i]]])))
        which[i] = len(codes) - 1
    return codes, which
