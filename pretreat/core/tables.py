"""Typed, read-only loaders of the program's own data; a row without a source is refused."""

import csv
import tomllib
from collections.abc import Mapping
from functools import cache, lru_cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, get_args

from msgspec import Struct

from pretreat.core.basis import Evidence
from pretreat.core.errors import DataTableError
from pretreat.core.units import Ion

Row = dict[str, str]
UNDATED = "undated"  # a source that itself bears no year


def _text(name: str) -> str:
    return files("pretreat.data").joinpath(name).read_text("utf-8")


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


@lru_cache(maxsize=1)
def sources() -> Mapping[str, str]:
    """Return the citation of every source key.

    Returns
    -------
    mapping of str to str
        Source key to the full citation. [-]
    """
    found: dict[str, str] = {}
    for item in sorted(files("pretreat.data").iterdir(), key=lambda item: item.name):
        if item.name.startswith("sources") and item.name.endswith(".toml"):
            entries = tomllib.loads(item.read_text("utf-8"))
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
    return MappingProxyType(tomllib.loads(_text(name)))


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
    lines = [line for line in _text(name).splitlines() if line and not line.startswith("#")]
    reader = csv.reader(lines)
    headings = next(reader)
    known, tags = sources(), frozenset(get_args(Evidence))
    width, columns = len(headings), {name: at for at, name in enumerate(headings)}
    source, where, evidence = (columns[name] for name in ("source", "where", "evidence"))
    table = []
    for number, cells in enumerate(reader, start=2):
        fault = ""
        if len(cells) != width:
            fault = "wrong number of columns"
        elif cells[source] not in known or not cells[where]:
            fault = "no source or no place in it"
        elif cells[evidence] not in tags:
            fault = f"evidence '{cells[evidence]}' is not known"
        if fault:
            raise DataTableError(f"{name}, row {number} ({cells[0] if cells else ''}): {fault}")
        table.append(dict(zip(headings, cells, strict=True)))
    return tuple(table)


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
