"""`pretreat log` and `pretreat record`: write a reading down; see what the record says."""

import datetime
import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pretreat.cli.files import (
    CsvFolder,
    FiguresFolder,
    FiguresFormat,
    Files,
    PictureFormat,
    write_files,
)
from pretreat.cli.options import Day, Json, Output, SiteFile, Units, UnitSystem, day

if TYPE_CHECKING:
    from pretreat.core.results import Study
    from pretreat.record.new_analysis import TwoWaters
    from pretreat.record.store.book import Book

Readings = Annotated[
    list[str] | None,
    typer.Argument(help="What was read, as gauge=value with a unit: product_flow='26 L/min'."),
]
RecordFile = Annotated[
    Path | None, typer.Option("--file", help="The record; default beside the site file.")
]
When = Annotated[
    str | None,
    typer.Option("--when", help="Date and time, as '2031-05-14 09:30'; now if left out."),
]
NewAnalysis = Annotated[
    Path | None, typer.Option("--analysis", help="A new lab report of the water.")
]
Strike = Annotated[
    str | None,
    typer.Option("--strike", help="Withdraw the reading of this date and time; it stays on file."),
]
Baseline = Annotated[
    str | None,
    typer.Option("--baseline", help="Date and time of the baseline; else the first written."),
]
Note = Annotated[str, typer.Option("--note", help="A remark in words.")]


def record_path(site: Path, given: Path | None) -> Path:
    """Return where the record of a site is kept."""
    return given or site.with_name(f"{site.stem}.record.csv")


def _moment(text: str) -> datetime.datetime:
    """Read a date and time as a person writes them: 2031-5-18 9:30 will do."""
    two_digits = re.sub(r"(?<!\d)(\d)(?!\d)", r"0\1", text.strip())
    try:
        return datetime.datetime.fromisoformat(two_digits)
    except ValueError:
        raise typer.BadParameter(f"'{text}' is not a date; write 2031-05-14 09:30") from None


def _now() -> datetime.datetime:
    return datetime.datetime.now().replace(microsecond=0)  # the clock of the site


def log(
    site: SiteFile,
    readings: Readings = None,
    when: When = None,
    note: Note = "",
    file: RecordFile = None,
    strike: Strike = None,
) -> None:
    """Write one reading of the gauges into the record of a site; without readings, list the gauges.

    Example: pretreat log site.toml temperature=15C feed_pressure='10.4 bar' product_flow='26 L/min'

    A wrong one is withdrawn: pretreat log site.toml --strike '2031-05-14 09:30' --note 'wrong unit'
    """
    from pretreat.record.alarms import alarms
    from pretreat.record.entry import doubts, gauge_lines, joined, read_entries, us_units
    from pretreat.record.readings import reading
    from pretreat.record.store.book import add_readings, read_book, strike_readings
    from pretreat.report.text.us_words import in_us_words
    from pretreat.stages.site import read_site

    design = read_site(site, water_needed=False)
    path = record_path(site, file)
    if strike is not None:
        if readings:
            raise typer.BadParameter("--strike withdraws a reading; write the right one after it")
        for one in strike_readings(path, _moment(strike), note):
            typer.echo(f"{path}: struck the reading of {one.when}; it stays in the file, unused")
        return
    if not readings and not note:
        typer.echo("\n".join(gauge_lines()))
        return
    entries = joined(readings or [])
    taken = reading(_moment(when) if when else _now(), read_entries(entries), note)
    earlier = read_book(path).readings if path.exists() else ()
    add_readings(path, taken)
    odd = doubts(taken, design, earlier, _now())
    said = in_us_words if us_units(entries) else str
    for text in odd:
        typer.echo(f"pretreat: written, but look again: {said(text)}", err=True)
    if odd:
        moment = str(taken.when).removesuffix(":00")
        typer.echo(
            f"pretreat: if it is wrong: pretreat log {site} --strike '{moment}', and write it anew",
            err=True,
        )
    for text in alarms(taken, [r for r in earlier if r.when < taken.when]):
        typer.echo(f"pretreat: {said(text)}", err=True)
    kind = "complete" if taken.complete else "not complete; a baseline needs all gauges marked *"
    many = len(taken.values)
    what = f"{many} gauge{'' if many == 1 else 's'}" if many else "a note"
    typer.echo(f"{path}: {what} written for {taken.when}" + (f" ({kind})" if many else ""))


def record(
    site: SiteFile,
    output: Output = None,
    as_json: Json = False,
    units: UnitSystem = Units.si,
    date: Day = None,
    file: RecordFile = None,
    analysis: NewAnalysis = None,
    baseline: Baseline = None,
    csv: CsvFolder = None,
    figures: FiguresFolder = None,
    figures_format: FiguresFormat = PictureFormat.png,
) -> None:
    """Show what has changed since the first record, and what it means.

    Example: pretreat record site.toml -o reports/record.xlsx

    With --analysis also what a new lab report of the water changes in recovery and programme.
    """
    from pretreat.core.results import to_json
    from pretreat.record.figures import run_record
    from pretreat.report.text.record import text_record

    job, waters = _jobs(site, analysis)
    book = _book(record_path(site, file), waters is not None)
    study = run_record(book, job, waters, _moment(baseline) if baseline else None)
    written = write_files(study, Files(output, csv, figures, figures_format), units, day(date))
    if as_json:
        typer.echo(to_json(study))
        return
    typer.echo(text_record(study, units=units.value))
    for line in written:
        typer.echo(line)


def _book(path: Path, may_be_absent: bool) -> "Book":
    """Read the record; a new analysis can be looked at before the first reading."""
    from pretreat.record.store.book import Book, read_book

    return Book((), ()) if may_be_absent and not path.exists() else read_book(path)


def _jobs(site: Path, analysis: Path | None) -> "tuple[Study, TwoWaters | None]":
    """Return the study of the site, and the site with a new analysis if there is one."""
    from pretreat.lab import read_analysis, read_design_water
    from pretreat.record.running import mode_of, run_running
    from pretreat.stages.site import read_site
    from pretreat.study import run_study

    design = read_site(site, water_needed=False)
    if mode_of(design) == "size":
        design = read_site(site)
    water, _ = read_design_water(design.water)
    job = run_running(water, design, run_study)
    if analysis is None:
        return job, None
    from pretreat.record.new_analysis import two_waters

    return job, two_waters(water, read_analysis(analysis), design, analysis.name, run_study)


def register(app: typer.Typer) -> None:
    """Add the commands."""
    app.command()(log)
    app.command()(record)
