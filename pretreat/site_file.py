"""The site file (TOML), and how it becomes a design basis; its keys are in `site_keys`."""

import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from pretreat.design import (
    CarbonDesign,
    DesignBasis,
    IronFilterDesign,
    LimitChoices,
    Machine,
    Prices,
    SiteName,
    SoftenerDesign,
    Supply,
    WaterBasis,
)
from pretreat.errors import DesignError, PretreatError, one_of
from pretreat.site_keys import SECTIONS, read_limits


def _section(name: str, table: Any, base: Path, faults: list[str]) -> dict[str, Any]:
    """Read one table of the site file; collect faults rather than stop at the first."""
    known = SECTIONS[name]
    found: dict[str, Any] = {}
    for key, value in table.items():
        where = f"[{name}] {key}"
        if key not in known:
            faults.append(f"{where}: unknown key{one_of(key, list(known))}")
            continue
        field_name, read, style = known[key]
        if style == "text" and not isinstance(value, str):
            faults.append(
                f"{where} = {value!r}: has no unit; write {field_name} = {value!r}"
                " or a text with a unit"
            )
            continue
        try:
            found[field_name] = read(where, value, base)
        except PretreatError as problem:
            faults.extend(problem.faults)
    return found


_RECORDS: dict[str, Callable[..., Any]] = {
    "site": SiteName,
    "water": WaterBasis,
    "machine": Machine,
    "supply": Supply,
    "softener": SoftenerDesign,
    "iron_filter": IronFilterDesign,
    "carbon": CarbonDesign,
    "prices": Prices,
}


def read_site(path: str | Path) -> DesignBasis:
    """Read a site file.

    Parameters
    ----------
    path : str or Path
        The TOML file. Paths inside it are relative to it. [-]

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
    return design_from(_load(path), path.parent, path.name)


def _load(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text("utf-8-sig"))
    except FileNotFoundError:
        raise DesignError(f"{path}: no such file; check the name, or make one with 'new'") from None
    except (OSError, UnicodeDecodeError) as problem:
        raise DesignError(f"{path}: cannot be read as text ({problem})") from None
    except tomllib.TOMLDecodeError as problem:
        raise DesignError(f"{path}: not a valid site file: {problem}") from None


def design_from(content: Mapping[str, Any], base: Path, name: str = "site file") -> DesignBasis:
    """Build a design basis from the content of a site file.

    Parameters
    ----------
    content : mapping
        Tables of the site file. [-]
    base : Path
        Folder to which paths are relative. [-]
    name : str
        Name of the file, for messages. [-]

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
    sections: dict[str, dict[str, Any]] = {}
    for key, table in content.items():
        if key not in (*SECTIONS, "limits"):
            faults.append(f"[{key}]: unknown table{one_of(key, [*SECTIONS, 'limits'])}")
        elif not isinstance(table, Mapping):
            faults.append(f"{key} = {table!r}: must stand in a table such as [machine]")
        elif key != "limits":
            sections[key] = _section(key, table, base, faults)
    limits = LimitChoices()
    if isinstance(content.get("limits"), Mapping):
        try:
            limits = read_limits(content["limits"], base)
        except PretreatError as problem:
            faults.extend(problem.faults)
    faults += _missing(sections, content)
    if faults:
        raise DesignError(*(f"{name}: {fault}" for fault in faults))
    records = {key: _RECORDS[key](**values) for key, values in sections.items()}
    chosen = {f"{s}.{k}" for s, values in sections.items() for k in values}
    chosen |= {f"limits.{k}" for k in content.get("limits", {})}
    return DesignBasis(limits=limits, chosen=frozenset(chosen), **records)


def _missing(sections: Mapping[str, Any], content: Mapping[str, Any]) -> list[str]:
    faults = []
    given = content.get("machine")
    attempted = set(given) if isinstance(given, Mapping) else set()
    for stem, name, example in (
        ("product_flow", "product_flow_m3_h", '"1.6 m3/h"'),
        ("recovery", "recovery", "0.65"),
        ("hours_per_day", "hours_per_day", "20"),
    ):
        if not {stem, name} & attempted:
            faults.append(f"[machine] {stem} is missing; write {stem} = {example}")
    water = sections.get("water", {})
    tried = content.get("water")
    tried_keys = set(tried) if isinstance(tried, Mapping) else set()
    if "analysis" not in water and not tried_keys & {"hardness", "hardness_mg_l_caco3"}:
        faults.append('[water] analysis is missing; write analysis = "report.csv"')
    return faults
