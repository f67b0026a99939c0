"""An analysis with some readings corrected by a person who has the paper in hand."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from msgspec.structs import replace

from pretreat.core.errors import AnalysisError, one_of
from pretreat.core.tables import analytes
from pretreat.core.water import WaterAnalysis

_FIELDS = ("ph", "temperature_c", "alkalinity_mg_l_caco3")
_TABLES = ("mg_l", "total_mg_l", "dissolved_mg_l", "properties")


def corrected(water: WaterAnalysis, changes: Mapping[str, str]) -> WaterAnalysis:
    """Return an analysis with other values for some analytes.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis as read. [-]
    changes : mapping of str to str
        Number by analyte or property, in its canonical unit; empty takes the result out. [-]

    Returns
    -------
    WaterAnalysis
        The analysis; a non-detect that is corrected is detected. [-]

    Raises
    ------
    AnalysisError
        If an analyte is not one that was read, or a value is no number.
    """
    known = {reading.analyte for reading in water.readings} | set(analytes())
    faults = []
    for key, text in changes.items():
        if key not in known:
            faults.append(f"'{key}' is not an analyte of this report{one_of(key, sorted(known))}")
            continue
        try:
            value = None if not text.strip() else float(text.replace(",", "."))
        except ValueError:
            faults.append(f"{key} = '{text[:40]}': write a number, or nothing to take it out")
            continue
        if value is not None and not 0 <= value < float("inf"):
            faults.append(f"{key} = {value:g}: write a number from 0")
            continue
        water = _with(water, key, value)
    if faults:
        raise AnalysisError(*faults)
    return water


def _with(water: WaterAnalysis, key: str, value: float | None) -> WaterAnalysis:
    if key in _FIELDS:
        other = {k: v for k, v in water.properties.items() if not k.startswith(f"{key}_")}
        fields: dict[str, Any] = {key: value}
        return replace(water, properties=MappingProxyType(other), **fields)
    tables: dict[str, Any] = {name: dict(getattr(water, name)) for name in _TABLES}
    held = [name for name in _TABLES if key in tables[name]] or [_home(key)]
    for name in held:
        tables[name].pop(key, None)
        if value is not None:
            tables[name][key] = value
    below = {name: dict(getattr(water, name)) for name in ("below_mg_l", "below_properties")}
    for table in below.values():
        table.pop(key, None)
    made: dict[str, Any] = {k: MappingProxyType(v) for k, v in (tables | below).items()}
    return replace(water, **made)


def _home(key: str) -> str:
    return "mg_l" if key in analytes() else "properties"
