"""Sums over an analysis: equivalents and dissolved solids; floats or arrays alike.

A composition is a mapping from the keys of data/analytes.csv to mg/L as the ion; what was not
measured is absent. Alkalinity is handed over on its own, because a printed alkalinity beats
bicarbonate and carbonate.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pretreat.core.basis import cites
from pretreat.core.errors import AnalysisError, one_of
from pretreat.core.tables import Analyte, analytes
from pretreat.core.units import CACO3_MG_PER_MEQ, molar_mass

Number = float | NDArray[np.float64]
Composition = Mapping[str, Number]

CARBONATES = ("hco3", "co3")
# Charge that an ion still carries at the end point of the alkalinity titration; what it lost
# on the way is already counted in the alkalinity.
CHARGE_BESIDE_ALKALINITY = {"po4": -1}


def known_ion(key: str) -> Analyte:
    """Return the ion of a key, refusing one that is not known.

    Parameters
    ----------
    key : str
        Key of data/analytes.csv. [-]

    Returns
    -------
    Analyte
        The ion. [-]

    Raises
    ------
    AnalysisError
        If there is no such key.
    """
    try:
        return analytes()[key]
    except KeyError:
        near = one_of(str(key), [*analytes()])
        raise AnalysisError(f"{key!r} is not an ion of data/analytes.csv{near}") from None


def meq_l(key: str, mg_l: Number) -> Number:
    """Return an ion's concentration in milliequivalents, with its full charge.

    Parameters
    ----------
    key : str
        Key of data/analytes.csv. [-]
    mg_l : float or array
        Concentration. [mg/L as the ion]

    Returns
    -------
    float or array
        Concentration, without sign. [meq/L]
    """
    ion = known_ion(key)
    return mg_l * (abs(ion.charge) / molar_mass(ion.formula))


def charge_beside_alkalinity(key: str) -> int:
    """Return the charge that an ion brings to the balance beside the alkalinity.

    Parameters
    ----------
    key : str
        Key of data/analytes.csv. [-]

    Returns
    -------
    int
        Charge; 0 for what is counted in the alkalinity. [-]
    """
    if key in CARBONATES:
        return 0
    return CHARGE_BESIDE_ALKALINITY.get(key, known_ion(key).charge)


@cites("SM1030E", "definition of the ion balance")
def ion_sums_meq_l(mg_l: Composition, alkalinity_mg_l_caco3: Number) -> tuple[Any, Any]:
    """Return the sums of cations and of anions.

    Bicarbonate, carbonate, hydroxide, borate and silicate enter as the alkalinity.

    Parameters
    ----------
    mg_l : mapping of str to float or array
        Composition. [mg/L as the ion]
    alkalinity_mg_l_caco3 : float or array
        Total alkalinity. [mg/L as CaCO3]

    Returns
    -------
    tuple of float or array
        Sum of cations and sum of anions. [meq/L]
    """
    cations: Any = 0.0
    anions: Any = alkalinity_mg_l_caco3 / CACO3_MG_PER_MEQ
    for key, amount in mg_l.items():
        charge = charge_beside_alkalinity(key)
        if charge == 0:
            continue
        equivalents = amount * (abs(charge) / molar_mass(analytes()[key].formula))
        if charge > 0:
            cations = cations + equivalents
        else:
            anions = anions + equivalents
    return cations, anions


def tds_mg_l(mg_l: Composition, hco3_mg_l: Number, co3_mg_l: Number = 0.0) -> Any:
    """Return total dissolved solids: the sum of ions with full bicarbonate, plus silica.

    Parameters
    ----------
    mg_l : mapping of str to float or array
        Composition; its own hco3 and co3 are left out. [mg/L as the ion]
    hco3_mg_l, co3_mg_l : float or array
        Bicarbonate and carbonate. [mg/L]

    Returns
    -------
    float or array
        Sum. [mg/L]
    """
    total: Any = hco3_mg_l + co3_mg_l
    for key, amount in mg_l.items():
        if key not in CARBONATES:
            total = total + amount
    return total
