"""The site file as a form: its keys, what a file holds, and a file with some values changed."""

import datetime
import json
import re
import tomllib
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

from pretreat.core.errors import DesignError, PretreatError
from pretreat.core.tables import rows
from pretreat.core.units import US_CUSTOMARY, unit_shown, us_customary
from pretreat.site.prices import price_shown, price_typed, price_unit
from pretreat.site.readers import Number
from pretreat.site.sheets.catalogue import Entry, catalogue
from pretreat.site.sheets.reader import value_of
from pretreat.stages import BY_KEY
from pretreat.stages.site import tables

Units = Literal["si", "us"]
_PLAIN = re.compile(r"[A-Za-z0-9_-]+")
_DIGITS, _FEW = 6, 3
_EXACT = 15  # a number without a unit is shown as it stands, without a needless .0
# How a unit is typed, where the reader of the site file has another word for it.
_TYPED = {"mg/L as CaCO3": "mg/L"}
_ESCAPED = {"\x7f": "\\u007f"}
_TITLES = {
    "site": "Site",
    "water": "Water and test kit",
    "machine": "Machine",
    "product": "Use of the product",
    "supply": "Well, pump and tanks",
    "record": "Record",
    "train": "Train",
    "limits": "Scaling limits",
    "prices": "Prices",
    "packages": "Packages",
    "quote": "Customer and terms",
}


@lru_cache(maxsize=1)
def _entries() -> Mapping[str, Entry]:
    return {f"{entry.table}.{entry.key}": entry for entry in catalogue(tables()) if entry.key}


def keys_of_the_form() -> dict[str, Any]:
    """Return the keys of the site file by table, as fields of a form.

    Returns
    -------
    dict
        Tables with their fields: label, help, unit, bounds and examples in SI and in US units. [-]
    """
    found: dict[str, list[dict[str, Any]]] = {}
    for name, entry in _entries().items():
        if name not in {"site.units", "water.analysis"}:  # the page has these of its own
            found.setdefault(entry.table, []).append(_field(name, entry))
    return {
        "tables": [
            {"table": table, "title": _title(table), "fields": fields}
            for table, fields in found.items()
        ],
        "gauges": gauges(),
    }


def _title(table: str) -> str:
    stage = BY_KEY.get(table)
    title = _TITLES.get(table) or (stage.label if stage else table.replace("_", " "))
    return title[:1].upper() + title[1:]


def label_of(table: str, key: str) -> tuple[str, str | None]:
    """Return the field of a key and its label with that of its table; nothing of an unknown key.

    Parameters
    ----------
    table, key : str
        As in the site file; the key with or without a unit in its name. [-]

    Returns
    -------
    tuple of str and str or None
        Name of the field and words. [-]
    """
    name = f"{table}.{key}"
    name = name if name in _entries() else _stem(table, key) or ""
    entry = _entries().get(name)
    if entry is None:
        return "", None
    return name, f"“{entry.label or entry.key.replace('_', ' ')}” ({_title(table)})"


def gauges() -> list[dict[str, Any]]:
    """Return what is read at a machine, in the order of the record sheet."""
    from pretreat.record.entry import short_name
    from pretreat.record.readings import gauges as known

    shown = {row["key"]: row for row in rows("gauges.csv")}
    return [
        {
            "key": short_name(gauge),
            "label": gauge.label,
            "section": gauge.section,
            "needed": "yes" if gauge.baseline else "",
            "unit": gauge.unit.replace("-", ""),  # as the form of the site has it
            "unit_us": shown[key]["sheet_unit_us"].replace("-", ""),
            "figures": _expected(shown[key]["figure"]),
            "figures_us": [shown[key]["figure_us"] or shown[key]["figure"]],
        }
        for key, gauge in known().items()
    ]


def _expected(figure: str) -> list[str]:
    """Return figures that a gauge is compared with, the first there; a flow in m3/h."""
    stem, litres, _ = figure.partition("_l_min")
    if not litres:
        return [figure]
    name = stem.removeprefix("settings.")
    whole = "concentrate" if name == "drain" else name
    return [f"{stem}_m3_h", f"machine.{whole}_flow_m3_h"]


def _field(name: str, entry: Entry) -> dict[str, Any]:
    body: dict[str, Any] = {"name": name, "label": entry.label or entry.key.replace("_", " ")}
    for word, value in (
        ("help", "" if _unit_beside(entry, "si") == entry.help else entry.help),
        ("choices", list(entry.choices)),
        ("unit", _unit_beside(entry, "si")),
        ("unit_us", _unit_beside(entry, "us")),
        ("example", _without(entry.example, unit_typed(_unit_of(entry, "si"), "si"))),
        ("example_us", _without(entry.us or "", unit_typed(_unit_of(entry, "us"), "us"))),
        ("bounds", _bounds(entry, "si")),
        ("bounds_us", _bounds(entry, "us") if entry.unit else ""),
    ):
        if value:
            body[word] = value
    return body


def _unit_of(entry: Entry, units: Units) -> str:
    """Return the unit of a key by which its display in the units of a person is found."""
    return unit_shown(f"{entry.table}.{entry.field}", entry.unit) if units == "us" else entry.unit


def _unit_beside(entry: Entry, units: Units) -> str:
    if entry.percent:
        return "%"
    return (
        price_unit(entry.key, units)
        if entry.table == "prices"
        else unit_typed(_unit_of(entry, units), units)
    )


def _without(example: str, unit: str) -> str:
    return example.removesuffix(unit).strip() if unit else example


def unit_typed(unit: str, units: Units) -> str:
    """Return how a unit is typed in the units of a person, empty where there is none."""
    shown = US_CUSTOMARY[unit].unit if units == "us" and unit in US_CUSTOMARY else unit
    return _TYPED.get(shown, shown)


def _bounds(entry: Entry, units: Units) -> str:
    if not isinstance(entry.read, Number) or entry.bounds is None:
        return ""
    low, high = (_end(end, _unit_of(entry, units), units) for end in entry.bounds)
    start = "above" if entry.read.open_low else "from"
    return f"{start} {low} to {high}" if entry.bounds[1] < _UNBOUNDED else f"{start} {low}"


_UNBOUNDED = 1e6


def _number(value: float, unit: str, units: Units) -> str:
    shown = us_customary(value, unit)[0] if units == "us" and unit else value
    return f"{shown:.{_DIGITS}g}"


def _end(value: float, unit: str, units: Units) -> str:
    """Return an end of a range, to be read: few digits, no power of ten."""
    shown = us_customary(value, unit)[0] if units == "us" and unit else value
    return f"{float(f'{shown:.{_FEW}g}'):,.10f}".rstrip("0").rstrip(".")


def values_of(text: str, units: Units) -> dict[str, str]:
    """Return the values of a site file as the fields of the form show them.

    Parameters
    ----------
    text : str
        TOML. [-]
    units : {"si", "us"}
        Units of the person. [-]

    Returns
    -------
    dict of str to str
        Values by field; a quantity in the unit of the field. [-]
    """
    found = {}
    for table, content in parsed(text).items():
        for key, value in content.items() if isinstance(content, Mapping) else ():
            name = f"{table}.{key}"
            if name in _entries():
                found[name] = _shown(_entries()[name], value, units)
            elif (stem := _stem(table, key)) is not None:
                found[stem] = _shown(_entries()[stem], value, units)
    return found


def _stem(table: str, key: str) -> str | None:
    """Return the field of a key that has its unit in its name, such as element_area_m2."""
    names = [n for n, e in _entries().items() if e.table == table and e.unit]
    fits = [n for n in names if f"{table}.{key}".startswith(f"{n}_")]
    return max(fits, key=len) if fits else None


def _shown(entry: Entry, value: Any, units: Units) -> str:
    if entry.unit and isinstance(value, str | int | float) and not isinstance(value, bool):
        try:
            number = value if isinstance(value, int | float) else _canonical(entry, value)
        except PretreatError:
            return str(value)
        return _number(float(number), _unit_of(entry, units), units)
    if entry.table == "prices" and isinstance(value, int | float):
        return f"{price_shown(entry.key, value, units):.{_DIGITS}g}"
    if isinstance(value, list) and not any(isinstance(item, Mapping) for item in value):
        return ", ".join(str(item) for item in value)
    return _plain_text(value, percent=entry.percent)


def _plain_text(value: Any, *, percent: bool) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping | list):
        return toml_value(value)
    if isinstance(value, float):
        return f"{value:.{_EXACT}g}"
    return str(value).removesuffix("%" if percent else "").strip()


def _canonical(entry: Entry, value: str) -> float:
    if entry.read is None:
        raise DesignError(f"{entry.key} cannot be read")
    return float(entry.read(entry.key, value, Path()))


def parsed(text: str) -> dict[str, Any]:
    """Return the content of a site file.

    Parameters
    ----------
    text : str
        TOML. [-]

    Returns
    -------
    dict
        Tables. [-]

    Raises
    ------
    DesignError
        If it cannot be read.
    """
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as problem:
        raise DesignError(f"the site file cannot be read: {problem}") from None


def changed(text: str, changes: Mapping[str, str], units: Units) -> str:
    """Return a site file with some values changed; an empty value takes the key out.

    Parameters
    ----------
    text : str
        TOML. [-]
    changes : mapping of str to str
        What was typed, by field. [-]
    units : {"si", "us"}
        Units of a number typed without one. [-]

    Returns
    -------
    str
        TOML; without changes the text as it is. [-]

    Raises
    ------
    DesignError
        If a value cannot be used; one line per fault.
    """
    found, refused = with_changes(text, changes, units)
    if refused:
        raise DesignError(*refused.values())
    return found


def with_changes(text: str, changes: Mapping[str, str], units: Units) -> tuple[str, dict[str, str]]:
    """Return a site file with the changes that can be used, and why the others cannot.

    Parameters
    ----------
    text : str
        TOML. [-]
    changes : mapping of str to str
        What was typed, by field; an empty value takes the key out. [-]
    units : {"si", "us"}
        Units of a number typed without one. [-]

    Returns
    -------
    tuple of str and dict of str to str
        TOML, the text as it is without changes; one line by field that was refused. [-]

    Raises
    ------
    DesignError
        If the site file cannot be read.
    """
    content = parsed(text)
    refused: dict[str, str] = {}
    taken = False
    for name, typed in changes.items():
        table, _, key = name.partition(".")
        entry = _entries().get(name)
        if entry is None:
            refused[name] = f"there is no field {name}"
            continue
        try:
            value = _checked(entry, typed.strip(), units) if typed.strip() else None
        except PretreatError as problem:
            refused[name] = "; ".join(problem.faults)
            continue
        section, taken = content.setdefault(table, {}), True
        for old in [k for k in section if k == key or _stem(table, k) == name]:
            del section[old]
        if value is not None:
            section[key] = value
    return (to_toml(content) if taken else text), refused


def _checked(entry: Entry, typed: str, units: Units) -> Any:
    typed = price_typed(entry.key, typed, units) if entry.table == "prices" else typed
    value = value_of(entry, typed, unit_typed(_unit_of(entry, units), units))
    if entry.read is not None:
        entry.read(entry.label or entry.key, value, Path())
    return value


def to_toml(content: Mapping[str, Any]) -> str:
    """Return tables as TOML.

    Parameters
    ----------
    content : mapping
        Tables of a site file with their keys and values. [-]

    Returns
    -------
    str
        TOML text. [-]
    """
    blocks = []
    for table, values in content.items():
        if isinstance(values, Mapping):
            lines = [f"{_key(key)} = {toml_value(value)}" for key, value in values.items()]
            blocks.append("\n".join([f"[{_key(table)}]", *lines]))
    return "\n\n".join(blocks) + "\n"


def _key(text: str) -> str:
    return text if _PLAIN.fullmatch(text) else _quoted(text)


def _quoted(text: str) -> str:
    quoted = json.dumps(text, ensure_ascii=False)
    return "".join(_ESCAPED.get(sign, sign) for sign in quoted)


def toml_value(value: Any) -> str:
    """Return a value as TOML writes it.

    Parameters
    ----------
    value : object
        Text, number, yes or no, date, list or table. [any]

    Returns
    -------
    str
        TOML. [-]
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    if isinstance(value, Mapping):
        inside = ", ".join(f"{_key(k)} = {toml_value(v)}" for k, v in value.items())
        return f"{{ {inside} }}" if inside else "{}"
    if isinstance(value, list):
        return f"[{', '.join(toml_value(item) for item in value)}]"
    return repr(value)
