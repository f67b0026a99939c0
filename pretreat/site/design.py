"""The engineer's choices for one site, as records with defaults.

The site file that fills them is read by `pretreat.site.file`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Literal

_NOTHING: Mapping[str, float] = MappingProxyType({})


def _nothing() -> Mapping[str, float]:
    return _NOTHING


def _no_words() -> Mapping[str, str]:
    return MappingProxyType({})


NonDetectPolicy = Literal["limit", "half", "zero"]
DesignWater = Literal["sample", "severe sample", "envelope", "percentile"]


@dataclass(frozen=True, slots=True)
class SiteName:
    """Who and where, for the head of the report."""

    name: str = "unnamed site"
    place: str = ""
    prepared_for: str = ""
    prepared_by: str = ""


@dataclass(frozen=True, slots=True)
class WaterBasis:
    """Which water is treated, and at which temperatures."""

    analysis: Path | None = None
    sample: str | None = None
    sheet: str | None = None
    column: str | None = None
    unit: str | None = None
    hardness_mg_l_caco3: float | None = None
    iron_mg_l: float | None = None
    manganese_mg_l: float | None = None
    operating_temperature_c: float | None = None
    coldest_temperature_c: float | None = None
    warmest_temperature_c: float | None = None
    non_detects_scaling: NonDetectPolicy = "limit"
    non_detects_balance: NonDetectPolicy = "half"
    adjust_balance: Literal["no", "na", "cl"] = "no"
    design_water: DesignWater = "sample"
    percentile: float = 90.0


@dataclass(frozen=True, slots=True)
class Machine:
    """The reverse-osmosis machine: flows while running, and running time."""

    product_flow_m3_h: float
    recovery: float
    hours_per_day: float
    days_per_year: float = 365.0
    recovery_range: tuple[float, float] | None = None
    recycle_flow_m3_h: float = 0.0
    salt_passage: float | Mapping[str, float] | Literal["generic"] = 0.0
    saturation_at: Literal["bulk", "wall"] = "bulk"
    element_recovery: float | None = None
    feed_pressure_bar: float | None = None
    reference_temperature_c: float | None = None
    drain_flow_m3_h: float | None = None


@dataclass(frozen=True, slots=True)
class Supply:
    """Well, pump and tanks, where known."""

    pump_flow_m3_h: float | None = None
    pump_pressure_bar: float | None = None
    well_yield_m3_h: float | None = None
    raw_tank_volume_m3: float | None = None
    product_tank_volume_m3: float | None = None
    vented_raw_tank: bool = False
    demand_m3_d: float | None = None
    demand_profile: str | tuple[float, ...] = "level"


@dataclass(frozen=True, slots=True)
class SoftenerDesign:
    """Choices for the softener, and what is installed where it is rated."""

    include: bool | None = None
    salt_dose_g_l: float | None = None
    salt_per_regeneration_kg: float | None = None
    refill_minutes: float | None = None
    refill_flow_l_min: float | None = None
    reserve: float = 0.2
    capacity_factor: float = 1.0
    regenerate_every_days: float | None = None
    resin_volume_l: float | None = None
    vessel_diameter_m: float | None = None
    leakage_mg_l_caco3: float | None = None
    control: Literal["calendar", "meter"] = "calendar"
    arrangement: Literal["simplex", "duplex", "lead-lag"] = "simplex"
    direction: Literal["co-current", "counter-current"] = "co-current"
    resin_table: Path | None = None
    iron_allowance_gpg: float | None = None
    derate_for_sodium: bool = False


@dataclass(frozen=True, slots=True)
class IronFilterDesign:
    """Choices for the iron and manganese filter, and what is installed."""

    include: bool | None = None
    medium: str = "manganese greensand"
    regeneration: Literal["intermittent", "continuous"] = "intermittent"
    oxidant: Literal["permanganate", "chlorine", "air"] = "permanganate"
    vessel_diameter_m: float | None = None
    media_depth_m: float | None = None
    media_volume_l: float | None = None
    permanganate_dose_g_l: float = 2.0
    solids_limit_g_m2: float | None = None
    iron_left_mg_l: float = 0.1
    manganese_left_mg_l: float = 0.05
    regenerate_every_days: float | None = None


@dataclass(frozen=True, slots=True)
class CarbonDesign:
    """Choices for the carbon bed, and what is installed."""

    include: bool | None = None
    vessel_diameter_m: float | None = None
    media_volume_l: float | None = None
    free_chlorine_mg_l: float | None = None
    chloramine_mg_l: float | None = None
    contact_time_min: float | None = None
    before_softener: bool | None = None


@dataclass(frozen=True, slots=True)
class KChart:
    """The user's own K of the Stiff and Davis index, on a grid.

    ``k`` holds one row per ionic strength and one column per temperature.
    """

    name: str
    ionic_strength_mol_kg: tuple[float, ...]
    temp_c: tuple[float, ...]
    k: tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True)
class LimitSet:
    """Scaling limits of the user's own file, without an inhibitor or with one."""

    lsi: float | None = None
    sdsi: float | None = None
    percent_of_saturation: Mapping[str, float] = field(default_factory=_nothing)  # by mineral


@dataclass(frozen=True, slots=True)
class LimitChoices:
    """Scaling limits chosen by the user; what is not chosen keeps its default.

    The limits named here hold for the way of working that ``inhibitor`` chooses; those of a
    file for the one they stand under. ``origins`` says by scale where a file got its limit.
    """

    inhibitor: bool = False
    lsi: float | None = None
    sdsi: float | None = None
    percent_of_saturation: Mapping[str, float] = field(default_factory=_nothing)  # by mineral
    file_without: LimitSet = field(default_factory=LimitSet)
    file_with: LimitSet = field(default_factory=LimitSet)
    origins: Mapping[str, str] = field(default_factory=_no_words)
    k_chart: KChart | None = None


@dataclass(frozen=True, slots=True)
class Prices:
    """Prices of the user; None leaves a visible gap in the quote."""

    currency: str = ""
    salt_per_kg: float | None = None
    permanganate_per_kg: float | None = None
    chlorine_per_kg: float | None = None
    acid_per_kg: float | None = None
    inhibitor_per_kg: float | None = None
    resin_per_l: float | None = None
    iron_media_per_l: float | None = None
    carbon_per_l: float | None = None
    multimedia_per_l: float | None = None
    gravel_per_kg: float | None = None
    cartridge_each: float | None = None
    water_per_m3: float | None = None
    drain_per_m3: float | None = None
    energy_per_kwh: float | None = None
    labour_per_h: float | None = None
    downtime_per_h: float | None = None
    freight: float | None = None
    disposal_per_l: float | None = None
    discount_rate: float | None = None
    valid_days: float | None = None


@dataclass(frozen=True, slots=True)
class DesignBasis:
    """Everything the engineer chose for one site.

    ``chosen`` lists the keys that the site file gives ("softener.reserve"); every other
    value is a default and is shown as assumed.
    """

    machine: Machine
    site: SiteName = field(default_factory=SiteName)
    water: WaterBasis = field(default_factory=WaterBasis)
    supply: Supply = field(default_factory=Supply)
    softener: SoftenerDesign = field(default_factory=SoftenerDesign)
    iron_filter: IronFilterDesign = field(default_factory=IronFilterDesign)
    carbon: CarbonDesign = field(default_factory=CarbonDesign)
    limits: LimitChoices = field(default_factory=LimitChoices)
    prices: Prices = field(default_factory=Prices)
    chosen: frozenset[str] = frozenset()

    def origin(self, key: str) -> Literal["chosen", "assumed"]:
        """Tell whether the site file gives a value or the default stands."""
        return "chosen" if key in self.chosen else "assumed"
