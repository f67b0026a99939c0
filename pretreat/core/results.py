"""The study: every reported number, table and flag, to and from JSON."""

import math
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from types import MappingProxyType
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from pretreat import __version__
from pretreat.core.basis import Evidence, Figure, Flag, Origin, Series, Value, citations
from pretreat.core.errors import PretreatError
from pretreat.core.graph import Again, Computed, Graph
from pretreat.core.law import Applied, Law
from pretreat.core.names import unit_of, words_of
from pretreat.core.text import json_text, plain_numbers, plain_text

SCHEMA = "pretreat-study-1"


class UnknownKeyError(PretreatError, KeyError):
    """A study has no figure of this key."""

    __str__ = PretreatError.__str__


class Study(Struct, frozen=True, eq=False):
    """The result of one run: figures, series and flags, and the graph that ties them.

    A study read from JSON has no graph.
    """

    figures: Mapping[str, Figure]
    series: Mapping[str, Series]
    flags: tuple[Flag, ...]
    graph: Graph | None = None

    def __eq__(self, other: object) -> bool:
        """Tell whether two studies hold the same; how they came to it does not count."""
        if not isinstance(other, Study):
            return NotImplemented
        mine, others = ((s.figures, s.series, s.flags) for s in (self, other))
        return mine == others

    __hash__ = None  # type: ignore[assignment]

    def __getitem__(self, key: str) -> Figure:
        """Return a figure by its key; a mistyped key names its neighbours."""
        if key not in self.figures:
            raise UnknownKeyError(f"no figure '{key}' in this study{self._neighbours(key)}")
        return self.figures[key]

    def __repr__(self) -> str:
        """Return what the study is of, how much it holds and what it warns of."""
        kind, site = self.value("study.kind") or "study", self.value("site.name")
        lines = [
            f"Study ({kind}{f' of {site}' if site else ''}): {len(self.figures)} figures, "
            f"{len(self.series)} tables, {len(self.flags)} flags"
        ]
        for key in ("verdict.answer", "recovery.max", "recovery.limited_by", "softener.interval_d"):
            figure = self.figures.get(key)
            if figure is not None:
                value = figure.value
                text = f"{value:.4g}" if isinstance(value, float) else str(value)
                unit = "" if figure.unit == "-" else f" {figure.unit}"
                lines.append(f"  {key} = {text}{unit}")
        return "\n".join(lines + [f"  warning: {f.text}" for f in self.flags_of("warning")[:3]])

    def find(self, word: str) -> tuple[str, ...]:
        """Return the keys of the figures that speak of a word, in their key or label."""
        wanted = word.casefold()
        return tuple(
            key
            for key, figure in self.figures.items()
            if wanted in key or wanted in figure.label.casefold()
        )

    def _neighbours(self, key: str) -> str:
        near = get_close_matches(key, self.figures, n=3) or self.find(key.rsplit(".", 1)[-1])[:3]
        return f"; did you mean {' or '.join(near)}?" if near else ""

    def value(self, key: str) -> Value:
        """Return the value of a figure, None if there is no such figure."""
        figure = self.figures.get(key)
        return None if figure is None else figure.value

    def number(self, key: str) -> float | None:
        """Return the value of a figure that is a number (or an array of draws), else None."""
        value = self.value(key)
        return None if value is None or isinstance(value, str) else value

    def flags_of(self, *levels: str) -> tuple[Flag, ...]:
        """Return the flags of the given levels, in order."""
        return tuple(flag for flag in self.flags if flag.level in levels)

    def worked(self, key: str) -> str | None:
        """Return the equation of a figure with names and then with numbers, None if it has none.

        Parameters
        ----------
        key : str
            Key of the figure. [-]

        Returns
        -------
        str or None
            Such as "interval = usable / load = 19.4 kg / 17.1 kg/d = 1.13 d". [-]
        """
        figure = self[key]
        node = self.graph.nodes.get(key) if self.graph else None
        if not isinstance(node, Applied) or figure.value is None:  # no value, nothing to work out
            return figure.worked
        return node.worked(words_of(key), self.value, figure.unit, figure.value)

    def moved(self, changes: Mapping[str, Any]) -> tuple[dict[str, Any], tuple[str, ...]]:
        """Return the values that move when some figures change, and the keys that cannot follow.

        Parameters
        ----------
        changes : mapping
            New values by key, floats or arrays of one length. [any]

        Returns
        -------
        dict
            New values by key, None for a blank. [any]
        tuple of str
            Keys that are stale. [-]

        Raises
        ------
        PretreatError
            If a key is unknown, or the study was read from JSON.
        """
        if self.graph is None:
            raise PretreatError(
                "this study was read from a document and has no graph: run the site again"
            )
        for key in changes:
            self[key]
        return _moved(self.graph, self.figures, changes)

    def again(self, changes: Mapping[str, Any]) -> "Study":
        """Return the study with some figures changed and every law behind them computed anew.

        A value that is no law is computed anew by the function registered for it, stays where
        it is declared held (a vessel), or is blank with the flag ``stale``. Tables and the flags
        of the run speak of the old values and are left out.

        Parameters
        ----------
        changes : mapping
            New values by key; arrays of one length give arrays. [any]

        Returns
        -------
        Study
            The study after the change. [-]

        Raises
        ------
        PretreatError
            If a key is unknown, or the study was read from JSON.
        """
        moved, stale = self.moved(
            {k: float(v) if isinstance(v, int) else v for k, v in changes.items()}
        )
        flags = tuple(
            Flag(
                "stale",
                "caution",
                f"{self.figures[key].label}: does not follow the change, run the site again",
                key,
            )
            for key in stale
        )
        gone = set(stale)
        figures = {
            key: figure
            if key not in moved
            else replace(
                figure,
                value=moved[key],
                flags=("stale",) if key in gone else (),
                p10=None,
                p90=None,
            )
            for key, figure in self.figures.items()
        }
        return Study(MappingProxyType(figures), MappingProxyType({}), flags, self.graph)


class Ledger:
    """Collects figures, series and flags while a study is composed.

    It refuses a key used twice, and turns a number that is not finite into a gap with a flag.
    """

    shown = True  # False where nobody reads its tables

    def __init__(self) -> None:
        self._figures: dict[str, Figure] = {}
        self._series: dict[str, Series] = {}
        self._flags: dict[tuple[str, str, str | None], Flag] = {}
        self.graph = Graph()

    def __contains__(self, key: str) -> bool:
        return key in self._figures

    def add(self, figure: Figure) -> Figure:
        """Enter a figure; return it as entered."""
        if figure.key in self._figures:
            raise PretreatError(f"figure {figure.key} is entered twice")
        if isinstance(figure.value, float) and not math.isfinite(figure.value):
            self.flag(
                Flag("not_computable", "caution", f"{figure.label}: not computable", figure.key)
            )
            figure = replace(figure, value=None)
        elif isinstance(figure.value, int):
            figure = replace(figure, value=float(figure.value))
        elif isinstance(figure.value, str):
            text = plain_numbers(plain_text(figure.value))
            figure = figure if text == figure.value else replace(figure, value=text)
        self._figures[figure.key] = figure
        return figure

    def put(self, key: str, value: Value, unit: str, label: str, **more: Any) -> float:
        """Enter a figure made of its parts; return its value as a number (NaN for a gap)."""
        entered = self.add(Figure(key, value, unit, label, **more)).value
        return entered if isinstance(entered, float) else math.nan

    def law(self, key: str, law: Law[..., Any], *, label: str, **more: Any) -> float:
        """Enter a figure that follows from others by a law; return its value (NaN for a gap).

        Parameters
        ----------
        key : str
            Key of the figure; its ending gives the unit, unless ``unit`` does. [-]
        law : Law
            The equation. [-]
        label : str
            What the figure is called. [-]
        **more
            The law's arguments, each a key or a number or a list of these; fields of `Figure`;
            ``by``, functions whose sources are cited beside the law's. [any]

        Returns
        -------
        float
            The value. [as the key]
        """
        arguments = {name: more.pop(name) for name in law.names if name in more}
        node = Applied(law, arguments)
        unit = more.pop("unit", None) or unit_of(key) or "-"
        more.setdefault("cites", citations(law, *more.pop("by", ())))
        value = node.compute(self.number)
        self.graph.nodes[key] = node  # a law that refuses its numbers leaves nothing behind
        return self.put(key, value, unit, label, formula=node.formula, inputs=node.inputs, **more)

    def rests(self, key: str, *inputs: str, again: Again | None = None, held: bool = False) -> None:
        """Say what a value that is no law rests on, and how it follows a change.

        Parameters
        ----------
        key : str
            Key of a figure entered before. [-]
        *inputs : str
            Keys of the figures it rests on. [-]
        again : callable, optional
            Makes the value anew from the values of other figures. [-]
        held : bool
            The value stays as it is on purpose. [-]
        """
        self.graph.nodes[key] = Computed(inputs, again, held)
        if not isinstance(self._figures[key].value, str):  # words have no cells to follow
            self.amend(key, inputs=inputs)

    def amend(self, key: str, **changes: Any) -> None:
        """Replace fields of a figure that is already entered."""
        self._figures[key] = replace(self._figures[key], **changes)

    def moved(
        self, changes: Mapping[str, Any], wanted: Iterable[str] | None = None
    ) -> tuple[dict[str, Any], tuple[str, ...]]:
        """Return what moves when some of the figures entered so far change (see `Study.moved`).

        Where some are ``wanted``, what they do not rest on is left out.
        """
        figures: Mapping[str, Figure] = self._figures
        if wanted is not None:
            behind = {key for one in wanted for key in (one, *self.graph.behind(one))}
            figures = {key: figure for key, figure in figures.items() if key in behind}
        return _moved(self.graph, figures, changes)

    def leave_open(self, key: str) -> None:
        """Make a figure entered before a gap that no equation fills."""
        self.amend(key, value=None, formula=None)

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
        for given in flags:
            text = plain_numbers(plain_text(given.text))
            flag = given if text == given.text else replace(given, text=text)
            self._flags.setdefault((flag.code, flag.text, flag.figure), flag)

    def retell(self, flags: Iterable[Flag]) -> None:
        """Put other flags, or another order of them, in place of those entered."""
        self._flags = {(f.code, f.text, f.figure): f for f in flags}

    def study(self) -> Study:
        """Return what was entered; figures list the codes of the flags that name them."""
        flags = tuple(self._flags.values())
        marked: dict[str, list[str]] = {}
        for flag in flags:
            if flag.figure is not None:
                marked.setdefault(flag.figure, []).append(flag.code)
        figures = dict(self._figures)
        for key, codes in marked.items():
            figure = figures.get(key)
            more = () if figure is None else tuple(c for c in codes if c not in figure.flags)
            if figure is not None and more:
                figures[key] = replace(figure, flags=(*figure.flags, *more))
        return Study(
            MappingProxyType(figures), MappingProxyType(dict(self._series)), flags, self.graph
        )


def _moved(
    graph: Graph, figures: Mapping[str, Figure], changes: Mapping[str, Any]
) -> tuple[dict[str, Any], tuple[str, ...]]:
    values = {key: figure.value for key, figure in figures.items()}
    loose = (key for key, figure in figures.items() if figure.origin == "calculated")
    return graph.recompute(changes, values, loose)


def _finite(value: Value) -> Value:
    if isinstance(value, str):
        return plain_text(value)
    if isinstance(value, bool) or value is None:
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
    import json

    from msgspec.json import format as indented

    document = {
        "schema": SCHEMA,
        "version": __version__,
        "figures": {key: _figure_object(study, figure) for key, figure in study.figures.items()},
        "series": {key: _series_object(series) for key, series in study.series.items()},
        "flags": [
            {"code": f.code, "level": f.level, "text": f.text, "figure": f.figure}
            for f in study.flags
        ],
    }
    text = json_text(json.dumps(document, ensure_ascii=False, allow_nan=False))
    return indented(text, indent=1)  # as json would do it, in less than half the time


def _figure_object(study: Study, figure: Figure) -> dict[str, Any]:
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
    worked = study.worked(figure.key)
    for name, extra in (
        ("below", figure.below),
        ("p10", figure.p10),
        ("p90", figure.p90),
        ("worked", worked),
    ):
        if extra is not None:
            body[name] = extra
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
        If the text is not such a document; the part that is not is named.
    """
    from pretreat.core.document import read_document

    figures, series, flags = read_document(text, SCHEMA)
    return Study(MappingProxyType(figures), MappingProxyType(series), flags)


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
