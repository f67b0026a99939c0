"""The [limits] of a site file: single limits, a file of limits, an own K chart of the S&DSI."""

import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

from pretreat.core.doors import Kind, csv_table, quoted
from pretreat.core.errors import DesignError, one_of
from pretreat.site.design import INHIBITORS, MODERN, KChart, LimitChoices, LimitSet
from pretreat.site.keys import Keys, flag, number, path, word

MINERALS_WITH_LIMIT = (
    "gypsum",
    "barite",
    "celestite",
    "fluorite",
    "silica",
    "calcite",
    "calcium_phosphate",
)
INDEXES = ("lsi", "sdsi")
SCALES = (*INDEXES, *MINERALS_WITH_LIMIT)
MEASURES = ("index", "si", "%")
LIMIT_COLUMNS = ("scale", "measure", "without_inhibitor", "with_inhibitor", "source")
CHART_COLUMNS = ("ionic_strength_mol_kg", "temperature_c", "k")
INDEX = number(-5.0, 5.0, "")
PERCENT = number(0.0, 1e6, "%", open_low=True)
KIND = word(*INHIBITORS)
LIMIT_KEYS: Keys = {
    "inhibitor": ("inhibitor", flag, ""),
    "inhibitor_kind": ("inhibitor_kind", KIND, ""),
    **{name: (name, INDEX, "bare") for name in ("lsi", "sdsi")},
    **{f"si_{name}": (f"si_{name}", INDEX, "bare") for name in MINERALS_WITH_LIMIT},
    **{f"pct_{name}": (f"pct_{name}", PERCENT, "bare") for name in MINERALS_WITH_LIMIT},
    "file": ("file", path, ""),
    "sdsi_k_chart": ("sdsi_k_chart", path, ""),
}
TABLE = Kind("the table", "no such file; check the name", 4, DesignError)


def read_limits(table: Mapping[str, Any], base: Path) -> LimitChoices:
    """Read [limits]: inhibitor, its kind, lsi, sdsi, si_<mineral> or pct_<mineral>, files.

    Parameters
    ----------
    table : mapping
        The table of the site file. [-]
    base : Path
        Folder to which file names are relative. [-]

    Returns
    -------
    LimitChoices
        The limits. [-]

    Raises
    ------
    DesignError
        If a key is unknown, a value is outside its bounds or a file cannot be read.
    """
    singles = [f"{p}_{m}" for p in ("si", "pct") for m in MINERALS_WITH_LIMIT]
    known = list(LIMIT_KEYS)
    percent: dict[str, float] = {}
    for key, value in table.items():
        if key not in known:
            raise DesignError(f"[limits] {key}: unknown key{one_of(key, known)}")
        if key in singles:
            kind, _, mineral = key.partition("_")
            if mineral in percent:
                raise DesignError(f"[limits] si_{mineral} and pct_{mineral} are one: keep one")
            percent[mineral] = _percent(kind, f"[limits] {key}", value, base)
    file, chart = table.get("file"), table.get("sdsi_k_chart")
    return with_files(
        LimitChoices(
            inhibitor=flag("[limits] inhibitor", table.get("inhibitor", False), base),
            inhibitor_kind=KIND(
                "[limits] inhibitor_kind", table.get("inhibitor_kind", MODERN), base
            ),
            lsi=INDEX("[limits] lsi", table["lsi"], base) if "lsi" in table else None,
            sdsi=INDEX("[limits] sdsi", table["sdsi"], base) if "sdsi" in table else None,
            percent_of_saturation=MappingProxyType(percent),
        ),
        None if file is None else path("[limits] file", file, base),
        None if chart is None else path("[limits] sdsi_k_chart", chart, base),
    )


def with_files(
    choices: LimitChoices, limits: Path | None = None, k_chart: Path | None = None
) -> LimitChoices:
    """Add the limits of a file, and an own K chart, to the limits chosen.

    Parameters
    ----------
    choices : LimitChoices
        Limits chosen one by one; they go before those of the file. [-]
    limits : Path, optional
        CSV with the columns of `LIMIT_COLUMNS`; `source` may be left out. [-]
    k_chart : Path, optional
        CSV with the columns of `CHART_COLUMNS`, a full grid. [-]

    Returns
    -------
    LimitChoices
        Both together. [-]

    Raises
    ------
    DesignError
        If a file cannot be read; the line says which row and why.
    """
    from msgspec.structs import replace

    if limits is not None:
        without, inhibited, origins = _read_limit_file(limits)
        choices = replace(choices, file_without=without, file_with=inhibited, origins=origins)
    if k_chart is not None:
        choices = replace(choices, k_chart=read_k_chart(k_chart))
    return choices


def _percent(kind: str, where: str, value: Any, base: Path) -> float:
    if kind == "si":
        return float(100.0 * 10.0 ** INDEX(where, value, base))
    return float(PERCENT(where, value, base))


def _rows(source: Path, columns: tuple[str, ...], may_lack: str = "") -> Iterator[dict[str, str]]:
    """Yield the rows of a CSV with a place for messages under "where"."""
    reader = csv_table(source, TABLE)
    headings = [h.casefold() for h in next(reader, (0, []))[1]]
    missing = [c for c in columns if c not in headings and c != may_lack]
    if missing:
        raise DesignError(
            f"{source}: no column '{missing[0]}'; the columns are {', '.join(columns)}"
        )
    for i, (_, cells) in enumerate(reader, start=2):
        padded = cells + [""] * (len(headings) - len(cells))
        row = dict(zip(headings, padded, strict=False))
        yield {**dict.fromkeys(columns, ""), **row, "where": f"{source}, row {i}"}


def _cell(row: Mapping[str, str], column: str) -> float:
    try:
        value = float(row[column].replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise DesignError(f"{row['where']}: {column} {quoted(row[column])} is not a number")
    return value


def _read_limit_file(source: Path) -> tuple[LimitSet, LimitSet, Mapping[str, str]]:
    plain: dict[str, float] = {}
    inhibited: dict[str, float] = {}
    origins: dict[str, str] = {}
    seen: set[str] = set()
    for row in _rows(source, LIMIT_COLUMNS, "source"):
        scale, where = _scale_of(row), row["where"]
        if scale in seen:
            raise DesignError(f"{where}: {scale} stands twice; keep one row")
        seen.add(scale)
        origins["calcite" if scale in INDEXES else scale] = row["source"] or source.name
        for column, values in (("without_inhibitor", plain), ("with_inhibitor", inhibited)):
            if row[column]:
                values[scale] = _limit(row, column, source)
        if inhibited.get(scale, math.inf) < plain.get(scale, -math.inf):
            raise DesignError(
                f"{where}: with_inhibitor is below without_inhibitor; an inhibitor never lowers a "
                "limit: check the row"
            )
    return _limit_set(plain), _limit_set(inhibited), MappingProxyType(origins)


def _scale_of(row: Mapping[str, str]) -> str:
    """Return the scale of a row, refusing an unknown one or a measure it does not have."""
    scale, measure = row["scale"].casefold(), row["measure"].casefold()
    for given, known in ((scale, SCALES), (measure, MEASURES)):
        if given not in known:
            near = one_of(given, known)
            raise DesignError(
                f"{row['where']}: {quoted(given)} is not one of {', '.join(known)}{near}"
            )
    if (scale in INDEXES) != (measure == "index"):
        raise DesignError(
            f"{row['where']}: lsi and sdsi are measured as index, the minerals as si or %"
        )
    return scale


def _limit(row: Mapping[str, str], column: str, source: Path) -> float:
    """Return a limit as index, or in percent of saturation."""
    where, value = f"{row['where']}: {column}", _cell(row, column)
    if row["measure"].casefold() == "index":
        return float(INDEX(where, value, source.parent))
    kind = "pct" if row["measure"] == "%" else "si"
    return _percent(kind, where, value, source.parent)


def _limit_set(values: dict[str, float]) -> LimitSet:
    percent = {k: v for k, v in values.items() if k in MINERALS_WITH_LIMIT}
    return LimitSet(values.get("lsi"), values.get("sdsi"), MappingProxyType(percent))


def read_k_chart(source: Path) -> KChart:
    """Read an own K chart of the Stiff and Davis index.

    Parameters
    ----------
    source : Path
        CSV with a row for each pair of ionic strength [mol/kg] and temperature [°C]; the
        pairs must fill a grid of at least two by two. [-]

    Returns
    -------
    KChart
        The chart. [-]

    Raises
    ------
    DesignError
        If the file cannot be read, a pair stands twice or the grid has a hole.
    """
    points: dict[tuple[float, float], float] = {}
    for row in _rows(source, CHART_COLUMNS):
        strength, temp_c, k = (_cell(row, column) for column in CHART_COLUMNS)
        if (strength, temp_c) in points:
            raise DesignError(
                f"{row['where']}: ionic strength {strength:g} at {temp_c:g} °C stands twice"
            )
        points[strength, temp_c] = k
    strengths, temps = (tuple(sorted({p[i] for p in points})) for i in (0, 1))
    hole = next(((i, t) for i in strengths for t in temps if (i, t) not in points), None)
    if hole is not None:
        raise DesignError(
            f"{source}: no K at ionic strength {hole[0]:g} and {hole[1]:g} °C; "
            "the chart must be a full grid"
        )
    if min(len(strengths), len(temps)) < 2:
        raise DesignError(f"{source}: a chart needs two ionic strengths and two temperatures")
    grid = tuple(tuple(points[i, t] for t in temps) for i in strengths)
    return KChart(source.name, strengths, temps, grid)
