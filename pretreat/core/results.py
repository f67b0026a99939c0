"""The study: every reported number, table and flag, to and from JSON."""

import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from pretreat import __version__
from pretreat.core.basis import Evidence, Figure, Flag, Origin, Series, Value
from pretreat.core.errors import PretreatError

SCHEMA = "pretreat-study-1"


@dataclass(frozen=True, slots=True)
class Study:
    """The result of one run, made of figures, series and flags, and of nothing else."""

    figures: Mapping[str, Figure]
    series: Mapping[str, Series]
    flags: tuple[Flag, ...]

    def __getitem__(self, key: str) -> Figure:
        """Return a figure by its key."""
        return self.figures[key]

    def value(self, key: str) -> Value:
        """Return the value of a figure, None if there is no such figure."""
        figure = self.figures.get(key)
        return None if figure is None else figure.value

    def number(self, key: str) -> float | None:
        """Return the value of a figure that is a number, else None."""
        value = self.value(key)
        return value if isinstance(value, float) else None

    def flags_of(self, *levels: str) -> tuple[Flag, ...]:
        """Return the flags of the given levels, in order."""
        return tuple(flag for flag in self.flags if flag.level in levels)


class Ledger:
    """Collects figures, series and flags while a study is composed.

    It refuses a key used twice, and turns a number that is not finite into a gap with a flag.
    """

    def __init__(self) -> None:
        self._figures: dict[str, Figure] = {}
        self._series: dict[str, Series] = {}
        self._flags: dict[tuple[str, str, str | None], Flag] = {}

    def __contains__(self, key: str) -> bool:
        return key in self._figures

    def add(self, figure: Figure) -> Figure:
        """Enter a figure; return it as entered."""
        if figure.key in self._figures:
            raise PretreatError(f"figure {figure.key} is entered twice")
        if isinstance(figure.value, float) and not math.isfinite(figure.value):
            self.flag(Flag("not_computable", "caution", f"{figure.label}: not computable",
                           figure.key))  # fmt: skip
            figure = replace(figure, value=None)
        elif isinstance(figure.value, int):
            figure = replace(figure, value=float(figure.value))
        self._figures[figure.key] = figure
        return figure

    def put(self, key: str, value: Value, unit: str, label: str, **more: Any) -> float:
        """Enter a figure made of its parts; return its value as a number (NaN for a gap)."""
        entered = self.add(Figure(key, value, unit, label, **more)).value
        return entered if isinstance(entered, float) else math.nan

    def amend(self, key: str, **changes: Any) -> None:
        """Replace fields of a figure that is already entered."""
        self._figures[key] = replace(self._figures[key], **changes)

    def figure(self, key: str) -> Figure | None:
        """Return a figure entered before, or None."""
        return self._figures.get(key)

    def number(self, key: str) -> float | None:
        """Return the number entered under a key, or None."""
        figure = self._figures.get(key)
        return figure.value if figure and isinstance(figure.value, float) else None

    def table(self, series: Series) -> None:
        """Enter a series."""
        if series.key in self._series:
            raise PretreatError(f"series {series.key} is entered twice")
        rows = tuple(tuple(_finite(v) for v in row) for row in series.rows)
        self._series[series.key] = replace(series, rows=rows)

    def flag(self, *flags: Flag) -> None:
        """Enter flags, each once, and mark the figures they speak of."""
        for flag in flags:
            self._flags.setdefault((flag.code, flag.text, flag.figure), flag)

    def study(self) -> Study:
        """Return what was entered; figures list the codes of the flags that name them."""
        flags = tuple(self._flags.values())
        marked: dict[str, list[str]] = {}
        for flag in flags:
            if flag.figure is not None:
                marked.setdefault(flag.figure, []).append(flag.code)
        figures = {
            key: replace(f, flags=(*f.flags, *(c for c in marked.get(key, ()) if c not in f.flags)))
            for key, f in self._figures.items()
        }
        return Study(MappingProxyType(figures), MappingProxyType(dict(self._series)), flags)


def _finite(value: Value) -> Value:
    if isinstance(value, bool) or value is None or isinstance(value, str):
        return value
    number = float(value)
    return number if math.isfinite(number) else None


def to_json(study: Study) -> str:
    """Write a study as one JSON object, without NaN or Infinity.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    str
        JSON text. [-]
    """
    document = {
        "schema": SCHEMA,
        "version": __version__,
        "figures": {key: _figure_object(figure) for key, figure in study.figures.items()},
        "series": {key: _series_object(series) for key, series in study.series.items()},
        "flags": [
            {"code": f.code, "level": f.level, "text": f.text, "figure": f.figure}
            for f in study.flags
        ],
    }
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False)


def _figure_object(figure: Figure) -> dict[str, Any]:
    body: dict[str, Any] = {
        "value": figure.value,
        "unit": figure.unit,
        "label": figure.label,
        "origin": figure.origin,
        "evidence": figure.evidence,
        "method": figure.method,
        "cites": list(figure.cites),
        "inputs": list(figure.inputs),
        "flags": list(figure.flags),
    }
    if figure.formula is not None:
        body["formula"] = figure.formula
    if figure.below is not None:
        body["below"] = figure.below
    return body


def _series_object(series: Series) -> dict[str, Any]:
    return {
        "label": series.label,
        "columns": list(series.columns),
        "units": list(series.units),
        "headings": list(series.headings),
        "method": series.method,
        "cites": list(series.cites),
        "rows": [list(row) for row in series.rows],
    }


def from_json(text: str) -> Study:
    """Read a study back from JSON.

    Parameters
    ----------
    text : str
        JSON text written by `to_json`. [-]

    Returns
    -------
    Study
        The study. [-]

    Raises
    ------
    PretreatError
        If the text is not such a document.
    """
    try:
        document = json.loads(text)
        if document["schema"] != SCHEMA:
            raise PretreatError(f"schema is '{document['schema']}', this version reads {SCHEMA}")
        return Study(
            MappingProxyType({k: _figure(k, v) for k, v in document["figures"].items()}),
            MappingProxyType({k: _series(k, v) for k, v in document["series"].items()}),
            tuple(Flag(**flag) for flag in document["flags"]),
        )
    except (ValueError, KeyError, TypeError, AttributeError) as problem:
        raise PretreatError(f"not a study in JSON: {problem}") from problem


def _figure(key: str, body: Mapping[str, Any]) -> Figure:
    value = body["value"]
    return Figure(
        key=key,
        value=float(value) if isinstance(value, int) else value,
        cites=tuple(body["cites"]),
        inputs=tuple(body["inputs"]),
        flags=tuple(body["flags"]),
        formula=body.get("formula"),
        below=body.get("below"),
        **{name: body[name] for name in ("unit", "label", "origin", "evidence", "method")},
    )


def _series(key: str, body: Mapping[str, Any]) -> Series:
    return Series(
        key=key,
        label=body["label"],
        columns=tuple(body["columns"]),
        units=tuple(body["units"]),
        headings=tuple(body["headings"]),
        method=body["method"],
        cites=tuple(body["cites"]),
        rows=tuple(tuple(_finite(v) for v in row) for row in body["rows"]),
    )


def source_keys(figures: Iterable[Figure], series: Iterable[Series]) -> tuple[str, ...]:
    """Return the source keys used, in order, each once.

    Parameters
    ----------
    figures : iterable of Figure
        Figures of a study. [-]
    series : iterable of Series
        Series of a study. [-]

    Returns
    -------
    tuple of str
        Keys of ``data/sources.toml``. [-]
    """
    keys: dict[str, None] = {}
    items: tuple[Figure | Series, ...] = (*figures, *series)
    for item in items:
        for key in item.cites:
            keys[key] = None
    return tuple(keys)


__all__ = [
    "SCHEMA",
    "Evidence",
    "Figure",
    "Flag",
    "Ledger",
    "Origin",
    "Series",
    "Study",
    "from_json",
    "source_keys",
    "to_json",
]
