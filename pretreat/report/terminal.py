"""Study -> text for a terminal of 80 columns."""

import textwrap
from collections.abc import Iterable, Sequence
from typing import Literal

from pretreat.basis import Figure, Flag
from pretreat.report.bench import sentence
from pretreat.report.digits import decimals, shown
from pretreat.report.layout import MAIN, Sheet
from pretreat.report.pages import Book, FigurePart, Part, TablePart, arrange
from pretreat.report.text_tables import table_lines
from pretreat.results import Study
from pretreat.units import US_CUSTOMARY, us_customary

Units = Literal["si", "us"]

COLUMNS = 80
_LABEL, _VALUE, _UNIT, _TAG = 38, 12, 15, 10
_LEVELS = ("warning", "caution", "info")
_RATED = ("programme.week", "softener.settings")


def text_check(study: Study, *, units: Units = "si") -> str:
    """Return what the analysis says and how far it can be trusted.

    Parameters
    ----------
    study : Study
        The study. [-]
    units : str
        "si" or "us". [-]

    Returns
    -------
    str
        Text of lines of 80 columns. [-]
    """
    book = arrange(study)
    lines = _head(study, "Water analysis")
    lines += _sheets(study, book, ("Water analysis",), units, skip=("water.trail",))
    return _join([*lines, *flag_lines(study.flags)])


def text_scaling(study: Study, *, units: Units = "si") -> str:
    """Return concentrate, indexes, saturations against their limits and recovery limits.

    Parameters
    ----------
    study : Study
        The study. [-]
    units : str
        "si" or "us". [-]

    Returns
    -------
    str
        Text of lines of 80 columns. [-]
    """
    book = arrange(study)
    lines = _head(study, "Scaling of the concentrate")
    lines += _sheets(study, book, ("Concentrate", "Scaling"), units)
    return _join([*lines, *flag_lines(study.flags)])


def text_size(study: Study, *, units: Units = "si") -> str:
    """Return the main results of a sizing; the workbook holds all of them.

    Parameters
    ----------
    study : Study
        The study. [-]
    units : str
        "si" or "us". [-]

    Returns
    -------
    str
        Text of lines of 80 columns. [-]
    """
    return _main_text(study, "Sizing of the pretreatment", units)


def text_rate(study: Study, *, units: Units = "si") -> str:
    """Return the main results for vessels that are installed.

    Parameters
    ----------
    study : Study
        The study. [-]
    units : str
        "si" or "us". [-]

    Returns
    -------
    str
        Text of lines of 80 columns. [-]
    """
    return _main_text(study, "Rating of the installed pretreatment", units)


def _main_text(study: Study, title: str, units: Units) -> str:
    lines = _head(study, title)
    stages = [f for k, f in study.figures.items() if k.startswith("train.") and _is_text(f)]
    if stages:
        lines += ["", "Train, in the order of flow"]
        for figure in stages:
            lines += _wrapped(f"{sentence(figure.label)}: {figure.value}", "  ", "      ")
    for heading, keys in MAIN:
        here = [study[key] for key in keys if key in study.figures]
        if here:
            lines += ["", heading]
            for figure in here:
                lines += figure_lines(figure, units)
    for key in _RATED:
        if key in study.series:
            lines += ["", *table_lines(study.series[key], COLUMNS, us=units == "us")]
    return _join([*lines, *flag_lines(study.flags)])


def _is_text(figure: Figure) -> bool:
    return isinstance(figure.value, str) and bool(figure.value)


def _head(study: Study, title: str) -> list[str]:
    site = study.value("site.name")
    name = f"{site}: {title[:1].lower()}{title[1:]}" if isinstance(site, str) and site else title
    lines = [*textwrap.wrap(name, COLUMNS), "=" * min(len(name), COLUMNS)]
    for key, figure in study.figures.items():
        if key.startswith("summary.") and _is_text(figure):
            verdict = key == "summary.verdict"
            text = str(figure.value) if verdict else f"{sentence(figure.label)}: {figure.value}"
            lines += _wrapped(text, "", "  ")
    return lines


def _sheets(
    study: Study, book: Book, names: Sequence[str], units: Units, skip: tuple[str, ...] = ()
) -> list[str]:
    lines: list[str] = []
    for page in book.pages:
        if page.sheet.name in names:
            for part in page.parts:
                lines += _part_lines(study, page.sheet, part, units, skip)
    return lines


def _part_lines(
    study: Study, sheet: Sheet, part: Part, units: Units, skip: tuple[str, ...]
) -> list[str]:
    if isinstance(part, TablePart) and part.series.key not in skip:
        return ["", *table_lines(part.series, COLUMNS, us=units == "us")]
    if not isinstance(part, FigurePart):
        return []
    lines = ["", part.heading or sheet.title]
    for key in part.keys:
        lines += figure_lines(study[key], units)
    return lines


def figure_lines(figure: Figure, units: Units = "si") -> list[str]:
    """Return a figure as lines: label, value, unit, tag.

    Parameters
    ----------
    figure : Figure
        The figure. [-]
    units : str
        "si" or "us". [-]

    Returns
    -------
    list of str
        Lines of 80 columns. [-]
    """
    value, unit = _value_and_unit(figure, units)
    labels = textwrap.wrap(sentence(figure.label), _LABEL) or [figure.key]
    if len(value) > _VALUE:
        text = f"{sentence(figure.label)}: {value}  ({figure.origin})"
        return _wrapped(text, "  ", "      ")
    rest = f"{value:>{_VALUE}} {unit:<{_UNIT}} {figure.origin:<{_TAG}}".rstrip()
    first = f"  {labels[0]:<{_LABEL}} {rest}"
    return [first, *(f"    {more}" for more in labels[1:])]


def _value_and_unit(figure: Figure, units: Units) -> tuple[str, str]:
    value, unit = figure.value, "" if figure.unit == "-" else figure.unit
    us = units == "us" and figure.unit in US_CUSTOMARY
    if isinstance(value, float):
        if us:
            value, unit = us_customary(value, figure.unit)
            return shown(value, decimals(Figure(figure.key, value, unit, figure.label))), unit
        return shown(value, decimals(figure)), unit
    if isinstance(value, str):
        return value, ""
    if figure.below is not None:
        limit, unit = us_customary(figure.below, figure.unit) if us else (figure.below, unit)
        return f"< {limit:.4g}", unit
    return ("not measured" if "not_measured" in figure.flags else "not computed"), ""


def flag_lines(flags: Iterable[Flag]) -> list[str]:
    """Return flags as wrapped lines, warnings first.

    Parameters
    ----------
    flags : iterable of Flag
        The flags. [-]

    Returns
    -------
    list of str
        Lines of 80 columns, a blank line and a heading first; empty without flags. [-]
    """
    flags = tuple(flags)
    lines = ["", "To mind"] if flags else []
    for level in _LEVELS:
        for flag in flags:
            if flag.level == level:
                lines += _wrapped(f"{level:<8} {flag.code}: {flag.text}", "  ", " " * 11)
    return lines


def _wrapped(text: str, first: str, rest: str) -> list[str]:
    return textwrap.wrap(text, COLUMNS, initial_indent=first, subsequent_indent=rest) or [""]


def _join(lines: list[str]) -> str:
    """Join lines, without the control characters that a file may have brought along."""
    clean = ("".join(c for c in line if c.isprintable()).rstrip() for line in lines)
    return "\n".join(clean) + "\n"
