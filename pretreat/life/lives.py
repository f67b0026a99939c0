"""Lives of a medium by mechanism, from its duty, for the low, the likely and the high case."""

import math
from collections.abc import Mapping
from typing import Any

from msgspec import Struct

from pretreat.core.basis import cites
from pretreat.core.law import Law
from pretreat.life.laws import (
    attrition_years,
    capacity_loss_years,
    carbon_chlorine_years,
    carbon_organics_years,
    cartridge_dirt_years,
    chlorine_life_years,
    cycles_life_years,
    fouling_years,
    iron_blocking_years,
    months_of_age_years,
)
from pretreat.life.wear import Case, wear

Lives = Mapping[str, float]


class SoftenerDuty(Struct, frozen=True):
    """What wears resin: cycles [1/year], water [m³/year], resin [L], metals and chlorine [mg/L].

    ``running_share`` is the share of a year in which the machine runs.
    """

    cycles_per_year: float
    water_m3_year: float
    resin_l: float
    metals_mg_l: float
    chlorine_mg_l: float
    running_share: float


class FilterDuty(Struct, frozen=True):
    """What wears a filter bed: backwashes [1/year], water [m³/year], medium [L], solids [mg/L].

    ``solids_mg_l`` counts Fe + 2 Mn; ``aged`` is the coefficient of its age;
    ``regenerated`` says that permanganate restores the medium in place.
    """

    backwashes_per_year: float
    water_m3_year: float
    media_l: float
    solids_mg_l: float
    aged: str = "iron_filter_age"
    regenerated: bool = False


class CarbonDuty(Struct, frozen=True):
    """What wears carbon: backwashes [1/year], water [m³/year], carbon [L], loads [mg/L]."""

    backwashes_per_year: float
    water_m3_year: float
    carbon_l: float
    metals_mg_l: float
    chlorine_mg_l: float
    organics_mg_l: float = 0.0


class CartridgeDuty(Struct, frozen=True):
    """What fills cartridges: water [m³/year], their number [-], metals ahead of it [mg/L].

    ``softened`` says that a softener stands between.
    """

    water_m3_year: float
    number: float
    metals_mg_l: float
    softened: bool = False


# --- lives of a medium by mechanism -----------------------------------------------------------


def _until(load: float, life: Law[..., Any], *args: float) -> float:
    """Return the years by a mechanism; infinite without a load, or where it lasts for ever."""
    years = life(*args) if load != 0 else None
    return math.inf if years is None else float(years)


def _worn(c: Mapping[str, float], loss: str, washes: float) -> float:
    args = c["filter_loss_allowed"], c[loss], washes
    return _until(c[loss] * washes, attrition_years, *args)


def _fouled(
    c: Mapping[str, float], kept: str, solids: float, water_m3: float, medium_l: float
) -> float:
    args = c["deposit_allowed"], solids, water_m3, c[kept], medium_l
    return _until(solids * water_m3 * c[kept] / medium_l, fouling_years, *args)


@cites("UFC13FN", "2-2.5.1.4")
@cites("WEAR_INFERENCE", "cycles")
@cites("WEAR_ESTIMATE", "attrition and iron")
@cites("PRACTICE", "chlorine; longest life quoted")
def softener_lives(duty: SoftenerDuty, case: Case = "likely") -> Lives:
    """Return the life of softening resin by each mechanism.

    Parameters
    ----------
    duty : SoftenerDuty
        What wears it. [-]
    case : {"low", "likely", "high"}
        Which coefficients. [-]

    Returns
    -------
    mapping of str to float
        Years by mechanism; infinite without a load. [year]
    """
    c = {key: row.at(case) for key, row in wear().items()}
    allowed = c["softener_loss_allowed"]
    return {
        "capacity": capacity_loss_years(c["softener_loss_per_year"], allowed),
        "age": c["softener_age"],
        "chlorine": _until(
            duty.chlorine_mg_l * duty.running_share,
            chlorine_life_years,
            c["softener_chlorine_dose"],
            duty.chlorine_mg_l,
            duty.running_share,
        ),
        "cycles": _until(
            duty.cycles_per_year, cycles_life_years, c["softener_cycles"], duty.cycles_per_year
        ),
        "attrition": _until(
            c["softener_loss_per_backwash"] * duty.cycles_per_year,
            attrition_years,
            allowed,
            c["softener_loss_per_backwash"],
            duty.cycles_per_year,
        ),
        "iron": _until(
            duty.metals_mg_l * duty.water_m3_year * c["softener_metals_kept"] / duty.resin_l,
            iron_blocking_years,
            allowed,
            duty.metals_mg_l,
            duty.water_m3_year,
            c["softener_metals_kept"],
            duty.resin_l,
        ),
    }


@cites("MEMORY", "age in municipal service")
@cites("PRACTICE", "age; cycles of small units")
@cites("WEAR_ESTIMATE", "attrition and fouling")
def filter_lives(duty: FilterDuty, case: Case = "likely") -> Lives:
    """Return the life of a filter medium by each mechanism.

    Parameters
    ----------
    duty : FilterDuty
        What wears it. [-]
    case : {"low", "likely", "high"}
        Which coefficients. [-]

    Returns
    -------
    mapping of str to float
        Years by mechanism; infinite without a load. [year]
    """
    c = {key: row.at(case) for key, row in wear().items()}
    cycles = duty.backwashes_per_year if duty.regenerated else 0.0
    return {
        "age": c[duty.aged],
        "cycles": _until(cycles, cycles_life_years, c["iron_filter_cycles"], cycles),
        "attrition": _worn(c, "filter_loss_per_backwash", duty.backwashes_per_year),
        "fouling": _fouled(
            c, "filter_solids_kept", duty.solids_mg_l, duty.water_m3_year, duty.media_l
        ),
    }


@cites("PRACTICE", "age; use factor")
@cites("MEMORY", "about 1 g chlorine per g carbon; organics")
@cites("WEAR_ESTIMATE", "attrition and fouling")
def carbon_lives(duty: CarbonDuty, case: Case = "likely") -> Lives:
    """Return the life of activated carbon by each mechanism.

    Parameters
    ----------
    duty : CarbonDuty
        What wears it. [-]
    case : {"low", "likely", "high"}
        Which coefficients. [-]

    Returns
    -------
    mapping of str to float
        Years by mechanism; infinite without a load. [year]
    """
    c = {key: row.at(case) for key, row in wear().items()}
    return {
        "age": c["carbon_age"],
        "chlorine": _until(
            duty.water_m3_year * duty.chlorine_mg_l,
            carbon_chlorine_years,
            duty.carbon_l,
            c["carbon_chlorine_use"],
            duty.water_m3_year,
            duty.chlorine_mg_l,
        ),
        "organics": _until(
            duty.water_m3_year * duty.organics_mg_l,
            carbon_organics_years,
            duty.carbon_l,
            c["carbon_organics_fed"],
            duty.water_m3_year,
            duty.organics_mg_l,
        ),
        "attrition": _worn(c, "carbon_loss_per_backwash", duty.backwashes_per_year),
        "fouling": _fouled(
            c, "carbon_solids_kept", duty.metals_mg_l, duty.water_m3_year, duty.carbon_l
        ),
    }


@cites("PRACTICE", "1 to 3 months")
@cites("WEAR_ESTIMATE", "dirt held")
def cartridge_lives(duty: CartridgeDuty, case: Case = "likely") -> Lives:
    """Return the life of filter cartridges by each mechanism.

    Parameters
    ----------
    duty : CartridgeDuty
        What fills them. [-]
    case : {"low", "likely", "high"}
        Which coefficients. [-]

    Returns
    -------
    mapping of str to float
        Years by mechanism; infinite without a load. [year]
    """
    c = {key: row.at(case) for key, row in wear().items()}
    passing = c["softener_metals_passing"] if duty.softened else 1.0
    share = c["cartridge_solids_share"]
    return {
        "age": months_of_age_years(c["cartridge_age"]),
        "solids": _until(
            duty.metals_mg_l * passing * share * duty.water_m3_year / duty.number,
            cartridge_dirt_years,
            c["cartridge_dirt"],
            duty.metals_mg_l,
            passing,
            share,
            duty.water_m3_year,
            duty.number,
        ),
    }


def governing(lives: Lives) -> str:
    """Return the mechanism that ends a life first.

    Parameters
    ----------
    lives : mapping of str to float
        Years by mechanism. [year]

    Returns
    -------
    str
        Its name. [-]
    """
    return min(lives, key=lambda name: lives[name])
