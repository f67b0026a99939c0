"""The pressure lost in a clean bed, in the coldest water of the year."""

from pretreat.core.graph import elementwise
from pretreat.stages.bed import laws
from pretreat.stages.bed.figures import Bed, enter_meanwhile
from pretreat.stages.bed.hydraulics import (
    ergun_coefficients,
)
from pretreat.stages.bed.water_properties import density_kg_m3, viscosity_pa_s
from pretreat.stages.train import Train


def enter_pressure_drop(train: Train, bed: Bed) -> float:
    """Enter the pressure lost in the clean bed in the coldest water."""
    entries, key = train.entries, bed.prefix
    _enter_coldest_water(train)
    grains = bed.medium.in_service
    laminar, turbulent = ergun_coefficients(grains.porosity, grains.size_mm)
    found = entries.law(
        f"{key}.pressure_drop_kpa",
        laws.pressure_drop_kpa,
        laminar_per_m=laminar,
        viscosity_pa_s="train.viscosity_coldest_pa_s",
        turbulent_per_m=turbulent,
        density_kg_m3="train.density_coldest_kg_m3",
        velocity_m_h=f"{key}.velocity_m_h",
        depth_m=f"{key}.depth_m",
        label=f"{bed.label}: pressure drop of the clean bed",
        method="Ergun, bed alone; valve and distributors come on top",
    )
    _note_pressure_drop(train, bed, found)
    enter_meanwhile(train, bed)
    return found


def _enter_coldest_water(train: Train) -> None:
    entries, coldest = train.entries, train.raw.coldest_c
    if "train.viscosity_coldest_pa_s" in entries.ledger:
        return
    for key, unit, label, property_of in (
        ("train.viscosity_coldest_pa_s", "Pa·s", "Viscosity of the coldest water", viscosity_pa_s),
        ("train.density_coldest_kg_m3", "kg/m3", "Density of the coldest water", density_kg_m3),
    ):
        entries.computed(
            key,
            property_of(coldest),
            unit,
            label,
            by=(property_of,),
            inputs=("train.coldest_c",),
            again=elementwise(property_of),
        )


def _note_pressure_drop(train: Train, bed: Bed, drop_kpa: float) -> None:
    usual, most = bed.medium.get("pressure_drop_usual_kpa"), bed.medium.get("pressure_drop_max_kpa")
    if usual is None or most is None or drop_kpa <= usual:
        return
    train.entries.flag(
        "pressure_drop_high",
        "warning" if drop_kpa > most else "caution",
        f"{bed.label}: the clean bed takes {drop_kpa:.0f} kPa in the coldest water; up to "
        f"{usual:g} kPa is usual, {most:g} kPa the most (DAVIS2010, Table 8-3): a wider vessel",
        f"{bed.prefix}.pressure_drop_kpa",
    )
