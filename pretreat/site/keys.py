"""The keys of the site file: how each is read, in which unit, within which bounds.

Keys of a unit process live with it, as a `Table`; the reader of the site file is handed them.
"""

from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

from msgspec import Struct

from pretreat.core.doors import quoted
from pretreat.core.errors import DesignError, one_of
from pretreat.core.tables import analytes, rows
from pretreat.site.design import Prices
from pretreat.site.readers import (
    Read,
    date,
    flag,
    measured,
    number,
    path,
    plain,
    temperature,
    text,
    word,
)

__all__ = [
    "HIGHEST_RECOVERY",
    "POSITIVE",
    "SECTIONS",
    "YES_NO",
    "Keys",
    "Read",
    "Table",
    "date",
    "flag",
    "known_keys",
    "measured",
    "number",
    "path",
    "plain",
    "temperature",
    "text",
    "word",
]

Keys = Mapping[str, tuple[str, Read, str]]  # key -> field of the record, reader, unit or "bare"


class Table(Struct, frozen=True):
    """A table of the site file that a unit process reads.

    ``check`` returns faults of keys that do not go together; ``fill`` the values that follow from
    those given, which count as assumed; ``installed`` lists the sets of
    fields each of which describes a vessel well enough to quote its medium; ``prices`` are
    keys of [prices] that the process adds.
    """

    record: Callable[..., Any]
    keys: Keys
    check: Callable[[Mapping[str, Any]], list[str]] | None = None
    fill: Callable[[Mapping[str, Any]], dict[str, Any]] | None = None
    installed: tuple[frozenset[str], ...] = ()
    prices: tuple[str, ...] = ()


def _most(price: str) -> float:
    """Return the highest value of a price; the rate of interest is a share, not a price."""
    return 1.0 if price == "discount_rate" else POSITIVE


def _range(where: str, value: Any, _base: Path) -> tuple[float, float]:
    pair = value if isinstance(value, list) else []
    share = number(0.0, 1.0, "")
    pair = [share(where, n, _base) if isinstance(n, str) and "%" in n else n for n in pair]
    plain_pair = all(isinstance(n, int | float) and not isinstance(n, bool) for n in pair)
    if not (len(pair) == 2 and plain_pair and 0 < pair[0] <= pair[1] < 1):
        raise DesignError(f"{where} = {quoted(value)}: write two fractions, as in [0.5, 0.75]")
    return float(pair[0]), float(pair[1])


def _profile(where: str, value: Any, base: Path) -> str | tuple[float, ...]:
    """Read 24 numbers from midnight on, or a name of data/demand_profiles.csv."""
    names = tuple(dict.fromkeys(row["name"] for row in rows("demand_profiles.csv")))
    if isinstance(value, str):
        return str(word(*names)(where, value, base))
    numbers = value if isinstance(value, list) else []
    if len(numbers) != HOURS_OF_A_DAY:
        raise DesignError(
            f"{where} = {quoted(value)}: write 24 numbers from midnight on, or one of "
            f"{', '.join(names)}"
        )
    shares = tuple(float(number(0.0, POSITIVE, "")(where, item, base)) for item in numbers)
    if not sum(shares) > 0:
        raise DesignError(f"{where}: all 24 numbers are 0; write when water is drawn")
    return shares


def _salt_passage(where: str, value: Any, base: Path) -> float | Mapping[str, float] | str:
    in_percent = isinstance(value, str) and value.rstrip().endswith("%")
    if isinstance(value, str) and not in_percent:
        return word("generic")(where, value, base)
    if not isinstance(value, Mapping):
        return float(number(0.0, 1.0, "")(where, value, base))
    table: dict[str, float] = {}
    for ion, passage in value.items():
        key = ion.casefold()
        if key not in analytes() and key != "default":
            raise DesignError(f"{where}.{ion}: not an ion{one_of(key, list(analytes()))}")
        table[key] = float(number(0.0, 1.0, "")(f"{where}.{ion}", passage, base))
    return MappingProxyType(table)


MOST_UNCERTAIN_PCT = 200.0


def _uncertainty(where: str, value: Any, base: Path) -> Mapping[str, float]:
    """Read expanded uncertainties (k = 2) in percent: one for all results, or by analyte."""
    read = number(0.0, MOST_UNCERTAIN_PCT, "%")
    if not isinstance(value, Mapping):
        return MappingProxyType({"default": float(read(where, value, base))})
    known = [*analytes(), "alkalinity", "hardness", "default"]
    table: dict[str, float] = {}
    for name, amount in value.items():
        key = name.casefold()
        if key not in known:
            raise DesignError(f"{where}.{name}: not a result of a report{one_of(key, known)}")
        table[key] = float(read(f"{where}.{name}", amount, base))
    return MappingProxyType(table)


POSITIVE = 1e9
HOURS_OF_A_DAY = 24
MOST_COUNTED = 1_000  # vessels of a stage, elements of a vessel
MOST_STAGES = 6
LOWEST_RECOVERY, HIGHEST_RECOVERY = 0.01, 0.95
LEAST_FLOW_M3_H = 1e-4  # a litre in ten hours: nothing smaller is a machine
YES_NO = {"include": ("include", flag, "")}


def _array(where: str, value: Any, _base: Path) -> tuple[int, ...]:
    """Read vessels per stage, feed to concentrate."""
    counts = value if isinstance(value, list) else []
    whole = all(
        isinstance(n, int) and not isinstance(n, bool) and 1 <= n <= MOST_COUNTED for n in counts
    )
    if not 0 < len(counts) <= MOST_STAGES or not whole:
        raise DesignError(f"{where} = {quoted(value)}: write vessels per stage, as in [2, 1]")
    return tuple(counts)


def _count(where: str, value: Any, _base: Path) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or not 1 <= value <= MOST_COUNTED:
        raise DesignError(f"{where} = {quoted(value)}: write a whole number, 1 or more")
    return value


def _salt_permeability(where: str, value: Any, base: Path) -> float | Mapping[str, float]:
    """Read B of sodium chloride, or B of ions one by one with ``default`` for sodium chloride."""
    read = number(0.0, MOST_SALT_LMH, "")
    if not isinstance(value, Mapping):
        return float(read(where, value, base))
    known = [row["key"] for row in rows("ion_permeability.csv")]
    table: dict[str, float] = {}
    for ion, amount in value.items():
        key = ion.casefold()
        if key not in known and key != "default":
            raise DesignError(f"{where}.{ion}: not an ion{one_of(key, known)}")
        table[key] = float(read(f"{where}.{ion}", amount, base))
    return MappingProxyType(table)


def _of_targets(column: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(row[column] for row in rows("product_targets.csv")))


MOST_SALT_LMH = 50.0  # L/m2/h; beyond it nothing is held back
_ELEMENTS: dict[str, Any] = {
    "element": ("element", text, ""),
    **measured("element_area", "m2", "m2", 0.2, 60.0),
    "array": ("array", _array, ""),
    "elements_per_vessel": ("elements_per_vessel", _count, ""),
    **plain("water_permeability_lmh_bar", 0.05, 20.0),
    "salt_permeability_lmh": ("salt_permeability_lmh", _salt_permeability, ""),
    **plain("drop_factor", 0.1, 10.0),
    **measured("product_pressure", "bar", "bar", 0.0, 10.0),
    **measured("interstage_loss", "bar", "bar", 0.0, 10.0),
    "feed_kind": ("feed_kind", word("well", "filtered", "surface"), ""),
    **plain("flux_l_m2_h", 5.0, 60.0),
    **plain("max_element_recovery", 0.01, 0.3),
    **measured("vessel_pressure", "bar", "bar", 5.0, 120.0),
    "wall": ("wall", word("recovery", "film"), ""),
    **plain("pump_efficiency", 0.05, 1.0),
    **plain("motor_efficiency", 0.05, 1.0),
    **measured("suction_pressure", "bar", "bar", 0.0, 120.0),
}


SECTIONS: dict[str, dict[str, Any]] = {
    "site": {
        **{n: (n, text, "") for n in ("name", "place", "prepared_for", "prepared_by")},
        "units": ("units", word("si", "us"), ""),
    },
    "water": {
        "analysis": ("analysis", path, ""),
        "sample": ("sample", text, ""),
        "sheet": ("sheet", text, ""),
        "column": ("column", text, ""),
        "unit": ("unit", text, ""),
        "sampled": ("sampled", date, ""),
        **measured("hardness", "mg_l_caco3", "mg/L as CaCO3", 0.0, 20_000.0),
        **measured("iron", "mg_l", "mg/L", 0.0, 1_000.0),
        **measured("manganese", "mg_l", "mg/L", 0.0, 1_000.0),
        **plain("ph", 0.0, 14.0),
        **measured("alkalinity", "mg_l_caco3", "mg/L as CaCO3", 0.0, 20_000.0),
        **measured("tds", "mg_l", "mg/L", 0.0, 200_000.0),
        **measured("conductivity", "us_cm", "µS/cm", 0.0, 300_000.0),
        **measured("silica", "mg_l", "mg/L", 0.0, 1_000.0),
        **measured("chlorine", "mg_l", "mg/L", 0.0, 100.0),
        **temperature("temperature"),
        **temperature("operating_temperature"),
        **temperature("coldest_temperature"),
        **temperature("warmest_temperature"),
        "uncertainty_pct": ("uncertainty_pct", _uncertainty, ""),
        "non_detects_scaling": ("non_detects_scaling", word("limit", "half", "zero"), ""),
        "non_detects_balance": ("non_detects_balance", word("limit", "half", "zero"), ""),
        "adjust_balance": ("adjust_balance", word("no", "na", "cl"), ""),
        "design_water": (
            "design_water",
            word("sample", "severe sample", "envelope", "percentile"),
            "",
        ),
        **plain("percentile", 50.0, 100.0),
    },
    "machine": {
        **measured("product_flow", "m3_h", "m3/h", LEAST_FLOW_M3_H, 10_000.0),
        "recovery": ("recovery", number(LOWEST_RECOVERY, HIGHEST_RECOVERY, ""), "bare"),
        **plain("hours_per_day", 0.01, 24.0),
        **plain("days_per_year", 0.1, 366.0),
        "recovery_range": ("recovery_range", _range, ""),
        **measured("recycle_flow", "m3_h", "m3/h", 0.0, 10_000.0),
        "salt_passage": ("salt_passage", _salt_passage, ""),
        "saturation_at": ("saturation_at", word("bulk", "wall"), ""),
        **plain("element_recovery", 0.0, 0.5, open_low=True),
        **measured("drain_flow", "m3_h", "m3/h", LEAST_FLOW_M3_H, 10_000.0),
        **measured("feed_pressure", "bar", "bar", 0.0, 100.0),
        **temperature("reference_temperature"),
        **_ELEMENTS,
    },
    "product": {
        "target": ("target", word(*_of_targets("target")), ""),
        "jurisdiction": ("jurisdiction", word(*_of_targets("jurisdiction")), ""),
        **measured("least_hardness", "mg_l_caco3", "mg/L as CaCO3", 0.0, 500.0),
        **measured("least_alkalinity", "mg_l_caco3", "mg/L as CaCO3", 0.0, 500.0),
        **measured("least_calcium", "mg_l", "mg/L", 0.0, 200.0),
        **plain("least_lsi", -3.0, 1.0),
        **plain("calcite_co2_share", 0.1, 0.99),
    },
    "supply": {
        **measured("pump_flow", "m3_h", "m3/h", 0.0, 10_000.0),
        **measured("pump_pressure", "bar", "bar", 0.0, 100.0),
        **measured("well_yield", "m3_h", "m3/h", 0.0, 10_000.0),
        **measured("raw_tank_volume", "m3", "m3", 0.0, POSITIVE),
        **measured("product_tank_volume", "m3", "m3", 0.0, POSITIVE),
        "vented_raw_tank": ("vented_raw_tank", flag, ""),
        **measured("demand", "m3_d", "m3/d", 0.0, POSITIVE),
        "demand_profile": ("demand_profile", _profile, ""),
    },
    "record": {
        **measured("salt_bag", "kg", "kg", 0.0, 2_000.0, open_low=True),
        **measured("permanganate_bag", "kg", "kg", 0.0, 500.0, open_low=True),
        **plain("ppm_per_us_cm", 0.3, 1.1),
        "dates": ("dates", word("day first", "month first"), ""),
        "file": ("file", path, ""),
        "set_points_from": ("set_points_from", text, ""),
    },
    "prices": {
        "currency": ("currency", text, ""),
        **{
            name: (name, number(0.0, _most(name), ""), "bare")
            for name in Prices.__struct_fields__
            if name not in {"currency", "more"}
        },
    },
}


def known_keys(tables: Mapping[str, Table]) -> dict[str, Keys]:
    """Return every key of the site file by its table; [limits] has a reader of its own.

    Parameters
    ----------
    tables : mapping of str to Table
        Tables of the unit processes by their keys. [-]

    Returns
    -------
    dict of str to mapping
        Field, reader and unit of each key. [-]
    """
    from pretreat.site.quote_keys import QUOTE  # it is made of readers that stand here

    known: dict[str, Keys] = {**SECTIONS, **{key: table.keys for key, table in tables.items()}}
    known["quote"] = QUOTE
    known["prices"] = {**SECTIONS["prices"], **added_prices(tables)}
    return known


def added_prices(tables: Mapping[str, Table]) -> dict[str, Any]:
    """Return the keys of prices that unit processes add.

    Parameters
    ----------
    tables : mapping of str to Table
        Tables of the unit processes by their keys. [-]

    Returns
    -------
    dict
        Entries for a table of keys. [-]
    """
    return {
        name: (name, number(0.0, POSITIVE, ""), "bare")
        for table in tables.values()
        for name in table.prices
    }
