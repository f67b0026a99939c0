"""Viscosity and density of water."""

from pretreat.core.basis import cites
from pretreat.core.errors import check_range

GRAVITY_M_S2 = 9.80665  # standard acceleration, by definition
LIQUID_C = (0.0, 100.0)


@cites("KESTIN1978", "Eq. 15, from memory")
def viscosity_pa_s(temp_c: float) -> float:
    """Return the dynamic viscosity of water at 1 bar.

    Parameters
    ----------
    temp_c : float
        Temperature, 0 to 100. [°C]

    Returns
    -------
    float
        Dynamic viscosity. [Pa·s]

    Raises
    ------
    OutOfRangeError
        If the temperature is outside the correlation.
    """
    check_range("water temperature", temp_c, LIQUID_C, "°C", "KESTIN1978")
    x = 20.0 - temp_c
    return 1.002e-3 * 10 ** (x / (temp_c + 96.0) * (1.2364 - 1.37e-3 * x + 5.7e-6 * x * x))


@cites("KELL75", "Eq. 16, from memory")
def density_kg_m3(temp_c: float) -> float:
    """Return the density of air-free water at 1 atm.

    Parameters
    ----------
    temp_c : float
        Temperature, 0 to 100. [°C]

    Returns
    -------
    float
        Density. [kg/m³]

    Raises
    ------
    OutOfRangeError
        If the temperature is outside the correlation.
    """
    check_range("water temperature", temp_c, LIQUID_C, "°C", "KELL75")
    t = temp_c
    top = 999.83952 + t * (
        16.945176
        + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12)))
    )
    return top / (1.0 + 16.879850e-3 * t)
