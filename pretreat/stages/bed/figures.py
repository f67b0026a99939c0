"""What the beds of every stage have in common: vessel, velocity, backwash, pressure drop."""

from typing import Any

from msgspec import Struct

from pretreat.core.basis import Level, Origin
from pretreat.core.errors import OutOfRangeError
from pretreat.core.graph import elementwise
from pretreat.stages.bed import laws
from pretreat.stages.bed.arrangement import Standing, standing, standing_of
from pretreat.stages.bed.backwash import Backwash, backwash_of
from pretreat.stages.bed.hydraulics import (
    bed_expansion,
    ergun_coefficients,
    velocity_for_expansion_m_h,
)
from pretreat.stages.bed.media import Medium
from pretreat.stages.bed.valve_figures import enter_drain_control
from pretreat.stages.bed.vessels import (
    HEAD_DEPTH_PER_DIAMETER,
    Vessel,
    VesselOption,
    nominal_vessel_of,
    vessel_area_m2,
)
from pretreat.stages.train import Train

NEARLY = 0.9  # PRACTICE: nine tenths of the expansion wanted still clean a bed
ALONE = Standing("single", 1, 1, 0)
FILLED_TO = 0.95  # a vessel that is to be guessed may be filled a little above its nominal volume


class Bed(Struct, frozen=True):
    """A stage's bed: prefix of its keys, its medium, its name, and its vessels."""

    prefix: str
    medium: Medium
    label: str
    diameter_m: float
    height_m: float | None
    number: int  # side by side
    origin: Origin
    for_pump: VesselOption | None = None  # what the pump given could backwash instead
    standing: Standing = ALONE

    @property
    def area_m2(self) -> float:
        """Area of one vessel."""
        return vessel_area_m2(self.diameter_m)

    @property
    def straight_m(self) -> float | None:
        """Height between the heads, None where the height is not known."""
        if self.height_m is None:
            return None
        return self.height_m - 2.0 * HEAD_DEPTH_PER_DIAMETER * self.diameter_m


def standing_in(train: Train, prefix: str, found: int | None = None) -> Standing:
    """Return how the vessels of a stage stand, with the number that sizing has found."""
    choice: Any = getattr(train.design, prefix, None)
    if not hasattr(choice, "arrangement"):
        return standing("single" if found in {None, 1} else "parallel", found or 1, prefix)
    return standing_of(choice, prefix, found)


def chosen_bed(prefix: str, medium: Medium, label: str, option: VesselOption) -> Bed:
    """Return the bed of a vessel that was chosen."""
    vessel = option.vessel
    return Bed(prefix, medium, label, vessel.diameter_m, vessel.height_m, option.number, "chosen")


def assumed_bed(train: Train, prefix: str, medium: Medium, label: str, vessel: Vessel) -> Bed:
    """Return the bed of the nominal vessel that is assumed where no diameter is given."""
    how = standing_in(train, prefix)
    size = (vessel.diameter_m, vessel.height_m)
    return Bed(prefix, medium, label, *size, how.side_by_side, "assumed", standing=how)


def installed_bed(train: Train, prefix: str, medium: Medium, label: str, diameter_m: float) -> Bed:
    """Return the bed of a vessel that stands there; its height is that of the nominal size."""
    nominal = nominal_vessel_of(diameter_m)
    height = None if nominal is None else nominal.height_m
    if height is None:
        train.entries.flag(
            "vessel_height_unknown",
            "caution",
            f"{label}: no nominal vessel is {diameter_m:.3g} m wide, so the room above the bed is "
            "not known; measure it before raising the backwash",
            f"{prefix}.vessel_diameter_m",
        )
    how = standing_in(train, prefix)
    number = how.side_by_side
    return Bed(prefix, medium, label, diameter_m, height, number, "chosen", standing=how)


def nearest_vessel(vessels: tuple[Vessel, ...], volume_l: float) -> Vessel:
    """Return the smallest nominal vessel that holds a volume, the largest where none does.

    Parameters
    ----------
    vessels : tuple of Vessel
        Nominal vessels, smallest first. [-]
    volume_l : float
        Volume to hold. [L]

    Returns
    -------
    Vessel
        The vessel. [-]
    """
    holding = [vessel for vessel in vessels if vessel.media_l >= FILLED_TO * volume_l]
    return holding[0] if holding else vessels[-1]


def enter_vessel(train: Train, bed: Bed) -> None:
    """Enter vessel, number and area of a stage."""
    entries, key, label = train.entries, bed.prefix, bed.label
    entries.given(
        f"{key}.vessel_diameter_m",
        bed.diameter_m,
        "m",
        f"{label}: vessel diameter",
        origin=bed.origin,
        cites=(),
        method="nominal outside diameter",
    )
    _enter_standing(train, bed)
    if bed.height_m is not None:
        entries.given(
            f"{key}.vessel_height_m",
            bed.height_m,
            "m",
            f"{label}: vessel height",
            method="overall height of the nominal size",
        )
    for name in ("vessel_diameter_m", "vessel_height_m"):
        if f"{key}.{name}" in entries.ledger:
            entries.ledger.rests(f"{key}.{name}", held=True)
    entries.law(
        f"{key}.area_m2",
        laws.bed_area_m2,
        vessel_diameter_m=f"{key}.vessel_diameter_m",
        label=f"{label}: bed area of one vessel",
        method="circle of the nominal diameter",
    )


def _enter_standing(train: Train, bed: Bed) -> None:
    """Enter how the vessels stand, how many, and the flow through one of them."""
    entries, key, label, how = train.entries, bed.prefix, bed.label, bed.standing
    entries.word(
        f"{key}.arrangement", how.word, f"{label}: arrangement of the vessels", origin=bed.origin
    )
    for name, number, words in (
        ("vessels_in_service", how.in_service, "vessels in service"),
        ("vessels_side_by_side", how.side_by_side, "vessels that share the flow"),
        ("vessels_standby", how.standby, "vessels standing by"),
    ):
        entries.given(
            f"{key}.{name}", float(number), "-", f"{label}: {words}", origin=bed.origin, cites=()
        )
    for name in ("arrangement", "vessels_in_service", "vessels_side_by_side", "vessels_standby"):
        entries.ledger.rests(f"{key}.{name}", held=True)
    entries.law(
        f"{key}.vessels",
        laws.all_vessels,
        in_service=f"{key}.vessels_in_service",
        standby=f"{key}.vessels_standby",
        unit="-",
        label=f"{label}: all vessels",
    )
    entries.law(
        f"{key}.flow_each_m3_h",
        laws.flow_of_one_m3_h,
        flow_m3_h=train.water_of(key)[0],
        vessels=f"{key}.vessels_side_by_side",
        label=f"{label}: flow through one vessel in service",
    )


def enter_meanwhile(train: Train, bed: Bed) -> None:
    """Enter velocity and pressure drop of the vessels that run while one regenerates.

    Where the machine stops, or another vessel takes over, nothing runs faster than before.
    """
    entries, key, label, how = train.entries, bed.prefix, bed.label, bed.standing
    if how.word != "parallel":
        return
    grains = bed.medium.in_service
    laminar, turbulent = ergun_coefficients(grains.porosity, grains.size_mm)
    entries.law(
        f"{key}.vessels_left",
        laws.left_in_service,
        vessels=f"{key}.vessels_side_by_side",
        unit="-",
        label=f"{label}: vessels left while one regenerates",
    )
    entries.law(
        f"{key}.flow_each_meanwhile_m3_h",
        laws.flow_of_one_m3_h,
        flow_m3_h=train.water_of(key)[0],
        vessels=f"{key}.vessels_left",
        label=f"{label}: flow through one vessel while another regenerates",
    )
    velocity = entries.law(
        f"{key}.velocity_meanwhile_m_h",
        laws.velocity_m_h,
        flow_m3_h=f"{key}.flow_each_meanwhile_m3_h",
        area_m2=f"{key}.area_m2",
        label=f"{label}: velocity while another vessel regenerates",
    )
    drop = entries.law(
        f"{key}.pressure_drop_meanwhile_kpa",
        laws.pressure_drop_kpa,
        laminar_per_m=laminar,
        viscosity_pa_s="train.viscosity_coldest_pa_s",
        turbulent_per_m=turbulent,
        density_kg_m3="train.density_coldest_kg_m3",
        velocity_m_h=f"{key}.velocity_meanwhile_m_h",
        depth_m=f"{key}.depth_m",
        label=f"{label}: pressure drop while another vessel regenerates",
        method="Ergun, bed alone",
    )
    most = entries.value(f"{key}.service_max_m_h")
    if velocity > most:
        entries.flag(
            "velocity_high_meanwhile",
            "caution",
            f"{label}: while one vessel regenerates the others run at {velocity:.1f} m/h and take "
            f"{drop:.0f} kPa; at most {most:g} m/h: stop the machine meanwhile, or another vessel",
            f"{key}.velocity_meanwhile_m_h",
        )


PRACTICE_RATE = "service_practice_m_h"


def enter_velocity(train: Train, bed: Bed) -> float:
    """Enter the velocity in service and its limit; flag what is too fast."""
    entries, key = train.entries, bed.prefix
    velocity = entries.law(
        f"{key}.velocity_m_h",
        laws.velocity_m_h,
        flow_m3_h=f"{key}.flow_each_m3_h",
        area_m2=f"{key}.area_m2",
        label=f"{bed.label}: service velocity",
        method="flow of one vessel over its bed area",
    )
    most = entries.medium(
        key, bed.medium, "service_max_m_h", f"{bed.label}: maximum service velocity"
    )
    if velocity > most:
        limit, remedy = f"at most {most:g} m/h", "a larger vessel or another one beside it"
        if PRACTICE_RATE in bed.medium.properties:
            upper = entries.medium(
                key, bed.medium, PRACTICE_RATE, f"{bed.label}: velocity in practice"
            )
            limit = f"{most:g} m/h by the code, {upper:g} m/h in practice"
            if velocity <= upper:
                remedy = "run a pilot, or a larger vessel"
        entries.flag(
            "velocity_high",
            "warning",
            f"{bed.label}: {velocity:.1f} m/h in service, {limit}: {remedy}",
            f"{key}.velocity_m_h",
        )
    return velocity


def enter_depth_from_volume(train: Train, bed: Bed, volume_key: str) -> float:
    """Enter the depth that a volume of medium gives."""
    return train.entries.law(
        f"{bed.prefix}.depth_m",
        laws.depth_m,
        volume_l=volume_key,
        area_m2=f"{bed.prefix}.area_m2",
        label=f"{bed.label}: bed depth",
        method="volume over area",
    )


def enter_medium_of_all(train: Train, bed: Bed, volume_key: str, key: str) -> None:
    """Enter the medium in all vessels, which is what is bought and worn."""
    train.entries.law(
        key,
        laws.medium_of_all_l,
        medium_l=volume_key,
        vessels=f"{bed.prefix}.vessels",
        label=f"{bed.label}: medium in all vessels",
    )


def enter_round(train: Train, prefix: str, name: str, unit: str, label: str) -> None:
    """Enter what a round takes in which each vessel of those in service regenerates once."""
    train.entries.law(
        f"{prefix}.{name}_of_all",
        laws.of_all_in_turn,
        amount=f"{prefix}.{name}",
        vessels=f"{prefix}.vessels_side_by_side",
        unit=unit,
        label=f"{label}, all vessels in turn",
        method="one after the other",
    )


def enter_room(train: Train, bed: Bed) -> float | None:
    """Enter the room above the bed, None where the height of the vessel is not known."""
    if bed.height_m is None or bed.straight_m is None:
        return None
    entries, key = train.entries, bed.prefix
    return entries.law(
        f"{key}.freeboard_m",
        laws.freeboard_m,
        vessel_height_m=f"{key}.vessel_height_m",
        vessel_diameter_m=f"{key}.vessel_diameter_m",
        depth_m=f"{key}.depth_m",
        label=f"{bed.label}: room above the bed",
        method="height less two 2:1 heads (the lower one filled with gravel) less bed",
    )


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
    result = backwash_of(
        bed.medium,
        entries.value(f"{key}.depth_m"),
        room,
        coldest_c=train.raw.coldest_c,
        warmest_c=train.raw.warmest_c,
    )
    target = entries.medium(key, bed.medium, "expansion_target", f"{label}: expansion wanted")
    entries.computed(
        f"{key}.backwash_velocity_m_h",
        result.needed_m_h,
        "m/h",
        f"{label}: backwash velocity",
        by=(backwash_of,),
        inputs=(f"{key}.expansion_target", "train.warmest_c"),
        again=elementwise(
            lambda expansion, warmest_c: velocity_for_expansion_m_h(
                bed.medium.settled, expansion, warmest_c
            )
        ),
        method=f"Wen and Yu: {target:.0%} expansion in the warmest water",
    )
    _enter_flow(train, bed, "", "backwash flow of one vessel", "what the pump must give")
    entries.medium(key, bed.medium, "backwash_code_m_h", f"{label}: published backwash")
    words = "backwash flow at the published velocity"
    _enter_flow(train, bed, "_published", words, "for comparison")
    _enter_coldest(train, bed, result)
    enter_drain_control(train, key, label, bed.medium)
    _compare_with_pump(train, bed)
    return result


_VELOCITY = {
    "": "backwash_velocity_m_h",
    "_published": "backwash_code_m_h",
    "_largest": "backwash_velocity_largest_m_h",
}


def _enter_flow(train: Train, bed: Bed, which: str, words: str, method: str) -> None:
    """Enter the flow of one vessel at one of the velocities of backwash."""
    key = bed.prefix
    train.entries.law(
        f"{key}.backwash_flow{which}_m3_h",
        laws.backwash_flow_m3_h,
        backwash_m_h=f"{key}.{_VELOCITY[which]}",
        area_m2=f"{key}.area_m2",
        label=f"{bed.label}: {words}",
        method=method,
    )


def _enter_coldest(train: Train, bed: Bed, result: Backwash) -> None:
    entries, key, label = train.entries, bed.prefix, bed.label
    grains = bed.medium.settled
    entries.computed(
        f"{key}.expansion_coldest",
        result.expansion_coldest,
        "-",
        f"{label}: expansion in the coldest water",
        by=(backwash_of,),
        inputs=(f"{key}.backwash_velocity_m_h", "train.coldest_c"),
        again=elementwise(lambda wash, coldest_c: bed_expansion(grains, wash, coldest_c)),
        method="Wen and Yu at the backwash velocity",
    )
    if result.largest_m_h is None:
        return
    entries.computed(
        f"{key}.backwash_velocity_largest_m_h",
        result.largest_m_h,
        "m/h",
        f"{label}: fastest backwash that keeps the medium",
        by=(backwash_of,),
        inputs=(f"{key}.freeboard_m", f"{key}.depth_m", "train.coldest_c"),
        again=elementwise(
            lambda room, depth, coldest_c: velocity_for_expansion_m_h(
                grains, room / depth, coldest_c
            )
        ),
        method="Wen and Yu: fills the room in the coldest water",
    )
    words = "largest backwash flow of one vessel"
    _enter_flow(train, bed, "_largest", words, "more carries medium to the drain")
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
        each = need * other.vessel.area_m2 / bed.area_m2
        remedy += (
            f", or {other.number} vessels of {other.vessel.name} side by side, {each:.1f} m3/h "
            "each and one at a time"
        )
    elif train.sizing:
        remedy += "; no vessels that fit are narrow enough for this one"
    else:
        remedy += ", or narrower vessels side by side"
    train.entries.flag(
        "pump_too_small",
        "warning",
        f"{bed.label}: the backwash needs {need:.2f} m3/h, the pump gives "
        f"{pump:.2f} m3/h: {remedy}",
        f"{bed.prefix}.backwash_flow_m3_h",
    )
