"""The regeneration of a softener: steps, minutes, water, and what goes down the drain."""

from msgspec import Struct

from pretreat.core.basis import cites
from pretreat.core.errors import OutOfRangeError
from pretreat.core.law import Number, law, most, valid
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


class Step(Struct, frozen=True):
    """One step of a regeneration: minutes, flow and volume of water."""

    name: str
    minutes: float
    flow_m3_h: float
    volume_m3: float


@law
@cites("NACLTABLE", "10 % brine by weight")
@valid(salt_dose_g_l=[0, None], brine_strength_g_l=(0, None))
def brine_bv(salt_dose_g_l: Number, brine_strength_g_l: Number = BRINE_G_L) -> Number:
    """Brine = salt dose / salt in a litre of brine.

    Worked by hand: 160 g/L with 100 g in a litre.

    >>> brine_bv(160.0, 100.0)
    1.6
    """
    return salt_dose_g_l / brine_strength_g_l


@law
@cites("CLIFFORD", "30 to 60 min")
@cites("DAVIS2010", "p. 8-19: 2 to 5 BV/h")
@valid(fastest_bv_h=(0, None))
def brine_min(contact_min: Number, brine_bv: Number, fastest_bv_h: Number) -> Number:
    """Brining time = contact time, longer where the fastest brine would be exceeded.

    The printed rate of 2 to 5 BV/h and the printed contact of 30 to 60 min do not agree below
    107 g/L of salt; the contact time governs. Worked by hand: 3 BV at 5 BV/h take 36 min.

    >>> brine_min(30.0, 3.0, 5.0)
    36.0
    >>> brine_min(30.0, 1.0, 5.0)
    30.0
    """
    return most(contact_min, brine_bv / fastest_bv_h * MINUTES_PER_HOUR)


def brine_minutes(dose_g_l: float) -> float:
    """Return the time of brining with the contact time and the rate of the program.

    Parameters
    ----------
    dose_g_l : float
        Salt dose. [g NaCl/L]

    Returns
    -------
    float
        Time. [min]
    """
    found: float = brine_min(CONTACT_MIN, brine_bv(dose_g_l), FASTEST_BRINE_BV_H)
    return found


@law
@cites("DAVIS2010", "p. 8-19: slow rinse at the rate of the brine")
@cites("UFC13FN", "2-2.5.1.2")
@valid(brine_bv=(0, None), fast_rinse_bv_h=(0, None))
def regeneration_min(
    backwash_min: Number,
    brine_min: Number,
    slow_rinse_bv: Number,
    brine_bv: Number,
    fast_rinse_bv: Number,
    fast_rinse_bv_h: Number,
) -> Number:
    """Out of service = backwash + brine + slow rinse at the brine's rate + fast rinse.

    Worked by hand: 10 + 30 + 2 BV at 1 BV in 30 min + 5 BV at 15 BV/h = 10 + 30 + 60 + 20.

    >>> regeneration_min(10.0, 30.0, 2.0, 1.0, 5.0, 15.0)
    120.0
    """
    slow = slow_rinse_bv / brine_bv * brine_min
    fast = fast_rinse_bv / fast_rinse_bv_h * MINUTES_PER_HOUR
    return backwash_min + brine_min + slow + fast


@law
@cites("DAVIS2010", "p. 8-19: slow rinse at the rate of the brine")
@cites("UFC13FN", "2-2.5.1.2")
def waste_m3(
    backwash_m3_h: Number,
    backwash_min: Number,
    volume_l: Number,
    brine_bv: Number,
    slow_rinse_bv: Number,
    fast_rinse_bv: Number,
) -> Number:
    """Waste of one vessel = backwash + resin x (brine + slow rinse + fast rinse).

    Worked by hand: 3 m3/h for 10 min and 100 L of 1 + 2 + 5 BV: 0.5 + 0.8.

    >>> waste_m3(3.0, 10.0, 100.0, 1.0, 2.0, 5.0)
    1.3
    """
    backwash = backwash_m3_h * backwash_min / MINUTES_PER_HOUR
    return backwash + volume_l / 1000.0 * (brine_bv + slow_rinse_bv + fast_rinse_bv)


@law
@valid(volume_l=(0, None))
def waste_bv(waste_m3: Number, volume_l: Number) -> Number:
    """Waste per volume of resin.

    >>> waste_bv(1.5, 100.0)
    15.0
    """
    return waste_m3 / volume_l * 1000.0


@law
def held_g_caco3_l(capacity_g_caco3_l: Number, capacity_factor: Number, reserve: Number) -> Number:
    """Hardness that a litre of resin takes up in a cycle = capacity x factor x (1 - reserve).

    >>> held_g_caco3_l(50.0, 1.0, 0.2)
    40.0
    """
    return capacity_g_caco3_l * capacity_factor * (1.0 - reserve)


@law
@cites("STOICHIOMETRY", "mass balance over a regeneration")
@valid(waste_bv=(0, None))
def waste_hardness_mg_l_caco3(
    capacity_g_caco3_l: Number, capacity_factor: Number, reserve: Number, waste_bv: Number
) -> Number:
    """Hardness of the waste = hardness taken up / waste.

    Worked by hand: 40 g from a litre of resin in 10 litres.

    >>> waste_hardness_mg_l_caco3(50.0, 1.0, 0.2, 10.0)
    4000.0
    """
    return held_g_caco3_l(capacity_g_caco3_l, capacity_factor, reserve) / waste_bv * 1000.0


@law
@cites("STOICHIOMETRY", "mass balance over a regeneration")
@valid(waste_bv=(0, None))
def waste_chloride_mg_l(salt_dose_g_l: Number, waste_bv: Number) -> Number:
    """Chloride of the waste = salt dose / 58.44 x 35.45 / waste.

    Worked by hand: 58.44 g of salt hold 35.45 g of chloride; in 10 litres.

    >>> round(waste_chloride_mg_l(58.44, 10.0))
    3545
    """
    return salt_dose_g_l / NACL * molar_mass("Cl") / waste_bv * 1000.0


@law
@cites("STOICHIOMETRY", "mass balance over a regeneration")
@valid(waste_bv=(0, None))
def waste_sodium_mg_l(
    salt_dose_g_l: Number,
    capacity_g_caco3_l: Number,
    capacity_factor: Number,
    reserve: Number,
    waste_bv: Number,
) -> Number:
    """Sodium of the waste = (salt in equivalents - hardness taken up) x 22.99 / waste.

    Worked by hand: 3 equivalents of salt less one of hardness, in 10 litres: 2 x 22.99 / 10.

    >>> round(waste_sodium_mg_l(3 * 58.4398, 50.043, 1.0, 0.0, 10.0))
    4598
    """
    held = held_g_caco3_l(capacity_g_caco3_l, capacity_factor, reserve)
    equivalents = salt_dose_g_l / NACL - held / CACO3_MG_PER_MEQ
    return equivalents * molar_mass("Na") / waste_bv * 1000.0


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


class WasteWater(Struct, frozen=True):
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
        waste_hardness_mg_l_caco3(taken_up_g_l, 1.0, 0.0, waste_bv),
        waste_chloride_mg_l(dose_g_l, waste_bv),
        waste_sodium_mg_l(dose_g_l, taken_up_g_l, 1.0, 0.0, waste_bv),
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
