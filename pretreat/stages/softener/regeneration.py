"""The regeneration of a softener: steps, minutes, water, and what goes down the drain."""

from dataclasses import dataclass

from pretreat.core.basis import cites
from pretreat.core.errors import OutOfRangeError
from pretreat.core.units import CACO3_MG_PER_MEQ, molar_mass

BACKWASH_MIN = 10.0  # CLIFFORD: 5 to 15 min
BRINE_G_L = 107.0  # NACLTABLE: 10 % by weight, 1.0707 kg/L
SLOW_RINSE_BV = 2.0  # UFC13FN 2-2.5.1.2: 1.0 to 3.0 BV
FAST_RINSE_BV = 5.0  # UFC13FN 2-2.5.1.2.4: 4.7 to 13.4 BV, until free of hardness
FAST_RINSE_BV_H = 14.0  # UFC13FN 2-2.5.1.2.4: 12 to 16 BV/h
CONTACT_MIN = 30.0  # CLIFFORD: brining 30 to 60 min
FASTEST_BRINE_BV_H = 5.0  # DAVIS2010, p. 8-19: 2 to 5 BV/h
SLOWEST_BRINE_BV_H = 2.0
PUBLISHED_WASTE_BV = 10.7  # WTPD4, p. 12.46: about 80 gal/ft3
LONGEST_OUT_OF_SERVICE_MIN = 120.0  # DAVIS2010, Eq. 8-23, sum of the longest steps
MINUTES_PER_HOUR = 60.0
NACL = molar_mass("NaCl")


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a regeneration: minutes, flow and volume of water."""

    name: str
    minutes: float
    flow_m3_h: float
    volume_m3: float


@cites("NACLTABLE", "10 % brine by weight")
def brine_bv(dose_g_l: float) -> float:
    """Return the volume of 10 % brine per volume of resin.

    Parameters
    ----------
    dose_g_l : float
        Salt dose. [g NaCl/L]

    Returns
    -------
    float
        Brine. [BV]
    """
    return dose_g_l / BRINE_G_L


@cites("CLIFFORD", "30 to 60 min")
@cites("DAVIS2010", "p. 8-19: 2 to 5 BV/h")
def brine_minutes(dose_g_l: float) -> float:
    """Return the time of brining: 30 min of contact, longer where 5 BV/h would be exceeded.

    The printed rate of 2 to 5 BV/h and the printed contact of 30 to 60 min do not agree below
    107 g/L of salt; the contact time governs.

    Parameters
    ----------
    dose_g_l : float
        Salt dose. [g NaCl/L]

    Returns
    -------
    float
        Time. [min]
    """
    return max(CONTACT_MIN, brine_bv(dose_g_l) / FASTEST_BRINE_BV_H * MINUTES_PER_HOUR)


@cites("DAVIS2010", "p. 8-19: slow rinse at the rate of the brine")
@cites("UFC13FN", "2-2.5.1.2")
def regeneration_steps(
    volume_l: float, dose_g_l: float, backwash_flow_m3_h: float
) -> tuple[Step, ...]:
    """Return the steps of a co-current regeneration.

    Parameters
    ----------
    volume_l : float
        Resin. [L]
    dose_g_l : float
        Salt dose. [g NaCl/L]
    backwash_flow_m3_h : float
        Backwash flow. [m³/h]

    Returns
    -------
    tuple of Step
        Backwash, brine, slow rinse, fast rinse. [-]
    """
    volume_m3 = volume_l / 1000.0
    brine_m3 = brine_bv(dose_g_l) * volume_m3
    brine_time = brine_minutes(dose_g_l)
    brine_flow = brine_m3 / brine_time * MINUTES_PER_HOUR
    slow_m3 = SLOW_RINSE_BV * volume_m3
    fast_m3 = FAST_RINSE_BV * volume_m3
    fast_flow = FAST_RINSE_BV_H * volume_m3
    backwash_m3 = backwash_flow_m3_h * BACKWASH_MIN / MINUTES_PER_HOUR
    return (
        Step("backwash", BACKWASH_MIN, backwash_flow_m3_h, backwash_m3),
        Step("brine", brine_time, brine_flow, brine_m3),
        Step("slow rinse", slow_m3 / brine_flow * MINUTES_PER_HOUR, brine_flow, slow_m3),
        Step("fast rinse", fast_m3 / fast_flow * MINUTES_PER_HOUR, fast_flow, fast_m3),
    )


@dataclass(frozen=True, slots=True)
class WasteWater:
    """The mean composition of the waste of a regeneration [mg/L]."""

    hardness_mg_l_caco3: float
    chloride_mg_l: float
    sodium_mg_l: float


@cites("STOICHIOMETRY", "mass balance over a regeneration")
def waste_composition(taken_up_g_l: float, dose_g_l: float, waste_bv: float) -> WasteWater:
    """Return the mean composition of the waste, without what the raw water brings.

    Parameters
    ----------
    taken_up_g_l : float
        Hardness taken up per litre of resin. [g CaCO3/L]
    dose_g_l : float
        Salt dose. [g NaCl/L]
    waste_bv : float
        Waste per volume of resin, above 0. [BV]

    Returns
    -------
    WasteWater
        Hardness, chloride, sodium. [mg/L]

    Raises
    ------
    OutOfRangeError
        If less salt is used than the hardness taken up needs.
    """
    sodium_eq = dose_g_l / NACL - taken_up_g_l / CACO3_MG_PER_MEQ
    if not (waste_bv > 0 and sodium_eq >= 0):
        raise OutOfRangeError(
            f"{dose_g_l:g} g/L of salt cannot drive off {taken_up_g_l:g} g CaCO3/L: use more salt"
        )
    return WasteWater(
        taken_up_g_l / waste_bv * 1000.0,
        dose_g_l / NACL * molar_mass("Cl") / waste_bv * 1000.0,
        sodium_eq * molar_mass("Na") / waste_bv * 1000.0,
    )


@cites("WTPD4", "p. 12.46")
def waste_share_of_throughput(
    waste_bv: float, hardness_mg_l_caco3: float, capacity_g_l: float
) -> float:
    """Return the waste as a share of the water softened.

    Parameters
    ----------
    waste_bv : float
        Waste per volume of resin. [BV]
    hardness_mg_l_caco3 : float
        Hardness of the water. [mg/L as CaCO3]
    capacity_g_l : float
        Capacity in use. [g CaCO3/L]

    Returns
    -------
    float
        Share. [-]
    """
    return waste_bv * hardness_mg_l_caco3 / 1000.0 / capacity_g_l
