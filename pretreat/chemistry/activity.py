"""Properties of water and activity coefficients of the ion-association model."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from pretreat.core.basis import cites
from pretreat.core.units import ZERO_C_IN_K

Array = NDArray[np.float64]

TEMPERATURE_RANGE_C = (0.0, 90.0)  # PB82, abstract: carbonate constants "between 0 and 90 °C"


@cites("KELL75", "equation for the density at 1 atm")
def water_density_kg_l(temp_c: Any) -> Any:
    """Return the density of pure water at 1 atm.

    Parameters
    ----------
    temp_c : float or array
        Temperature, 0 to 100. [°C]

    Returns
    -------
    float or array
        Density. [kg/L]
    """
    t = temp_c
    top = (
        999.83952
        + 16.945176 * t
        - 7.9870401e-3 * t**2
        - 46.170461e-6 * t**3
        + 105.56302e-9 * t**4
        - 280.54253e-12 * t**5
    )
    return top / (1 + 16.879850e-3 * t) / 1000.0


@cites("BP79", "dielectric constant, pressure 1 atm")
def dielectric_constant(temp_c: Any) -> Any:
    """Return the relative permittivity of water at 1 atm.

    Parameters
    ----------
    temp_c : float or array
        Temperature, 0 to 350. [°C]

    Returns
    -------
    float or array
        Relative permittivity. [-]
    """
    t = np.asarray(temp_c, float) + ZERO_C_IN_K
    at_1000_bar = 342.79 * np.exp(t * (-5.0866e-3 + t * 9.4690e-7))
    b = -8032.5 + 4214200.0 / t + 2.1417 * t
    c = -2.0525 + 3115.9 / (t - 182.89)
    return at_1000_bar + c * np.log((b + 1.01325) / (b + 1000.0))


@cites("BP79", "Debye-Hückel limiting slope")
def debye_huckel(temp_c: Any) -> tuple[Any, Any]:
    """Return the Debye-Hückel parameters A and B of water at 1 atm.

    Parameters
    ----------
    temp_c : float or array
        Temperature, 0 to 100. [°C]

    Returns
    -------
    tuple of float or array
        A [kg^0.5/mol^0.5] and B [kg^0.5/(mol^0.5 Å)].
    """
    t = np.asarray(temp_c, float) + ZERO_C_IN_K
    # Bjerrum length in cm: e² / (k T) in esu²/erg = 1.671008e-3 / T.
    length_cm = 1.671008e-3 / (dielectric_constant(temp_c) * t)
    per_cm3 = 6.02214076e23 * water_density_kg_l(temp_c) / 1000.0
    b_cm = np.sqrt(8.0 * np.pi * length_cm * per_cm3)
    return b_cm * length_cm / (2.0 * np.log(10.0)), b_cm * 1e-8


@cites("DAVIES62", "log gamma, 0.3 I")
def davies_pf(ionic_strength: Any, slope: Any) -> Any:
    """Return -log10 of the activity coefficient of a monovalent ion.

    Parameters
    ----------
    ionic_strength : float or array
        Ionic strength, up to about 0.5. [mol/kg]
    slope : float or array
        Debye-Hückel A. [kg^0.5/mol^0.5]

    Returns
    -------
    float or array
        -log10 gamma; four times as much for a divalent ion. [-]
    """
    root = np.sqrt(ionic_strength)
    return slope * (root / (1.0 + root) - 0.3 * ionic_strength)
