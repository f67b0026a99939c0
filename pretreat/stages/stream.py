"""The water that enters the pretreatment train, and the water between its stages."""

from collections.abc import Mapping
from types import MappingProxyType

from msgspec import Struct, field

from pretreat.core.water import nothing


def no_keys() -> Mapping[str, str]:
    """Return an empty mapping of keys."""
    return MappingProxyType({})


class RawWater(Struct, frozen=True):
    """The water ahead of the first stage, non-detects already resolved.

    ``mg_l`` holds mg/L as the ion by the keys of data/analytes.csv; ``total_mg_l`` the total
    iron and manganese where the lab gives them beside the dissolved ones.
    ``from_test_kit`` says that only hardness, iron and manganese are known.
    """

    mg_l: Mapping[str, float]
    total_mg_l: Mapping[str, float] = field(default_factory=nothing)
    alkalinity_mg_l_caco3: float | None = None
    ph: float | None = None
    temperature_c: float = 25.0
    ph_temperature_c: float | None = None  # of the pH; the operating temperature where None
    coldest_c: float = 25.0
    warmest_c: float = 25.0
    h2s_mg_l: float = 0.0
    h2s_below_mg_l: float | None = None  # where none was detected: the limit of the laboratory
    free_chlorine_mg_l: float = 0.0
    toc_mg_l: float | None = None
    turbidity_ntu: float | None = None
    sdi: float | None = None
    oxygen_mg_l: float | None = None  # dissolved, where it was measured
    from_test_kit: bool = False
    oxidants: tuple[str, ...] = ()  # other than free chlorine, by name

    def total(self, key: str) -> float:
        """Return the total concentration of a metal, the dissolved one where it is larger."""
        return max(self.total_mg_l.get(key, 0.0), self.mg_l.get(key, 0.0))


class Stream(Struct, frozen=True):
    """The water between two stages, as quality: what each stage takes and hands on.

    ``mg_l`` holds mg/L as the ion, iron and manganese dissolved; ``solid_mg_l`` what of a metal
    is oxidised and not yet filtered. ``holds`` names the figure that holds an amount where
    one does. Inorganic carbon stays what it is in the raw water until a stage changes it
    (``carbon_lost_mol_kg``); alkalinity is in equivalents, as its stages
    leave it; pH follows from the two and is solved ahead of the membranes, not kept.
    """

    mg_l: Mapping[str, float]
    alkalinity_mg_l_caco3: float | None
    solid_mg_l: Mapping[str, float] = field(default_factory=nothing)
    holds: Mapping[str, str] = field(default_factory=no_keys)
    oxygen_mg_l: float = 0.0
    oxidant: str = ""
    free_chlorine_mg_l: float = 0.0
    sulfide_mg_l: float = 0.0
    turbidity_ntu: float | None = None
    carbon_lost_mol_kg: float = 0.0
    passed: tuple[str, ...] = ()  # keys of the stages behind it

    def metal(self, key: str) -> float:
        """Return iron or manganese in every form [mg/L]."""
        return self.mg_l.get(key, 0.0) + self.solid_mg_l.get(key, 0.0)


class TreatedWater(Struct, frozen=True):
    """The water that enters the membranes, and the stages it went through."""

    mg_l: Mapping[str, float]
    alkalinity_mg_l_caco3: float | None
    stages: tuple[str, ...]
