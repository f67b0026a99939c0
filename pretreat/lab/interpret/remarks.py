"""Flags about the reading of a report: what was assumed, skipped, or could not be used."""

import re
from collections.abc import Sequence
from types import MappingProxyType

from pretreat.core.basis import Flag, Level
from pretreat.core.tables import analytes
from pretreat.core.text import lazy
from pretreat.core.water import Reading
from pretreat.lab.interpret.columns_read import columns_read
from pretreat.lab.interpret.measures import MASSES
from pretreat.lab.interpret.possible import Findings
from pretreat.lab.read.report import LabReport, PrintedResult, one_line
from pretreat.lab.read.wording import shown

_SHOWN = 8
_NEVER_MISSING = frozenset({"ph", "temperature", "ec", "orp"})
_IN_MG_L = frozenset(MASSES)
OTHER_RESULTS = "other sheets with results that were not read"
# Flag code to its level and what the listed places have in common.
_REMARKS: MappingProxyType[str, tuple[Level, str]] = MappingProxyType(
    {
        "unknown_analyte": ("info", "not recognised and not used"),
        "not_used": ("info", "recognised, and no figure is calculated from it"),
        "cell_is_date": (
            "warning",
            "a spreadsheet turned a number into a date; ask the lab for the number",
        ),
        "over_range": (
            "caution",
            "over the range of the method and taken at its bound, the least that the water holds; "
            "have it diluted and measured",
        ),
        "over_range_no_bound": ("caution", "above the range of the method and not used"),
        "not_a_number": ("caution", "not a number and not used"),
        "formula_without_value": (
            "warning",
            "a formula whose value is not stored in the file; open and save the workbook",
        ),
        "row_dropped": (
            "warning",
            "cannot be read and is left out; correct it in the report, or settle it with --unit "
            "(mg/L, ug/L, meq/L, mmol/L ...)",
        ),
        "cell_error": (
            "warning",
            "the spreadsheet shows an error instead of a result; ask the lab for the number",
        ),
        "doubtful_line": ("warning", "the line can be read in more than one way"),
        "named_by_symbol": (
            "caution",
            "the word is not known; taken for the element of its symbol",
        ),
        "weak_acid_as_caco3": (
            "caution",
            "expressed as CaCO3 by the convention of ion exchange, one charge a mole (silica x "
            "1.2); ask the lab if it is meant so",
        ),
        "left_blank": ("info", "listed by the lab but not measured"),
        "unit_conflict": (
            "warning",
            "the name and the unit column give two units; ask the lab which one holds",
        ),
        "unknown_unit": ("caution", "not used because of its unit"),
        "garbled_unit": (
            "caution",
            "the sign before the unit was destroyed by an encoding and read as micro",
        ),
        "negative_result": (
            "caution",
            "slightly negative, as a blank correction leaves it; taken as not detected",
        ),
        "impossible_temperature": ("caution", "no temperature of a liquid water, not used"),
        "ec_at_20_c": ("caution", "conductivity at 20 °C, multiplied by 1.116 to lead to 25 °C"),
        "zero_result": ("caution", "zero is printed; taken as not detected, limit unknown"),
        "mixed_decimal": ("caution", "written with another decimal mark than the rest of the file"),
    }
)


def reading_flags(
    findings: Findings, report: LabReport, results: Sequence[PrintedResult]
) -> tuple[Flag, ...]:
    """Return the flags about the reading of one sample.

    Parameters
    ----------
    findings : Findings
        Readings and remarks of the sample. [-]
    report : LabReport
        The report it stands in. [-]
    results : sequence of PrintedResult
        Its results as printed. [-]

    Returns
    -------
    tuple of Flag
        One flag per kind, naming the places. [-]
    """
    flags = [Flag("file_reading", "info", f"{report.source}: {report.decisions.text}")]
    flags.append(columns_read(report, results))
    for code, (level, common) in _REMARKS.items():
        texts = [text for kind, text in findings.remarks if kind == code]
        if texts:
            flags.append(Flag(code, level, f"{common}: {_listed(texts)}"))
    flags += _assumed(findings.readings)
    flags += _qualified(findings.readings)
    flags += _about_file(report)
    flags += _non_detects(findings.readings)
    return tuple(flags)


def _listed(texts: list[str]) -> str:
    more = f" and {len(texts) - _SHOWN} more" if len(texts) > _SHOWN else ""
    return "; ".join(texts[:_SHOWN]) + more


def _assumed(readings: list[Reading]) -> list[Flag]:
    """Return a flag per unit or basis that was assumed, naming what it was assumed for."""
    by_kind: dict[str, list[Reading]] = {}
    for reading in readings:
        if reading.value is None and reading.below is None:
            continue
        for part in reading.note.split("; "):
            if part.startswith("assumed ") and not _in_its_name(part, reading.name):
                by_kind.setdefault(part.removeprefix("assumed "), []).append(reading)
    flags = []
    for kind, found in by_kind.items():
        names = ", ".join(dict.fromkeys(f"{r.name} ({r.place})" for r in found))
        what = (
            f"no basis is printed; read {kind}"
            if kind.startswith("as ")
            else f"no unit is printed; read in {kind}"
        )
        figure = _figure(found[0].analyte) if len(found) == 1 else None
        flags.append(Flag("assumed_unit", "caution", f"{what}: {names}", figure))
    return flags


def _in_its_name(assumed: str, name: str) -> bool:
    """Tell whether the basis that was taken stands in the name as printed, as "as CaCO3"."""
    basis = assumed.removeprefix("assumed ").partition(" with")[0]
    return basis.startswith("as ") and basis.casefold() in " ".join(name.split()).casefold()


# Letters that mark a result as rejected in one list or another (R also has other meanings).
_REJECTED = lazy(r"(?:^|[\s,;/])(?:R|REX|REJ|RJ|UR)(?=$|[\s,;/])")


def _qualified(readings: list[Reading]) -> list[Flag]:
    """Return flags that name the results which carry letters, the rejected apart."""
    marked: dict[bool, list[str]] = {}
    for reading in readings:
        found = re.search(r"(?:^|; )qualifier ([^;]+)", reading.note)
        if found:
            letters = found.group(1).strip()
            marked.setdefault(bool(_REJECTED.search(letters)), []).append(
                f"{one_line(reading.name)} '{one_line(letters)}' ({reading.place})"
            )
    flags = []
    if True in marked:
        text = f"used, though the mark may mean rejected; ask the lab: {_listed(marked[True])}"
        flags.append(Flag("result_rejected", "caution", text))
    if False in marked:
        text = f"marked by the lab, kept as printed; its legend says why: {_listed(marked[False])}"
        flags.append(Flag("qualified_result", "info", text))
    return flags


def _figure(key: str) -> str | None:
    if key.startswith("alkalinity"):
        return "water.alkalinity_mg_l_caco3"
    return f"water.{key}_mg_l" if key in analytes() else None


def _guesses(report: LabReport) -> list[Flag]:
    """Return flags on what had to be guessed, and on the numbers that were not used."""
    flags = [Flag("reading_guessed", level, text) for level, text in report.guesses]
    if report.unused:
        text = f"numbers printed in the report and not used: {_listed(list(report.unused))}"
        flags.append(Flag("unused_numbers", "info", text))
    return flags


def _about_file(report: LabReport) -> list[Flag]:
    flags = _guesses(report)
    if report.skipped:
        text = (
            f"{len(report.skipped)} results of the lab's quality control are left out: "
            f"{_listed(list(report.skipped))}"
        )
        flags.append(Flag("qc_rows", "info", text))
    if report.left_out:
        text = (
            f"statistics or limits rather than samples, not read: {_listed(list(report.left_out))}"
        )
        flags.append(Flag("no_samples", "caution", text))
    if report.statistics_only:
        text = (
            "the report gives statistics of several analyses; what is read was never one water, "
            "its ions need not balance: ask for the single analyses"
        )
        flags.append(Flag("statistics_only", "caution", text))
    if report.ambiguous:
        cells = ", ".join(report.ambiguous[:_SHOWN])
        text = (
            f"nothing in the file tells whether these use a decimal comma or a thousands "
            f"mark: {cells}; "
        )
        flags.append(Flag("ambiguous_decimal", "caution", f"{text}read with a decimal point"))
    for remark in report.decisions.remarks:
        if remark.startswith(OTHER_RESULTS):
            text = f"{remark}; choose one with --sheet if it is the one meant"
            flags.append(Flag("several_sheets", "caution", text))
    if any(remark.startswith("hidden") for remark in report.decisions.remarks):
        flags.append(
            Flag(
                "hidden_cells",
                "caution",
                "the sheet has hidden rows or columns, which were read too",
            )
        )
    return flags


def _non_detects(readings: list[Reading]) -> list[Flag]:
    texts = []
    for reading in readings:
        if reading.value is None and reading.analyte not in _NEVER_MISSING:
            ion = analytes().get(reading.analyte)
            name = ion.symbol if ion is not None else one_line(reading.name)
            unit = "mg/L" if reading.analyte in _IN_MG_L or ion is not None else reading.unit
            limit = (
                f"< {shown(reading.below, 3)} {unit}".strip()
                if reading.below
                else ("limit unknown")
            )
            texts.append(f"{name} {limit} ({reading.place})")
    return [Flag("non_detect", "info", f"not detected: {', '.join(texts)}")] if texts else []
