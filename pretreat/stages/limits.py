"""The limits that decide which stages a train needs, from data/train_limits.csv."""

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType

from msgspec import Struct

from pretreat.core.basis import Evidence
from pretreat.core.tables import rows


class TrainLimit(Struct, frozen=True):
    """One limit, what it means and where it comes from."""

    key: str
    value: float
    unit: str
    meaning: str
    source: str
    where: str
    evidence: Evidence


@lru_cache(maxsize=1)
def train_limits() -> Mapping[str, TrainLimit]:
    """Return every limit by its key.

    Returns
    -------
    mapping of str to TrainLimit
        Limits. [-]
    """
    return MappingProxyType(
        {
            row["key"]: TrainLimit(
                row["key"],
                float(row["value"]),
                row["unit"],
                row["meaning"],
                row["source"],
                row["where"],
                row["evidence"],  # type: ignore[arg-type]
            )
            for row in rows("train_limits.csv")
        }
    )
