"""The softener: load, capacity in use, interval, and the volume a duty needs."""

from collections.abc import Mapping

from pretreat.core.basis import cites
from pretreat.core.errors import OutOfRangeError
from pretreat.core.tables import analytes
from pretreat.core.units import CACO3_MG_PER_MEQ, MG_L_CACO3_PER_GPG, molar_mass

HARDNESS_IONS = ("ca", "mg", "sr", "ba")
METALS = ("fe", "mn")
G_PER_KG = 1000.0
L_PER_M3 = 1000.0
MOST_SERVICE_BV_H = 40.0  # CLIFFORD: 1 to 5 gpm/ft3, from memory
LOW_VELOCITY_M_H = 5.0  # PRACTICE: below, the flow may channel
END_OF_LIFE_CAPACITY = 0.75  # UFC13FN 2-2.5.1.4.4: replace at a loss of 25 %
DERATING_TOP_MG_L = 9000.0  # MEMORY: older bulletins of the trade
DERATING_USABLE_MG_L = 5000.0  # MEMORY: not beyond about 5000 mg/L as CaCO3
DERATING_HARDNESS_MG_L = 400.0  # MEMORY: applies above this hardness ...
DERATING_SODIUM_MG_L = 100.0  # MEMORY: ... or above this sodium, as CaCO3
SATURATED_BRINE = 0.264  # NACLTABLE: mass fraction of salt at 20 °C
# Salt that a litre of make-up water dissolves; 1 L of water taken as 1 kg less 0.2 %.
SALT_KG_PER_L_MAKE_UP = SATURATED_BRINE / (1.0 - SATURATED_BRINE) * 0.998
SODIUM_PER_CACO3 = molar_mass("Na") / CACO3_MG_PER_MEQ  # mg/mg exchanged


def caco3_per_mg(key: str) -> float:
    """Return the hardness that a milligram of an ion stands for.

    Parameters
    ----------
    key : str
        Key of data/analytes.csv. [-]

    Returns
    -------
    float
        Equivalents, as CaCO3. [mg/mg]
    """
    ion = analytes()[key]
    return CACO3_MG_PER_MEQ * abs(ion.charge) / molar_mass(ion.formula)


@cites("STOICHIOMETRY", "equivalents")
def equivalent_hardness_mg_l_caco3(
    mg_l: Mapping[str, float], keys: tuple[str, ...] = (*HARDNESS_IONS, *METALS)
) -> float:
    """Return what the resin takes up: hardness in equivalents.

    Parameters
    ----------
    mg_l : mapping of str to float
        Concentrations at the inlet of the softener. [mg/L as the ion]
    keys : tuple of str
        Ions counted. [-]

    Returns
    -------
    float
        Hardness. [mg/L as CaCO3]
    """
    return sum(mg_l.get(key, 0.0) * caco3_per_mg(key) for key in keys)


@cites("PRACTICE", "2 to 5 gpg per mg/L iron; no single method is accepted")
def iron_allowance_mg_l_caco3(iron_manganese_mg_l: float, allowance_gpg: float) -> float:
    """Return the field allowance for iron that some guides add to the hardness.

    Parameters
    ----------
    iron_manganese_mg_l : float
        Iron and manganese onto the resin. [mg/L]
    allowance_gpg : float
        Grains per gallon for each mg/L. [gpg per mg/L]

    Returns
    -------
    float
        Allowance. [mg/L as CaCO3]
    """
    return iron_manganese_mg_l * allowance_gpg * MG_L_CACO3_PER_GPG


@cites("MEMORY", "older softener bulletins: H x 9000 / (9000 - TC)")
def derating_for_sodium(total_cations_mg_l_caco3: float) -> float:
    """Return the share of the capacity that saline water leaves, by an old rule.

    Parameters
    ----------
    total_cations_mg_l_caco3 : float
        All cations, up to 5000. [mg/L as CaCO3]

    Returns
    -------
    float
        (9000 - TC) / 9000. [-]

    Raises
    ------
    OutOfRangeError
        If the cations are beyond the rule.
    """
    if not 0 <= total_cations_mg_l_caco3 <= DERATING_USABLE_MG_L:
        raise OutOfRangeError(
            f"total cations are {total_cations_mg_l_caco3:.0f} mg/L as CaCO3; the 9000 rule is "
            f"used up to {DERATING_USABLE_MG_L:.0f}: judge the softener by its leakage instead"
        )
    return (DERATING_TOP_MG_L - total_cations_mg_l_caco3) / DERATING_TOP_MG_L


def load_kg_d(feed_m3_d: float, hardness_mg_l_caco3: float) -> float:
    """Return the hardness that arrives in a day; leakage is not credited.

    Parameters
    ----------
    feed_m3_d : float
        Water softened in a day of operation. [m³/d]
    hardness_mg_l_caco3 : float
        Hardness in equivalents. [mg/L as CaCO3]

    Returns
    -------
    float
        Load. [kg CaCO3/d]

    Raises
    ------
    OutOfRangeError
        If there is no flow or no hardness.
    """
    if not (feed_m3_d > 0 and hardness_mg_l_caco3 > 0):
        raise OutOfRangeError(
            f"softener with {feed_m3_d:g} m3/d and {hardness_mg_l_caco3:g} mg/L as CaCO3: flow and "
            "hardness must be above 0; leave the softener out ([softener] include = false)"
        )
    return feed_m3_d * hardness_mg_l_caco3 / G_PER_KG


def usable_capacity_kg(
    volume_l: float, capacity_g_l: float, *, capacity_factor: float = 1.0, reserve: float = 0.0
) -> float:
    """Return the hardness a bed takes up between two regenerations.

    Parameters
    ----------
    volume_l : float
        Resin. [L]
    capacity_g_l : float
        Operating capacity. [g CaCO3/L]
    capacity_factor : float
        What age has left of the capacity, 0 to 1. [-]
    reserve : float
        Part kept back, 0 to below 1. [-]

    Returns
    -------
    float
        Usable capacity. [kg CaCO3]

    Raises
    ------
    OutOfRangeError
        If the volume or the factors make no sense.
    """
    if not (volume_l > 0 and 0 < capacity_factor <= 1 and 0 <= reserve < 1):
        raise OutOfRangeError(
            f"softener of {volume_l:g} L, capacity factor {capacity_factor:g}, reserve {reserve:g}"
            ": needs a volume above 0 L, a factor above 0 to 1 and a reserve from 0 to below 1"
        )
    return volume_l * capacity_g_l * capacity_factor * (1.0 - reserve) / G_PER_KG


def interval_d(usable_kg: float, load_kg_per_d: float) -> float:
    """Return the days until the usable capacity is used up.

    Parameters
    ----------
    usable_kg : float
        Usable capacity. [kg CaCO3]
    load_kg_per_d : float
        Load, above 0. [kg CaCO3/d]

    Returns
    -------
    float
        Interval. [d]
    """
    return usable_kg / load_kg_per_d


def volume_for_interval_l(
    load_kg_per_d: float,
    wanted_d: float,
    capacity_g_l: float,
    *,
    capacity_factor: float = 1.0,
    reserve: float = 0.0,
) -> float:
    """Return the resin that lasts for an interval.

    Parameters
    ----------
    load_kg_per_d : float
        Load. [kg CaCO3/d]
    wanted_d : float
        Interval wanted. [d]
    capacity_g_l : float
        Operating capacity. [g CaCO3/L]
    capacity_factor : float
        What age has left of the capacity. [-]
    reserve : float
        Part kept back. [-]

    Returns
    -------
    float
        Resin. [L]
    """
    return (
        load_kg_per_d
        * wanted_d
        / usable_capacity_kg(1.0, capacity_g_l, capacity_factor=capacity_factor, reserve=reserve)
    )


@cites("CLIFFORD", "at most 5 gpm/ft3, from memory")
def volume_for_flow_l(flow_m3_h: float) -> float:
    """Return the resin that the flow needs at the highest service rate.

    Parameters
    ----------
    flow_m3_h : float
        Highest flow in service. [m³/h]

    Returns
    -------
    float
        Resin. [L]
    """
    return flow_m3_h * L_PER_M3 / MOST_SERVICE_BV_H


def meter_setting_m3(usable_kg: float, hardness_mg_l_caco3: float) -> float:
    """Return the volume of water between two regenerations, the reserve already kept back.

    Parameters
    ----------
    usable_kg : float
        Usable capacity. [kg CaCO3]
    hardness_mg_l_caco3 : float
        Hardness in equivalents. [mg/L as CaCO3]

    Returns
    -------
    float
        Volume for the meter. [m³]
    """
    return usable_kg * G_PER_KG / hardness_mg_l_caco3


@cites("NACLTABLE", "saturated brine at 20 °C")
def salt_of_refill_kg(minutes: float, flow_l_min: float) -> float:
    """Return the salt that a refill of the brine tank dissolves.

    Parameters
    ----------
    minutes : float
        Time of the refill. [min]
    flow_l_min : float
        Flow of the refill. [L/min]

    Returns
    -------
    float
        Salt. [kg]
    """
    return minutes * flow_l_min * SALT_KG_PER_L_MAKE_UP


@cites("STOICHIOMETRY", "sodium for hardness, equivalent for equivalent")
def sodium_added_mg_l(removed_mg_l_caco3: float) -> float:
    """Return the sodium that replaces the hardness taken out.

    Parameters
    ----------
    removed_mg_l_caco3 : float
        Hardness taken out. [mg/L as CaCO3]

    Returns
    -------
    float
        Sodium. [mg/L]
    """
    return removed_mg_l_caco3 * SODIUM_PER_CACO3
