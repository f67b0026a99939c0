"""Many waters at many recoveries at once: one row per water and recovery."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pretreat.chemistry.composition import ion_balance_pct, ion_sums_meq_l
from pretreat.lab.screen_table import WaterTable
from pretreat.membrane.concentrate import FeedWater, Passage, concentrate, feed_water
from pretreat.membrane.recovery import Limits, RecoveryLimit, default_limits, recovery_limit
from pretreat.study.scaling import STRONG
from pretreat.study.water import AT_LIMIT, LAB_TEMPERATURE_C, SHARE

Array = NDArray[np.float64]

SCREENED = ("calcite", "aragonite", "gypsum", "barite", "celestite", "fluorite", "silica")
COLUMNS = (
    "id", "recovery", "status", "ph", "ionic_strength_mol_kg", "tds_mg_l", "ion_balance_pct",
    "lsi", "sdsi", *(f"si_{m}" for m in SCREENED), "max_recovery", "limited_by", "flags",
)  # fmt: skip
IMBALANCE_PCT = 10.0  # common practice, no source: beyond it a screening result is doubtful
DECIDING = ("ca", "so4", "ba", "sr", "f", "sio2")  # ions without which a scale stays unjudged
FATAL = ("not_converged", "ph_missing", "not_a_number", "negative_value")
HARMLESS = ("non_detect",)  # information that leaves a row "ok"


@dataclass(frozen=True, slots=True)
class ScreenRow:
    """One line of the screening result, in the order of `COLUMNS`."""

    cells: tuple[Any, ...]
    failed: bool


def screen(
    table: WaterTable, recoveries: Sequence[float], passage: Passage, limits: Limits | None = None
) -> Iterator[ScreenRow]:
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

    Yields
    ------
    ScreenRow
        One per water and recovery. [-]
    """
    feed, balance, usable = _feeds(table)
    reach = recovery_limit(feed, limits or default_limits(False), passage)
    points = [_point(feed, y, passage) for y in recoveries]
    for i, name in enumerate(table.ids):
        codes = _codes(table, i, reach, bool(usable[i]), balance[i])
        for recovery, point in zip(recoveries, points, strict=True):
            yield _row(name, recovery, codes, point, (reach, balance, i))


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
    balance = np.broadcast_to(ion_balance_pct(*sums), usable.shape)
    return feed, balance, usable & feed.speciation.converged


@dataclass(frozen=True, slots=True)
class _Point:
    """Numeric columns of one recovery for all waters, and where they were computed."""

    columns: dict[str, Array]
    sound: Any


def _point(feed: FeedWater, recovery: float, passage: Passage) -> _Point:
    brine = concentrate(feed, recovery, passage)
    found = brine.speciation
    shape = np.shape(found.ph)
    columns = {
        "ph": found.ph,
        "ionic_strength_mol_kg": found.ionic_strength_mol_kg,
        "tds_mg_l": np.where(found.converged, brine.tds_mg_l, np.nan),
        "lsi": brine.lsi(),
        "sdsi": brine.sdsi(),
        **{f"si_{m}": found.si(m) for m in SCREENED},
    }
    return _Point({k: np.broadcast_to(v, shape) for k, v in columns.items()}, found.converged)


def _codes(
    table: WaterTable, i: int, reach: RecoveryLimit, usable: bool, balance: float
) -> list[str]:
    """Return the flag codes of a water, each once."""
    no_ph = not np.isfinite(table.ph[i])
    missing = not np.isfinite(table.alkalinity_mg_l_caco3[i]) or any(
        key not in table.mg_l or not np.isfinite(table.mg_l[key][i]) for key in DECIDING
    )
    raised = {
        **dict.fromkeys(table.faults[i], True),
        "ph_missing": no_ph,
        "not_converged": not usable and not no_ph and not table.faults[i],
        "temperature_assumed": not np.isfinite(table.temp_c[i]),
        "not_measured": missing,
        "non_detect": any(below[i] for below in table.below.values()),
        "charge_balance": bool(np.isfinite(balance)) and abs(balance) > IMBALANCE_PCT,
        "supersaturated_feed": bool(reach.supersaturated[i]),
        "limit_at_index_step": bool(reach.at_step[i]),
    }
    return [code for code, yes in raised.items() if yes]


def _row(
    name: str,
    recovery: float,
    codes: list[str],
    point: _Point,
    shared: tuple[RecoveryLimit, Array, int],
) -> ScreenRow:
    reach, balance, i = shared
    failed = not bool(point.sound[i])
    own = list(codes)
    if failed and not set(codes) & set(FATAL):
        own.append("not_converged")
    strength = point.columns["ionic_strength_mol_kg"][i]
    if strength > STRONG:
        own.append("high_ionic_strength")
    status = "failed" if failed else "flagged" if set(own) - set(HARMLESS) else "ok"
    numbers = {k: None if np.isnan(v[i]) else float(v[i]) for k, v in point.columns.items()}
    maximum = None if np.isnan(reach.maximum[i]) else float(reach.maximum[i])
    cells = (
        name,
        recovery,
        status,
        numbers["ph"],
        numbers["ionic_strength_mol_kg"],
        numbers["tds_mg_l"],
        None if np.isnan(balance[i]) else float(balance[i]),
        *(numbers[c] for c in ("lsi", "sdsi", *(f"si_{m}" for m in SCREENED))),
        maximum,
        str(reach.limited_by[i]),
        ";".join(own),
    )
    return ScreenRow(cells, failed)
