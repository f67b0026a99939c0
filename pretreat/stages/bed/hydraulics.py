"""Flow through beds of grains: fixed, on the point of lifting, and expanded.

Velocities are superficial (flow over empty vessel), in m/h; the correlations work in SI.
"""

from msgspec import Struct

from pretreat.core.basis import cites
from pretreat.core.errors import OutOfRangeError
from pretreat.stages.bed.water_properties import GRAVITY_M_S2, density_kg_m3, viscosity_pa_s

SECONDS_PER_HOUR = 3600.0
MM_PER_M = 1000.0
PA_PER_KPA = 1000.0
ERGUN_VISCOUS = 150.0  # ERGUN1952, spheres
ERGUN_INERTIAL = 1.75  # ERGUN1952, spheres
EXPANSION_EXPONENT = 4.7  # HEN2011, Eq. 12.53 (Wen and Yu 1966)


class Grains(Struct, frozen=True):
    """A bed's grains: size [mm], density of the wet grain [kg/m³], settled porosity [-]."""

    size_mm: float
    density_kg_m3: float
    porosity: float


@cites("HEN2011", "Eq. 12.57")
def galileo_number(grains: Grains, temp_c: float) -> float:
    """Return the Galileo number of the grains in water.

    Parameters
    ----------
    grains : Grains
        The grains. [-]
    temp_c : float
        Water temperature, 0 to 100. [°C]

    Returns
    -------
    float
        d³ rho (rho_s - rho) g / mu². [-]

    Raises
    ------
    OutOfRangeError
        If the grains would float.
    """
    rho = density_kg_m3(temp_c)
    if grains.density_kg_m3 <= rho or grains.size_mm <= 0:
        raise OutOfRangeError(
            f"grains of {grains.size_mm:g} mm and {grains.density_kg_m3:g} kg/m3: must have a size "
            f"and be heavier than water ({rho:.0f} kg/m3)"
        )
    d = grains.size_mm / MM_PER_M
    mu = viscosity_pa_s(temp_c)
    return d**3 * rho * (grains.density_kg_m3 - rho) * GRAVITY_M_S2 / mu**2


def _velocity_m_h(reynolds: float, size_mm: float, temp_c: float) -> float:
    d = size_mm / MM_PER_M
    return reynolds * viscosity_pa_s(temp_c) / (density_kg_m3(temp_c) * d) * SECONDS_PER_HOUR


def reynolds_number(velocity_m_h: float, size_mm: float, temp_c: float) -> float:
    """Return the Reynolds number of a grain.

    Parameters
    ----------
    velocity_m_h : float
        Superficial velocity. [m/h]
    size_mm : float
        Grain size. [mm]
    temp_c : float
        Water temperature, 0 to 100. [°C]

    Returns
    -------
    float
        v d rho / mu. [-]
    """
    return velocity_m_h / _velocity_m_h(1.0, size_mm, temp_c)


@cites("HEN2011", "Eq. 12.56")
def fluidisation_velocity_m_h(grains: Grains, temp_c: float) -> float:
    """Return the velocity that just lifts the bed (Wen and Yu); use the coarse grains (d90).

    It is 26 % below the measured value for sand of 0.6 mm in the table of the source.

    Parameters
    ----------
    grains : Grains
        The grains. [-]
    temp_c : float
        Water temperature, 0 to 100. [°C]

    Returns
    -------
    float
        Minimum fluidisation velocity. [m/h]
    """
    reynolds = float((33.7**2 + 0.0408 * galileo_number(grains, temp_c)) ** 0.5) - 33.7
    return _velocity_m_h(reynolds, grains.size_mm, temp_c)


@cites("HEN2011", "Eq. 12.50 (customary units); factor above Re 10 from memory")
def fluidisation_velocity_amirtharajah_m_h(grains: Grains, temp_c: float) -> float:
    """Return the minimum fluidisation velocity of Amirtharajah and Cleasby, sized by d60.

    Parameters
    ----------
    grains : Grains
        The grains, with their d60 as size. [-]
    temp_c : float
        Water temperature, 0 to 100. [°C]

    Returns
    -------
    float
        Minimum fluidisation velocity. [m/h]

    Raises
    ------
    OutOfRangeError
        If the Reynolds number is above 10, where the form does not reproduce its source.
    """
    pound_ft3 = 16.01846
    gamma = density_kg_m3(temp_c) / pound_ft3
    gamma_s = grains.density_kg_m3 / pound_ft3
    mu_cp = viscosity_pa_s(temp_c) * 1000.0
    gpm_ft2 = 0.00381 * grains.size_mm**1.82 * (gamma * (gamma_s - gamma)) ** 0.94 / mu_cp**0.88
    velocity = float(gpm_ft2 * 2.444754)
    reynolds = reynolds_number(velocity, grains.size_mm, temp_c)
    if reynolds > 10.0:
        raise OutOfRangeError(
            f"Reynolds number is {reynolds:.1f}; HEN2011 Eq. 12.50 holds up to 10: "
            "use the form of Wen and Yu"
        )
    return velocity


@cites("HEN2011", "Eq. 12.53")
def expanded_porosity(grains: Grains, velocity_m_h: float, temp_c: float) -> float:
    """Return the porosity of the bed at an upward velocity, at least the settled one.

    Parameters
    ----------
    grains : Grains
        The grains. [-]
    velocity_m_h : float
        Superficial velocity. [m/h]
    temp_c : float
        Water temperature, 0 to 100. [°C]

    Returns
    -------
    float
        Porosity, from e^4.7 Ga = 18 Re + 2.7 Re^1.687. [-]

    Raises
    ------
    OutOfRangeError
        If the velocity carries the grains away.
    """
    reynolds = reynolds_number(velocity_m_h, grains.size_mm, temp_c)
    drag = 18.0 * reynolds + 2.7 * reynolds**1.687
    porosity = float((drag / galileo_number(grains, temp_c)) ** (1.0 / EXPANSION_EXPONENT))
    if porosity >= 1.0:
        raise OutOfRangeError(
            f"{velocity_m_h:.3g} m/h at {temp_c:g} °C carries grains of {grains.size_mm:g} mm away "
            "(HEN2011 Eq. 12.53): backwash slower"
        )
    return max(float(porosity), grains.porosity)


@cites("HEN2011", "Eq. 12.55")
def bed_expansion(grains: Grains, velocity_m_h: float, temp_c: float) -> float:
    """Return how much the bed grows in height, as a fraction of its settled height.

    Parameters
    ----------
    grains : Grains
        The grains. [-]
    velocity_m_h : float
        Superficial velocity. [m/h]
    temp_c : float
        Water temperature, 0 to 100. [°C]

    Returns
    -------
    float
        (e - e0) / (1 - e). [-]
    """
    porosity = expanded_porosity(grains, velocity_m_h, temp_c)
    return (porosity - grains.porosity) / (1.0 - porosity)


@cites("HEN2011", "Eq. 12.53 and 12.55, solved for the velocity")
def velocity_for_expansion_m_h(grains: Grains, expansion: float, temp_c: float) -> float:
    """Return the upward velocity that expands the bed by a given fraction.

    Parameters
    ----------
    grains : Grains
        The grains. [-]
    expansion : float
        Growth in height, above 0. [-]
    temp_c : float
        Water temperature, 0 to 100. [°C]

    Returns
    -------
    float
        Superficial velocity. [m/h]

    Raises
    ------
    OutOfRangeError
        If the expansion is not positive.
    """
    if not expansion > 0:
        raise OutOfRangeError(
            f"bed expansion is {expansion:g}: there is no room above the bed; use less medium or a "
            "taller vessel"
        )
    porosity = (grains.porosity + expansion) / (1.0 + expansion)
    drag = porosity**EXPANSION_EXPONENT * galileo_number(grains, temp_c)
    reynolds = float(drag / 18.0)
    for _ in range(60):  # Newton on a convex function from above: always converges
        gap = 18.0 * reynolds + 2.7 * reynolds**1.687 - drag
        step = gap / (18.0 + 2.7 * 1.687 * reynolds**0.687)
        reynolds -= step
        if abs(step) <= 1e-14 * reynolds:
            break
    return _velocity_m_h(reynolds, grains.size_mm, temp_c)


@cites("RZ1954", "exponents by Reynolds number")
def velocity_richardson_zaki_m_h(terminal_m_h: float, porosity: float, reynolds: float) -> float:
    """Return the upward velocity at a porosity from the settling velocity of one grain.

    Parameters
    ----------
    terminal_m_h : float
        Settling velocity of a single grain. [m/h]
    porosity : float
        Porosity of the expanded bed, 0 to 1. [-]
    reynolds : float
        Reynolds number of the settling grain. [-]

    Returns
    -------
    float
        Superficial velocity. [m/h]
    """
    if reynolds < 0.2:
        exponent = 4.65
    elif reynolds < 1.0:
        exponent = 4.35 * reynolds**-0.03
    elif reynolds < 500.0:
        exponent = 4.45 * reynolds**-0.1
    else:
        exponent = 2.39
    return float(terminal_m_h * porosity**exponent)


@cites("HEN2011", "buoyant weight of the bed")
def fluidised_head_loss_m(grains: Grains, depth_m: float, temp_c: float) -> float:
    """Return the head loss of a bed that is lifted: its weight in water.

    Parameters
    ----------
    grains : Grains
        The grains. [-]
    depth_m : float
        Settled depth. [m]
    temp_c : float
        Water temperature, 0 to 100. [°C]

    Returns
    -------
    float
        Head loss. [m water]
    """
    rho = density_kg_m3(temp_c)
    return depth_m * (1.0 - grains.porosity) * (grains.density_kg_m3 - rho) / rho


@cites("ERGUN1952", "k 150 and 1.75 for spheres")
def ergun_coefficients(
    porosity: float,
    size_mm: float,
    viscous: float = ERGUN_VISCOUS,
    inertial: float = ERGUN_INERTIAL,
) -> tuple[float, float]:
    """Return what the viscous and the inertial term of Ergun's equation take of the grains.

    The pressure lost per metre is laminar x viscosity x velocity + turbulent x density x
    velocity², with the velocity in m/h and the loss in kPa.

    Parameters
    ----------
    porosity : float
        Porosity of the bed in service. [-]
    size_mm : float
        Size of the grains times their shape factor. [mm]
    viscous : float
        Coefficient of the viscous term; 110 to 115 for sand, 210 to 245 for anthracite. [-]
    inertial : float
        Coefficient of the inertial term; 2.0 to 2.5 for sand, 3.5 to 5.3 for anthracite. [-]

    Returns
    -------
    tuple of float
        Laminar [kPa/m per Pa·s and m/h] and turbulent [kPa/m per kg/m³ and (m/h)²].
    """
    e, d = porosity, size_mm / MM_PER_M
    laminar = viscous * (1 - e) ** 2 / e**3 / d**2 / SECONDS_PER_HOUR / PA_PER_KPA
    turbulent = inertial * (1 - e) / e**3 / d / SECONDS_PER_HOUR**2 / PA_PER_KPA
    return laminar, turbulent


@cites("ERGUN1952", "k 150 and 1.75 for spheres")
def ergun_kpa_m(
    grains: Grains,
    velocity_m_h: float,
    temp_c: float,
    *,
    viscous: float = ERGUN_VISCOUS,
    inertial: float = ERGUN_INERTIAL,
) -> float:
    """Return the pressure lost per metre of a fixed bed.

    Parameters
    ----------
    grains : Grains
        The grains, with the porosity of the bed in service; size times shape factor. [-]
    velocity_m_h : float
        Superficial velocity. [m/h]
    temp_c : float
        Water temperature, 0 to 100. [°C]
    viscous : float
        Coefficient of the viscous term; 110 to 115 for sand, 210 to 245 for anthracite. [-]
    inertial : float
        Coefficient of the inertial term; 2.0 to 2.5 for sand, 3.5 to 5.3 for anthracite. [-]

    Returns
    -------
    float
        Pressure loss. [kPa/m]
    """
    laminar, turbulent = ergun_coefficients(grains.porosity, grains.size_mm, viscous, inertial)
    v = velocity_m_h
    return laminar * viscosity_pa_s(temp_c) * v + turbulent * density_kg_m3(temp_c) * v**2


@cites("DAVIS2010", "Example 11-2 (Rose)")
def rose_head_loss_m(
    velocity_m_s: float, depth_m: float, porosity: float, *, shape: float, drag_sum_per_m: float
) -> float:
    """Return the clean head loss of a filter by Rose, for Reynolds numbers up to 6.

    Parameters
    ----------
    velocity_m_s : float
        Filtration velocity. [m/s]
    depth_m : float
        Depth of the bed. [m]
    porosity : float
        Porosity of the bed. [-]
    shape : float
        Shape factor of the grains. [-]
    drag_sum_per_m : float
        Sum over the sieve fractions of drag coefficient times fraction over size. [1/m]

    Returns
    -------
    float
        Head loss. [m water]
    """
    return 1.067 * velocity_m_s**2 * depth_m * drag_sum_per_m / (shape * 9.81 * porosity**4)
