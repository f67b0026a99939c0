"""The site file (TOML), and how it becomes a design basis; its keys are in `site_keys`."""

import re
from collections.abc import Callable, Mapping
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType
from typing import Any

from pretreat.core.doors import LONGEST_QUOTED, Kind, file_bytes, one_line, quoted
from pretreat.core.errors import DesignError, PretreatError, one_of
from pretreat.core.units import USUAL_UNITS
from pretreat.site.design import (
    DesignBasis,
    LimitChoices,
    Machine,
    OwnPackage,
    Prices,
    ProductUse,
    QuoteTerms,
    RecordChoices,
    SiteName,
    Supply,
    WaterBasis,
)
from pretreat.site.keys import HIGHEST_RECOVERY, Keys, Table, added_prices, known_keys
from pretreat.site.limits import read_limits
from pretreat.site.prices import metric_prices
from pretreat.site.quote_keys import rate_alone, read_packages, sold
from pretreat.site.toml_file import SITE_FILE, read_toml


def _section(name: str, table: Any, known: Keys, base: Path, faults: list[str]) -> dict[str, Any]:
    """Read one table of the site file; collect faults rather than stop at the first."""
    found: dict[str, Any] = {}
    for key, value in table.items():
        where = f"[{name}] {one_line(key, LONGEST_QUOTED)}"
        if key not in known:
            faults.append(f"{where}: unknown key{_near(key, known)}")
            continue
        field_name, read, unit = known[key]
        if unit not in ("", "bare") and not isinstance(value, str):
            choice = USUAL_UNITS.get(unit, unit)
            faults.append(
                f"{where} = {quoted(value)}: has no unit; write number and unit in quotes "
                f'({choice}), as in {key} = "{one_line(str(value), 20)} '
                f'{choice.split(",")[0].split(" or")[0]}"'
            )
            continue
        try:
            found[field_name] = read(where, value, base)
        except PretreatError as problem:
            faults.extend(problem.faults)
    return found


def _near(key: str, known: Mapping[str, Any]) -> str:
    """Name the known key that holds the word as its last part, else the nearest in spelling."""
    meant = [k for k in known if k.endswith((f"_{key}", f"_{key}_c")) and k.startswith("operating")]
    return f"; did you mean '{meant[0]}'?" if meant else one_of(key, list(known))


_RECORDS: dict[str, Callable[..., Any]] = {
    "site": SiteName,
    "water": WaterBasis,
    "machine": Machine,
    "supply": Supply,
    "product": ProductUse,
    "record": RecordChoices,
    "prices": Prices,
    "quote": QuoteTerms,
}


def read_site(
    path: str | Path, tables: Mapping[str, Table], *, water_needed: bool = True
) -> DesignBasis:
    """Read a site file.

    Parameters
    ----------
    path : str or Path
        The TOML file. Paths inside it are relative to it. [-]
    tables : mapping of str to Table
        Tables of the unit processes by their keys. [-]
    water_needed : bool
        False where the vessels installed will do without any water. [-]

    Returns
    -------
    DesignBasis
        The engineer's choices, in canonical units. [-]

    Raises
    ------
    DesignError
        If the file cannot be read, a required key is missing, a key is unknown or a value
        is outside its range; one line per fault.
    """
    path = Path(path)
    content, places = read_content(path, tables)
    return design_from(
        content, path.parent, tables, path.name, water_needed=water_needed, places=places
    )


def read_content(
    path: Path, tables: Mapping[str, Table]
) -> tuple[dict[str, Any], Mapping[str, str]]:
    """Read what a site file says, be it TOML or the workbook that the command ``new`` writes.

    Parameters
    ----------
    path : Path
        The file. [-]
    tables : mapping of str to Table
        Tables of the unit processes by their keys. [-]

    Returns
    -------
    tuple of dict and mapping
        Tables as TOML has them, and the cell of each key; no cells of a TOML file. [-]

    Raises
    ------
    DesignError
        If the file cannot be read.
    """
    head = file_bytes(path, FORM)
    if head[:2] == b"PK":
        from pretreat.site.sheets.reader import read_form

        return read_form(path, tables)
    try:
        return with_metric_prices(read_toml(path, SITE_FILE)), {}
    except DesignError as problem:
        raise DesignError(*(_of_file(path.name, fault) for fault in problem.faults)) from None


def _of_file(name: str, fault: str) -> str:
    return fault if fault.startswith(name) else f"{name}: {fault}"


def with_metric_prices(content: Mapping[str, Any]) -> dict[str, Any]:
    """Return the content of a site file or a price list with prices per kg, L and m3.

    Parameters
    ----------
    content : mapping
        Tables as typed. [-]

    Returns
    -------
    dict
        The same tables; see `metric_prices`. [-]
    """
    prices = content.get("prices")
    if not isinstance(prices, Mapping):
        return dict(content)
    return {**content, "prices": metric_prices(prices)}


FORM = Kind(
    "the site file", "no such file; check the name, or make one with 'new'", 30, DesignError
)


def _two_currencies(prices: Mapping[str, Any], terms: Mapping[str, Any]) -> list[str]:
    """Refuse a quote in another currency than that of the prices: amounts are not converted."""
    listed, quoted = prices.get("currency", ""), terms.get("currency", "")
    numbers = any(key != "currency" for key in prices)
    if not (numbers and listed and quoted) or listed.casefold() == quoted.casefold():
        return []
    return [
        f"[quote] currency is {quoted}, the prices are in {listed}: amounts are not converted; "
        f"leave out [quote] currency, or give the prices in {quoted}"
    ]


def design_from(
    content: Mapping[str, Any],
    base: Path,
    tables: Mapping[str, Table],
    name: str = "site file",
    *,
    water_needed: bool = True,
    places: Mapping[str, str] = MappingProxyType({}),
) -> DesignBasis:
    """Build a design basis from the content of a site file.

    Parameters
    ----------
    content : mapping
        Tables of the site file. [-]
    base : Path
        Folder to which paths are relative. [-]
    tables : mapping of str to Table
        Tables of the unit processes by their keys. [-]
    name : str
        Name of the file, for messages. [-]
    water_needed : bool
        As in `read_site`. [-]
    places : mapping of str to str
        Where a form holds each key ("machine.recovery"), for messages. [-]

    Returns
    -------
    DesignBasis
        The engineer's choices. [-]

    Raises
    ------
    DesignError
        As in `read_site`.
    """
    faults: list[str] = []
    try:
        content = with_metric_prices(content)
    except DesignError as problem:
        faults.extend(problem.faults)
    sections = _sections(content, base, tables, faults)
    packages = _packages(content, base, sections, faults)
    limits = LimitChoices()
    if isinstance(content.get("limits"), Mapping):
        try:
            limits = read_limits(content["limits"], base)
        except PretreatError as problem:
            faults.extend(problem.faults)
    given = {f"{s}.{k}" for s, values in sections.items() for k in values}
    for key, table in tables.items():
        if table.check is not None:
            faults += table.check(sections.get(key, {}))
        if table.fill is not None and key in sections:
            sections[key] |= table.fill(sections[key])
    _keep_hardness(sections.get("water", {}), content.get("water"))
    faults += _missing(sections, content, None if water_needed else tables)
    faults += _recovery_from_drain(sections.get("machine", {}))
    faults += _half_an_array(content.get("machine"))
    faults += _temperature_order(sections.get("water", {}))
    faults += _no_record(sections.get("record", {}))
    faults += rate_alone(sections.get("quote", {}))
    faults += _two_currencies(sections.get("prices", {}), sections.get("quote", {}))
    if faults:
        raise DesignError(*(f"{name}: {in_cell(fault, places)}" for fault in faults))
    chosen = given | {f"machine.{k}" for k in sections.get("machine", ())}
    chosen |= {f"limits.{k}" for k in content.get("limits", {})}
    return DesignBasis(
        limits=limits, packages=packages, chosen=frozenset(chosen), **_records(sections, tables)
    )


def _keep_hardness(water: dict[str, Any], given: Any) -> None:
    """Keep a hardness as it was typed, since whoever measured it thinks in its unit."""
    typed = given.get("hardness") if isinstance(given, Mapping) else None
    if isinstance(typed, str) and "hardness_mg_l_caco3" in water:
        water["hardness_typed"] = " ".join(typed.split())


def in_cell(fault: str, places: Mapping[str, str]) -> str:
    """Return a fault of a site file with the cell of the form in place of the table.

    Parameters
    ----------
    fault : str
        Such as "[machine] recovery is missing; write recovery = 0.65". [-]
    places : mapping of str to str
        Cells of the form by key; without them the fault stays as it is. [-]

    Returns
    -------
    str
        Such as "sheet 'Site', cell B9: recovery is missing; write 0.65". [-]
    """
    found = re.match(r"\[(\w+)\] (\w+)", fault)
    place = places.get(f"{found[1]}.{found[2]}") if found else None
    if found is None or place is None:
        return fault
    said = re.sub(r'\b(write|as in) (\w+) = "?([^"]*)"?', r"\1 \3", fault[len(found[1]) + 3 :])
    return f"{place}: {said}"


def _sections(
    content: Mapping[str, Any], base: Path, tables: Mapping[str, Table], faults: list[str]
) -> dict[str, dict[str, Any]]:
    """Return the values of every table of the site file, limits aside."""
    known = known_keys(tables)
    sections: dict[str, dict[str, Any]] = {}
    for key, table in content.items():
        if key not in (*known, *_APART):
            faults.append(f"[{key}]: unknown table{one_of(key, [*known, *_APART])}")
        elif not isinstance(table, Mapping):
            faults.append(f"{key} = {table!r}: must stand in a table such as [machine]")
        elif key not in _APART:
            sections[key] = _section(key, table, known[key], base, faults)
    return sections


_APART = ("limits", "packages")  # tables with a reader of their own


def _packages(
    content: Mapping[str, Any], base: Path, sections: dict[str, dict[str, Any]], faults: list[str]
) -> Mapping[str, OwnPackage]:
    """Return the packages of the user; the price of a package becomes that of a unit."""
    if not isinstance(content.get("packages"), Mapping):
        return MappingProxyType({})
    try:
        packages, prices = read_packages(content["packages"], base)
    except PretreatError as problem:
        faults.extend(problem.faults)
        return MappingProxyType({})
    given = sections.setdefault("prices", {})
    priced = {sold()[item].price for item, own in packages.items() if own.price is not None}
    for key in priced & set(given):
        faults.append(f"[prices] {key}: a price of its package is given too; leave one out")
    for key, price in prices.items():
        if key in given:
            faults.append(f"[prices] {key}: a price of its package is given too; leave one out")
        given.setdefault(key, price)
    return MappingProxyType(packages)


def _records(
    sections: Mapping[str, Mapping[str, Any]], tables: Mapping[str, Table]
) -> dict[str, Any]:
    """Return the record of every section that is given, and of every unit process."""
    added = added_prices(tables)
    records: dict[str, Any] = {}
    for key, values in sections.items():
        own = {k: v for k, v in values.items() if key != "prices" or k not in added}
        more = {k: v for k, v in values.items() if k not in own}
        if key in _RECORDS:
            records[key] = _RECORDS[key](
                **own, **({"more": MappingProxyType(more)} if more else {})
            )
    records["stages"] = MappingProxyType(
        {key: table.record(**sections.get(key, {})) for key, table in tables.items()}
    )
    return records


def _temperature_order(water: Mapping[str, Any]) -> list[str]:
    """Refuse a coldest water that is warmer than the operating or the warmest."""
    order = [
        (k, water[k])
        for k in ("coldest_temperature_c", "operating_temperature_c", "warmest_temperature_c")
        if k in water
    ]
    return [
        f"[water] {low} is {cold:g} °C and {high} is {warm:g} °C: put them in rising order"
        for (low, cold), (high, warm) in pairwise(order)
        if cold > warm
    ]


def _no_record(record: Mapping[str, Any]) -> list[str]:
    """Refuse set points from a reading of a record that is not named."""
    if "set_points_from" not in record or "file" in record:
        return []
    return [
        "[record] set_points_from is given alone: name the record too; write file = "
        '"my_site.record.csv", or leave set_points_from out'
    ]


def _half_an_array(table: Any) -> list[str]:
    """Refuse an array that is given in part: what is missing would be guessed in silence."""
    machine = table if isinstance(table, Mapping) else {}
    given = [k for k in ("array", "elements_per_vessel") if k in machine]
    sized = {"element", "element_area", "element_area_m2"} & set(machine)
    if given and not sized:
        return [
            f'[machine] {given[0]} is given without an element: write element = "4x40", or '
            'element_area = "7.4 m2"'
        ]
    if len(given) == 1:
        return [
            f"[machine] {given[0]} is given alone: give both array (vessels per stage, as in "
            "[2, 1]) and elements_per_vessel, or neither to have them chosen"
        ]
    return []


METERS_AGREE = 0.02  # of recovery: two flow meters of 2 % each


def _recovery_from_drain(machine: dict[str, Any]) -> list[str]:
    """Fill in the recovery of a machine whose product and drain flows were measured."""
    product, drain = machine.get("product_flow_m3_h"), machine.get("drain_flow_m3_h")
    if product is None or drain is None:
        return []
    found = product / (product + drain)
    given = machine.setdefault("recovery", found)
    if found > HIGHEST_RECOVERY:
        return [
            f"[machine] product {product:g} and drain {drain:g} m3/h make a recovery of "
            f"{found:.3f}: must be at most {HIGHEST_RECOVERY:g}; check the two meters"
        ]
    if abs(given - found) > METERS_AGREE:
        return [
            f"[machine] recovery is {given:g}, but product {product:g} and drain {drain:g} m3/h "
            f"make {found:.3f}: leave one of them out, or correct it"
        ]
    return []


def _missing(
    sections: Mapping[str, Any],
    content: Mapping[str, Any],
    installed: Mapping[str, Table] | None,
) -> list[str]:
    """Return what is missing; where no water is needed, ``installed`` holds what may do without."""
    faults = []
    given = content.get("machine")
    attempted = set(given) if isinstance(given, Mapping) else set()
    for stem, name, example in (
        ("product_flow", "product_flow_m3_h", '"1.6 m3/h"'),
        ("recovery", "recovery", "0.65"),
        ("hours_per_day", "hours_per_day", "20"),
    ):
        by_drain = stem == "recovery" and {"drain_flow", "drain_flow_m3_h"} & attempted
        if not by_drain and not {stem, name} & attempted:
            faults.append(f"[machine] {stem} is missing; write {stem} = {example}")
    tried = content.get("water")
    tried_keys = set(tried) if isinstance(tried, Mapping) else set()
    if not tried_keys & {"analysis", "hardness", "hardness_mg_l_caco3"}:
        fault = (
            '[water] analysis is missing; write analysis = "report.csv", or with a test kit alone '
            'hardness = "21 gpg"'
        )
        if installed is None:
            faults.append(fault)
        elif not any(
            keys <= set(sections.get(name, ()))
            for name, table in installed.items()
            for keys in table.installed
        ):
            faults.append(
                f"{fault}, or, for a quote of the media alone, what is installed: "
                '[softener] resin_volume = "140 L"'
            )
    return faults
