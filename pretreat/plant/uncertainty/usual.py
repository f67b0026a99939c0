"""Usual uncertainties, for an input that states none: data/uncertainty.csv."""

import math
from collections.abc import Mapping
from functools import lru_cache

from pretreat.core.basis import cites
from pretreat.core.tables import Row, rows
from pretreat.plant.uncertainty.distributions import (
    Distribution,
    Normal,
    Rectangular,
    lognormal_from_p10_p90,
)

LEAST_SHARE = 1e-3  # of the value: where a normal concentration is cut


@lru_cache(maxsize=1)
def _defaults() -> Mapping[str, Row]:
    return {f"{row['kind']}.{row['key']}": row for row in rows("uncertainty.csv")}


@cites("QUAM", "u = sqrt(s0^2 + (x s1)^2)")
def characteristic_u(value: float, absolute: float, relative: float) -> float:
    """Return the standard uncertainty of a result that depends on its level.

    Parameters
    ----------
    value : float
        The result. [any unit]
    absolute : float
        Standard uncertainty near zero. [same unit]
    relative : float
        Relative standard uncertainty at high levels. [-]

    Returns
    -------
    float
        Standard uncertainty. [same unit]
    """
    return math.hypot(absolute, relative * value)


def default_distribution(kind: str, key: str, value: float) -> Distribution:
    """Return what an input may be by data/uncertainty.csv.

    Parameters
    ----------
    kind : str
        "analyte", "property" or "plant". [-]
    key : str
        Key of the table. [-]
    value : float
        The value that the design is made with. [unit of the row]

    Returns
    -------
    Distribution
        The distribution. [unit of the row]
    """
    row = _defaults()[f"{kind}.{key}"]
    relative, absolute = float(row["relative"]), float(row["absolute"])
    if row["shape"] == "lognormal":
        return lognormal_from_p10_p90(value / relative, value * relative)
    if row["shape"] == "rectangular":
        half = abs(value) * relative + absolute
        return Rectangular(value - half, value + half)
    least = LEAST_SHARE * value if value >= 0 else -math.inf
    return Normal(value, characteristic_u(value, absolute, relative), least)


def engine_u_log(scale: str) -> float:
    """Return the standard uncertainty of an index from the constants of the engine.

    Parameters
    ----------
    scale : str
        Name of a scale. [-]

    Returns
    -------
    float
        Of log10 of the saturation; 0 for a scale that is not listed. [-]
    """
    row = _defaults().get(f"engine.{scale}")
    return 0.0 if row is None else float(row["absolute"])
