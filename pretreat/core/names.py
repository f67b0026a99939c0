"""Names end in their unit: the unit of a name, and its words without the unit."""

from functools import lru_cache

# Ending of a name -> unit, as figures show it. Longer endings are tried first.
ENDINGS = {
    "g_per_g_caco3": "g/g",
    "g_g": "g/g",
    "mg_mg": "mg/mg",
    "kg_caco3_d": "kg/d as CaCO3",
    "kg_caco3": "kg as CaCO3",
    "g_caco3_l": "g/L as CaCO3",
    "mg_l_caco3": "mg/L as CaCO3",
    "meq_l": "meq/L",
    "eq_l": "eq/L",
    "mg_l": "mg/L",
    "pci_l": "pCi/L",
    "cfu_100_ml": "CFU/100 mL",
    "g_l": "g/L",
    "mg_l_years": "mg/L·year",
    "mol_kg": "mol/kg",
    "g_per_g": "g/g",
    "kg_m3": "kg/m3",
    "m3_m3": "m3/m3",
    "g_kg": "g/kg",
    "grains_lb": "grains/lb",
    "per_m": "1/m",
    "kg_l": "kg/L",
    "g_m2": "g/m2",
    "l_m3": "L/m3",
    "m3_h": "m3/h",
    "m3_d": "m3/d",
    "m3_year": "m3/year",
    "m3_per_year": "m3/year",
    "m3_per_backwash": "m3",
    "m3_per_regeneration": "m3",
    "g_per_regeneration": "g",
    "g_h": "g/h",
    "kg_per_regeneration": "kg",
    "kg_per_year": "kg/year",
    "kg_year": "kg/year",
    "l_year": "L/year",
    "kwh_year": "kWh/year",
    "h_year": "h/year",
    "per_year": "1/year",
    "per_week": "1/week",
    "l_min": "L/min",
    "l_h": "L/h",
    "per_min": "1/min",
    "m_s": "m/s",
    "us_cm": "µS/cm",
    "us_gal": "gal",
    "hours_per_day": "h/d",
    "hours_d": "h/d",
    "h_d": "h/d",
    "days_per_year": "d/year",
    "bv_h": "BV/h",
    "m_h": "m/h",
    "pa_s": "Pa·s",
    "kpa": "kPa",
    "bar": "bar",
    "gpm": "gpm",
    "bv": "BV",
    "min": "min",
    "years": "year",
    "months": "month",
    "days": "d",
    "pct_per_year": "%/year",
    "saturation_pct": "% of saturation",
    "pct": "%",
    "cycles": "cycles",
    "kg": "kg",
    "m3": "m3",
    "m2": "m2",
    "lmh": "L/(m2·h)",
    "l_m2_h": "L/(m2·h)",
    "lmh_bar": "L/(m2·h·bar)",
    "kwh_m3": "kWh/m3",
    "w": "W",
    "kw": "kW",
    "kwh": "kWh",
    "g": "g",
    "l": "L",
    "m": "m",
    "h": "h",
    "d": "d",
    "c": "°C",
}
_LONGEST = 4  # words in an ending
PER = "per"  # before a unit it makes another, such as a price per kilogram
# Words that are a unit, or part of one, and nothing else in a name ("mg" is magnesium too).
PARTS = frozenset(
    {"kg", "ug", "ng", "g", "lb", "oz", "m3", "m2", "ft3", "ft2", "gal", "l", "ml", "psi", "kpa"}
    | {"kwh", "meq", "mmol", "mol", "eq", "gpm", "gpd", "bv"}
)


@lru_cache(maxsize=4096)
def split(name: str) -> tuple[str, str | None]:
    """Return the words of a name and its unit.

    Parameters
    ----------
    name : str
        Such as "load_kg_caco3_d", or a key such as "softener.load_kg_caco3_d". [-]

    Returns
    -------
    tuple of str
        Such as ("load", "kg/d as CaCO3"); the unit is None where the name has none. [-]
    """
    words = name.rsplit(".", 1)[-1].split("_")
    for count in range(min(_LONGEST, len(words)), 0, -1):
        ending = "_".join(words[-count:])
        if ending in ENDINGS:
            if words[-count - 1 : -count] == [PER]:  # not a kilogram, but per kilogram
                break
            return " ".join(words[:-count]) or " ".join(words), ENDINGS[ending]
    return " ".join(words), None


def refuse_cut(name: str) -> None:
    """Refuse a name that ends in a unit of which only a part is known here.

    Parameters
    ----------
    name : str
        Name of an argument of a law, or of a law. [-]

    Raises
    ------
    ValueError
        If "dose_lb_ft3" would have no unit, or "dose_kg_d" would be days.
    """
    rest, unit = split(name)
    left = rest.split(" ")
    whole = unit is not None and rest == name.replace("_", " ")  # the name is the unit
    if left[-1] in PARTS and len(left) > 1 and not whole and PER not in left[-2:-1]:
        known = "none" if unit is None else f"'{unit}' alone"
        raise ValueError(
            f"the unit of '{name}' is not known, {known} would be shown: add its ending to "
            "ENDINGS in core/names.py"
        )


def unit_of(name: str) -> str | None:
    """Return the unit that a name ends in, None where it ends in none.

    Parameters
    ----------
    name : str
        Name of an argument, or key of a figure. [-]

    Returns
    -------
    str or None
        Unit. [-]
    """
    return split(name)[1]


def words_of(name: str) -> str:
    """Return the words of a name without its unit.

    Parameters
    ----------
    name : str
        Name of an argument, or key of a figure. [-]

    Returns
    -------
    str
        Words. [-]
    """
    return split(name)[0]
