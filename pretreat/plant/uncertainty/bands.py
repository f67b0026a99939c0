"""Limits as bands: the cautious, the usual and the bold limit of every scale."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from pretreat.core.tables import rows
from pretreat.membrane.limits import limits_from
from pretreat.membrane.recovery import Limits
from pretreat.site.design import LimitChoices, LimitSet

Column = Literal["low", "likely", "high"]
COLUMNS: tuple[Column, ...] = ("low", "likely", "high")
Way = Literal["without_inhibitor", "with_inhibitor"]


@dataclass(frozen=True, slots=True)
class LimitBand:
    """Three sets of limits of the same scales; they are run apart, never drawn."""

    low: Limits
    likely: Limits
    high: Limits

    def of(self, column: Column) -> Limits:
        """Return one of the three."""
        found: Limits = getattr(self, column)
        return found

    @property
    def is_one(self) -> bool:
        """True where the three are the same: nothing hangs on the limits."""
        return self.low == self.high


def one_limit(limits: Limits) -> LimitBand:
    """Return the band of limits that are taken as they are."""
    return LimitBand(limits, limits, limits)


@lru_cache(maxsize=1)
def _table() -> Mapping[tuple[str, str], Mapping[Column, float]]:
    found: dict[tuple[str, str], Mapping[Column, float]] = {}
    for row in rows("limit_bands.csv"):
        percent = row["measure"] == "%"
        found[row["criterion"], row["way"]] = {
            c: math.log10(float(row[c]) / 100.0) if percent else float(row[c]) for c in COLUMNS
        }
    return found


def default_band(criterion: str, way: Way) -> Mapping[Column, float] | None:
    """Return the usual band of a scale, or None where none is held.

    With an inhibitor no column is below the limit without one, for an inhibitor never lowers
    a limit.

    Parameters
    ----------
    criterion : str
        Name of the scale. [-]
    way : {"without_inhibitor", "with_inhibitor"}
        What is dosed. [-]

    Returns
    -------
    mapping of str to float, or None
        Index or log10 of the saturation by column. [-]
    """
    table = _table()
    plain, dosed = (table.get((criterion, w)) for w in ("without_inhibitor", "with_inhibitor"))
    if plain is None or dosed is None or way == "without_inhibitor":
        return plain
    return {c: max(dosed[c], plain[c]) for c in COLUMNS}


def limit_band(choices: LimitChoices, inhibitor: bool | None = None) -> LimitBand:
    """Return the band of the limits in force.

    A limit that the user sets, one by one or by a file, is taken as it is: its band has no
    width. Every other limit has the band of data/limit_bands.csv.

    Parameters
    ----------
    choices : LimitChoices
        The user's choices. [-]
    inhibitor : bool, optional
        With an inhibitor, or without; as chosen if omitted. [-]

    Returns
    -------
    LimitBand
        The three sets of limits. [-]
    """
    treated = choices.inhibitor if inhibitor is None else inhibitor
    fixed = limits_from(choices, treated)
    way: Way = "with_inhibitor" if treated else "without_inhibitor"
    own = _own(choices.file_with if treated else choices.file_without)
    single = _own(LimitSet(choices.lsi, choices.sdsi, choices.percent_of_saturation))
    if treated == choices.inhibitor:
        own, single = own | single, set()

    def value(criterion: str, column: Column, chosen: float) -> float:
        band = default_band("calcite" if criterion == "sdsi" else criterion, way)
        if band is None or criterion in own:
            return chosen
        # A limit set for work without an inhibitor is also the least with one.
        return max(band[column], chosen) if criterion in single else band[column]

    def limits(column: Column) -> Limits:
        return Limits(
            value("calcite", column, fixed.lsi),
            value("sdsi", column, fixed.sdsi),
            {k: value(k, column, v) for k, v in fixed.si.items()},
            fixed.k_chart,
        )

    return LimitBand(*(limits(column) for column in COLUMNS))


def _own(limits: LimitSet) -> set[str]:
    """Return the scales whose limit is set; LSI stands for S&DSI where that is not set."""
    found = set(limits.percent_of_saturation)
    if limits.lsi is not None or "calcite" in found:
        found |= {"calcite", "sdsi"}
    if limits.sdsi is not None:
        found.add("sdsi")
    return found
