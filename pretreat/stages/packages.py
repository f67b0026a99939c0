"""What is bought: bags, drums and pieces, rounded up; gravel and hours of a replacement."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from pretreat.core.basis import Evidence
from pretreat.core.errors import OutOfRangeError
from pretreat.core.tables import rows

LITRE_PER_M3 = 1000.0
# A 2:1 elliptical head, which gravel fills, holds pi/24 of the cube of the diameter (geometry).
HEAD_PER_CUBE = math.pi / 24


@dataclass(frozen=True, slots=True)
class Package:
    """One row of data/packages.csv; a size of 0 is bought by measure."""

    key: str
    name: str
    size: float
    unit: str
    package: str
    price: str
    source: str


@lru_cache(maxsize=1)
def packages() -> Mapping[str, Package]:
    """Return what is bought, by key.

    Returns
    -------
    mapping of str to Package
        Rows of data/packages.csv. [-]
    """
    return MappingProxyType(
        {
            row["key"]: Package(
                row["key"], row["name"], float(row["size"]), row["unit"], row["package"],
                row["price"], row["source"],
            )
            for row in rows("packages.csv")
        }
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class SupportValue:
    """One row of data/media_support.csv."""

    value: float
    unit: str
    meaning: str
    source: str
    where: str
    evidence: Evidence


@lru_cache(maxsize=1)
def support() -> Mapping[str, SupportValue]:
    """Return the standing values of a replacement and of dosing, by key.

    Returns
    -------
    mapping of str to SupportValue
        Rows of data/media_support.csv. [-]
    """
    return MappingProxyType(
        {
            row["key"]: SupportValue(
                float(row["value"]), row["unit"], row["meaning"], row["source"], row["where"],
                row["evidence"],  # type: ignore[arg-type]
            )
            for row in rows("media_support.csv")
        }
    )  # fmt: skip


def packages_needed(quantity: float, size: float) -> int:
    """Return the packages to buy, rounded up.

    Parameters
    ----------
    quantity : float
        What is needed, 0 or more. [any]
    size : float
        What a package holds, above 0. [any]

    Returns
    -------
    int
        Packages. [-]

    Raises
    ------
    OutOfRangeError
        If either makes no sense.
    """
    if not (quantity >= 0 and size > 0):
        raise OutOfRangeError(
            f"packages of {size:g} for {quantity:g}: the size must be above 0, the quantity not "
            "negative"
        )
    return -math.floor(-(quantity / size))


def gravel_kg(diameter_m: float, vessels: float, density_kg_l: float) -> float:
    """Return the support gravel that fills the lower heads of vessels.

    Parameters
    ----------
    diameter_m : float
        Diameter of a vessel. [m]
    vessels : float
        Vessels. [-]
    density_kg_l : float
        Bulk density of gravel. [kg/L]

    Returns
    -------
    float
        Gravel. [kg]
    """
    return vessels * HEAD_PER_CUBE * diameter_m**3 * LITRE_PER_M3 * density_kg_l


def replacement_h(vessels: float, media_l: float, per_vessel_h: float, per_100_l_h: float) -> float:
    """Return the hours of work to replace a medium.

    Parameters
    ----------
    vessels : float
        Vessels opened. [-]
    media_l : float
        Medium in all of them. [L]
    per_vessel_h : float
        Hours for each vessel. [h]
    per_100_l_h : float
        Hours for each 100 L. [h]

    Returns
    -------
    float
        Hours. [h]
    """
    return vessels * per_vessel_h + media_l / 100.0 * per_100_l_h
