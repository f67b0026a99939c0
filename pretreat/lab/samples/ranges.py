"""Several analyses of one site: the range of each analyte, and how hard each is to desalt."""

from collections.abc import Callable, Sequence
from math import ceil
from statistics import median
from types import MappingProxyType

from msgspec import Struct

from pretreat.core.errors import AnalysisError
from pretreat.core.tables import analytes
from pretreat.core.water import WaterAnalysis
from pretreat.lab.named import name_and_unit

DEFAULT_PERCENTILE = 90.0


class SampleRange(Struct, frozen=True):
    """The range of one analyte over the samples; non-detects count at their limit.

    ``key`` is a key of data/analytes.csv, "ph", "temperature_c", "alkalinity_mg_l_caco3" or
    a property. ``detected`` of the ``count`` results are above their limit. ``lowest`` and
    ``highest`` name the samples of the ends; ``floor_detected`` is False where the minimum is
    the limit of a non-detect.
    """

    key: str
    unit: str
    count: int
    detected: int
    minimum: float
    median: float
    maximum: float
    percentile: float
    lowest: str
    highest: str
    floor_detected: bool = True


def percentile(values: Sequence[float], percent: float) -> float:
    """Return a percentile by linear interpolation between ranked values.

    Parameters
    ----------
    values : sequence of float
        At least one value. [unit]
    percent : float
        0 to 100. [%]

    Returns
    -------
    float
        The value below which that share of the samples lies. [unit]

    Raises
    ------
    AnalysisError
        If there are no values or the percentage is outside 0 to 100.
    """
    if not values or not 0 <= percent <= 100:
        raise AnalysisError(f"a percentile of {percent:g} % needs values, and 0 to 100 %")
    ranked = sorted(values)
    place = percent / 100 * (len(ranked) - 1)
    low, high = int(place), ceil(place)
    return ranked[low] + (place - low) * (ranked[high] - ranked[low])


def ranges(
    waters: Sequence[WaterAnalysis], percent: float = DEFAULT_PERCENTILE
) -> tuple[SampleRange, ...]:
    """Return minimum, median, maximum and a percentile of every analyte.

    Parameters
    ----------
    waters : sequence of WaterAnalysis
        Samples of one site. [-]
    percent : float
        The percentile wanted. [%]

    Returns
    -------
    tuple of SampleRange
        One per analyte that any sample has. [-]
    """
    found = []
    for key, unit, pick in _quantities(waters):
        results = [(*result, w.sample) for w in waters if (result := pick(w)) is not None]
        if results:
            found.append(_range(key, unit, results, percent))
    return tuple(found)


def _range(
    key: str, unit: str, results: list[tuple[float, bool, str]], percent: float
) -> SampleRange:
    values = [value for value, _, _ in results]
    least, most = values.index(min(values)), values.index(max(values))
    return SampleRange(
        key,
        unit,
        len(values),
        sum(seen for _, seen, _ in results),
        values[least],
        median(values),
        values[most],
        percentile(values, percent),
        results[least][2],
        results[most][2],
        results[least][1],
    )


Pick = Callable[[WaterAnalysis], tuple[float, bool] | None]


def _quantities(waters: Sequence[WaterAnalysis]) -> list[tuple[str, str, Pick]]:
    found: list[tuple[str, str, Pick]] = [
        ("ph", "-", lambda w: _seen(w.ph)),
        ("temperature_c", "°C", lambda w: _seen(w.temperature_c)),
        ("alkalinity_mg_l_caco3", "mg/L as CaCO3", lambda w: _seen(w.alkalinity_mg_l_caco3)),
    ]
    found += [(key, "mg/L", _ion(key)) for key in analytes()]
    names = sorted({k for w in waters for k in (*w.properties, *w.below_properties)})
    return found + [
        (name, _unit(name), _property(name))
        for name in names
        if not name.startswith(("ph_", "alkalinity_mg"))
    ]


def _seen(value: float | None) -> tuple[float, bool] | None:
    return None if value is None else (value, True)


def _ion(key: str) -> Pick:
    def pick(water: WaterAnalysis) -> tuple[float, bool] | None:
        limit = water.below_mg_l.get(key)
        if key in water.mg_l:
            return water.mg_l[key], True
        return None if limit is None else (limit, False)

    return pick


def _property(name: str) -> Pick:
    def pick(water: WaterAnalysis) -> tuple[float, bool] | None:
        limit = water.below_properties.get(name)
        if name in water.properties:
            return water.properties[name], True
        return None if limit is None else (limit, False)

    return pick


def _unit(name: str) -> str:
    endings = {
        "_mg_l_caco3": "mg/L as CaCO3",
        "_mg_l": "mg/L",
        "_us_cm": "µS/cm",
        "_ntu": "NTU",
        "_mv": "mV",
    }
    own = name_and_unit(name)[1] or "-"
    return next((unit for ending, unit in endings.items() if name.endswith(ending)), own)


# What makes a water hard to desalt: products that scale, and loads that decide vessels.
_SEVERITY: MappingProxyType[str, Pick] = MappingProxyType(
    {
        "calcium x alkalinity": lambda w: _product(w.get("ca"), w.alkalinity_mg_l_caco3),
        "calcium x sulfate": lambda w: _product(w.get("ca"), w.get("so4")),
        "barium x sulfate": lambda w: _product(w.get("ba"), w.get("so4")),
        "silica": lambda w: _seen(w.get("sio2")),
        "hardness": lambda w: _product(1.0, _sum(w.get("ca"), w.get("mg"))),
        "iron and manganese": lambda w: _product(1.0, _sum(w.get("fe"), w.get("mn"))),
    }
)


def _product(one: float | None, two: float | None) -> tuple[float, bool] | None:
    return None if one is None or two is None else (one * two, True)


def _sum(one: float | None, two: float | None) -> float | None:
    return None if one is None and two is None else (one or 0.0) + (two or 0.0)


def severity(waters: Sequence[WaterAnalysis]) -> tuple[float, ...]:
    """Rank samples by how hard they are to desalt.

    Parameters
    ----------
    waters : sequence of WaterAnalysis
        Samples of one site. [-]

    Returns
    -------
    tuple of float
        Mean rank over scaling products, hardness, silica, iron and manganese, 0 mildest to
        1 worst. [-]
    """
    totals = [0.0] * len(waters)
    counted = [0] * len(waters)
    for pick in _SEVERITY.values():
        known = [
            (n, result[0]) for n, water in enumerate(waters) if (result := pick(water)) is not None
        ]
        values = sorted(value for _, value in known)
        for n, value in known:
            totals[n] += values.index(value) / max(len(values) - 1, 1)
            counted[n] += 1
    return tuple(
        total / count if count else 0.0 for total, count in zip(totals, counted, strict=True)
    )
