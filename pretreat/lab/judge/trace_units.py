"""Traces far above what a water can hold: most likely µg/L typed as mg/L."""

from collections.abc import Mapping
from functools import lru_cache

from msgspec import Struct

from pretreat.core.tables import rows
from pretreat.core.water import WaterAnalysis
from pretreat.lab.named import name_and_unit
from pretreat.lab.read.wording import shown

TYPED = "looks a thousand times too high"
LEAST_PH = 6.0  # PRACTICE: the waters of mines and dumps, more acid, hold metals in plenty
# What a laboratory reports in the same unit as these, and from where on it is to be asked for too.
SAME_UNIT = {"fe": 1.0, "mn": 0.5, "al": 0.5, "b": 5.0, "zn": 5.0, "cu": 1.0}  # PRACTICE: mg/L


class TraceUnit(Struct, frozen=True):
    """One row of data/trace_units.csv."""

    key: str
    above_mg_l: float
    beside: str
    beside_mg_l: float
    beside_ratio: float
    why: str


@lru_cache(maxsize=1)
def _highs() -> tuple[TraceUnit, ...]:
    return tuple(
        TraceUnit(
            r["key"],
            float(r["above_mg_l"]),
            r["beside"],
            float(r["beside_mg_l"] or 0.0),
            float(r["beside_ratio"] or 0.0),
            r["why"],
        )
        for r in rows("trace_units.csv")
    )


def unit_culprits(water: WaterAnalysis, mg_l: Mapping[str, float]) -> tuple[str, ...]:
    """Name the traces whose unit is most likely wrong.

    Parameters
    ----------
    water : WaterAnalysis
        The water. [-]
    mg_l : mapping of str to float
        Its composition, non-detects filled in. [mg/L as the ion]

    Returns
    -------
    tuple of str
        One sentence for all of them; empty where there are none. [-]
    """
    if water.ph is not None and water.ph < LEAST_PH:
        return ()
    seen: dict[str, TraceUnit] = {}
    for one in _highs():
        beside = mg_l.get(one.beside, 0.0)
        amount = _amount(water, one.key)
        enough = not one.beside or beside > one.beside_mg_l
        if amount > max(one.above_mg_l, one.beside_ratio * beside) and enough:
            seen.setdefault(one.key, one)
    if not seen:
        return ()
    texts = [
        f"{name_and_unit(k)[0]} {shown(_amount(water, k))} mg/L {TYPED} "
        f"(µg/L typed as mg/L; {one.why})"
        for k, one in seen.items()
    ]
    asked = [k for k, least in SAME_UNIT.items() if k not in seen and _amount(water, k) >= least]
    also = [f"{name_and_unit(k)[0]} {shown(_amount(water, k))} mg/L" for k in asked]
    more = f"; ask for the unit of {', '.join(also)} too" if also else ""
    return (f"{', '.join(texts)}{more}",)


def _amount(water: WaterAnalysis, key: str) -> float:
    return water.mg_l.get(key, water.properties.get(f"{key}_mg_l", 0.0))
