"""The carbon bed's section."""

from msgspec.structs import replace

from pretreat.core.errors import DesignError
from pretreat.stages.bed.arrangement import numbers_to_try
from pretreat.stages.bed.depth import note_depth
from pretreat.stages.bed.figures import (
    Bed,
    assumed_bed,
    enter_backwash,
    enter_depth_from_volume,
    enter_medium_of_all,
    enter_round,
    enter_velocity,
    enter_vessel,
    installed_bed,
    nearest_vessel,
)
from pretreat.stages.bed.filling import filling_origin
from pretreat.stages.bed.media import media
from pretreat.stages.bed.options import choose_bed
from pretreat.stages.bed.pressure_drop import enter_pressure_drop
from pretreat.stages.bed.supply_fit import choose_within_supply, washing_of
from pretreat.stages.bed.vessels import (
    MOST_IN_PARALLEL,
    Vessel,
    VesselOption,
    nominal_vessels,
)
from pretreat.stages.carbon import laws as sizing
from pretreat.stages.carbon.contact import note_contact
from pretreat.stages.chloramine import chloramine_words
from pretreat.stages.filters import backwash_waste_m3, backwashes_per_week
from pretreat.stages.limits import train_limits
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train

P = "carbon"
LABEL = "Carbon"
BACKWASH_EVERY_D = 7.0  # PRACTICE: daily to weekly


def treat(_train: Train, stream: Stream) -> Stream:
    """Return the water behind the carbon: no oxidant.

    Parameters
    ----------
    _train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water ahead. [-]

    Returns
    -------
    Stream
        The water behind it. [-]
    """
    return replace(stream, oxidant="", free_chlorine_mg_l=0.0)


def enter(train: Train, _behind: tuple[str, ...]) -> None:
    """Enter the carbon bed, sized or rated.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    _behind : tuple of str
        Keys of the water that stages behind it regenerate with. [-]
    """
    entries = train.entries
    chlorine = train.free_chlorine_mg_l
    given = train.design.carbon.free_chlorine_mg_l is not None
    measured = not given and chlorine == train.raw.free_chlorine_mg_l > 0
    assumed = "residual of the chlorine fed, 0.5 to 1.0 mg/L" if chlorine else "none in the well"
    entries.given(
        f"{P}.free_chlorine_mg_l",
        chlorine,
        "mg/L",
        "Free chlorine onto the carbon",
        origin="chosen" if given else ("measured" if measured else "assumed"),
        cites=("OPFLOW2021",) if chlorine and not (given or measured) else (),
        method="" if given or measured else assumed,
    )
    bed = _size(train) if train.sizing else _rate(train)
    enter_medium_of_all(train, bed, f"{P}.media_volume_l", f"{P}.media_bought_l")
    enter_depth_from_volume(train, bed, f"{P}.media_volume_l")
    enter_velocity(train, bed)
    _enter_contact(train)
    note_depth(train, bed)
    enter_pressure_drop(train, bed)
    enter_backwash(train, bed)
    _enter_life(train, chlorine)
    _enter_backwash_water(train)
    _flag_organics(train)


def contact_wanted_min(train: Train) -> float:
    """Enter and return the contact time wanted."""
    choice = train.design.carbon
    chloramine = bool(chloramine_words(train))
    usual = sizing.CONTACT_CHLORAMINE_MIN if chloramine else sizing.CONTACT_CHLORINE_MIN
    value = usual if choice.contact_time_min is None else choice.contact_time_min
    return train.entries.given(
        f"{P}.contact_wanted_min",
        value,
        "min",
        "Contact time wanted",
        origin="assumed" if choice.contact_time_min is None else "chosen",
        evidence="memory" if chloramine else "common practice",
        cites=("MEMORY",) if chloramine else ("PRACTICE",),
        method="10 min or more for chloramine" if chloramine else "2.5 to 5 min for free chlorine",
    )


def _try(volume_l: float, flow: float, vessel: Vessel, number: int) -> VesselOption:
    carbon = media()["activated carbon"]
    media_l, area = number * vessel.media_l, number * vessel.area_m2
    velocity, depth = flow / area, media_l / 1000.0 / area
    failures, notes = [], []
    if media_l < volume_l:
        failures.append(f"holds {media_l:.0f} L of the {volume_l:.0f} L needed")
    if velocity > carbon["service_max_m_h"]:
        failures.append(f"{velocity:.1f} m/h, at most {carbon['service_max_m_h']:g} m/h")
    if depth < carbon["depth_min_m"]:
        notes.append(f"bed {depth:.2f} m deep, 0.75 m is usual")
    return VesselOption(
        vessel, number, media_l, area, depth, velocity, tuple(failures), tuple(notes)
    )


def _size(train: Train) -> Bed:
    entries = train.entries
    flow = entries.value("machine.feed_flow_m3_h")
    contact_wanted_min(train)
    need = entries.law(
        f"{P}.media_needed_l",
        sizing.volume_for_contact_l,
        flow_m3_h="machine.feed_flow_m3_h",
        contact_min=f"{P}.contact_wanted_min",
        label="Carbon needed, all vessels that share the flow",
        method="flow times contact time",
    )
    numbers = numbers_to_try(train.design.carbon, P, MOST_IN_PARALLEL)
    medium = media()["activated carbon"]
    options = choose_within_supply(
        train, lambda v, n: _try(need, flow, v, n), numbers, washing_of(train, medium)
    )
    stage, chosen = (P, medium, LABEL), options[0]
    bed = choose_bed(train, stage, options, lambda v, n: _try(need, flow, v, n))
    entries.given(
        f"{P}.media_volume_l",
        chosen.vessel.media_l,
        "L",
        "Carbon filled, one vessel",
        origin="chosen",
        method=f"{chosen.vessel.name}, nominal filling",
    )
    enter_vessel(train, bed)
    return bed


def _rate(train: Train) -> Bed:
    choice, entries = train.design.carbon, train.entries
    if choice.media_volume_l is None:
        raise DesignError('[carbon] media_volume is missing; write media_volume = "140 L"')
    entries.given(
        f"{P}.media_volume_l",
        choice.media_volume_l,
        "L",
        "Carbon installed, one vessel",
        origin=filling_origin(train, P, "media_volume_l"),
        cites=(),
    )
    contact_wanted_min(train)
    carbon = media()["activated carbon"]
    if choice.vessel_diameter_m is not None:
        bed = installed_bed(train, P, carbon, LABEL, choice.vessel_diameter_m)
    else:
        vessel = nearest_vessel(nominal_vessels(), choice.media_volume_l)
        bed = assumed_bed(train, P, carbon, LABEL, vessel)
        entries.flag(
            "vessel_assumed",
            "caution",
            f"{LABEL}: vessel diameter not given, {vessel.name} assumed; add "
            'vessel_diameter = "..." to [carbon]',
            f"{P}.vessel_diameter_m",
        )
    enter_vessel(train, bed)
    return bed


def _enter_contact(train: Train) -> None:
    train.entries.law(
        f"{P}.ebct_min",
        sizing.contact_time_min,
        volume_l=f"{P}.media_volume_l",
        flow_m3_h=f"{P}.flow_each_m3_h",
        label="Contact time, empty bed of one vessel",
        method="volume over flow",
    )
    note_contact(train)


def _enter_life(train: Train, chlorine: float) -> None:
    entries = train.entries
    entries.given(
        f"{P}.longest_life_years",
        sizing.LONGEST_LIFE_YEARS,
        "year",
        "Longest life of carbon in this duty",
        cites=("PRACTICE",),
        method="fines, deposits and biofilm; 6 to 12 months is usual",
    )
    if chlorine <= 0:
        entries.law(
            f"{P}.life_years",
            sizing.unloaded_life_years,
            longest_years=f"{P}.longest_life_years",
            label="Life of the carbon, at most",
            evidence="common practice",
            method="no chlorine to use it up",
        )
        entries.flag(
            "carbon_life_by_practice",
            "info",
            "without chlorine no formula limits the carbon; common practice changes it "
            "after 6 to 12 months, 24 at most",
            f"{P}.life_years",
        )
        return
    entries.given(
        f"{P}.bulk_density_kg_l",
        sizing.BULK_DENSITY_KG_L,
        "kg/L",
        "Bulk density of carbon",
        evidence="memory",
        cites=("MEMORY",),
    )
    entries.given(
        f"{P}.chlorine_capacity_g_g",
        sizing.CHLORINE_CAPACITY_G_G,
        "g/g",
        "Chlorine a gram of carbon removes",
        evidence="memory",
        cites=("MEMORY",),
    )
    entries.given(f"{P}.use_factor", sizing.USE_FACTOR, "-", "Part of the capacity used")
    entries.law(
        f"{P}.chlorine_life_d",
        sizing.chlorine_life_d,
        volume_l=f"{P}.media_bought_l",
        water_m3_d="machine.feed_m3_d",
        free_chlorine_mg_l=f"{P}.free_chlorine_mg_l",
        bulk_density_kg_l=f"{P}.bulk_density_kg_l",
        capacity_g_g=f"{P}.chlorine_capacity_g_g",
        use_factor=f"{P}.use_factor",
        label="Days of operation until chlorine shows",
        method="capacity over chlorine load",
    )
    entries.law(
        f"{P}.life_years",
        sizing.life_years,
        chlorine_life_d=f"{P}.chlorine_life_d",
        days_per_year="machine.days_per_year",
        longest_years=f"{P}.longest_life_years",
        label="Life of the carbon, at most",
        evidence="common practice",
        method="chlorine, at most what practice allows",
    )


def _enter_backwash_water(train: Train) -> None:
    entries = train.entries
    entries.given(
        f"{P}.backwash_every_d",
        BACKWASH_EVERY_D,
        "d",
        "Carbon: days between backwashes",
        method="daily to weekly",
    )
    entries.given(f"{P}.backwash_min", sizing.BACKWASH_MIN, "min", "Carbon: backwash")
    entries.given(f"{P}.rinse_min", sizing.RINSE_MIN, "min", "Carbon: rinse at the service flow")
    entries.law(
        f"{P}.waste_m3_per_backwash",
        backwash_waste_m3,
        backwash_flow_m3_h=f"{P}.backwash_flow_m3_h",
        backwash_min=f"{P}.backwash_min",
        rinse_flow_m3_h=f"{P}.flow_each_m3_h",
        rinse_min=f"{P}.rinse_min",
        label="Carbon: waste per backwash, one vessel",
        method="backwash and rinse",
    )
    enter_round(train, P, "waste_m3_per_backwash", "m3", "Carbon: waste per backwash")
    entries.law(
        f"{P}.backwashes_per_week",
        backwashes_per_week,
        backwash_every_d=f"{P}.backwash_every_d",
        label="Carbon: backwashes per week",
    )


def _flag_organics(train: Train) -> None:
    toc, limit = train.raw.toc_mg_l, train_limits()["organics_flag"]
    if toc is not None and toc > limit.value:
        train.entries.flag(
            "organic_load",
            "caution",
            f"total organic carbon is {toc:.1f} mg/L; above {limit.value:g} mg/L it "
            "exhausts carbon in months (from memory)",
            f"{P}.life_years",
        )
