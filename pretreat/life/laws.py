"""How long media last: every mechanism by itself, in years of operation.

A life is the shortest of its mechanisms. A mechanism without a load sets no limit and is
infinite. Lives are estimates: hardly a coefficient here is published.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from pretreat.core.basis import cites
from pretreat.core.errors import OutOfRangeError
from pretreat.core.units import molar_mass
from pretreat.life.wear import Case, wear
from pretreat.stages.carbon.laws import BULK_DENSITY_KG_L, CHLORINE_CAPACITY_G_G
from pretreat.stages.softener.resin import TOTAL_CAPACITY_EQ_L

HOURS_PER_YEAR = 8760.0
MONTHS_PER_YEAR = 12.0
PERCENT = 100.0
IRON_G_PER_EQ = molar_mass("Fe") / 2.0  # Fe2+, as it sits on the resin
Lives = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class SoftenerDuty:
    """What wears resin: cycles [1/year], water [m³/year], resin [L], metals and chlorine [mg/L].

    ``running_share`` is the share of a year in which the machine runs.
    """

    cycles_per_year: float
    water_m3_year: float
    resin_l: float
    metals_mg_l: float
    chlorine_mg_l: float
    running_share: float


@dataclass(frozen=True, slots=True)
class FilterDuty:
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


@dataclass(frozen=True, slots=True)
class CarbonDuty:
    """What wears carbon: backwashes [1/year], water [m³/year], carbon [L], loads [mg/L]."""

    backwashes_per_year: float
    water_m3_year: float
    carbon_l: float
    metals_mg_l: float
    chlorine_mg_l: float
    organics_mg_l: float = 0.0


@dataclass(frozen=True, slots=True)
class CartridgeDuty:
    """What fills cartridges: water [m³/year], their number [-], metals ahead of it [mg/L].

    ``softened`` says that a softener stands between.
    """

    water_m3_year: float
    number: float
    metals_mg_l: float
    softened: bool = False


def years_until(allowed: float, per_year: float) -> float:
    """Return the years until something is used up; infinite where nothing wears it.

    Parameters
    ----------
    allowed : float
        What may be used, above 0. [any]
    per_year : float
        What a year uses, 0 or more. [any/year]

    Returns
    -------
    float
        Years. [year]

    Raises
    ------
    OutOfRangeError
        If either makes no sense.
    """
    if not (allowed > 0 and per_year >= 0):
        raise OutOfRangeError(
            f"life from {allowed:g} at {per_year:g} a year: the first must be above 0, the second "
            "not negative"
        )
    return allowed / per_year if per_year > 0 else math.inf


@cites("UFC13FN", "2-2.5.1.4.4: 25 % lost; 1 to 5 % a year")
def capacity_loss_years(
    loss_percent_per_year: float, allowed_percent: float = 25.0, *, compounded: bool = False
) -> float:
    """Return the years until resin has lost the capacity at which it is replaced.

    Parameters
    ----------
    loss_percent_per_year : float
        Loss in a year, above 0 to below 100. [%/year]
    allowed_percent : float
        Loss at which it is replaced. [%]
    compounded : bool
        Loss counted on what is left rather than on the new capacity. [-]

    Returns
    -------
    float
        Years. [year]

    Raises
    ------
    OutOfRangeError
        If the loss makes no sense.
    """
    if not (0 < loss_percent_per_year < PERCENT and 0 < allowed_percent < PERCENT):
        raise OutOfRangeError(
            f"loss of {loss_percent_per_year:g} % a year, {allowed_percent:g} % allowed: both must "
            "be above 0 and below 100 %"
        )
    if compounded:
        return math.log1p(-allowed_percent / PERCENT) / math.log1p(-loss_percent_per_year / PERCENT)
    return allowed_percent / loss_percent_per_year


@cites("UFC13FN", "2-2.5.1.4.4: a quarter of the capacity")
def iron_allowed_g_l(allowed_percent: float) -> float:
    """Return the iron that blocks the share of the exchange sites that may be lost.

    Parameters
    ----------
    allowed_percent : float
        Loss of capacity at which resin is replaced. [%]

    Returns
    -------
    float
        Iron per litre of resin. [g/L]
    """
    return allowed_percent / PERCENT * TOTAL_CAPACITY_EQ_L * IRON_G_PER_EQ


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
    metals = duty.metals_mg_l * duty.water_m3_year * c["softener_metals_kept"] / duty.resin_l
    return {
        "capacity": capacity_loss_years(c["softener_loss_per_year"], allowed),
        "age": c["softener_age"],
        "chlorine": years_until(
            c["softener_chlorine_dose"], duty.chlorine_mg_l * duty.running_share
        ),
        "cycles": years_until(c["softener_cycles"], duty.cycles_per_year),
        "attrition": years_until(allowed, c["softener_loss_per_backwash"] * duty.cycles_per_year),
        "iron": years_until(iron_allowed_g_l(allowed), metals),
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
    deposit = duty.solids_mg_l * duty.water_m3_year * c["filter_solids_kept"] / duty.media_l
    cycles = duty.backwashes_per_year if duty.regenerated else 0.0
    return {
        "age": c[duty.aged],
        "cycles": years_until(c["iron_filter_cycles"], cycles),
        "attrition": years_until(
            c["filter_loss_allowed"], c["filter_loss_per_backwash"] * duty.backwashes_per_year
        ),
        "fouling": years_until(c["deposit_allowed"], deposit),
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
    grams = duty.carbon_l * BULK_DENSITY_KG_L * 1000.0
    deposit = duty.metals_mg_l * duty.water_m3_year * c["carbon_solids_kept"] / duty.carbon_l
    return {
        "age": c["carbon_age"],
        "chlorine": years_until(
            grams * CHLORINE_CAPACITY_G_G * c["carbon_chlorine_use"],
            duty.water_m3_year * duty.chlorine_mg_l,
        ),
        "organics": years_until(
            grams * c["carbon_organics_fed"], duty.water_m3_year * duty.organics_mg_l
        ),
        "attrition": years_until(
            c["filter_loss_allowed"], c["carbon_loss_per_backwash"] * duty.backwashes_per_year
        ),
        "fouling": years_until(c["deposit_allowed"], deposit),
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
    solids = duty.metals_mg_l * passing * c["cartridge_solids_share"]
    dirt = solids * duty.water_m3_year / duty.number
    return {
        "age": c["cartridge_age"] / MONTHS_PER_YEAR,
        "solids": years_until(c["cartridge_dirt"], dirt),
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
