"""Activated carbon ahead of the membranes: contact time and life."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, least, valid
from pretreat.core.units import molar_mass

CONTACT_CHLORINE_MIN = 5.0  # PRACTICE: 2.5 to 5 min; the long end, since trade pages ask 5 to 10
CONTACT_LEAST_MIN = 2.5  # PRACTICE: the short end of the same range
CONTACT_CHLORAMINE_MIN = 10.0  # MEMORY: 10 min or more with standard carbon
CHLORAMINE_LEAST_MIN = 5.0  # PRACTICE: half of it; below, as for free chlorine, too short to run
BULK_DENSITY_KG_L = 0.48  # MEMORY: packed carbon of 12 x 40 mesh
CHLORINE_CAPACITY_G_G = 1.0  # MEMORY: about 1 g chlorine per g carbon
USE_FACTOR = 0.5  # PRACTICE: part of the capacity used before chlorine shows
LONGEST_LIFE_YEARS = 2.0  # PRACTICE: fines, deposits, biofilm and organics; 6 to 12 months usual
THEORETICAL_CL2_PER_C = 2.0 * molar_mass("Cl2") / molar_mass("C")  # C + 2 Cl2 + 2 H2O
BACKWASH_MIN = 10.0  # PRACTICE
RINSE_MIN = 5.0  # PRACTICE
LITRES_PER_M3 = G_PER_KG = 1000.0
MINUTES_PER_HOUR = 60.0


@law
@valid(volume_l=(0, None), flow_m3_h=(0, None))
def contact_time_min(volume_l: Number, flow_m3_h: Number) -> Number:
    """Contact time of the empty bed = carbon / flow.

    Worked by hand: 100 L at 2 m3/h last a twentieth of an hour.

    >>> contact_time_min(100.0, 2.0)
    3.0
    """
    return volume_l / LITRES_PER_M3 / flow_m3_h * MINUTES_PER_HOUR


@law
@valid(flow_m3_h=(0, None), contact_min=[0, None])
def volume_for_contact_l(flow_m3_h: Number, contact_min: Number) -> Number:
    """Carbon that a contact time of the empty bed takes = flow x time.

    Worked by hand: 2 m3/h for 3 min are 100 L.

    >>> volume_for_contact_l(2.0, 3.0)
    100.0
    """
    return flow_m3_h * LITRES_PER_M3 * contact_min / MINUTES_PER_HOUR


@law
@cites("MEMORY", "about 1 g chlorine per g carbon")
@cites("PRACTICE", "use factor 0.5")
@valid(volume_l=[0, None], water_m3_d=(0, None), free_chlorine_mg_l=(0, None), use_factor=[0, 1])
def chlorine_life_d(
    volume_l: Number,
    water_m3_d: Number,
    free_chlorine_mg_l: Number,
    bulk_density_kg_l: Number = BULK_DENSITY_KG_L,
    capacity_g_g: Number = CHLORINE_CAPACITY_G_G,
    use_factor: Number = USE_FACTOR,
) -> Number:
    """Days of operation until chlorine shows = capacity in use / chlorine of a day.

    Worked by hand: 100 L of 0.5 kg/L that remove 0.8 g/g, half of it used, remove 20 kg; 50 m3/d
    with 2 mg/L bring 100 g/d.

    >>> chlorine_life_d(100.0, 50.0, 2.0, 0.5, 0.8, 0.5)
    200.0
    """
    removes_g = volume_l * bulk_density_kg_l * G_PER_KG * capacity_g_g * use_factor
    return removes_g / (water_m3_d * free_chlorine_mg_l)


@law
@cites("MEMORY", "about 1 g chlorine per g carbon")
@cites("PRACTICE", "changed after two years at the latest")
@valid(days_per_year="(0, 366]")
def life_years(chlorine_life_d: Number, days_per_year: Number, longest_years: Number) -> Number:
    """Life = days until chlorine shows / days of operation in a year, at most what is usual.

    Worked by hand: 500 days at 250 a year are two years, cut to one and a half.

    >>> life_years(500.0, 250.0, 1.5)
    1.5
    """
    return least(chlorine_life_d / days_per_year, longest_years)


@law
@cites("PRACTICE", "changed after two years at the latest")
def unloaded_life_years(longest_years: Number) -> Number:
    """Life without chlorine to use the carbon up = the longest that is usual.

    Common practice, no source: two years.

    >>> unloaded_life_years(2.0)
    2.0
    """
    return +longest_years


def passing_share(depth_m: float, half_depth_m: float) -> float:
    """Return the share of chlorine that passes a bed, from the depth that halves it.

    Parameters
    ----------
    depth_m : float
        Depth of the bed. [m]
    half_depth_m : float
        Depth that halves the chlorine at the same velocity. [m]

    Returns
    -------
    float
        Share. [-]
    """
    return float(2.0 ** (-depth_m / half_depth_m))
