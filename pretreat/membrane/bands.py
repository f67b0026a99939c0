"""The limits of the scales: bands of the program's own, and the limits in force of a run."""

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, Literal

import numpy as np
from msgspec import Struct

from pretreat.core.tables import rows
from pretreat.site.design import MODERN, KChart


class Limits(Struct, frozen=True):
    """Limits in force: index of carbonate, and SI of the minerals (log10 of saturation).

    Each may be an array with one limit per water; ``k_chart`` is the user's own K of S&DSI.
    """

    lsi: Any
    sdsi: Any
    si: Mapping[str, Any]
    k_chart: KChart | None = None

    def criteria(self) -> tuple[str, ...]:
        """Return the names of the scales, calcite first."""
        return ("calcite", *self.si)

    def of(self, index: Any) -> "Limits":
        """Return the limits of some of the waters."""
        if np.ndim(self.lsi) == 0:
            return self
        some = {k: v[index] for k, v in self.si.items()}
        return Limits(self.lsi[index], self.sdsi[index], some, self.k_chart)


Column = Literal["low", "likely", "high"]


class LimitBand(Struct, frozen=True):
    """Low, likely and high limit of a scale, in its own unit, and where they come from."""

    name: str
    unit: str
    low: float
    likely: float
    high: float
    evidence: str
    note: str


@lru_cache(maxsize=4)
def limit_bands(inhibitor: bool, kind: str = MODERN) -> Mapping[str, LimitBand]:
    """Return the bands of data/limits.csv by scale, calcite first.

    Parameters
    ----------
    inhibitor : bool
        With an inhibitor (common practice, no source) or without (saturation). [-]
    kind : str
        What is dosed, one of `INHIBITORS`; rows of its own go before the general ones. [-]

    Returns
    -------
    mapping of str to LimitBand
        Index of carbonate, else percent of saturation. [-]
    """
    words = ("yes", kind) if inhibitor else ("no",)
    return {
        r["criterion"]: LimitBand(
            r["name"],
            r["unit"],
            float(r["low"]),
            float(r["likely"]),
            float(r["high"]),
            r["evidence"],
            r["note"],
        )
        for word in words
        for r in rows("limits.csv")
        if r["inhibitor"] == word
    }


@lru_cache(maxsize=16)
def default_limits(inhibitor: bool, column: Column = "likely", kind: str = MODERN) -> Limits:
    """Return the default limits of data/limits.csv.

    Parameters
    ----------
    inhibitor : bool
        With an inhibitor (common practice, no source) or without (saturation). [-]
    column : {"low", "likely", "high"}
        Which of the band. [-]
    kind : str
        What is dosed, one of `INHIBITORS`. [-]

    Returns
    -------
    Limits
        The limits. [-]
    """
    table = {k: float(getattr(band, column)) for k, band in limit_bands(inhibitor, kind).items()}
    index = table.pop("calcite")
    return Limits(index, index, {k: float(np.log10(v / 100.0)) for k, v in table.items()})
