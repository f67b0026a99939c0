"""Reading a lab report: from the path to validated waters."""

from collections.abc import Iterable, Sequence
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.basis import Flag
from pretreat.core.errors import AnalysisError
from pretreat.core.water import WaterAnalysis
from pretreat.lab.interpret.bare_limits import without_other_limits
from pretreat.lab.interpret.columns import settled
from pretreat.lab.interpret.day_order import date_flags
from pretreat.lab.interpret.over_range import without_outdone
from pretreat.lab.interpret.possible import Findings
from pretreat.lab.interpret.raw_water import chosen_flags, preferred
from pretreat.lab.interpret.remarks import OTHER_RESULTS, reading_flags
from pretreat.lab.interpret.result import Context, asked_units, interpret
from pretreat.lab.interpret.rival_readings import with_rivals
from pretreat.lab.interpret.sampling import (
    PrintedSample,
    is_no_sample,
    is_quality_control,
    samples_of,
)
from pretreat.lab.interpret.waters import water_of
from pretreat.lab.interpret.whose_water import origin_flags
from pretreat.lab.observed import with_observed
from pretreat.lab.read.footnotes import general_unit
from pretreat.lab.read.formats.files import read_file
from pretreat.lab.read.layout import Layout, best_layout
from pretreat.lab.read.names import named_analyte
from pretreat.lab.read.numbers import decimal_mark
from pretreat.lab.read.report import (
    NOTHING_ASKED,
    Asked,
    Decisions,
    Grid,
    Guess,
    LabReport,
    PrintedResult,
    one_line,
)
from pretreat.lab.read.seen import lines_not_read, seen_columns, unread_lines, unused_numbers
from pretreat.lab.read.wording import folded, words

SHOWN_NAMES = 12
MAX_RESULTS = 250_000


def read_report(
    path: Path | str,
    *,
    sheet: str | None = None,
    encoding: str | None = None,
    decimal: str | None = None,
    asked: Asked = NOTHING_ASKED,
) -> LabReport:
    """Read a file exactly as printed, without making anything of it.

    Parameters
    ----------
    path : Path or str
        CSV, TSV, text or XLSX file. [-]
    sheet : str, optional
        Sheet of a workbook; the one with most results by default. [-]
    encoding : str, optional
        Encoding of a text file; detected by default. [-]
    decimal : str, optional
        "." or ","; detected by default. [-]
    asked : Asked
        What a person has settled about columns and units. [-]

    Returns
    -------
    LabReport
        Every result as printed and how the file was read. [-]

    Raises
    ------
    AnalysisError
        If the file cannot be read or holds no result that is recognised.
    """
    if decimal not in {None, ".", ","}:
        raise AnalysisError(f"the decimal mark is '.' or ',', not '{decimal}'")
    path = Path(path)
    file = read_file(path, sheet, encoding)
    found = best_layout(file.grids, asked.column)
    if found is None:
        from pretreat.lab.read.sentences import sentences

        told = sentences(file.grids)
        found = None if told is None else best_layout([told], asked.column)
    if found is None:
        raise AnalysisError(_nothing_found(path.name, file.grids))
    grid, layout = found
    layout = with_rivals(file.grids, grid, layout)
    _check_column(path.name, layout, asked.column)
    if len(layout.results) > MAX_RESULTS:
        raise AnalysisError(
            f"{path.name} holds {len(layout.results)} results; up to {MAX_RESULTS} "
            "are read at once: cut out the samples wanted"
        )
    mark, unsettled = decimal_mark(t for r in layout.results for t in (r.text, r.limit) if t)
    kept = [r for r in layout.results if not is_quality_control(r)]
    skipped = tuple(
        one_line(f"{r.place} {r.sample} {r.name}") for r in layout.results if is_quality_control(r)
    )
    remarks = (*(grid.remarks if grid.sheet else ()), *_other_sheets(file.grids, grid))
    decisions = Decisions(
        file.encoding,
        file.delimiter if grid.from_text else "",
        decimal or mark or ".",
        layout.name,
        grid.sheet,
        remarks,
    )
    ambiguous = unsettled if decimal is None and mark is None else ()
    real = [r for r in kept if not is_no_sample(r)]
    out = tuple(dict.fromkeys(r.sample or r.site for r in kept if is_no_sample(r)) if real else ())
    unread = unread_lines(grid, layout) if asked.column is None else ()
    report = LabReport(
        path.name,
        tuple(without_other_limits(real or _means_first(kept))),
        decisions,
        layout.notes,
        skipped,
        ambiguous,
        out,
        not real,
        (
            *_not_confirmed(file.guesses, layout),
            *grid.guesses,
            *lines_not_read(unread, layout),
        ),
        unused_numbers(grid, layout.results),
        asked,
        seen_columns(grid, layout),
        unread=tuple((key, line) for key, line in unread if key),
    )
    return settled(report, asked.column)


FEWEST_KNOWN = 5  # names in a foreign script that confirm a guessed encoding


def _not_confirmed(guesses: tuple[Guess, ...], layout: Layout) -> tuple[Guess, ...]:
    """Return what was guessed of a file, less an encoding in which many names are known."""
    known = {r.name for r in layout.results if not r.name.isascii() and named_analyte(r.name).key}
    if len(known) < FEWEST_KNOWN:
        return guesses
    return tuple(guess for guess in guesses if not guess[1].startswith("the encoding is a guess"))


def _check_column(name: str, layout: Layout, column: str | None) -> None:
    """Refuse a column that was asked for and is not there."""
    if column is None:
        return
    held = tuple(dict.fromkeys(r.column for r in layout.results if r.column and not r.header))
    wanted = folded(column)
    if not any(wanted in {folded(c), *map(folded, c.split(" ", 1))} for c in held) and not (
        column.strip().isdigit() and len(held) == 1
    ):
        has = ", ".join(held[:SHOWN_NAMES]) or "names across the top, one sample a row"
        raise AnalysisError(f"{name} has no column '{one_line(column)}' of results; it has: {has}")


def _means_first(results: Iterable[PrintedResult]) -> list[PrintedResult]:
    """Return the results of a table of statistics, those of the means before the others."""
    return sorted(results, key=lambda r: folded(r.sample or r.site) not in words("mean"))


def _other_sheets(grids: tuple[Grid, ...], read: Grid) -> tuple[str, ...]:
    """Name the sheets that were left out, those with results first."""
    others = [g for g in grids if g.sheet and g is not read]
    full = [g.sheet for g in others if _holds_results(g)]
    bare = [g.sheet for g in others if g.sheet not in full]
    said = [f"{OTHER_RESULTS}: {', '.join(full)}"] if full else []
    return (*said, *([f"other sheets: {', '.join(bare)}"] if bare else []))


def _holds_results(grid: Grid) -> bool:
    try:
        return best_layout([grid]) is not None
    except AnalysisError:
        return True


def _nothing_found(name: str, grids: tuple[Grid, ...]) -> str:
    cells = (cell for grid in grids for row in grid.rows[:500] for cell in row[:50] if cell)
    if any(named_analyte(cell).key for cell in cells):
        return f"{name} lists analytes but no result that can be read; fill in the results"
    return (
        f"{name} holds no analyte that is known; write one per row as name, value, unit, "
        "or one sample per row under the names of the analytes"
    )


class ReadSample(Struct, frozen=True):
    """One sample after interpretation: its water, or the faults that refuse it."""

    water: WaterAnalysis
    faults: tuple[str, ...]


def read_samples(
    path: Path | str,
    *,
    sheet: str | None = None,
    encoding: str | None = None,
    decimal: str | None = None,
    asked: Asked = NOTHING_ASKED,
) -> tuple[WaterAnalysis, ...]:
    """Read every sample of a lab report.

    Parameters
    ----------
    path : Path or str
        CSV, TSV, text or XLSX file. [-]
    sheet, encoding, decimal : str, optional
        Instead of what is detected, as for `read_report`. [-]
    asked : Asked
        What a person has settled about columns and units. [-]

    Returns
    -------
    tuple of WaterAnalysis
        The waters in the order of the file. A sample with an impossible number is left out
        and named in a flag of the others. [-]

    Raises
    ------
    AnalysisError
        If the file cannot be read, or no sample can be used.
    """
    report = read_report(path, sheet=sheet, encoding=encoding, decimal=decimal, asked=asked)
    return usable(report, interpreted(report, samples_of(report)))


def usable(report: LabReport, read: Sequence[ReadSample]) -> tuple[WaterAnalysis, ...]:
    """Return the waters without faults, each with a flag that names the others.

    Parameters
    ----------
    report : LabReport
        The report, for messages. [-]
    read : sequence of ReadSample
        Samples after interpretation. [-]

    Returns
    -------
    tuple of WaterAnalysis
        The waters that can be used. [-]

    Raises
    ------
    AnalysisError
        If there are none.
    """
    good = [one.water for one in read if not one.faults]
    bad = [one for one in read if one.faults]
    if not good:
        raise AnalysisError(*(f"{report.source}: {fault}" for one in read for fault in one.faults))
    if bad:
        named = "; ".join(f"{one.water.sample}: {one.faults[0]}" for one in bad[:SHOWN_NAMES])
        text = f"{len(bad)} of {len(read)} samples cannot be used: {named}"
        good = [water.with_flags(Flag("sample_refused", "caution", text)) for water in good]
    return tuple(good)


def read_analysis(
    path: Path | str,
    *,
    sample: str | None = None,
    sheet: str | None = None,
    encoding: str | None = None,
    decimal: str | None = None,
    asked: Asked = NOTHING_ASKED,
) -> WaterAnalysis:
    """Read one water from a lab report.

    Parameters
    ----------
    path : Path or str
        CSV, TSV, text or XLSX file. [-]
    sample : str, optional
        Name of the sample wanted; by default the raw water, flagged where there are others. [-]
    sheet, encoding, decimal : str, optional
        Instead of what is detected, as for `read_report`. [-]
    asked : Asked
        What a person has settled about columns and units. [-]

    Returns
    -------
    WaterAnalysis
        The water with the trail of every reading, and flags. [-]

    Raises
    ------
    AnalysisError
        If the file or the sample cannot be used; one line per fault.
    """
    report = read_report(path, sheet=sheet, encoding=encoding, decimal=decimal, asked=asked)
    samples = samples_of(report)
    chosen = preferred(report, samples) if sample is None else named_sample(report, samples, sample)
    (read,) = interpreted(report, samples, [chosen])
    if read.faults:
        raise AnalysisError(*(f"{report.source}: {fault}" for fault in read.faults))
    if sample is None and len(samples) > 1:
        return read.water.with_flags(*chosen_flags(report, samples, chosen))
    return read.water


def named_sample(report: LabReport, samples: list[PrintedSample], wanted: str) -> PrintedSample:
    """Return the sample of a name, or of an identifier that only one sample has."""
    same = [s for s in samples if s.name == wanted] or [
        s for s in samples if s.name.casefold() == wanted.strip().casefold()
    ]
    if not same:
        same = [
            s
            for s in samples
            if wanted.strip() in {s.activity, s.site, s.sample, f"{s.site} {s.date}"}
        ]
    if len(same) == 1:
        return same[0]
    if same:
        raise AnalysisError(
            f"{report.source}: '{wanted}' is not one sample but {len(same)}: {listed(same)}"
        )
    shown = "".join(c if c.isprintable() else "?" for c in wanted)[:60]
    raise AnalysisError(f"{report.source} has no sample '{shown}'; it has: {listed(samples)}")


def listed(samples: Iterable[PrintedSample]) -> str:
    """Return the names of samples as a list that does not run on."""
    names = [s.name for s in samples]
    more = f" and {len(names) - SHOWN_NAMES} more" if len(names) > SHOWN_NAMES else ""
    return ", ".join(names[:SHOWN_NAMES]) + more


def interpreted(
    report: LabReport,
    samples: list[PrintedSample],
    wanted: Sequence[PrintedSample] | None = None,
) -> list[ReadSample]:
    """Interpret the samples wanted, all by default, in the order of the file.

    Parameters
    ----------
    report : LabReport
        The report as printed. [-]
    samples : list of PrintedSample
        All its samples; what the whole table proves about its units counts. [-]
    wanted : sequence of PrintedSample, optional
        Those of them that are wanted. [-]

    Returns
    -------
    list of ReadSample
        One per sample wanted. [-]
    """
    from pretreat.lab.interpret.undeclared import with_inferred_units

    general, own = asked_units(report.asked.units)
    context = Context(
        report.decisions.decimal, report.notes, general or general_unit(report.notes), own
    )
    results, inferred = with_inferred_units(samples, context, report)
    names = tuple(s.name for s in samples)
    kept = None if wanted is None else {id(sample) for sample in wanted}
    done = []
    for sample, printed in zip(samples, results, strict=True):
        if kept is not None and id(sample) not in kept:
            continue
        findings = Findings()
        for result in printed:
            interpret(result, context, findings)
        findings.readings = without_outdone(findings.readings)
        water = water_of(sample, findings, report)
        flags = (*water.flags, *inferred, *reading_flags(findings, report, printed))
        flags = (*flags, *origin_flags(sample, report.notes))
        flags = (*flags, *date_flags(sample.date, report.notes))
        water = replace(water, flags=flags, samples=names, readings=water.readings)
        water = with_observed(water, report.notes, printed)
        done.append(ReadSample(water, tuple(findings.faults) or _nothing(water)))
    return done


def _nothing(water: WaterAnalysis) -> tuple[str, ...]:
    held = (water.mg_l, water.below_mg_l, water.properties, water.below_properties)
    if any(held) or water.ph is not None:
        return ()
    return (f"sample '{water.sample}' has no result that can be used",)
