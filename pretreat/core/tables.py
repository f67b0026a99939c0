"""Typed, read-only loaders of the program's own data; a row without a source is refused."""

import csv
import tomllib
from collections.abc import Mapping
from functools import cache, lru_cache
from operator import itemgetter
from pathlib import Path
from types import MappingProxyType
from typing import Any, get_args

from msgspec import Struct

from pretreat.core.basis import Evidence
from pretreat.core.errors import DataTableError
from pretreat.core.units import Ion

Row = dict[str, str]
UNDATED = "undated"  # a source that itself bears no year
_DATA = Path(__file__).parents[1] / "data"


def _text(name: str) -> str:
    return (_DATA / name).read_bytes().decode("utf-8")


def _citation(entry: Mapping[str, str]) -> str:
    """Write a source as one line: who, when, what, where, and what was seen of it."""
    if "citation" in entry:
        return entry["citation"]
    year = entry["year"] if entry["year"] != UNDATED else ""
    if entry.get("authors"):
        head = f"{entry['authors']} ({year}), " if year else f"{entry['authors']}, "
        return f"{head}{entry['title']}, {entry['place']}{_remark(entry)}"
    dated = f", {year}" if year and year not in entry["place"] else ""
    return f"{entry['title']}, {entry['place']}{dated}{_remark(entry)}"


def _remark(entry: Mapping[str, str]) -> str:
    return f" ({entry['note']})" if entry.get("note") else ""


def _entries(text: str) -> Mapping[str, Any]:
    """Return tables of texts, line by line where all are plain: tomllib is slow."""
    found: dict[str, Any] = {}
    entry = found
    for line in text.splitlines():
        key, is_value, value = line.partition(' = "')
        bare = key[1:-1] if key.count('"') == 2 and key[0] == key[-1] == '"' else key
        known = bare.isidentifier() or bare is not key
        if is_value and known and value.find('"') == len(value) - 1:
            entry[bare] = value[:-1]
        elif line.startswith("[") and line.endswith("]") and line[1:-1].isidentifier():
            entry = found.setdefault(line[1:-1], {})
        elif line and not line.startswith("#"):
            return tomllib.loads(text)
    return tomllib.loads(text) if "\\" in text else found


@lru_cache(maxsize=1)
def sources() -> Mapping[str, str]:
    """Return the citation of every source key.

    Returns
    -------
    mapping of str to str
        Source key to the full citation. [-]
    """
    found: dict[str, str] = {}
    for path in sorted(_DATA.glob("sources*.toml")):
        entries = _entries(_text(path.name))
        found |= {key: _citation(entry) for key, entry in entries.items()}
    return MappingProxyType(found)


@lru_cache(maxsize=4)
def texts(name: str) -> Mapping[str, Any]:
    """Read fixed texts of ``data/``, such as those of a quote in one language.

    Parameters
    ----------
    name : str
        File name, such as "quote_words_en.toml". [-]

    Returns
    -------
    mapping of str
        Tables of texts. [-]
    """
    return MappingProxyType(_entries(_text(name)))


@cache
def rows(name: str) -> tuple[Row, ...]:
    """Read a table of ``data/``, refusing any row whose source or evidence is not known.

    Parameters
    ----------
    name : str
        File name, such as "minerals.csv". [-]

    Returns
    -------
    tuple of dict
        The rows as text, in order. [-]

    Raises
    ------
    DataTableError
        If a row lacks a source of ``sources.toml``, a place in it, or a known evidence tag.
    """
    headings, table = _checked(name)
    return tuple([dict(zip(headings, cells, strict=True)) for cells in table])


@cache
def columns(name: str, *wanted: str) -> tuple[tuple[str, ...], ...]:
    """Read some columns of a long table of ``data/``, as `rows` would.

    Parameters
    ----------
    name : str
        File name, such as "aliases.csv". [-]
    *wanted : str
        Two headings or more. [-]

    Returns
    -------
    tuple of tuple of str
        Of every row the cells wanted, in the order asked for. [-]
    """
    lines = _lines(name)
    headings = next(csv.reader(lines[:1]))
    lead, places = headings.index("source"), [headings.index(name) for name in wanted]
    pick = itemgetter(*places)
    if max(places) >= lead:
        return tuple(map(pick, _checked(name)[1]))
    found, ends, quoted = [], set(), []
    for line in lines[1:]:  # most cells need no reader of quotes, and many rows end alike
        cells = line.split(",", lead)
        if -1 < line.find('"') < len(line) - len(cells[-1]) or len(cells) <= lead:
            cells = next(csv.reader([line]))
            quoted.append(cells[lead:])
        else:
            ends.add(cells[-1])
        found.append(pick(cells))
    if not _sound(headings[lead:], [*csv.reader(ends), *quoted]):
        _checked(name)  # says what is wrong where
    return tuple(found)


def _lines(name: str) -> list[str]:
    return [line for line in _text(name).splitlines() if line and not line.startswith("#")]


def _sound(headings: list[str], table: list[list[str]]) -> bool:
    """Tell whether every row has its columns, a known source, a place in it and a known tag."""
    width = len(headings)
    source, where, evidence = map(headings.index, ("source", "where", "evidence"))
    return (  # column by column: some tables have thousands of rows
        {len(cells) for cells in table} <= {width}
        and {cells[source] for cells in table} <= sources().keys()
        and "" not in {cells[where] for cells in table}
        and {cells[evidence] for cells in table} <= frozenset(get_args(Evidence))
    )


def _checked(name: str) -> tuple[list[str], list[list[str]]]:
    """Return the headings and the rows of a table, all of them sound."""
    reader = csv.reader(_lines(name))
    headings, table = next(reader), list(reader)
    if _sound(headings, table):
        return headings, table
    known, tags = sources(), frozenset(get_args(Evidence))
    width = len(headings)
    source, where, evidence = map(headings.index, ("source", "where", "evidence"))
    for number, cells in enumerate(table, start=2):
        fault = ""
        if len(cells) != width:
            fault = "wrong number of columns"
        elif cells[source] not in known or not cells[where]:
            fault = "no source or no place in it"
        elif cells[evidence] not in tags:
            fault = f"evidence '{cells[evidence]}' is not known"
        if fault:
            raise DataTableError(f"{name}, row {number} ({cells[0] if cells else ''}): {fault}")
    return headings, table


class Analyte(Struct, frozen=True):
    """One row of data/analytes.csv.

    ``key`` is the name in figures ("ca"); ``symbol`` the name in tables ("Ca");
    ``formula`` the species whose mg/L is meant; ``charge`` its charge number;
    ``component`` the component of the speciation it feeds, or an empty text.
    """

    key: str
    symbol: str
    name: str
    formula: str
    charge: int
    component: str

    @property
    def ion(self) -> Ion:
        """The formula and charge, for conversions."""
        return Ion(self.formula, self.charge)


@lru_cache(maxsize=1)
def analytes() -> Mapping[str, Analyte]:
    """Return every analyte that is a dissolved species, by key and in printing order.

    Returns
    -------
    mapping of str to Analyte
        Analytes by key. [-]
    """
    return MappingProxyType(
        {
            row["key"]: Analyte(
                row["key"],
                row["symbol"],
                row["name"],
                row["formula"],
                int(row["charge"]),
                row["component"],
            )
            for row in rows("analytes.csv")
        }
    )
