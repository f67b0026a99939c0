"""How canonical units are shown in US customary units."""

from msgspec import Struct

from pretreat.core.text import lazy
from pretreat.core.units.formulas import (
    G_L_PER_KGR_FT3,
    G_L_PER_LB_FT3,
    GRAM_PER_GRAIN,
    GRAM_PER_POUND,
    KPA_PER_PSI,
    LITRE_PER_CUBIC_FOOT,
    LITRE_PER_US_GALLON,
    M_H_PER_GPM_FT2,
    METRE_PER_FOOT,
    MG_L_CACO3_PER_GPG,
)


class Display(Struct, frozen=True):
    """How a canonical unit is shown in US customary units: value * factor + offset."""

    unit: str
    factor: float
    offset: float = 0.0


_LITRE_PER_M3 = 1000.0
_GFD_PER_LMH = 24 * METRE_PER_FOOT**2 / LITRE_PER_US_GALLON  # gallons a day on a square foot
_PLAIN: dict[str, Display] = {
    "m3/h": Display("gpm", _LITRE_PER_M3 / LITRE_PER_US_GALLON / 60),
    "m3/d": Display("gpd", _LITRE_PER_M3 / LITRE_PER_US_GALLON),
    "m3": Display("gal", _LITRE_PER_M3 / LITRE_PER_US_GALLON),
    "m3/year": Display("1,000 gal/year", 1 / LITRE_PER_US_GALLON),
    "L": Display("ft3", 1 / LITRE_PER_CUBIC_FOOT),
    "L of water": Display("gal", 1 / LITRE_PER_US_GALLON),
    "L/min": Display("gpm", 1 / LITRE_PER_US_GALLON),
    "L/d": Display("gpd", 1 / LITRE_PER_US_GALLON),
    "kg": Display("lb", 1000 / GRAM_PER_POUND),
    "kg/year": Display("lb/year", 1000 / GRAM_PER_POUND),
    "kg/d as CaCO3": Display("gr/d", 1000 / GRAM_PER_GRAIN),
    "g": Display("oz", 16 / GRAM_PER_POUND),
    "m": Display("in", 12 / METRE_PER_FOOT),
    "m2": Display("ft2", 1 / METRE_PER_FOOT**2),
    "m/h": Display("gpm/ft2", 1 / M_H_PER_GPM_FT2),
    "kPa": Display("psi", 1 / KPA_PER_PSI),
    "bar": Display("psi", 100 / KPA_PER_PSI),
    "°C": Display("°F", 1.8, 32.0),
    "mg/L as CaCO3": Display("gpg as CaCO3", 1 / MG_L_CACO3_PER_GPG),
    "g/L as CaCO3": Display("kgr/ft3", 1 / G_L_PER_KGR_FT3),
    "g/L": Display("lb/ft3", 1 / G_L_PER_LB_FT3),
    "g/L of solution": Display("lb/gal", LITRE_PER_US_GALLON / GRAM_PER_POUND),
    "BV/h": Display("gpm/ft3", LITRE_PER_CUBIC_FOOT / LITRE_PER_US_GALLON / 60),
    "g/h": Display("oz/h", 16 / GRAM_PER_POUND),
    "g/m2": Display("oz/ft2", 16 / GRAM_PER_POUND * METRE_PER_FOOT**2),
    "kg as CaCO3": Display("kgr as CaCO3", 1 / GRAM_PER_GRAIN),
    "kg/L": Display("lb/ft3", 1000 * LITRE_PER_CUBIC_FOOT / GRAM_PER_POUND),
    "kg/m3": Display("lb/ft3", LITRE_PER_CUBIC_FOOT / GRAM_PER_POUND),
    "L/m3": Display("gal/1,000 gal", 1.0),
    "L/h": Display("gph", 1 / LITRE_PER_US_GALLON),
    "L/year": Display("ft3/year", 1 / LITRE_PER_CUBIC_FOOT),
    "L/(m2·h)": Display("gfd", _GFD_PER_LMH),
    "L/(m2·h·bar)": Display("gfd/psi", _GFD_PER_LMH * KPA_PER_PSI / 100),
    "kWh/m3": Display("kWh/1,000 gal", LITRE_PER_US_GALLON),
}


# What a price is given by: EUR/kg is shown as EUR/lb.
_PRICED_PER = {
    "kg": _PLAIN["kg"],
    "L": _PLAIN["L"],
    "m3": Display("1,000 gal", 1 / LITRE_PER_US_GALLON),
}


_CURRENCY_CODE = lazy(r"[A-Z]{3}")


class _Displays(dict[str, Display]):
    """Displays by unit; a price by a measure (EUR/kg) is found by that measure."""

    def __contains__(self, unit: object) -> bool:
        return isinstance(unit, str) and self.get(unit) is not None

    def __missing__(self, unit: str) -> Display:
        money, _, measure = unit.partition("/")
        per = _PRICED_PER.get(measure)
        if per is None or not (_CURRENCY_CODE.fullmatch(money) or money == "currency"):
            raise KeyError(unit)
        return Display(f"{money}/{per.unit}", 1.0 / per.factor)

    def get(self, unit: str, default: Display | None = None) -> Display | None:  # type: ignore[override]
        try:
            return self[unit]
        except KeyError:
            return default


US_CUSTOMARY = _Displays(_PLAIN)

# Litres of water are shown in gallons, where litres of a medium are shown in cubic feet.
_LITRES_OF_WATER = lazy(r"\.refill_l$|\.day_tank_l$|\.settings\.volume_l$")
WATER = "L of water"
# Salt on a resin goes by the cubic foot, a chemical in a tank by the gallon.
_OF_SOLUTION = lazy(r"\.solution_g_l$")
SOLUTION = "g/L of solution"


def unit_shown(name: str, unit: str) -> str:
    """Return the unit by which the US customary display of a quantity is found.

    Parameters
    ----------
    name : str
        Key of the figure, or of the series and the column ("softener.settings.volume_l"). [-]
    unit : str
        A canonical unit of the program. [-]

    Returns
    -------
    str
        The unit, of litres of water and of solutions as such. [-]
    """
    if unit == "g/L" and _OF_SOLUTION.search(name):
        return SOLUTION
    return WATER if unit == "L" and _LITRES_OF_WATER.search(name) else unit


def us_customary(value: float, unit: str) -> tuple[float, str]:
    """Return a value and its unit in US customary units, unchanged where none is usual.

    Parameters
    ----------
    value : float
        The value. [unit]
    unit : str
        A canonical unit of the program. [-]

    Returns
    -------
    tuple of float and str
        Value and unit as shown. [-]
    """
    shown = US_CUSTOMARY.get(unit)
    return (value, unit) if shown is None else (value * shown.factor + shown.offset, shown.unit)
