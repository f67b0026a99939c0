"""What the beds of every stage have in common: vessel, velocity, backwash, pressure drop."""

import math
from dataclasses import dataclass

from pretreat.core.basis import Level, Origin
from pretreat.core.errors import OutOfRangeError
from pretreat.stages.bed.backwash import Backwash, backwash_of
from pretreat.stages.bed.hydraulics import (
    ERGUN_INERTIAL,
    ERGUN_VISCOUS,
    MM_PER_M,
    PA_PER_KPA,
    SECONDS_PER_HOUR,
    bed_expansion,
    ergun_kpa_m,
)
from pretreat.stages.bed.media import Medium
from pretreat.stages.bed.vessels import (
    HEAD_DEPTH_PER_DIAMETER,
    Vessel,
    VesselOption,
    nominal_vessel_of,
    vessel_area_m2,
)
from pretreat.stages.bed.water_properties import density_kg_m3, viscosity_pa_s
from pretreat.stages.train import Train

NEARLY = 0.9  # PRACTICE: nine tenths of the expansion wanted still clean a bed
DEEPEST_M = 3.0  # PRACTICE: no pressure vessel of this size holds a deeper bed
FILLED_TO = 0.95  # a vessel that is to be guessed may be filled a little above its nominal volume


@dataclass(frozen=True, slots=True)
class Bed:
    """A stage's bed: prefix of its keys, its medium, its name, and its vessels."""

    prefix: str
    medium: Medium
    label: str
    diameter_m: float
    height_m: float | None
    number: int
    origin: Origin
    for_pump: VesselOption | None = None  # what the pump given could backwash instead

    @property
    def area_m2(self) -> float:
        """Area of all vessels in service."""
        return self.number * vessel_area_m2(self.diameter_m)

    @property
    def straight_m(self) -> float | None:
        """Height between the heads, None where the height is not known."""
        if self.height_m is None:
            return None
        return self.height_m - 2.0 * HEAD_DEPTH_PER_DIAMETER * self.diameter_m


def chosen_bed(prefix: str, medium: Medium, label: str, option: VesselOption) -> Bed:
    """Return the bed of a vessel that was chosen."""
    vessel = option.vessel
    return Bed(prefix, medium, label, vessel.diameter_m, vessel.height_m, option.number, "chosen")


def installed_bed(train: Train, prefix: str, medium: Medium, label: str, diameter_m: float) -> Bed:
    """Return the bed of a vessel that stands there; its height is that of the nominal size."""
    nominal = nominal_vessel_of(diameter_m)
    height = None if nominal is None else nominal.height_m
    if height is None:
        train.entries.flag(
            "vessel_height_unknown", "caution",
            f"{label}: no nominal vessel is {diameter_m:.3g} m wide, so the room above the bed is "
            "not known; measure it before raising the backwash", f"{prefix}.vessel_diameter_m",
        )  # fmt: skip
    return Bed(prefix, medium, label, diameter_m, height, 1, "chosen")


def nearest_vessel(vessels: tuple[Vessel, ...], volume_l: float) -> Vessel:
    """Return the smallest nominal vessel that holds a volume, the largest where none does."""
    holding = [vessel for vessel in vessels if vessel.media_l >= FILLED_TO * volume_l]
    return holding[0] if holding else vessels[-1]


def enter_vessel(train: Train, bed: Bed) -> None:
    """Enter vessel, number and area of a stage."""
    entries, key, label = train.entries, bed.prefix, bed.label
    entries.given(f"{key}.vessel_diameter_m", bed.diameter_m, "m", f"{label}: vessel diameter",
                  origin=bed.origin, cites=(), method="nominal outside diameter")  # fmt: skip
    entries.given(f"{key}.vessels_in_service", float(bed.number), "-",
                  f"{label}: vessels in service side by side", origin=bed.origin,
                  cites=())  # fmt: skip
    if bed.height_m is not None:
        entries.given(f"{key}.vessel_height_m", bed.height_m, "m", f"{label}: vessel height",
                      method="overall height of the nominal size")  # fmt: skip
    entries.calc(f"{key}.area_m2", bed.area_m2, "m2", f"{label}: bed area",
                 f"{{{key}.vessels_in_service}}*{math.pi / 4.0!r}*{{{key}.vessel_diameter_m}}^2",
                 method="circle of the nominal diameter")  # fmt: skip


def enter_velocity(train: Train, bed: Bed) -> float:
    """Enter the velocity in service and its limit; flag what is too fast."""
    entries, key = train.entries, bed.prefix
    flow = entries.value("machine.feed_flow_m3_h")
    velocity = entries.calc(f"{key}.velocity_m_h", flow / bed.area_m2, "m/h",
                            f"{bed.label}: service velocity",
                            f"{{machine.feed_flow_m3_h}}/{{{key}.area_m2}}",
                            method="feed flow over bed area")  # fmt: skip
    most = entries.medium(key, bed.medium, "service_max_m_h", f"{bed.label}: fastest service")
    if velocity > most:
        entries.flag("velocity_high", "warning",
                     f"{bed.label}: {velocity:.1f} m/h in service, at most {most:g} m/h: a larger "
                     "vessel or another one beside it", f"{key}.velocity_m_h")  # fmt: skip
    return velocity


def enter_depth_from_volume(train: Train, bed: Bed, volume_key: str) -> float:
    """Enter the depth that a volume of medium gives."""
    entries = train.entries
    depth = entries.value(volume_key) / 1000.0 / bed.area_m2
    return entries.calc(f"{bed.prefix}.depth_m", depth, "m", f"{bed.label}: bed depth",
                        f"{{{volume_key}}}/1000/{{{bed.prefix}.area_m2}}",
                        method="volume over area")  # fmt: skip


def note_depth(train: Train, bed: Bed) -> None:
    """Enter the least depth and note a bed that is shallower."""
    entries, key = train.entries, bed.prefix
    least = entries.medium(key, bed.medium, "depth_min_m", f"{bed.label}: least depth")
    depth = entries.value(f"{key}.depth_m")
    if depth > DEEPEST_M:
        raise OutOfRangeError(
            f"{bed.label}: the bed comes out {depth:.3g} m deep in a vessel {bed.diameter_m:.3g} m "
            f"wide; no such vessel holds more than {DEEPEST_M:g} m: check [{key}] vessel_diameter "
            "and the volume, and their units"
        )
    if depth < least:
        entries.flag("bed_shallow", "info",
                     f"{bed.label}: the bed is {depth:.2f} m deep, published practice is "
                     f"{least:.2f} m; small package vessels often fall short", f"{key}.depth_m",
        )  # fmt: skip
    most = bed.medium["depth_max_m"]
    if depth > most + 1e-6:
        entries.flag("bed_deep", "info",
                     f"{bed.label}: the bed is {depth:.2f} m deep, practice ends at {most:.2f} m",
                     f"{key}.depth_m")  # fmt: skip


def enter_room(train: Train, bed: Bed) -> float | None:
    """Enter the room above the bed, None where the height of the vessel is not known."""
    if bed.height_m is None or bed.straight_m is None:
        return None
    entries, key = train.entries, bed.prefix
    room = bed.straight_m - entries.value(f"{key}.depth_m")
    heads = 2.0 * HEAD_DEPTH_PER_DIAMETER
    return entries.calc(
        f"{key}.freeboard_m", room, "m", f"{bed.label}: room above the bed",
        f"{{{key}.vessel_height_m}}-{heads!r}*{{{key}.vessel_diameter_m}}-{{{key}.depth_m}}",
        method="height less two 2:1 heads (the lower one filled with gravel) less bed",
    )  # fmt: skip


def enter_backwash(train: Train, bed: Bed) -> Backwash:
    """Enter what a backwash needs and may be, and compare it with the pump."""
    entries, key, label = train.entries, bed.prefix, bed.label
    room = enter_room(train, bed)
    if room is not None and room <= 0:
        raise OutOfRangeError(
            f"{label}: a bed {entries.value(f'{key}.depth_m'):.2f} m deep leaves no room above the "
            f"bed in a vessel {bed.diameter_m:.2f} m wide and {bed.height_m or 0.0:.2f} m high "
            "(nominal size): it cannot be backwashed; check diameter and volume"
        )
    result = backwash_of(bed.medium, entries.value(f"{key}.depth_m"), room,
                         coldest_c=train.raw.coldest_c, warmest_c=train.raw.warmest_c)  # fmt: skip
    target = entries.medium(key, bed.medium, "expansion_target", f"{label}: expansion wanted")
    entries.calc(f"{key}.backwash_velocity_m_h", result.needed_m_h, "m/h",
                 f"{label}: backwash velocity", by=(backwash_of,),
                 inputs=(f"{key}.expansion_target", "train.warmest_c"),
                 method=f"Wen and Yu: {target:.0%} expansion in the warmest water")  # fmt: skip
    one = f"{key}.vessels_in_service"
    entries.calc(f"{key}.backwash_flow_m3_h", result.needed_m_h * bed.area_m2 / bed.number, "m3/h",
                 f"{label}: backwash flow of one vessel",
                 f"{{{key}.backwash_velocity_m_h}}*{{{key}.area_m2}}/{{{one}}}",
                 method="what the pump must give")  # fmt: skip
    code = entries.medium(key, bed.medium, "backwash_code_m_h", f"{label}: published backwash")
    entries.calc(f"{key}.backwash_flow_published_m3_h", code * bed.area_m2 / bed.number, "m3/h",
                 f"{label}: backwash flow at the published velocity",
                 f"{{{key}.backwash_code_m_h}}*{{{key}.area_m2}}/{{{one}}}",
                 method="for comparison")  # fmt: skip
    _enter_coldest(train, bed, result)
    _compare_with_pump(train, bed)
    return result


def _enter_coldest(train: Train, bed: Bed, result: Backwash) -> None:
    entries, key, label = train.entries, bed.prefix, bed.label
    entries.calc(f"{key}.expansion_coldest", result.expansion_coldest, "-",
                 f"{label}: expansion in the coldest water", by=(backwash_of,),
                 inputs=(f"{key}.backwash_velocity_m_h", "train.coldest_c"),
                 method="Wen and Yu at the backwash velocity")  # fmt: skip
    if result.largest_m_h is None:
        return
    entries.calc(f"{key}.backwash_velocity_largest_m_h", result.largest_m_h, "m/h",
                 f"{label}: fastest backwash that keeps the medium", by=(backwash_of,),
                 inputs=(f"{key}.freeboard_m", f"{key}.depth_m", "train.coldest_c"),
                 method="Wen and Yu: fills the room in the coldest water")  # fmt: skip
    entries.calc(f"{key}.backwash_flow_largest_m3_h",
                 result.largest_m_h * bed.area_m2 / bed.number, "m3/h",
                 f"{label}: largest backwash flow of one vessel",
                 f"{{{key}.backwash_velocity_largest_m_h}}*{{{key}.area_m2}}"
                 f"/{{{key}.vessels_in_service}}", method="more carries medium to the drain",
    )  # fmt: skip
    if result.conflict and result.room is not None:
        _flag_conflict(train, bed, result.needed_m_h, (result.largest_m_h, result.room))


def _flag_conflict(train: Train, bed: Bed, needed_m_h: float, most: tuple[float, float]) -> None:
    """Say what no single flow can do: the room is short, or summer and winter differ."""
    largest_m_h, room = most
    target, raw = bed.medium["expansion_target"], train.raw
    depth = train.entries.value(f"{bed.prefix}.depth_m")
    reached = bed_expansion(bed.medium.settled, largest_m_h, raw.warmest_c)
    level: Level = "info" if reached >= NEARLY * target else "caution"
    if room < target:
        text = (
            f"{bed.label}: the room above the bed is {room * depth:.2f} m, {target:.0%} expansion "
            f"takes {target * depth:.2f} m: set at most {largest_m_h:.1f} m/h, or fill less medium"
        )
    elif level == "info":
        text = (
            f"{bed.label}: set the backwash to {largest_m_h:.1f} m/h: it fills the room in water "
            f"of {raw.coldest_c:g} °C and gives {reached:.0%} in water of {raw.warmest_c:g} °C "
            f"({target:.0%} wanted, at {needed_m_h:.1f} m/h)"
        )
    else:
        text = (
            f"{bed.label}: {needed_m_h:.1f} m/h is needed in water of {raw.warmest_c:g} °C, but "
            f"{largest_m_h:.1f} m/h already fills the room in water of {raw.coldest_c:g} °C; set "
            "the flow by season, or use less medium or a taller vessel"
        )
    train.entries.flag("backwash_conflict", level, text, f"{bed.prefix}.backwash_flow_m3_h")


def _compare_with_pump(train: Train, bed: Bed) -> None:
    pump = train.design.supply.pump_flow_m3_h
    need = train.entries.value(f"{bed.prefix}.backwash_flow_m3_h")
    if pump is None or pump >= need:
        return
    other, remedy = bed.for_pump, "a larger or a separate backwash pump"
    if other is not None:
        each = need * other.vessel.area_m2 * bed.number / bed.area_m2
        remedy += (
            f", or {other.number} vessels of {other.vessel.name} side by side, {each:.1f} m3/h "
            "each and one at a time"
        )
    elif train.sizing:
        remedy += "; no vessels that fit are narrow enough for this one"
    else:
        remedy += ", or narrower vessels side by side"
    train.entries.flag("pump_too_small", "warning",
                       f"{bed.label}: the backwash needs {need:.2f} m3/h, the pump gives "
                       f"{pump:.2f} m3/h: {remedy}", f"{bed.prefix}.backwash_flow_m3_h",
    )  # fmt: skip


def enter_pressure_drop(train: Train, bed: Bed) -> float:
    """Enter the pressure lost in the clean bed in the coldest water."""
    entries, key, raw = train.entries, bed.prefix, train.raw
    if "train.viscosity_coldest_pa_s" not in entries.ledger:
        entries.calc("train.viscosity_coldest_pa_s", viscosity_pa_s(raw.coldest_c), "Pa·s",
                     "Viscosity of the coldest water", by=(viscosity_pa_s,),
                     inputs=("train.coldest_c",))  # fmt: skip
        entries.calc("train.density_coldest_kg_m3", density_kg_m3(raw.coldest_c), "kg/m3",
                     "Density of the coldest water", by=(density_kg_m3,),
                     inputs=("train.coldest_c",))  # fmt: skip
    grains = bed.medium.in_service
    e, d = grains.porosity, grains.size_mm / MM_PER_M
    laminar = ERGUN_VISCOUS * (1 - e) ** 2 / e**3 / d**2 / SECONDS_PER_HOUR / PA_PER_KPA
    turbulent = ERGUN_INERTIAL * (1 - e) / e**3 / d / SECONDS_PER_HOUR**2 / PA_PER_KPA
    v = f"{{{key}.velocity_m_h}}"
    drop = ergun_kpa_m(grains, entries.value(f"{key}.velocity_m_h"), raw.coldest_c)
    found = entries.calc(
        f"{key}.pressure_drop_kpa", drop * entries.value(f"{key}.depth_m"), "kPa",
        f"{bed.label}: pressure drop of the clean bed",
        f"({laminar!r}*{{train.viscosity_coldest_pa_s}}*{v}"
        f"+{turbulent!r}*{{train.density_coldest_kg_m3}}*{v}^2)*{{{key}.depth_m}}",
        by=(ergun_kpa_m,), method="Ergun, bed alone; valve and distributors come on top",
    )  # fmt: skip
    _note_pressure_drop(train, bed, found)
    return found


def _note_pressure_drop(train: Train, bed: Bed, drop_kpa: float) -> None:
    usual, most = bed.medium.get("pressure_drop_usual_kpa"), bed.medium.get("pressure_drop_max_kpa")
    if usual is None or most is None or drop_kpa <= usual:
        return
    train.entries.flag(
        "pressure_drop_high", "warning" if drop_kpa > most else "caution",
        f"{bed.label}: the clean bed takes {drop_kpa:.0f} kPa in the coldest water; up to "
        f"{usual:g} kPa is usual, {most:g} kPa the most (DAVIS2010, Table 8-3): a wider vessel",
        f"{bed.prefix}.pressure_drop_kpa",
    )  # fmt: skip
