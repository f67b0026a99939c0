"""Several analyses of one site: ranges, and the water to design for."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil
from statistics import median
from types import MappingProxyType
from typing import Literal

from pretreat.basis import Flag
from pretreat.errors import AnalysisError
from pretreat.tables import analytes
from pretreat.units import HCO3_PER_CACO3
from pretreat.water import WaterAnalysis

DEFAULT_PERCENTILE = 90.0
Mode = Literal["sample", "envelope"]


@dataclass(frozen=True, slots=True)
class SampleRange:
    """The range of one analyte over the samples; non-detects count at their limit.

    ``key`` is a key of data/analytes.csv, "ph", "temperature_c", "alkalinity_mg_l_caco3" or
    a property. ``detected`` of the ``count`` results are above their limit.
    """

    key: str
    unit: str
    count: int
    detected: int
    minimum: float
    median: float
    maximum: float
    percentile: float


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
        results = [result for water in waters if (result := pick(water)) is not None]
        values = [value for value, _ in results]
        if values:
            found.append(
                SampleRange(
                    key,
                    unit,
                    len(values),
                    sum(seen for _, seen in results),
                    min(values),
                    median(values),
                    max(values),
                    percentile(values, percent),
                )
            )
    return tuple(found)


Pick = Callable[[WaterAnalysis], tuple[float, bool] | None]


def _quantities(waters: Sequence[WaterAnalysis]) -> list[tuple[str, str, Pick]]:
    found: list[tuple[str, str, Pick]] = [
        ("ph", "-", lambda w: _seen(w.ph)),
        ("temperature_c", "°C", lambda w: _seen(w.temperature_c)),
        ("alkalinity_mg_l_caco3", "mg/L as CaCO3", lambda w: _seen(w.alkalinity_mg_l_caco3)),
    ]
    found += [(key, "mg/L", _ion(key)) for key in analytes()]
    names = sorted({key for water in waters for key in water.properties})
    return found + [
        (name, _unit(name), _property(name)) for name in names if not name.startswith("ph_")
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
    return lambda water: _seen(water.properties.get(name))


def _unit(name: str) -> str:
    endings = {
        "_mg_l_caco3": "mg/L as CaCO3",
        "_mg_l": "mg/L",
        "_us_cm": "µS/cm",
        "_ntu": "NTU",
        "_mv": "mV",
    }
    return next((unit for ending, unit in endings.items() if name.endswith(ending)), "-")


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


def design_water(
    waters: Sequence[WaterAnalysis], mode: Mode = "sample", percent: float = DEFAULT_PERCENTILE
) -> WaterAnalysis:
    """Return the water to design for, and say how it was chosen.

    Parameters
    ----------
    waters : sequence of WaterAnalysis
        Samples of one site. [-]
    mode : {"sample", "envelope"}
        A real sample, the one whose severity stands at the percentile; or an envelope in which
        each analyte takes its own percentile. [-]
    percent : float
        The percentile. [%]

    Returns
    -------
    WaterAnalysis
        The water, with a flag that explains the choice. [-]

    Raises
    ------
    AnalysisError
        If there are no samples.
    """
    if not waters:
        raise AnalysisError("there is no sample to design for")
    if len(waters) == 1:
        return waters[0]
    return _real(waters, percent) if mode == "sample" else _envelope(waters, percent)


def _real(waters: Sequence[WaterAnalysis], percent: float) -> WaterAnalysis:
    scores = severity(waters)
    wanted = percentile(scores, percent)
    chosen = min(
        range(len(waters)), key=lambda n: (scores[n] < wanted - 1e-12, abs(scores[n] - wanted))
    )
    text = (
        f"of {len(waters)} samples '{waters[chosen].sample}' is designed for: a real "
        f"analysis that closes, the mildest "
        f"that is at least as severe as {percent:g} % of them (scaling products, "
        f"hardness, silica, iron and manganese)"
    )
    return waters[chosen].with_flags(Flag("design_sample", "info", text))


def _envelope(waters: Sequence[WaterAnalysis], percent: float) -> WaterAnalysis:
    found = {one.key: one for one in ranges(waters, percent)}
    mg_l = {k: found[k].percentile for k in analytes() if k in found and found[k].detected}
    below: dict[str, float | None] = {
        k: found[k].percentile for k in analytes() if k in found and not found[k].detected
    }
    for key in analytes():
        if key not in mg_l and key not in below and any(key in w.below_mg_l for w in waters):
            below[key] = None
    alkalinity = found.get("alkalinity_mg_l_caco3")
    if alkalinity is not None and "co3" not in mg_l:
        mg_l["hco3"] = alkalinity.percentile * HCO3_PER_CACO3
    text = (
        f"an envelope of {len(waters)} samples: each analyte at its own {percent:g} % "
        f"percentile, no water that was ever "
        "sampled; its charges need not balance, and it is severer than any real sample"
    )
    most = max(waters, key=lambda water: len(water.mg_l))
    ph, temperature = found.get("ph"), found.get("temperature_c")
    return replace(
        most,
        sample=f"envelope of {len(waters)} samples",
        ph=ph.percentile if ph else None,
        temperature_c=temperature.median if temperature else None,
        alkalinity_mg_l_caco3=alkalinity.percentile if alkalinity else None,
        mg_l=MappingProxyType(mg_l),
        below_mg_l=MappingProxyType(below),
        total_mg_l=_envelope_of(waters, "total_mg_l", percent),
        dissolved_mg_l=_envelope_of(waters, "dissolved_mg_l", percent),
        properties=MappingProxyType(
            {
                k: one.percentile
                for k, one in found.items()
                if k not in analytes() and k not in {"ph", "temperature_c", "alkalinity_mg_l_caco3"}
            }
        ),
        readings=(),
        flags=(Flag("design_envelope", "caution", text),),
        date="",
    )


def _envelope_of(
    waters: Sequence[WaterAnalysis], name: str, percent: float
) -> MappingProxyType[str, float]:
    keys = [key for key in analytes() if any(key in getattr(water, name) for water in waters)]
    found = {}
    for key in keys:
        values = [getattr(w, name)[key] for w in waters if key in getattr(w, name)]
        found[key] = percentile(values, percent)
    return MappingProxyType(found)
