"""Wide tables of many waters, one per row, read in chunks for screening."""

from collections.abc import Callable, Iterator
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from pretreat.core.errors import AnalysisError, UnitError, one_of
from pretreat.core.tables import analytes
from pretreat.core.text import lazy
from pretreat.core.units import (
    CACO3_MG_PER_MEQ,
    Ion,
    concentration_unit,
    mg_l_as_ion,
    molar_mass,
    temperature_c,
)
from pretreat.lab.samples.screen_rows import CHUNK, RowChunk, row_chunks

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]

_HEADER = lazy(r"^\s*(?P<name>[^\[(]+?)\s*(?:[\[(](?P<unit>[^\])]*)[\])])?\s*$")
_BELOW = lazy(r"^\s*<\s*(?P<limit>[-+0-9.eE]+)\s*$")
_OF_A_ROW = lazy(
    r"(?:(?:site|well|sample|station|location|source|water|owner|lab)[ _-]?)?"
    r"(?:id|no\.?|number|name|code|date)?"
)
NOT_MEASURED = ("", "-", "--", "n/a", "na", "nan", "nm", "null", "none", "not measured")
NOT_DETECTED = ("nd", "n.d.", "bdl", "not detected")
ALKALINITY = Ion("HCO3", -1)  # alkalinity in equivalents is carried as bicarbonate


class WaterTable(Struct):
    """A chunk of a wide table; every array has one entry per water.

    ``mg_l`` is NaN where not measured; ``below`` marks non-detects, their limit in ``mg_l``.
    ``faults`` holds, per water, the codes of what cannot be used; ``notes`` a line on each.
    """

    ids: list[str]
    ph: Array
    temp_c: Array
    alkalinity_mg_l_caco3: Array
    mg_l: dict[str, Array]
    below: dict[str, NDArray[np.bool_]]
    faults: list[list[str]]
    notes: list[str]

    def __len__(self) -> int:
        return len(self.ids)


class Column(Struct, frozen=True):
    """What a column of the table holds: a key, and the factor to its canonical unit."""

    heading: str
    key: str  # id, ph, temperature_c, alkalinity, or an analyte key
    factor: float
    unit: str


def read_columns(headings: list[str], source: str) -> list[Column]:
    """Return what each known column holds; a column with another name is left out.

    Parameters
    ----------
    headings : list of str
        Headings of the table. [-]
    source : str
        Name of the file, for messages. [-]

    Returns
    -------
    list of Column
        The known columns. [-]

    Raises
    ------
    AnalysisError
        If no ion is among the headings, a heading stands twice or a unit is not known.
    """
    found: list[Column] = []
    for heading in headings:
        column = _column(heading, source)
        if column is None:
            continue
        if any(c.key == column.key for c in found):
            raise AnalysisError(f"{source}: column '{heading}' stands twice; keep one of them")
        found.append(column)
    if not any(c.key in analytes() for c in found):
        names = ["id", "pH", "temperature_c", *(a.symbol for a in analytes().values())]
        first = headings[0] if headings else ""
        raise AnalysisError(
            f"{source}: no column is named after an ion such as Ca or SO4"
            f"{one_of(first, names)}; one water per row is expected"
        )
    return found


def _names_a_row(heading: str) -> bool:
    """Tell whether a column only says which water a row is: nobody misses it."""
    return bool(_OF_A_ROW.fullmatch(heading.strip().casefold()))


def _column(heading: str, source: str) -> Column | None:
    match = _HEADER.match(heading)
    if match is None:
        return None
    name, unit = match["name"].strip(), (match["unit"] or "").strip()
    folded = name.casefold().replace(" ", "_")
    if folded in {"id", "ph"}:
        return Column(heading, folded, 1.0, "")
    if folded in {"temperature_c", "temperature", "temp_c"}:
        return Column(heading, "temperature_c", 1.0, unit or "C")
    if folded == "alkalinity":
        return Column(heading, "alkalinity", _alkalinity_factor(unit, heading, source), unit)
    folded = _by_name().get(folded, folded)
    if folded not in analytes():
        return None
    try:
        factor = mg_l_as_ion(1.0, concentration_unit(unit or "mg/L"), analytes()[folded].ion)
    except UnitError as problem:
        raise AnalysisError(f"{source}: column '{heading}': {problem}") from problem
    return Column(heading, folded, factor, unit)


@lru_cache(maxsize=1)
def _by_name() -> dict[str, str]:
    """Return the keys of the analytes by their English names."""
    return {a.name.casefold().replace(" ", "_"): key for key, a in analytes().items()}


def _alkalinity_factor(unit: str, heading: str, source: str) -> float:
    """Return the factor to mg/L as CaCO3; a bare mg/L is as CaCO3."""
    try:
        bare = unit.casefold().startswith("as ")
        parsed = concentration_unit(f"mg/L {unit}" if bare else unit or "mg/L as CaCO3")
        if parsed.kind == "mass" and parsed.species is None:
            return parsed.factor
        return mg_l_as_ion(1.0, parsed, ALKALINITY) / molar_mass("HCO3") * CACO3_MG_PER_MEQ
    except UnitError as problem:
        raise AnalysisError(f"{source}: column '{heading}': {problem}") from problem


def read_chunks(path: Path, sheet: str | None = None) -> Iterator[WaterTable]:
    """Read a wide table of waters in chunks, CSV or XLSX.

    Parameters
    ----------
    path : Path
        The table. [-]
    sheet : str, optional
        Sheet of a workbook; the first with ions among its headings if omitted. [-]

    Yields
    ------
    WaterTable
        Up to 4,000 waters. [-]

    Raises
    ------
    AnalysisError
        If the file is missing, empty or not such a table.
    """
    done = 0
    for chunk in row_chunks(path, sheet):
        columns = read_columns(list(chunk.headings), path.name)
        table = _table(chunk, columns, done)
        if done == 0:
            used = {c.heading for c in columns}
            unused = [h for h in chunk.headings if h and h not in used and not _names_a_row(h)]
            if unused:
                table.notes.insert(0, f"columns not used: {', '.join(unused)}")
        yield table
        done += len(chunk.rows)
    if done == 0:
        raise AnalysisError(f"{path}: the table has no rows; one water per row is expected")


def frame_chunks(frame: "pd.DataFrame") -> Iterator[WaterTable]:
    """Read a frame of waters in chunks; the rows keep their own index as identifier.

    Parameters
    ----------
    frame : pandas.DataFrame
        One water per row, headings as in a wide table. [as the headings]

    Yields
    ------
    WaterTable
        Up to 4,000 waters. [-]
    """
    headings = tuple(str(name) for name in frame.columns)
    columns = read_columns(list(headings), "the frame")
    names = [str(name) for name in frame.index]
    for start in range(0, len(frame), CHUNK):
        part = frame.iloc[start : start + CHUNK]
        cells = [[_cell(v) for v in part.iloc[:, i].tolist()] for i in range(len(headings))]
        rows = [list(row) for row in zip(*cells, strict=True)]
        lines = list(range(start + 1, start + 1 + len(part)))
        table = _table(RowChunk(headings, lines, rows, {}, False), columns, start)
        if all(c.key != "id" for c in columns):
            table.ids = names[start : start + CHUNK]
        yield table


def _cell(value: object) -> str:
    """Return a cell of a frame as the text of a table; NaN and None are blank."""
    if value is None or value != value:  # noqa: PLR0124 - NaN
        return ""
    return repr(float(value)) if isinstance(value, float) else str(value).strip()


def _table(chunk: RowChunk, columns: list[Column], start: int) -> WaterTable:
    n = len(chunk.rows)
    faults: list[list[str]] = [[] for _ in range(n)]
    notes: list[str] = []

    def fault(i: int, code: str, text: str) -> None:
        faults[i].append(code)
        notes.append(f"line {chunk.lines[i]}: {text}")

    for i, text in chunk.faults.items():
        fault(i, "row_length", text)
    cells = dict(zip(chunk.headings, map(list, zip(*chunk.rows, strict=True)), strict=False))
    read = {}
    for column in columns:
        if column.key != "id":
            read[column.key] = _numbers(cells[column.heading], column, fault, chunk.decimal_comma)
    nothing = np.full(n, np.nan)
    nowhere = np.zeros(n, bool)
    ids = [str(start + i + 1) for i in range(n)]
    for column in columns:
        if column.key == "id":
            ids = [text or ids[i] for i, text in enumerate(cells[column.heading])]
    alkalinity, alk_below = read.get("alkalinity", (nothing, nowhere))
    hco3, co3 = read.get("hco3", (nothing, None))[0], read.get("co3", (nothing, None))[0]
    meq = hco3 / molar_mass("HCO3") + 2.0 * np.nan_to_num(co3) / molar_mass("CO3")
    ions = {k: v for k, v in read.items() if k in analytes() and k not in {"hco3", "co3"}}
    return WaterTable(
        ids=ids,
        ph=read.get("ph", (nothing, None))[0],
        temp_c=read.get("temperature_c", (nothing, None))[0],
        alkalinity_mg_l_caco3=np.where(np.isfinite(alkalinity), alkalinity, meq * CACO3_MG_PER_MEQ),
        mg_l={k: v[0] for k, v in ions.items()},
        below={k: v[1] for k, v in ions.items()} | {"alkalinity": alk_below},
        faults=faults,
        notes=notes,
    )


def _numbers(
    cells: list[str],
    column: Column,
    fault: Callable[[int, str, str], None],
    decimal_comma: bool,
) -> tuple[Array, NDArray[np.bool_]]:
    """Return values in the canonical unit and which of them are limits of non-detects."""
    import pandas as pd

    text = [cell.replace(",", ".") for cell in cells] if decimal_comma else cells
    column_text = pd.Series(text, dtype=object)
    numbers = pd.to_numeric(column_text.mask(column_text == ""), errors="coerce")
    values = numbers.to_numpy(float, copy=True)
    below = np.zeros(len(values), bool)
    for i in map(int, np.flatnonzero(~np.isfinite(values))):
        printed = text[i]
        if not printed:
            continue
        values[i], below[i] = _special(printed)
        if below[i] and column.key in {"ph", "temperature_c"}:
            values[i], below[i] = np.nan, False
        if not np.isfinite(values[i]) and printed.casefold() not in NOT_MEASURED:
            fault(i, "not_a_number", f"{column.heading} is '{printed}', not a number")
    if column.key == "temperature_c":
        return temperature_c(values, column.unit), below
    values = values * column.factor
    for i in map(int, np.flatnonzero(values < 0)):
        fault(i, "negative_value", f"{column.heading} is {text[i]}: must not be negative")
    return values, below


def _special(printed: str) -> tuple[float, bool]:
    """Read a cell that is no plain number: a non-detect, or nothing."""
    if printed.casefold() in NOT_DETECTED:
        return 0.0, True
    match = _BELOW.match(printed)
    try:
        return (float(match["limit"]), True) if match else (np.nan, False)
    except ValueError:
        return np.nan, False
