"""The feed channel: viscosity, pressure drop, film theory of the wall concentration."""

from typing import Any

import numpy as np

from pretreat.core.basis import cites
from pretreat.core.units import ZERO_C_IN_K
from pretreat.membrane.elements.element import Element

DENSITY_KG_M3 = 997.0  # pure water at 25 °C (KELL75); the correlations are no better than this
PA_PER_BAR = 1e5
SECONDS_PER_HOUR = 3600.0
LMH_PER_M_S = 3.6e6  # 1 m/s is 3.6e6 L/(m2 h)
REFERENCE_C = 25.0


@cites("VISCOSITY_VOGEL", "2.414e-5 x 10^(247.8/(T - 140))")
def water_viscosity_pa_s(temp_c: Any) -> Any:
    """Return the dynamic viscosity of water.

    Parameters
    ----------
    temp_c : float or array
        Temperature, 0 to 100. [°C]

    Returns
    -------
    float or array
        Viscosity, within about 2.5 % of the reference. [Pa s]
    """
    return 2.414e-5 * 10.0 ** (247.8 / (np.asarray(temp_c, float) + ZERO_C_IN_K - 140.0))


def channel_velocity_m_s(flow_m3_h: Any, element: Element) -> Any:
    """Return the mean velocity in the feed channel.

    Parameters
    ----------
    flow_m3_h : float or array
        Flow through the channel. [m³/h]
    element : Element
        The element. [-]

    Returns
    -------
    float or array
        Velocity. [m/s]
    """
    return np.asarray(flow_m3_h, float) / (SECONDS_PER_HOUR * element.cross_section_m2)


def reynolds(flow_m3_h: Any, temp_c: Any, element: Element) -> Any:
    """Return the Reynolds number of the feed channel.

    Parameters
    ----------
    flow_m3_h : float or array
        Flow through the channel. [m³/h]
    temp_c : float or array
        Temperature. [°C]
    element : Element
        The element. [-]

    Returns
    -------
    float or array
        Reynolds number on the hydraulic diameter. [-]
    """
    speed = channel_velocity_m_s(flow_m3_h, element)
    return speed * element.hydraulic_diameter_m * DENSITY_KG_M3 / water_viscosity_pa_s(temp_c)


@cites("SCHOCKMIQUEL1987", "friction 6.23 Re^-0.3 of spacer-filled channels")
def pressure_drop_bar(flow_m3_h: Any, temp_c: Any, element: Element) -> Any:
    """Return the pressure drop along one element.

    ``6.23 Re^-0.3 rho u² L / (2 d_h)``, so about the flow to the power 1.7. Calibrate by one
    factor from a measured drop.

    Parameters
    ----------
    flow_m3_h : float or array
        Mean of feed and concentrate of the element. [m³/h]
    temp_c : float or array
        Temperature. [°C]
    element : Element
        The element. [-]

    Returns
    -------
    float or array
        Pressure drop. [bar]
    """
    speed = channel_velocity_m_s(flow_m3_h, element)
    number = np.maximum(reynolds(flow_m3_h, temp_c, element), 1e-6)
    head = DENSITY_KG_M3 * speed**2 * element.length_m / (2.0 * element.hydraulic_diameter_m)
    return 6.23 * number**-0.3 * head / PA_PER_BAR


@cites(
    "SCHOCKMIQUEL1987", "Sh = 0.065 Re^0.875 Sc^0.25; D of sodium chloride scaled by T/viscosity"
)
def mass_transfer_m_s(flow_m3_h: Any, temp_c: Any, element: Element) -> Any:
    """Return the mass transfer coefficient of salt between bulk and wall.

    Parameters
    ----------
    flow_m3_h : float or array
        Mean of feed and concentrate of the element. [m³/h]
    temp_c : float or array
        Temperature. [°C]
    element : Element
        The element. [-]

    Returns
    -------
    float or array
        Coefficient k. [m/s]
    """
    viscosity = water_viscosity_pa_s(temp_c)
    kelvin = np.asarray(temp_c, float) + ZERO_C_IN_K
    at_25 = water_viscosity_pa_s(REFERENCE_C) / (REFERENCE_C + ZERO_C_IN_K)
    diffusion = 1.61e-9 * kelvin / viscosity * at_25
    schmidt = viscosity / (DENSITY_KG_M3 * diffusion)
    sherwood = 0.065 * reynolds(flow_m3_h, temp_c, element) ** 0.875 * schmidt**0.25
    return sherwood * diffusion / element.hydraulic_diameter_m


@cites("SCHOCKMIQUEL1987", "film theory, exp(J/k) at complete rejection")
def film_wall_factor(flux_lmh: Any, flow_m3_h: Any, temp_c: Any, element: Element) -> Any:
    """Return the wall concentration over that in bulk by film theory.

    Larger than ``exp(0.7 r)`` by more than 10 % at low cross-flow: the cautious form for
    scaling at the wall.

    Parameters
    ----------
    flux_lmh : float or array
        Flux through the membrane. [L/m²/h]
    flow_m3_h : float or array
        Mean of feed and concentrate of the element. [m³/h]
    temp_c : float or array
        Temperature. [°C]
    element : Element
        The element. [-]

    Returns
    -------
    float or array
        Factor. [-]
    """
    speed = np.asarray(flux_lmh, float) / LMH_PER_M_S
    return np.exp(speed / mass_transfer_m_s(flow_m3_h, temp_c, element))


@cites("PRACTICE", "exp(0.7 r), one element geometry; no standard found")
def recovery_wall_factor(element_recovery: Any) -> Any:
    """Return the wall concentration over that in bulk from the recovery of the element.

    Parameters
    ----------
    element_recovery : float or array
        Product / feed of one element of nominal 40 inch; in use up to 0.3. [-]

    Returns
    -------
    float or array
        ``exp(0.7 r)``. [-]
    """
    return np.exp(0.7 * np.asarray(element_recovery, float))
