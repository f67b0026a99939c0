"""The media of data/media.csv: grains, rates, depths and limits, each with its source."""

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType

from msgspec import Struct

from pretreat.core.basis import Evidence
from pretreat.core.errors import DesignError, one_of
from pretreat.core.tables import rows
from pretreat.stages.bed.hydraulics import Grains


class Property(Struct, frozen=True):
    """One number of a medium, with its unit and where it comes from."""

    value: float
    unit: str
    source: str
    where: str
    evidence: Evidence


class Medium(Struct, frozen=True):
    """A filter medium or resin: its properties by name."""

    name: str
    properties: Mapping[str, Property]

    def __getitem__(self, name: str) -> float:
        return self.properties[name].value

    def get(self, name: str) -> float | None:
        """Return a property, None where the medium has no such number."""
        found = self.properties.get(name)
        return None if found is None else found.value

    @property
    def settled(self) -> Grains:
        """The grains as they lie after a backwash."""
        return Grains(self["grain_mm"], self["density_kg_m3"], self["porosity"])

    @property
    def in_service(self) -> Grains:
        """The grains as they lie in service."""
        return Grains(self["grain_mm"], self["density_kg_m3"], self["porosity_in_service"])


@lru_cache(maxsize=1)
def media() -> Mapping[str, Medium]:
    """Return every medium by its name.

    Returns
    -------
    mapping of str to Medium
        Media. [-]
    """
    found: dict[str, dict[str, Property]] = {}
    for row in rows("media.csv"):
        found.setdefault(row["medium"], {})[row["property"]] = Property(
            float(row["value"]),
            row["unit"],
            row["source"],
            row["where"],
            row["evidence"],  # type: ignore[arg-type]
        )
    return MappingProxyType({name: Medium(name, MappingProxyType(p)) for name, p in found.items()})


def iron_filter_medium(name: str) -> Medium:
    """Return a medium that holds iron and manganese.

    Parameters
    ----------
    name : str
        Its name, in any case. [-]

    Returns
    -------
    Medium
        The medium. [-]

    Raises
    ------
    DesignError
        If there is no such medium.
    """
    known = [n for n, m in media().items() if "solids_limit_g_m2" in m.properties]
    if name.casefold() not in known:
        raise DesignError(
            f"[iron_filter] medium = '{name}': must be one of {', '.join(known)}"
            + one_of(name.casefold(), known)
        )
    return media()[name.casefold()]
