"""Study -> text for a terminal of 80 columns."""

import textwrap
from collections.abc import Iterable, Sequence
from typing import Literal

from msgspec.structs import replace

from pretreat.core.basis import Figure, Flag, Series
from pretreat.core.results import Study
from pretreat.core.text import first_clause
from pretreat.report.main_results import MAIN
from pretreat.report.text.tables import table_lines
from pretreat.report.text.us_words import in_us_words
from pretreat.report.text.values import value_and_unit
from pretreat.report.workbook.bench import (
    end_shown,
    governing,
    is_standing,
    label_under,
    range_shown,
    ranges,
    sentence,
    stages_behind,
    stages_in,
)
from pretreat.report.workbook.layout import Sheet
from pretreat.report.workbook.marks import NO_PRICE
from pretreat.report.workbook.pages import Book, FigurePart, Part, TablePart, arrange

Units = Literal["si", "us"]

COLUMNS = 80
_LABEL, _VALUE, _UNIT, _TAG = 38, 12, 15, 10
_SHORT_LEAD = 40  # a lead this short says nothing by itself
IN_VERDICT = "unjudged_scale"  # told at the head, with the verdict
SAFETY = (
    "Safety, in full on the sheet Cautions: read it before work; safety data sheets, local codes "
    "and licensed practice govern"
)
_LEVELS = ("warning", "caution", "info")
_RATED = ("programme.week", "softener.settings")
_SIZED = ("softener.settings",)
_WEEK_COLUMNS = ("day", "starts", "done")
_LEVER_COLUMNS = ("lever", "maximum", "limited_by")


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
    lines = _head(study, "Water analysis", units)
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
    lines = _head(study, "Scaling of the concentrate", units)
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
    return _main_text(study, "Sizing of the pretreatment", units, _SIZED)


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
    return _main_text(study, "Rating of the installed pretreatment", units, _RATED)


def _main_text(study: Study, title: str, units: Units, more: tuple[str, ...] = ()) -> str:
    lines = [*_head(study, title, units), *_lever_lines(study)]
    stages, behind = stages_in(study), stages_behind(study)
    if behind:
        stages = (*stages, "membranes", *behind)
    if stages:
        lines += ["", *_wrapped("Train: " + ", then ".join(stages), "", "  ")]
    for heading, keys in MAIN:
        here = [study[key] for key in governing(study, keys) if key in study.figures]
        if here:
            lines += ["", heading]
            lines += _block_lines(heading, here, units)
    for key in more:
        if key in study.series:
            lines += ["", *table_lines(_narrow(study.series[key]), COLUMNS, us=units == "us")]
    return _join([*lines, *_plant_lines(study, units)])


def _block_lines(heading: str, figures: Sequence[Figure], units: Units) -> list[str]:
    """Return the results under a heading; prices that are missing are said once."""
    if all(f.value is None and NO_PRICE in f.flags for f in figures):
        return ["  no prices are given: fill in [prices] of the site file"]
    lines: list[str] = []
    for figure, high in ranges(figures):
        lines += _result_lines(heading, figure, high, units)
    return lines


def _lever_lines(study: Study) -> list[str]:
    """Return what lifts the limit, where the recovery wanted is over it."""
    wanted, most = study.number("concentrate.recovery"), study.number("recovery.max")
    series = study.series.get("recovery.levers") or study.series.get("untreated.recovery.levers")
    if series is None or wanted is None or most is None or wanted <= most:
        return []
    kept = [n for n in _LEVER_COLUMNS if n in series.columns]
    return ["", *table_lines(_only(series, tuple(kept)), COLUMNS)]


def _narrow(series: Series) -> Series:
    """Return the programme of a week without its columns of minutes."""
    return _only(series, _WEEK_COLUMNS) if series.key == "programme.week" else series


def _only(series: Series, names: tuple[str, ...]) -> Series:
    """Return a series with some of its columns."""
    kept = [i for i, name in enumerate(series.columns) if name in names]
    rows = tuple(tuple(row[i] for i in kept) for row in series.rows)
    headings = tuple(series.headings[i] for i in kept) if series.headings else ()
    return replace(
        series,
        columns=tuple(series.columns[i] for i in kept),
        headings=headings,
        units=tuple(series.units[i] for i in kept),
        rows=rows,
    )


def _result_lines(heading: str, figure: Figure, high: Figure | None, units: Units) -> list[str]:
    label = label_under(heading, figure.label)
    if high is None:
        return figure_lines(replace(figure, label=label), units)
    low, top, unit = range_shown(figure, high)
    low_end, high_end = end_shown(low), end_shown(top)
    label = label.removesuffix(", estimated").removesuffix(", low")
    text = f"{low_end} to {high_end}"
    return [f"  {label:<{_LABEL}} {text:>{_VALUE}} {unit:<{_UNIT}} estimated"]


def _plant_lines(study: Study, units: Units) -> list[str]:
    """Return the warnings and cautions of this plant, the rules of safe work, and a count."""
    grave = study.flags_of("warning", "caution")
    verdict = str(study.value("verdict.reasons") or "")
    here = [
        f
        for f in grave
        if not is_standing(f) and f.text not in verdict and not (verdict and f.code == IN_VERDICT)
    ]
    standing = [f for f in grave if is_standing(f)]
    lines = flag_lines(here, codes=False, units=units)
    if standing:
        lines += ["", *_wrapped(SAFETY, "", "  ")]
        for flag in standing:
            said = in_us_words(flag.text) if units == "us" else flag.text
            lines += _wrapped(_in_short(said), "  ", "    ")
    left = len(study.flags) - len(grave)
    if left:
        text = f"{left} more remarks stand in the workbook, sheet Cautions (and in the JSON)."
        lines += ["", *_wrapped(text, "", "  ")]
    return lines


def _in_short(text: str) -> str:
    """Return the first clause of a rule of safe work."""
    first = first_clause(text.partition(". ")[0])
    lead, _, rest = first.partition(": ")
    return first if len(lead) < _SHORT_LEAD or not rest else lead


def _is_text(figure: Figure) -> bool:
    return isinstance(figure.value, str) and bool(figure.value)


def _head(study: Study, title: str, units: Units) -> list[str]:
    site = study.value("site.name")
    name = f"{site}: {title[:1].lower()}{title[1:]}" if isinstance(site, str) and site else title
    lines = [*textwrap.wrap(name, COLUMNS), "=" * min(len(name), COLUMNS)]
    for key, figure in study.figures.items():
        if key.startswith("summary.") and _is_text(figure):
            verdict = key == "summary.verdict"
            text = str(figure.value) if verdict else f"{sentence(figure.label)}: {figure.value}"
            lines += _wrapped(in_us_words(text) if units == "us" else text, "", "  ")
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
    value, unit = value_and_unit(figure, units)
    label = sentence(in_us_words(figure.label) if units == "us" else figure.label)
    labels = textwrap.wrap(label, _LABEL) or [figure.key]
    if len(value) > _VALUE:
        text = f"{label}: {value}  ({figure.origin})"
        return _wrapped(text, "  ", "      ")
    rest = f"{value:>{_VALUE}} {unit:<{_UNIT}} {figure.origin:<{_TAG}}".rstrip()
    first = f"  {labels[0]:<{_LABEL}} {rest}"
    return [first, *(f"    {more}" for more in labels[1:])]


def flag_lines(flags: Iterable[Flag], *, codes: bool = True, units: Units = "si") -> list[str]:
    """Return flags as wrapped lines, warnings first.

    Parameters
    ----------
    flags : iterable of Flag
        The flags. [-]
    codes : bool
        True to show the code words that scripts go by. [-]
    units : str
        "si" or "us". [-]

    Returns
    -------
    list of str
        Lines of 80 columns, a blank line and a heading first; empty without flags. [-]
    """
    flags = tuple(flags)
    lines = ["", "Points to note"] if flags else []
    for level in _LEVELS:
        for flag in flags:
            if flag.level == level:
                text = f"{flag.code}: {flag.text}" if codes else flag.text
                text = in_us_words(text) if units == "us" else text
                lines += _wrapped(f"{level:<8} {text}", "  ", " " * 11)
    return lines


def _wrapped(text: str, first: str, rest: str) -> list[str]:
    return textwrap.wrap(text, COLUMNS, initial_indent=first, subsequent_indent=rest) or [""]


def _join(lines: list[str]) -> str:
    """Join lines, without the control characters that a file may have brought along."""
    clean = ("".join(c for c in line if c.isprintable()).rstrip() for line in lines)
    return "\n".join(clean) + "\n"
