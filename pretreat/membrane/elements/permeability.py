"""What the membrane lets through: A, B per ion class, temperature and age."""

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Literal

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.core.basis import cites
from pretreat.core.errors import AnalysisError, OutOfRangeError, one_of
from pretreat.core.tables import analytes, rows
from pretreat.core.units import molar_mass

DROP_RANGE = (0.1, 10.0)  # PRACTICE: a channel that is fouled tenfold is replaced
WATER_RANGE_LMH_BAR = (0.05, 20.0)
SALT_RANGE_LMH = (0.0, 50.0)
TEMPERATURE_RANGE_C = (0.0, 45.0)  # PRACTICE: highest running temperature of polyamide elements
REFERENCE_C = 25.0
Wall = Literal["recovery", "film"]


class IonClass(Struct, frozen=True):
    """One row of data/ion_permeability.csv; B relative to sodium chloride, or absolute [LMH]."""

    key: str
    kind: str
    value: float
    charge: int  # as counted in the balance; traces 0
    molar_mass: float  # NaN for a trace, whose unit is the caller's


@lru_cache(maxsize=1)
def ion_classes() -> Mapping[str, IonClass]:
    """Return how each constituent passes, by key.

    Returns
    -------
    mapping of str to IonClass
        Keys of data/analytes.csv, and the traces as3, u and ra. [-]
    """
    known = analytes()
    found = {}
    for row in rows("ion_permeability.csv"):
        key = row["key"]
        mass = molar_mass(known[key].formula) if key in known else float("nan")
        found[key] = IonClass(key, row["kind"], float(row["value"]), int(row["charge"]), mass)
    return MappingProxyType(found)


@cites("PRACTICE", "new brackish polyamide: 2.5 to 4 tight, 4 to 8 low pressure L/m2/h/bar")
def _usual_water_lmh_bar() -> float:
    return 4.0


@cites("PRACTICE", "sodium chloride 0.1 to 0.6 L/m2/h")
def _usual_salt_lmh() -> float:
    return 0.3


@cites("D4516", "1.03^(t - 25), the default of both coefficients")
def _usual_temperature_base() -> float:
    return 1.03


class Membrane(Struct, frozen=True):
    """A and B at 25 °C and how they change; floats or arrays that broadcast.

    ``salt_factors`` overrides the table: B of an ion relative to B of sodium chloride;
    ``salt_lmh_of`` gives B of an ion outright, as for boric acid.
    """

    water_lmh_bar: Any = field(default_factory=_usual_water_lmh_bar)
    salt_lmh: Any = field(default_factory=_usual_salt_lmh)
    water_temperature_base: float = field(default_factory=_usual_temperature_base)
    salt_temperature_base: float = field(default_factory=_usual_temperature_base)
    salt_factors: Mapping[str, Any] = field(default_factory=dict)
    salt_lmh_of: Mapping[str, Any] = field(default_factory=dict)
    wall: Wall = "recovery"
    drop_factor: Any = 1.0  # measured over calculated pressure drop


def check_membrane(membrane: Membrane) -> None:
    """Refuse coefficients that no membrane of this trade has.

    Parameters
    ----------
    membrane : Membrane
        The membrane. [-]

    Raises
    ------
    OutOfRangeError
        If A, B or a factor is out of range; one line for each.
    AnalysisError
        If a factor is given for a constituent that is not known.
    """
    refuse_outside("water permeability", membrane.water_lmh_bar, WATER_RANGE_LMH_BAR, "L/m2/h/bar")
    refuse_outside("salt permeability", membrane.salt_lmh, SALT_RANGE_LMH, "L/m2/h")
    refuse_outside("factor of the pressure drop", membrane.drop_factor, DROP_RANGE, "-")
    for table in (membrane.salt_factors, membrane.salt_lmh_of):
        for key, value in table.items():
            _known(key)
            refuse_outside(f"salt permeability of {key}", value, SALT_RANGE_LMH, "L/m2/h or -")


def refuse_outside(name: str, value: Any, limits: tuple[float, float], unit: str) -> None:
    """Refuse a value, or any of an array, outside limits; not-a-number is refused too.

    Parameters
    ----------
    name : str
        Name of the quantity, for the message. [-]
    value : float or array
        Its value. [unit]
    limits : tuple of float
        Lowest and highest value allowed. [unit]
    unit : str
        Unit, for the message. [-]

    Raises
    ------
    OutOfRangeError
        Naming the first value that is outside.
    """
    try:
        numbers = np.atleast_1d(np.asarray(value, float)).ravel()
    except (TypeError, ValueError):
        raise OutOfRangeError(f"{name} is {value!r}: give a number in {unit}") from None
    outside = ~((numbers >= limits[0]) & (numbers <= limits[1]))
    if outside.any():
        raise OutOfRangeError(
            f"{name} is {numbers[outside][0]:g} {unit}; it must be from {limits[0]:g} to "
            f"{limits[1]:g} {unit}: check the value and its unit"
        )


def _known(key: str) -> IonClass:
    classes = ion_classes()
    if key not in classes:
        raise AnalysisError(
            f"'{key}' is not a constituent whose passage is known"
            f"{one_of(key, list(classes))} Leave it out, or use one of: {', '.join(classes)}"
        )
    return classes[key]


def temperature_factor(temp_c: Any, base: float) -> Any:
    """Return a coefficient at a temperature over that at 25 °C.

    Parameters
    ----------
    temp_c : float or array
        Temperature, 0 to 45. [°C]
    base : float
        Growth per kelvin, 1.03 by default. [-]

    Returns
    -------
    float or array
        ``base^(t - 25)``. [-]
    """
    return base ** (np.asarray(temp_c, float) - REFERENCE_C)


def salt_permeability_lmh(membrane: Membrane, key: str, temp_c: Any) -> Any:
    """Return B of a constituent at a temperature.

    Parameters
    ----------
    membrane : Membrane
        The membrane. [-]
    key : str
        Constituent, a key of data/ion_permeability.csv. [-]
    temp_c : float or array
        Temperature, 0 to 45. [°C]

    Returns
    -------
    float or array
        Salt permeability. [L/m²/h]

    Raises
    ------
    AnalysisError
        If the constituent is not known.
    """
    row = _known(key)
    factor = temperature_factor(temp_c, membrane.salt_temperature_base)
    if key in membrane.salt_lmh_of:
        return membrane.salt_lmh_of[key] * factor
    if key in membrane.salt_factors:
        return membrane.salt_factors[key] * np.asarray(membrane.salt_lmh, float) * factor
    if row.kind == "absolute":
        return row.value * factor
    return row.value * np.asarray(membrane.salt_lmh, float) * factor


@cites("BORIC_PKA", "at 25 °C")
def boric_acid_fraction(ph: Any) -> Any:
    """Return the share of boron that is undissociated boric acid.

    Parameters
    ----------
    ph : float or array
        pH. [-]

    Returns
    -------
    float or array
        Share; the rest is borate, which is held back like a monovalent ion. [-]
    """
    return 1.0 / (1.0 + 10.0 ** (np.asarray(ph, float) - 9.24))


@cites("TU2013", "boric acid; borate as a monovalent ion, common practice")
def boron_permeability_lmh(membrane: Membrane, ph: Any) -> Any:
    """Return B of boron at 25 °C for a feed's pH, for ``Membrane.salt_lmh_of``.

    Parameters
    ----------
    membrane : Membrane
        The membrane. [-]
    ph : float or array
        pH of the array feed. [-]

    Returns
    -------
    float or array
        Salt permeability of boron. [L/m²/h]
    """
    acid = boric_acid_fraction(ph)
    return acid * ion_classes()["b"].value + (1.0 - acid) * np.asarray(membrane.salt_lmh, float)


@cites("PRACTICE", "A falls 3 to 7 % a year, B rises 5 to 10 % a year")
def aged(
    membrane: Membrane, years: float, water_loss: float = 0.05, salt_rise: float = 0.075
) -> Membrane:
    """Return the membrane after some years; yearly changes are common practice, no source.

    Parameters
    ----------
    membrane : Membrane
        As new. [-]
    years : float
        Age, 0 to 20. [a]
    water_loss : float
        Loss of A per year, 0 to 0.3. [1/a]
    salt_rise : float
        Rise of B per year, 0 to 0.5. [1/a]

    Returns
    -------
    Membrane
        With A and B of that age. [-]

    Raises
    ------
    OutOfRangeError
        If a value is outside its range.
    """
    refuse_outside("age of the membrane", years, (0.0, 20.0), "years")
    refuse_outside("loss of water permeability", water_loss, (0.0, 0.3), "per year")
    refuse_outside("rise of salt permeability", salt_rise, (0.0, 0.5), "per year")
    return replace(
        membrane,
        water_lmh_bar=membrane.water_lmh_bar * (1.0 - water_loss) ** years,
        salt_lmh=membrane.salt_lmh * (1.0 + salt_rise) ** years,
    )
