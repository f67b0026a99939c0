"""What wears media out: coefficients of data/wear.csv for a low, a likely and a high life."""

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Literal, cast

from msgspec import Struct

from pretreat.core.basis import Evidence
from pretreat.core.errors import DataTableError
from pretreat.core.tables import rows

Case = Literal["low", "likely", "high"]
CASES: tuple[Case, ...] = ("low", "likely", "high")


class Wear(Struct, frozen=True):
    """One coefficient: its value for the low, the likely and the high life."""

    key: str
    low: float
    likely: float
    high: float
    unit: str
    meaning: str
    source: str
    where: str
    evidence: Evidence

    @property
    def single(self) -> bool:
        """Tell whether the three lives share one value."""
        return self.low == self.likely == self.high

    def at(self, case: Case) -> float:
        """Return the value for a case."""
        return {"low": self.low, "likely": self.likely, "high": self.high}[case]


@lru_cache(maxsize=1)
def wear() -> Mapping[str, Wear]:
    """Return every coefficient by its key.

    Returns
    -------
    mapping of str to Wear
        Coefficients of data/wear.csv. [-]

    Raises
    ------
    DataTableError
        If a likely value does not lie between the other two.
    """
    found: dict[str, Wear] = {}
    for row in rows("wear.csv"):
        low, likely, high = (float(row[case]) for case in CASES)
        if not min(low, high) <= likely <= max(low, high):
            raise DataTableError(
                f"wear.csv, {row['key']}: {likely:g} is outside {low:g} to {high:g}"
            )
        found[row["key"]] = Wear(
            row["key"],
            low,
            likely,
            high,
            row["unit"],
            row["meaning"],
            row["source"],
            row["where"],
            cast(Evidence, row["evidence"]),
        )
    return MappingProxyType(found)
