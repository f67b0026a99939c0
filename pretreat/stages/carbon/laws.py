"""Activated carbon ahead of the membranes: contact time and life."""

from pretreat.core.basis import cites
from pretreat.core.errors import OutOfRangeError
from pretreat.core.units import molar_mass

CONTACT_CHLORINE_MIN = 5.0  # PRACTICE: 2.5 to 5 min; the long end, since trade pages ask 5 to 10
CONTACT_LEAST_MIN = 2.5  # PRACTICE: the short end of the same range
CONTACT_CHLORAMINE_MIN = 10.0  # MEMORY: 10 min or more with standard carbon
BULK_DENSITY_KG_L = 0.48  # MEMORY: packed carbon of 12 x 40 mesh
CHLORINE_CAPACITY_G_G = 1.0  # MEMORY: about 1 g chlorine per g carbon
USE_FACTOR = 0.5  # PRACTICE: part of the capacity used before chlorine shows
LONGEST_LIFE_YEARS = 2.0  # PRACTICE: fines, deposits, biofilm and organics; 6 to 12 months usual
THEORETICAL_CL2_PER_C = 2.0 * molar_mass("Cl2") / molar_mass("C")  # C + 2 Cl2 + 2 H2O
BACKWASH_MIN = 10.0  # PRACTICE
RINSE_MIN = 5.0  # PRACTICE


def contact_time_min(volume_l: float, flow_m3_h: float) -> float:
    """Return the empty-bed contact time.

    Parameters
    ----------
    volume_l : float
        Carbon. [L]
    flow_m3_h : float
        Flow while running. [m³/h]

    Returns
    -------
    float
        Contact time. [min]

    Raises
    ------
    OutOfRangeError
        If there is no flow or no carbon.
    """
    if not (volume_l > 0 and flow_m3_h > 0):
        raise OutOfRangeError(
            f"carbon of {volume_l:g} L with {flow_m3_h:g} m3/h: both must be above 0"
        )
    return volume_l / 1000.0 / flow_m3_h * 60.0


def volume_for_contact_l(flow_m3_h: float, contact_min: float) -> float:
    """Return the carbon that a contact time needs.

    Parameters
    ----------
    flow_m3_h : float
        Flow while running. [m³/h]
    contact_min : float
        Empty-bed contact time. [min]

    Returns
    -------
    float
        Carbon. [L]
    """
    return flow_m3_h * 1000.0 * contact_min / 60.0


@cites("MEMORY", "about 1 g chlorine per g carbon")
@cites("PRACTICE", "use factor 0.5")
def chlorine_life_d(
    volume_l: float, water_m3_d: float, chlorine_mg_l: float, *, use_factor: float = USE_FACTOR
) -> float:
    """Return the days of operation until chlorine has used up the carbon.

    Parameters
    ----------
    volume_l : float
        Carbon. [L]
    water_m3_d : float
        Water in a day of operation. [m³/d]
    chlorine_mg_l : float
        Free chlorine, above 0. [mg/L]
    use_factor : float
        Part of the capacity that is used. [-]

    Returns
    -------
    float
        Life. [d]
    """
    capacity_g = volume_l * BULK_DENSITY_KG_L * 1000.0 * CHLORINE_CAPACITY_G_G * use_factor
    return capacity_g / (water_m3_d * chlorine_mg_l)


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
