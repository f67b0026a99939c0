"""The record of a site as text for a terminal of 80 columns."""

import textwrap
from collections.abc import Iterable, Iterator

from pretreat.core.basis import Flag, Value
from pretreat.core.results import Study
from pretreat.core.units import us_customary
from pretreat.report.text.terminal import COLUMNS, Units, flag_lines
from pretreat.report.text.us_words import in_us_words

_INDENT = 13
_SAID_ABOVE = ("finding_", "test_again", "elements_moved")
_LAST = (  # key behind record.baseline_ and record.last_, words
    ("flow_m3_h", "Product flow, normalised"),
    ("salt_passage", "Salt passage, normalised"),
    ("drop_first_bar", "Pressure drop, first stage"),
    ("drop_last_bar", "Pressure drop, last stage"),
    ("drop_bar", "Pressure drop, all membranes"),
    ("cartridge_bar", "Pressure drop, cartridge"),
    ("iron_filter_drop_bar", "Pressure drop, iron filter"),
    ("softener_drop_bar", "Pressure drop, softener"),
    ("carbon_drop_bar", "Drop, softener to cartridge"),
)
_ELEMENTS = (  # key behind fit.new_, fit.baseline_ and fit.last_, words
    ("water_permeability_lmh_bar", "Water permeability A, 25 °C"),
    ("salt_permeability_lmh", "Salt permeability B, 25 °C"),
    ("drop_factor", "Pressure drop / calculated"),
)
_STATES = ("new", "baseline", "last")
_WORDS, _NUMBER = 30, 10


def text_record(study: Study, *, units: Units = "si") -> str:
    """Return what a record shows: what to do now, findings, values against the baseline.

    Parameters
    ----------
    study : Study
        Study of a record. [-]
    units : str
        "si" or "us". [-]

    Returns
    -------
    str
        Text of lines of 80 columns. [-]
    """
    us = units == "us"
    lines = [
        *_head(study),
        *_alarms(study, us),
        *_findings(study, us),
        *_against(study, us),
        *_elements(study, us),
        *_changes(study, us),
    ]
    rest = [f for f in study.flags if not f.code.startswith(_SAID_ABOVE)]
    told = [Flag(f.code, f.level, _said(f.text, us), f.figure) for f in rest]
    return "\n".join([*lines, *flag_lines(told, codes=False)])


def _said(text: str, us: bool) -> str:
    return in_us_words(text) if us else text


def _wrapped(text: str, indent: int, first: str = "") -> list[str]:
    blank = " " * indent
    return textwrap.wrap(
        text, COLUMNS, initial_indent=f"{first:<{indent}}", subsequent_indent=blank
    )


def _head(study: Study) -> list[str]:
    name, base = study.value("site.name"), study.value("record.baseline")
    count = study.number("record.readings") or 0.0
    title = f"Record of {name}" if name else "Record"
    text = f"{count:.0f} reading{'' if count == 1.0 else 's'}"
    return [title, text if base is None else f"{text}, baseline {base}"]


def _alarms(study: Study, us: bool) -> list[str]:
    lines = [
        line
        for f in study.flags
        if f.code == "test_again"
        for line in _wrapped(_said(f.text, us), 2)
    ]
    return ["", *lines] if lines else []


def _findings(study: Study, us: bool) -> list[str]:
    table = study.series.get("record.findings")
    if table is None:
        return []
    if not table.rows:
        return ["", "Nothing has moved beyond the noise of the gauges."]
    lines = []
    for finding, what, words in table.rows:
        if finding:
            lines += ["", str(finding)]
        lines += _wrapped(_said(str(words), us), _INDENT, f"  {what}:")
    return lines


def _shown(value: float, unit: str, us: bool) -> tuple[str, str]:
    if us:
        value, unit = us_customary(value, unit)
    return f"{value:.3g}" if abs(value) < 1000 else f"{value:,.0f}", unit


def against_baseline(study: Study, *, us: bool) -> list[tuple[str, str, str, str]]:
    """Return normalised values of the baseline and of the last reading.

    Parameters
    ----------
    study : Study
        Study of a record. [-]
    us : bool
        In US units. [-]

    Returns
    -------
    list of tuple of str
        What it is, at the baseline, at the last reading, unit. [-]
    """
    found = []
    for key, words in _LAST:
        pair = [study.figures.get(f"record.{word}_{key}") for word in ("baseline", "last")]
        if pair[0] is None or pair[1] is None:
            continue
        shown = [
            _shown(f.value, f.unit, us)
            if f is not None and isinstance(f.value, float)
            else ("", "")
            for f in pair
        ]
        if len(shown) < len(pair):
            continue
        unit = "" if pair[0].unit == "-" else shown[0][1]
        found.append((words, shown[0][0], shown[1][0], unit))
    return found


def _against(study: Study, us: bool) -> list[str]:
    rows = against_baseline(study, us=us)
    if not rows:
        return []
    head = f"{'Against the baseline':<{_WORDS + 2}}{'baseline':>{_NUMBER}}{'last':>{_NUMBER}}"
    return [
        "",
        head,
        *(
            f"  {words:<{_WORDS}}{base:>{_NUMBER}}{last:>{_NUMBER}}{f'  {unit}' if unit else ''}"
            for words, base, last, unit in rows
        ),
    ]


def _elements(study: Study, us: bool) -> list[str]:
    """Return A and B of the elements: as new, and fitted to the baseline and the last reading."""
    if study.value("fit.baseline_reading") is None and study.value("fit.last_reading") is None:
        return []
    heads = "".join(f"{state:>{_NUMBER}}" for state in _STATES)
    lines = ["", f"{'Elements, fitted to the readings':<{_WORDS + 2}}{heads}"]
    for key, words in _ELEMENTS:
        figures = [study.figures.get(f"fit.{state}_{key}") for state in _STATES]
        known = [f for f in figures if f is not None]
        if not known:
            continue
        cells = [
            _shown(float(f.value), f.unit, us)[0]
            if f is not None and isinstance(f.value, float)
            else ""
            for f in figures
        ]
        numbers = "".join(f"{cell:>{_NUMBER}}" for cell in cells)
        unit = _shown(1.0, known[0].unit, us)[1]
        lines.append(f"  {words:<{_WORDS}}{numbers}{'' if unit == '-' else f'  {unit}'}")
    meant = study.value("fit.meaning")
    return lines + ([] if meant is None else _wrapped(_said(str(meant), us), 2))


def _changes(study: Study, us: bool) -> list[str]:
    table = study.series.get("record.new_analysis")
    if table is None:
        return []
    lines = ["", f"{table.label}:"]
    for row in table.rows:
        lines += _change(row, us)
    if len(lines) == 2:
        lines.append("  nothing that matters")
    return lines


def _change(row: Iterable[Value], us: bool) -> Iterator[str]:
    what, unit, before, now, change = row
    if change == "same":
        return
    words = []
    for value in (before, now):
        if isinstance(value, float):
            number, shown = _shown(value, str(unit), us)
            words.append(number if shown == "-" else f"{number} {shown}")
            if "recovery" in str(what).lower() and unit == "-":
                words[-1] = f"{100.0 * value:.0f} %"
        else:
            words.append(str(value or ""))
    same_unit = words[0].rpartition(" ")[2] == words[1].rpartition(" ")[2]
    first = words[0].rpartition(" ")[0] if same_unit and " " in words[1] else words[0]
    text = f"{first} to {words[1]}, {change}"
    if not words[0]:
        text = f"now {words[1]}, not known before"
    elif not words[1]:
        text = f"{words[0]} before, not known now"
    yield from textwrap.wrap(
        f"{what}: {text}", COLUMNS, initial_indent="  ", subsequent_indent=" " * 4
    )
