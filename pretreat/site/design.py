"""The engineer's choices for one site, as records with defaults.

The site file that fills them is read by `pretreat.site.file`.
"""

import datetime
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal

from msgspec import Struct, field
from msgspec.structs import replace

_NOTHING: Mapping[str, float] = MappingProxyType({})


def _nothing() -> Mapping[str, float]:
    return _NOTHING


def _no_words() -> Mapping[str, str]:
    return MappingProxyType({})


NonDetectPolicy = Literal["limit", "half", "zero"]
DesignWater = Literal["sample", "severe sample", "envelope", "percentile"]


class SiteName(Struct, frozen=True):
    """Who and where, for the head of the report."""

    name: str = "unnamed site"
    place: str = ""
    prepared_for: str = ""
    prepared_by: str = ""
    units: Literal["si", "us"] | None = None  # shown where a command asks for none


class WaterBasis(Struct, frozen=True):
    """Which water is treated, and at which temperatures."""

    analysis: Path | None = None
    sample: str | None = None
    sheet: str | None = None
    column: str | None = None
    unit: str | None = None
    sampled: datetime.date | None = None
    hardness_mg_l_caco3: float | None = None
    hardness_typed: str = ""  # as the site file has it, to be shown beside
    iron_mg_l: float | None = None
    manganese_mg_l: float | None = None
    ph: float | None = None
    alkalinity_mg_l_caco3: float | None = None
    tds_mg_l: float | None = None
    conductivity_us_cm: float | None = None
    silica_mg_l: float | None = None
    chlorine_mg_l: float | None = None
    temperature_c: float | None = None
    operating_temperature_c: float | None = None
    coldest_temperature_c: float | None = None
    warmest_temperature_c: float | None = None
    uncertainty_pct: Mapping[str, float] = field(default_factory=_nothing)  # k = 2, by analyte
    non_detects_scaling: NonDetectPolicy = "limit"
    non_detects_balance: NonDetectPolicy = "half"
    adjust_balance: Literal["no", "na", "cl"] = "no"
    design_water: DesignWater = "sample"
    percentile: float = 90.0


class Machine(Struct, frozen=True):
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
    element: str | None = None  # nominal inches; with an area alone the nearest size
    element_area_m2: float | None = None
    array: tuple[int, ...] | None = None  # vessels per stage
    elements_per_vessel: int | None = None
    water_permeability_lmh_bar: float | None = None  # A at 25 °C
    salt_permeability_lmh: float | Mapping[str, float] | None = None  # B at 25 °C
    drop_factor: float | None = None  # pressure drop of the elements over the calculated one
    fitted_to: str = ""  # date of the reading that A, B and the drop are fitted to
    product_pressure_bar: float | None = None
    interstage_loss_bar: float | None = None
    feed_kind: str = "well"
    flux_l_m2_h: float | None = None
    max_element_recovery: float | None = None
    vessel_pressure_bar: float | None = None
    wall: Literal["recovery", "film"] = "recovery"
    pump_efficiency: float | None = None
    motor_efficiency: float | None = None
    suction_pressure_bar: float | None = None

    @property
    def elements_known(self) -> bool:
        """Whether an element size or area is given."""
        return self.element is not None or self.element_area_m2 is not None


class ProductUse(Struct, frozen=True):
    """What the product is for, and whose limits bind; all are compared where none is named.

    ``least_*`` is what a product that is fit for pipes should have; ``calcite_co2_share`` the
    share of the carbon dioxide that a calcite filter uses up.
    """

    target: str | None = None
    jurisdiction: str | None = None
    least_hardness_mg_l_caco3: float | None = None
    least_alkalinity_mg_l_caco3: float | None = None
    least_calcium_mg_l: float | None = None
    least_lsi: float | None = None
    calcite_co2_share: float | None = None

    @property
    def asks_for_minerals(self) -> bool:
        """Whether hardness, alkalinity, calcium or a Langelier index is asked for."""
        asked = (
            self.least_hardness_mg_l_caco3,
            self.least_alkalinity_mg_l_caco3,
            self.least_calcium_mg_l,
            self.least_lsi,
        )
        return any(value is not None for value in asked)


class Supply(Struct, frozen=True):
    """Well, pump and tanks, where known."""

    pump_flow_m3_h: float | None = None
    pump_pressure_bar: float | None = None
    well_yield_m3_h: float | None = None
    raw_tank_volume_m3: float | None = None
    product_tank_volume_m3: float | None = None
    vented_raw_tank: bool = False
    demand_m3_d: float | None = None
    demand_profile: str | tuple[float, ...] = "level"


class RecordChoices(Struct, frozen=True):
    """How readings are typed in: what a bag holds, the factor of a meter, the order of dates.

    ``file`` is the record; ``set_points_from`` names the reading that A and B of the elements are
    fitted to for the set points: "baseline", "last" or a date.
    """

    salt_bag_kg: float | None = None
    permanganate_bag_kg: float | None = None
    ppm_per_us_cm: float | None = None
    dates: Literal["day first", "month first"] | None = None
    file: Path | None = None
    set_points_from: str | None = None


class KChart(Struct, frozen=True):
    """The user's own K of the Stiff and Davis index, on a grid.

    ``k`` holds one row per ionic strength and one column per temperature.
    """

    name: str
    ionic_strength_mol_kg: tuple[float, ...]
    temp_c: tuple[float, ...]
    k: tuple[tuple[float, ...], ...]


class LimitSet(Struct, frozen=True):
    """Scaling limits of the user's own file, without an inhibitor or with one."""

    lsi: float | None = None
    sdsi: float | None = None
    percent_of_saturation: Mapping[str, float] = field(default_factory=_nothing)  # by mineral


# What a scale inhibitor is: products of today, and the phosphate that they came after.
INHIBITORS = ("phosphonate", "polymer", "hexametaphosphate")
MODERN = INHIBITORS[0]


class LimitChoices(Struct, frozen=True):
    """Scaling limits chosen by the user; what is not chosen keeps its default.

    The limits named here hold for the way of working that ``inhibitor`` chooses; those of a
    file for the one they stand under. ``origins`` says by scale where a file got its limit.
    """

    inhibitor: bool = False
    inhibitor_kind: str = MODERN  # one of INHIBITORS
    lsi: float | None = None
    sdsi: float | None = None
    percent_of_saturation: Mapping[str, float] = field(default_factory=_nothing)  # by mineral
    file_without: LimitSet = field(default_factory=LimitSet)
    file_with: LimitSet = field(default_factory=LimitSet)
    origins: Mapping[str, str] = field(default_factory=_no_words)
    k_chart: KChart | None = None


class Prices(Struct, frozen=True):
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
    visit_each: float | None = None
    disposal_per_l: float | None = None
    discount_rate: float | None = None
    valid_days: float | None = None
    more: Mapping[str, float] = field(default_factory=_nothing)  # of unit processes, by key

    def of(self, name: str) -> float | None:
        """Return a price by its key, None where the user gives none."""
        return self.more[name] if name in self.more else getattr(self, name, None)


class OwnPackage(Struct, frozen=True):
    """A package of the user's price list: its size, the size as written, and its word.

    ``price`` is that of one package of a solution, whose strength is not known here; ``by_volume``
    says that its size is in litres, since its density is not known here either.
    """

    size: float
    shown: str
    package: str = ""
    price: float | None = None
    by_volume: bool = False


class OwnLine(Struct, frozen=True):
    """A line that the supplier adds to a quote, at the price that it is sold for.

    ``kind`` is "equipment" or an item of the price list, whose tax it has; ``tax_percent`` is a
    rate of its own.
    """

    text: str
    price: float
    quantity: float = 1.0
    unit: str = ""
    optional: bool = False
    kind: str = ""
    tax_percent: float | None = None


class QuoteTerms(Struct, frozen=True):
    """Who quotes to whom, and on which terms; ``tax_percent`` holds rates by item sold."""

    customer: str = ""
    address: str = ""
    number: str = ""
    date: datetime.date | None = None
    terms: str = ""
    delivery: str = ""
    exclusions: str = ""
    letterhead: str = ""
    contact: str = ""
    contact_function: str = ""
    contact_phone: str = ""
    contact_email: str = ""
    logo: Path | None = None
    font: Path | None = None
    language: str = "en"
    currency: str = ""
    tax_percent: Mapping[str, float] = field(default_factory=_nothing)
    discount_percent: float = 0.0
    margin_percent: float | None = None  # the prices are costs where it is given
    visits_per_year: float | None = None
    valid_days: float | None = None
    pallet_load_kg: float | None = None
    consumables: Literal["optional", "included", "none"] | None = None  # as the rest allows
    visits: Literal["optional", "included"] = "optional"  # where a visit has a price
    media: tuple[str, ...] | None = None  # stages whose media are sold; all where left out
    lines: tuple[OwnLine, ...] = ()
    accept_verdict: bool = False


def _no_packages() -> Mapping[str, OwnPackage]:
    return MappingProxyType({})


class DesignBasis(Struct, frozen=True):
    """Everything the engineer chose for one site.

    ``stages`` holds the record of choices of each unit process by its key.
    ``chosen`` lists the keys that the site file gives ("softener.reserve"); every other
    value is a default and is shown as assumed.
    """

    machine: Machine
    site: SiteName = field(default_factory=SiteName)
    water: WaterBasis = field(default_factory=WaterBasis)
    supply: Supply = field(default_factory=Supply)
    product: ProductUse = field(default_factory=ProductUse)
    record: RecordChoices = field(default_factory=RecordChoices)
    limits: LimitChoices = field(default_factory=LimitChoices)
    prices: Prices = field(default_factory=Prices)
    quote: QuoteTerms = field(default_factory=QuoteTerms)
    packages: Mapping[str, OwnPackage] = field(default_factory=_no_packages)  # by item sold
    stages: Mapping[str, Any] = field(default_factory=_nothing)
    chosen: frozenset[str] = frozenset()

    def __getattr__(self, key: str) -> Any:
        """Return the choices for a unit process, as in ``design.softener``."""
        try:
            return self.stages[key]
        except KeyError:
            raise AttributeError(f"the design basis has no '{key}'") from None

    def change(self, section: str, **values: Any) -> "DesignBasis":
        """Return the design basis with other values in one section, a unit process or not.

        Parameters
        ----------
        section : str
            Such as "machine" or "softener". [-]
        **values
            Fields of its record. [as the field]

        Returns
        -------
        DesignBasis
            A copy. [-]
        """
        record = replace(getattr(self, section), **values)
        if section in self.stages:
            return self.with_stages(**{section: record})
        return replace(self, **{section: record})

    def with_stages(self, **records: Any) -> "DesignBasis":
        """Return the design basis with other choices for some unit processes.

        Parameters
        ----------
        **records
            Records by key of the process. [-]

        Returns
        -------
        DesignBasis
            A copy. [-]
        """
        return replace(self, stages=MappingProxyType({**self.stages, **records}))

    def origin(self, key: str) -> Literal["chosen", "assumed"]:
        """Tell whether the site file gives a value or the default stands."""
        return "chosen" if key in self.chosen else "assumed"
