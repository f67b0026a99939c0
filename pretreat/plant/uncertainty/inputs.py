"""What is uncertain in a design, and how much: the lab's own word first, else a usual value."""

import math
import re
from collections.abc import Iterable, Mapping
from typing import Literal

from pretreat.chemistry.species import Array
from pretreat.core.basis import cites
from pretreat.core.tables import analytes
from pretreat.core.water import Reading, WaterAnalysis
from pretreat.lab.hardness_split import SplitCases
from pretreat.lab.water_figures import AT_LIMIT, Composition
from pretreat.plant.uncertainty.distributions import (
    Distribution,
    Normal,
    Rectangular,
    Triangular,
)
from pretreat.plant.uncertainty.draws import Draws, Uncertain
from pretreat.plant.uncertainty.usual import LEAST_SHARE, default_distribution, engine_u_log

ENGINE = "engine."  # before the name of a scale: the error of its constants
IMPLIED = ("na", "cl")  # that an analysis may lack and its salinity tells
IMPLIED_U = 0.15  # PRACTICE: of salt told from conductivity, whose factor is 0.5 to 0.75
COVERAGE = 2.0  # k of the expanded uncertainty that a laboratory prints
LEAST_CALCIUM_SHARE = 0.4  # PRACTICE: dolomite gives one half; less is rare
PLANT_NAMES = {
    "hours": "running hours",
    "flow": "flow",
    "resin_capacity": "resin capacity",
    "salt_per_regeneration": "salt per regeneration",
    "media_capacity": "capacity of the filter medium",
    "carbon_capacity": "capacity of the carbon",
    "weak_acid_share": "share that the weak acid exchange takes",
    "co2_removed": "part of the carbon dioxide that is stripped",
    "softener_leakage": "leakage of the softener",
}
PLANT_MEASURES = {
    "hours": "running hours, by a counter",
    "flow": "flow, by a water meter",
    "weak_acid_share": "hardness and alkalinity behind the weak acid exchange at the end of a run",
    "co2_removed": "pH and alkalinity behind the aerator or degasser",
    "softener_leakage": "hardness behind the softener at the end of a run",
}
PH_AT_THE_WELL = "pH, at the well"  # where only the laboratory measured it
_STATED = re.compile(r"(?:±|\+\s*/\s*-|\+-)\s*(\d+(?:[.,]\d+)?)\s*(%)?")


@cites("JCGM100", "u = U / k; a laboratory prints U with k = 2")
def stated_u(reading: Reading) -> float | None:
    """Return the standard uncertainty that a report prints beside a result ("118 ± 6").

    Parameters
    ----------
    reading : Reading
        The trail of the result. [-]

    Returns
    -------
    float or None
        Half of what is printed, in the unit of the result; None where nothing is. [-]
    """
    found = _STATED.search(reading.text)
    if found is None or reading.value is None:
        return None
    printed = float(found[1].replace(",", "."))
    if found[2]:
        return abs(reading.value) * printed / (100.0 * COVERAGE)
    return printed * abs(1.0 if reading.factor is None else reading.factor) / COVERAGE


def stated_by_report(readings: Iterable[Reading]) -> dict[str, float]:
    """Return the standard uncertainties that a report prints, by analyte or property.

    Parameters
    ----------
    readings : iterable of Reading
        The trail of the report; what was not used is left out. [-]

    Returns
    -------
    dict of str to float
        Standard uncertainty in the unit of the result. [-]
    """
    found = {r.analyte: stated_u(r) for r in readings if r.used}
    return {key: u for key, u in found.items() if u is not None}


def _measured(
    key: str, value: float, kind: str, default: str, stated: Mapping[str, tuple[float, str]]
) -> tuple[Distribution, str]:
    """Return what a measured value may be, and who says so."""
    if key in stated:
        u, origin = stated[key]
        return Normal(value, u, LEAST_SHARE * value if value >= 0 else -math.inf), origin
    return default_distribution(kind, default, value), "usual, no statement of the laboratory"


def uncertain_water(
    water: WaterAnalysis,
    taken: Composition,
    site_pct: Mapping[str, float] | None = None,
    *,
    ph_u: float | None = None,
) -> tuple[Uncertain, ...]:
    """Return the uncertain inputs of an analysis.

    What the site file states goes before what the report prints, and that before the usual
    values. A non-detect that stands at its limit (the ions that form scale) is not drawn; any
    other is uniform between zero and its limit.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    taken : Composition
        What the chemistry takes of it. [-]
    site_pct : mapping of str to float, optional
        Expanded uncertainty (k = 2) by analyte, "alkalinity", as the site file states it. [%]
    ph_u : float, optional
        Standard uncertainty of the pH where the site file states it. [-]

    Returns
    -------
    tuple of Uncertain
        Ions, alkalinity, pH and temperature, in the order of the report's table. [-]
    """
    stated = _stated(water, taken, site_pct or {})
    found = [_ion(key, value, water, stated) for key, value in taken.scaling.items()]
    alkalinity = taken.alkalinity_mg_l_caco3
    if math.isfinite(alkalinity) and alkalinity > 0:
        spread, origin = _measured("alkalinity", alkalinity, "property", "alkalinity", stated)
        found.append(
            Uncertain("alkalinity", "alkalinity", spread, origin, "alkalinity, at the well")
        )
    if water.ph is not None:
        found.append(_ph(water, stated, ph_u))
    found.append(_temperature(water, taken))
    return tuple(item for item in found if item is not None and item.distribution.u > 0)


def _stated(
    water: WaterAnalysis, taken: Composition, site_pct: Mapping[str, float]
) -> dict[str, tuple[float, str]]:
    found = {k: (u, "printed in the report") for k, u in stated_by_report(water.readings).items()}
    values = {**taken.scaling, "alkalinity": taken.alkalinity_mg_l_caco3}
    for key, pct in site_pct.items():
        if key in values:
            found[key] = (abs(values[key]) * pct / (100.0 * COVERAGE), "site file")
    return found


def _ion(
    key: str, value: float, water: WaterAnalysis, stated: Mapping[str, tuple[float, str]]
) -> Uncertain | None:
    name = analytes()[key].name
    if key in water.mg_l:
        spread, origin = _measured(key, value, "analyte", key, stated)
        return Uncertain(key, name, spread, origin, name)
    if key in IMPLIED and not water.measured(key) and value > 0:
        spread = Normal(value, IMPLIED_U * value, LEAST_SHARE * value)
        return Uncertain(key, name, spread, "estimated, it was not measured", name)
    limit = water.below_mg_l.get(key)
    if limit is None or key in AT_LIMIT or value <= 0:
        return None
    origin = "not detected: anything up to the limit"
    return Uncertain(key, name, Rectangular(0.0, limit), origin, f"{name}, with a lower limit")


def ph_is_of_the_well(water: WaterAnalysis) -> bool:
    """Tell whether the pH counts as measured at the well.

    A pH whose place is not said counts as the well's where the report prints the temperature
    of the water, as it does for the temperature to which the pH belongs.
    """
    return water.ph_kind == "field" or (
        water.ph_kind == "unknown" and water.temperature_c is not None
    )


def _ph(
    water: WaterAnalysis, stated: Mapping[str, tuple[float, str]], ph_u: float | None
) -> Uncertain:
    value = math.nan if water.ph is None else water.ph
    measure = PH_AT_THE_WELL
    if ph_u is not None:
        return Uncertain("ph", "pH", Normal(value, ph_u), "site file", measure)
    place = "ph_field" if ph_is_of_the_well(water) else "ph_lab"
    spread, origin = _measured("ph", value, "property", place, stated)
    if place == "ph_field":
        measure = "a second pH, at the well"
    return Uncertain("ph", "pH", spread, origin, measure)


def _temperature(water: WaterAnalysis, taken: Composition) -> Uncertain:
    key = "temperature" if water.temperature_c is not None else "temperature_assumed"
    spread = default_distribution("property", key, taken.operating_temp_c)
    return Uncertain(
        "temperature",
        "water temperature",
        spread,
        "usual",
        "water temperature, coldest and warmest",
    )


def uncertain_hardness(
    cases: SplitCases, stated_u_mg_l_caco3: float | None = None
) -> tuple[Uncertain, ...]:
    """Return the uncertain inputs of a total hardness that was split into calcium and magnesium.

    Parameters
    ----------
    cases : SplitCases
        The hardness and its split. [-]
    stated_u_mg_l_caco3 : float, optional
        Standard uncertainty of the hardness where it is stated; usual if omitted. [mg/L as CaCO3]

    Returns
    -------
    tuple of Uncertain
        "hardness", and "calcium_share" where the usual split was taken: then anything from
        two fifths to all of it is calcium. [-]
    """
    total, share = cases.taken.hardness_mg_l_caco3, cases.taken.calcium_share
    spread: Distribution = default_distribution("property", "hardness", total)
    origin = "usual, no statement of the laboratory"
    if stated_u_mg_l_caco3 is not None:
        spread = Normal(total, stated_u_mg_l_caco3, LEAST_SHARE * total)
        origin = "stated"
    found = [Uncertain("hardness", "total hardness", spread, origin, "total hardness")]
    if cases.assumed:
        found.append(
            Uncertain(
                "calcium_share",
                "share of calcium in the hardness",
                Triangular(LEAST_CALCIUM_SHARE, share, 1.0),
                "assumed, calcium was not measured",
                "calcium",
            )
        )
    return tuple(item for item in found if item.distribution.u > 0)


def uncertain_plant(
    values: Mapping[
        Literal[
            "hours",
            "flow",
            "resin_capacity",
            "salt_per_regeneration",
            "media_capacity",
            "carbon_capacity",
            "weak_acid_share",
            "co2_removed",
            "softener_leakage",
        ],
        float,
    ],
    *,
    hours_counted: bool = False,
) -> tuple[Uncertain, ...]:
    """Return the uncertain inputs of the plant that are known by value.

    Parameters
    ----------
    values : mapping of str to float
        The values of the design, by the plant's keys of data/uncertainty.csv. [unit of the row]
    hours_counted : bool
        The running hours come from a counter. [-]

    Returns
    -------
    tuple of Uncertain
        One per value. [-]
    """
    found = []
    for key, value in values.items():
        row = "hours_counted" if key == "hours" and hours_counted else str(key)
        spread = default_distribution("plant", row, value)
        found.append(Uncertain(key, PLANT_NAMES[key], spread, "usual", PLANT_MEASURES.get(key, "")))
    return tuple(found)


def uncertain_engine(scales: Iterable[str]) -> tuple[Uncertain, ...]:
    """Return the error of each scale's index that the spread of published constants makes.

    Parameters
    ----------
    scales : iterable of str
        Names of scales. [-]

    Returns
    -------
    tuple of Uncertain
        Keys "engine.<scale>", around zero, in log10 of the saturation. [-]
    """
    return tuple(
        Uncertain(
            f"{ENGINE}{k}",
            f"solubility of {k.replace('_', ' ')}",
            Normal(0.0, u),
            "spread of published constants",
        )
        for k in scales
        if (u := engine_u_log(k)) > 0
    )


def engine_errors(draws: Draws) -> dict[str, Array]:
    """Return the drawn errors of the indexes by scale.

    Parameters
    ----------
    draws : Draws
        Draws with those of `uncertain_engine` among them. [-]

    Returns
    -------
    dict of str to array, shape (n,)
        Error of log10 of the saturation. [-]
    """
    return {k.removeprefix(ENGINE): v for k, v in draws.values.items() if k.startswith(ENGINE)}
