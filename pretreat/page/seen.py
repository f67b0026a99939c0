"""A study as the page shows it: every number as text, in the units of the reader."""

from typing import Any, Literal

from pretreat.core.basis import Figure, Flag, Series
from pretreat.core.results import Study
from pretreat.report.main_results import MAIN
from pretreat.report.text.us_words import in_us_words
from pretreat.report.text.values import column_text, value_and_unit
from pretreat.report.workbook.bench import governing, is_standing, label_under, sentence, stages_in

Units = Literal["si", "us"]


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
            {"heading": heading, "keys": here, "labels": _labels(study, heading, here)}
            for heading, keys in MAIN
            if (here := [key for key in governing(study, keys) if key in study.figures])
        ],
        "stages": list(stages_in(study)),
    }


def _labels(study: Study, heading: str, keys: list[str]) -> list[str]:
    return [sentence(label_under(heading, study[key].label)) for key in keys]


def _figure(figure: Figure, units: Units) -> dict[str, Any]:
    value, unit = value_and_unit(figure, units)
    said = in_us_words(value) if units == "us" and isinstance(figure.value, str) else value
    body = {"label": sentence(figure.label), "text": said, "unit": unit, "origin": figure.origin}
    for end in ("p10", "p90"):
        bound = getattr(figure, end)
        if isinstance(bound, float):
            body[end] = value_and_unit(_at(figure, bound), units)[0]
    return body


def _at(figure: Figure, value: float) -> Figure:
    return Figure(figure.key, value, figure.unit, figure.label, figure.origin)


def _series(series: Series, units: Units) -> dict[str, Any]:
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


def _flag(flag: Flag, units: Units) -> dict[str, Any]:
    return {
        "code": flag.code,
        "level": flag.level,
        "text": in_us_words(flag.text) if units == "us" else flag.text,
        "figure": flag.figure,
        "standing": is_standing(flag),
    }
