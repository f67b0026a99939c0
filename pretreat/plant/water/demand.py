"""When in the day the product is drawn, and the storage that the peak hours need."""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from types import MappingProxyType
from typing import Any

from pretreat.core.basis import cites
from pretreat.core.errors import OutOfRangeError
from pretreat.core.law import Number, most
from pretreat.core.tables import Row, rows

HOURS = 24
LEVEL = "level"


@lru_cache(maxsize=1)
def profile_rows() -> Mapping[str, tuple[Row, ...]]:
    """Return the rows of every demand profile of data/demand_profiles.csv by its name.

    Returns
    -------
    mapping of str to tuple of dict
        Rows, each with the hour from which its share holds. [-]
    """
    found: dict[str, list[Row]] = {}
    for row in rows("demand_profiles.csv"):
        found.setdefault(row["name"], []).append(row)
    return MappingProxyType({name: tuple(lines) for name, lines in found.items()})


def profile_shares(choice: str | Sequence[float]) -> tuple[float, ...]:
    """Return the demand of each hour of the day over the mean demand.

    Parameters
    ----------
    choice : str or sequence of float
        A name of data/demand_profiles.csv, or 24 numbers in any unit from midnight on. [-]

    Returns
    -------
    tuple of float
        Twenty-four shares; their mean is 1. [-]

    Raises
    ------
    OutOfRangeError
        If there are not 24 numbers, one is negative, or all are zero.
    """
    weights = _named(choice) if isinstance(choice, str) else tuple(choice)
    total = sum(weights)
    if len(weights) != HOURS or min(weights) < 0 or not total > 0:
        raise OutOfRangeError(
            f"a demand profile of {len(weights)} numbers that add up to {total:g}: must be 24 "
            "numbers from midnight on, none below 0 and not all 0"
        )
    return tuple(weight * HOURS / total for weight in weights)


def _named(name: str) -> tuple[float, ...]:
    lines = profile_rows().get(name)
    if lines is None:
        raise OutOfRangeError(
            f"demand profile '{name}' is not known: must be one of {', '.join(profile_rows())}, "
            "or 24 numbers"
        )
    weights = [0.0] * HOURS
    for row in lines:
        start = int(row["hour"])
        weights[start:] = [float(row["share"])] * (HOURS - start)
    return tuple(weights)


def hourly_demand_m3_h(
    demand_m3_d: float, shares: Sequence[float]
) -> tuple[tuple[float, float], ...]:
    """Return the demand of a day from each hour at which it changes.

    Parameters
    ----------
    demand_m3_d : float
        Demand of a day. [m³/d]
    shares : sequence of float
        Demand of each hour over the mean. [-]

    Returns
    -------
    tuple of tuple
        Hour of the day and demand from then on; the first hour is 0. [h, m³/h]
    """
    flows = [demand_m3_d / HOURS * share for share in shares]
    return tuple(
        (float(hour), flow)
        for hour, flow in enumerate(flows)
        if hour == 0 or flow != flows[hour - 1]
    )


@cites("PRACTICE", "sequent peak: what the demand of peak hours takes beyond the production")
def peak_storage_m3(hourly: Sequence[tuple[float, Number]], product_m3_h: Number) -> Any:
    """Return the storage that serves the hours in which more is drawn than the machine makes.

    Parameters
    ----------
    hourly : sequence of tuple
        Hour of the day and demand from then on, floats or arrays. [h, m³/h]
    product_m3_h : float or array
        Product flow while running. [m³/h]

    Returns
    -------
    float or array
        Largest shortfall that builds up in a day, refilled in between. [m³]
    """
    ends = [hour for hour, _ in hourly[1:]] + [float(HOURS)]
    pieces = [(end - start, flow) for (start, flow), end in zip(hourly, ends, strict=True)]
    short: Any = 0.0
    largest: Any = 0.0
    for hours, flow in pieces * 2:  # a second day, for peaks on both sides of midnight
        short = most(0.0, short + (flow - product_m3_h) * hours)
        largest = most(largest, short)
    return largest
