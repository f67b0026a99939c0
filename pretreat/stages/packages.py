"""What is bought: bags, drums and pieces, rounded up; gravel and hours of a replacement."""

import math
from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType

from msgspec import Struct

from pretreat.core.basis import Evidence
from pretreat.core.law import Law, Number, law, valid, whole_up
from pretreat.core.tables import rows

LITRE_PER_M3 = 1000.0
# A 2:1 elliptical head, which gravel fills, holds pi/24 of the cube of the diameter (geometry).
HEAD_PER_CUBE = math.pi / 24
NOMINALLY_FULL = 1.02  # common practice, no source: bed and bag are of nominal size


class Package(Struct, frozen=True):
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
                row["key"],
                row["name"],
                float(row["size"]),
                row["unit"],
                row["package"],
                row["price"],
                row["source"],
            )
            for row in rows("packages.csv")
        }
    )


class SupportValue(Struct, frozen=True):
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
                float(row["value"]),
                row["unit"],
                row["meaning"],
                row["source"],
                row["where"],
                row["evidence"],  # type: ignore[arg-type]
            )
            for row in rows("media_support.csv")
        }
    )


@law
@valid(quantity=[0, None], package_size=(0, None))
def packages_needed(quantity: Number, package_size: Number) -> Number:
    """Count the packages to buy = quantity / what one holds, rounded up.

    Worked by hand: 51 kg in bags of 25 kg are three, 50 kg two.

    >>> packages_needed(51.0, 25.0)
    3.0
    >>> packages_needed(50.0, 25.0)
    2.0
    """
    return whole_up(quantity / package_size)


@law
@valid(quantity=[0, None], package_size=(0, None))
def media_packages_needed(quantity: Number, package_size: Number) -> Number:
    """Count the packages of a medium to buy = quantity / what one holds, rounded up.

    Sizes of beds and bags are nominal: a filling up to 2 % short is a full one (common practice,
    no source). Worked by hand: 2.5 ft3, 70.8 L, are five bags of half a cubic foot, sold as
    14 L; 73 L are six.

    >>> media_packages_needed(70.8, 14.0)
    5.0
    >>> media_packages_needed(73.0, 14.0)
    6.0
    """
    return whole_up(quantity / (package_size * NOMINALLY_FULL))


def packages_law(item: str, unit: str) -> Law[..., Number]:
    """Return the law of how many packages of an item are bought.

    Parameters
    ----------
    item : str
        Key of data/packages.csv. [-]
    unit : str
        Unit of what is needed. [-]

    Returns
    -------
    Law
        That of nominal sizes for a medium by volume. [-]
    """
    return media_packages_needed if unit == "L" and item.endswith("_medium") else packages_needed


@law
def gravel_kg(
    diameter_m: Number, vessels: Number, density_kg_l: Number, beds_taking_turns: Number = 1.0
) -> Number:
    """Support gravel in the lower heads = vessels x pi / 24 x diameter^3 x bulk density.

    Worked by hand: a 2:1 elliptical head of 1 m holds 131 L (geometry), at 1.6 kg/L 209 kg.

    >>> round(gravel_kg(1.0, 1.0, 1.6))
    209
    """
    heads = vessels * beds_taking_turns * HEAD_PER_CUBE * diameter_m**3.0
    return heads * LITRE_PER_M3 * density_kg_l


@law
def replacement_h(
    vessels: Number,
    media_l: Number,
    per_vessel_h: Number,
    hundred_litres_h: Number,
    beds_taking_turns: Number = 1.0,
) -> Number:
    """Hours to replace a medium = vessels x hours for each + hours for each 100 L.

    Worked by hand: two vessels at 2 h and 200 L at 1.5 h for each 100 L.

    >>> replacement_h(2.0, 200.0, 2.0, 1.5)
    7.0
    """
    return vessels * beds_taking_turns * per_vessel_h + media_l / 100.0 * hundred_litres_h
