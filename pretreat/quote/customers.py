"""A table of customers: one row a customer, its headings are keys of the site file."""

import csv
import datetime
import io
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct

from pretreat.core.archives import checked_parts, damaged
from pretreat.core.errors import AnalysisError, DesignError, PretreatError, one_of
from pretreat.core.text import lazy
from pretreat.lab.read.formats.encodings import decoded
from pretreat.lab.read.formats.files import file_bytes
from pretreat.site.keys import SECTIONS, Keys, path
from pretreat.site.quote_keys import QUOTE
from pretreat.stages.site import tables

MOST_ROWS, MOST_COLUMNS = 5000, 400
SHORT = {  # headings that need no dot
    "customer": "quote.customer",
    "address": "quote.address",
    "number": "quote.number",
    "site": "site.name",
    "place": "site.place",
}
_YES = {
    "yes": True,
    "true": True,
    "ja": True,
    "sí": True,
    "si": True,
    "no": False,
    "false": False,
    "nein": False,
}
_DELIMITERS = ("\t", ";", ",", "|")
_COMMA = lazy(r"^([-+]?\d+),(\d+)(?=\s|$)")
_LOOSE = ("limits", "packages")  # tables whose keys are read by their own readers


class Row(Struct, frozen=True):
    """One row: its number in the table, its values by dotted key, and what is wrong with it."""

    number: int
    values: Mapping[str, Any]
    fault: str = ""


class CustomerTable(Struct, frozen=True):
    """A table of customers; ``unused`` are headings that are no keys of the site file."""

    path: Path
    rows: tuple[Row, ...]
    unused: tuple[str, ...]


def read_customers(path: str | Path) -> CustomerTable:
    """Read a table of customers.

    Parameters
    ----------
    path : str or Path
        CSV or XLSX; a heading such as machine.hours_per_day, a customer a row. [-]

    Returns
    -------
    CustomerTable
        Its rows; a row of a wrong length is among them with its fault. [-]

    Raises
    ------
    PretreatError
        If the file cannot be read, or a heading with a dot is no key of the site file.
    """
    path = Path(path)
    data = file_bytes(path)
    grid = _workbook(path.name, data) if data[:2] == b"PK" else _text(path.name, data)
    filled = [(n, cells) for n, cells in grid if any(cell not in (None, "") for cell in cells)]
    if len(filled) < 2:
        raise DesignError(f"{path.name}: holds no row of a customer below its headings")
    if len(filled) > MOST_ROWS:
        raise DesignError(f"{path.name}: {len(filled):,} rows, at most {MOST_ROWS:,}; cut it")
    heads, unused = _headings(path.name, filled[0][1])
    rows = tuple(_row(number, cells, heads) for number, cells in filled[1:])
    return CustomerTable(path, rows, unused)


def _text(name: str, data: bytes) -> Iterator[tuple[int, Sequence[Any]]]:
    text, _ = decoded(name, data)
    first = next((line for line in text.split("\n") if line.strip()), "")
    delimiter = max(_DELIMITERS, key=first.count)
    try:
        reader = csv.reader(io.StringIO(text), delimiter=delimiter)
        for cells in reader:
            yield reader.line_num, [cell.strip() for cell in cells]
    except csv.Error as problem:
        raise DesignError(f"{name}: cannot be read as a table ({problem})") from None


def _workbook(name: str, data: bytes) -> Iterator[tuple[int, Sequence[Any]]]:
    import warnings

    import openpyxl

    if "[Content_Types].xml" not in checked_parts(name, data):
        raise AnalysisError(f"{name} is an archive but no .xlsx workbook; save it as .xlsx or .csv")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(io.BytesIO(data), data_only=True, read_only=True)
            page = book.worksheets[0]
            cells = page.iter_rows(values_only=True, max_row=MOST_ROWS + 2, max_col=MOST_COLUMNS)
            found = [(n, [_cell(c) for c in row]) for n, row in enumerate(cells, start=1)]
    except Exception as problem:  # noqa: BLE001 - a damaged workbook fails in any way
        raise AnalysisError(damaged(name, problem)) from None
    yield from found


def _cell(value: Any) -> Any:
    if isinstance(value, datetime.datetime):
        return value.date().isoformat()
    return value.strip() if isinstance(value, str) else value


def _headings(name: str, cells: Sequence[Any]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the key of every column, empty where it is none."""
    found: list[str] = []
    unused: list[str] = []
    faults: list[str] = []
    for cell in cells:
        heading = "" if cell is None else str(cell).strip()
        key = SHORT.get(heading.casefold(), heading if "." in heading else "")
        if heading and not key:
            unused.append(heading)
        elif key and (fault := _unknown(key)):
            faults.append(f"{name}, heading '{heading}': {fault}")
        elif key and key in found:
            faults.append(f"{name}: the heading '{heading}' stands there twice")
        found.append(key)
    if not any(found) and not faults:
        faults.append(
            f"{name}: no heading is a key of the site file; write headings such as site.name, "
            "water.hardness, machine.hours_per_day"
        )
    if faults:
        raise DesignError(*faults)
    return tuple(found), tuple(unused)


def _known() -> dict[str, Keys]:
    known: dict[str, Keys] = {**SECTIONS, "quote": QUOTE}
    added = {name for table in tables().values() for name in table.prices}
    price = next(iter(v for k, v in SECTIONS["prices"].items() if k != "currency"))
    known["prices"] = {**SECTIONS["prices"], **{n: (n, *price[1:]) for n in added}}
    return {**known, **{key: table.keys for key, table in tables().items()}}


def _unknown(key: str) -> str:
    """Say what is wrong with a key; empty where it is known."""
    section, _, name = key.partition(".")
    known = _known()
    if section in _LOOSE:
        return ""
    if section not in known:
        return f"unknown table{one_of(section, [*known, *_LOOSE])}"
    head = name.partition(".")[0]
    if head not in known[section]:
        return f"unknown key{one_of(head, list(known[section]))}"
    return ""


def _row(number: int, cells: Sequence[Any], heads: Sequence[str]) -> Row:
    more = [cell for cell in cells[len(heads) :] if cell not in (None, "")]
    values = {
        head: cell
        for head, cell in zip(heads, cells, strict=False)
        if head and cell is not None and cell != ""
    }
    fault = f"holds {len(cells)} cells under {len(heads)} headings" if more else ""
    return Row(number, values, fault)


# What a row names, and what of the site file then belongs to another.
OF_ANOTHER = {"site.name": ("site", "place"), "quote.customer": ("quote", "address")}


def laid_over(row: Row, template: Mapping[str, Any], table: Path) -> dict[str, Any]:
    """Return the content of a site file with the values of a row laid over it.

    Parameters
    ----------
    row : Row
        The customer. [-]
    template : mapping
        Content of the site file, may be empty. [-]
    table : Path
        The table; files named in a row lie beside it, else beside the site file. [-]

    Returns
    -------
    dict
        Content as of a site file. [-]

    Raises
    ------
    DesignError
        If the row itself is broken.
    """
    if row.fault:
        raise DesignError(row.fault)
    known = _known()
    found: dict[str, Any] = {
        key: dict(value) if isinstance(value, Mapping) else value for key, value in template.items()
    }
    for name, (section, key) in OF_ANOTHER.items():
        if name in row.values and isinstance(found.get(section), dict):
            found[section].pop(key, None)  # the place of another customer
    for key, cell in row.values.items():
        section, *names = key.split(".")
        spec = known.get(section, {}).get(names[0])
        at = found.setdefault(section, {})
        if spec is not None and len(names) == 1:
            for other in [k for k in at if known[section].get(k, ("",))[0] == spec[0]]:
                del at[other]
        for name in names[:-1]:
            inner = at.get(name)
            at[name] = dict(inner) if isinstance(inner, Mapping) else {}
            at = at[name]
        at[names[-1]] = _value(key, cell, spec if len(names) == 1 else None, table)
    return found


def _value(key: str, cell: Any, spec: tuple[str, Any, str] | None, table: Path) -> Any:
    """Return a cell as the site file would hold it: a text, a number, true or false, a list."""
    tried = list(_readings(cell))
    if spec is not None and spec[1] is path:
        beside = table.resolve().parent / str(cell)
        return str(beside) if beside.exists() else str(cell)
    for value in tried if spec is not None else ():
        try:
            spec[1](key, value, table.parent)  # type: ignore[index]
        except PretreatError:
            continue
        if spec[2] in ("", "bare") or isinstance(value, str):  # type: ignore[index]
            return value
    return tried[-1]


def _readings(cell: Any) -> Iterator[Any]:
    """Yield what a cell may mean, as it stands first."""
    if not isinstance(cell, str):
        whole = isinstance(cell, float) and cell.is_integer()
        shown = f"{cell:.0f}" if whole else str(cell)
        yield shown
        if whole:
            yield int(cell)
        yield cell
        return
    yield cell
    if _COMMA.match(cell):
        cell = _COMMA.sub(r"\1.\2", cell)
        yield cell
    if cell.casefold() in _YES:
        yield _YES[cell.casefold()]
    try:
        yield tomllib.loads(f"x = {cell}")["x"]
    except (ValueError, KeyError, RecursionError):  # a cell is no TOML: it stays a text
        return
