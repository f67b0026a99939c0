"""A study as the page shows it: every number as text, in the units of the reader."""

import re
from typing import Any, Literal

from msgspec.structs import replace

from pretreat.core.basis import Figure, Flag, Series
from pretreat.core.results import Study
from pretreat.core.units import us_customary
from pretreat.page.words import in_page_words
from pretreat.report.main_results import MAIN
from pretreat.report.text.us_words import in_us_words
from pretreat.report.text.values import column_text, value_and_unit
from pretreat.report.workbook.bench import (
    governing,
    is_standing,
    label_under,
    range_text,
    ranges,
    sentence,
    stages_in,
)
from pretreat.report.workbook.marks import NO_PRICE

Units = Literal["si", "us"]
_CURRENCY = re.compile(r"(?:[A-Z]{3}|currency)(?:/year|/m3)?$")


def seen(study: Study, units: Units) -> dict[str, Any]:
    """Return a study as texts.

    Parameters
    ----------
    study : Study
        The study. [-]
    units : {"si", "us"}
        Units of the reader. [-]

    Returns
    -------
    dict
        Figures, tables, remarks, main results and stages. [-]
    """
    return {
        "units": units,
        "figures": {key: _figure(figure, units) for key, figure in study.figures.items()},
        "series": {key: _series(series, units) for key, series in study.series.items()},
        "flags": [_flag(flag, units) for flag in study.flags],
        "main": [
            _block(study, heading, here)
            for heading, keys in MAIN
            if (here := [key for key in governing(study, keys) if key in study.figures])
        ],
        "stages": list(stages_in(study)),
    }


def _block(study: Study, heading: str, keys: list[str]) -> dict[str, Any]:
    """Return main results under a heading; both ends of a range as one, as the command has it."""
    pairs = list(ranges([study[key] for key in keys]))
    return {
        "heading": heading,
        "keys": [figure.key for figure, _ in pairs],
        "labels": [sentence(_label(heading, figure, high)) for figure, high in pairs],
        "ranges": {
            figure.key: range_text(figure, high) for figure, high in pairs if high is not None
        },
        "unpriced": all(NO_PRICE in figure.flags for figure, _ in pairs),
    }


def _label(heading: str, figure: Figure, high: Figure | None) -> str:
    label = label_under(heading, figure.label)
    return label if high is None else label.removesuffix(", estimated").removesuffix(", low")


def _figure(figure: Figure, units: Units) -> dict[str, Any]:
    value, unit = value_and_unit(figure, units)
    if figure.key.startswith("quote.") and isinstance(figure.value, float) and _money(figure):
        value = f"{figure.value:,.2f}"
    said = in_us_words(value) if units == "us" and isinstance(figure.value, str) else value
    body = {"label": sentence(figure.label), "text": said, "unit": unit, "origin": figure.origin}
    for end in ("p10", "p90"):
        bound = getattr(figure, end)
        if isinstance(bound, float):
            body[end] = value_and_unit(_at(figure, bound), units)[0]
    return body


def _money(figure: Figure) -> bool:
    return bool(_CURRENCY.match(figure.unit)) and figure.unit != "kWh"


def _at(figure: Figure, value: float) -> Figure:
    return Figure(figure.key, value, figure.unit, figure.label, figure.origin)


def _series(series: Series, units: Units) -> dict[str, Any]:
    series = _in_us_units(series) if units == "us" else series
    columns = [column_text(series, i, units) for i in range(len(series.columns))]
    words = [in_us_words if units == "us" else str] * len(columns)
    return {
        "label": sentence(series.label),
        "columns": list(series.columns),
        "headings": [heading for heading, _, _ in columns],
        "units": [unit for _, unit, _ in columns],
        "numeric": [
            any(isinstance(value, float) for value in series.column(name))
            for name in series.columns
        ],
        "rows": [
            [said(cell) for said, cell in zip(words, row, strict=True)]
            for row in zip(*(cells for _, _, cells in columns), strict=True)
        ],
    }


def _in_us_units(series: Series) -> Series:
    """Return a table whose unit stands in a column of its own with its quantities turned."""
    if not {"quantity", "unit"} <= set(series.columns):
        return series
    at, of = series.columns.index("quantity"), series.columns.index("unit")
    rows = []
    for row in series.rows:
        cells, value, unit = list(row), row[at], row[of]
        if isinstance(value, float) and isinstance(unit, str):
            cells[at], cells[of] = us_customary(value, unit)
        rows.append(tuple(cells))
    return replace(series, rows=tuple(rows))


def _flag(flag: Flag, units: Units) -> dict[str, Any]:
    text, _ = in_page_words(flag.text)
    return {
        "code": flag.code,
        "level": flag.level,
        "text": in_us_words(text) if units == "us" else text,
        "figure": flag.figure,
        "standing": is_standing(flag),
    }
