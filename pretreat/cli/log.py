"""`pretreat log` and `pretreat record`: write a reading down; see what the record says."""

import datetime
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
from pretreat.cli.logged import Logging, log_asked, log_entries, log_sheet, moment_of
from pretreat.cli.options import Day, Json, Output, SiteFile, SiteUnits, day, units_of

if TYPE_CHECKING:
    from pretreat.core.results import Study
    from pretreat.record.new_analysis import TwoWaters
    from pretreat.record.store.book import Book
    from pretreat.site.design import DesignBasis

Readings = Annotated[
    list[str] | None,
    typer.Argument(help="What was read, as gauge=value with a unit: product_flow='26 L/min'."),
]
RecordFile = Annotated[
    Path | None, typer.Option("--file", help="The record; default beside the site file.")
]
When = Annotated[
    str | None,
    typer.Option(
        "--when", help="Date and time, as '2031-05-14 09:30' or 14.5.2031; now if left out."
    ),
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
FromSheet = Annotated[
    Path | None, typer.Option("--from", help="A filled record sheet, XLSX or CSV, to be taken in.")
]
Gauges = Annotated[bool, typer.Option("--gauges", help="List the gauges and their codes.")]
Note = Annotated[str, typer.Option("--note", help="A remark in words.")]


def record_path(site: Path, given: Path | None, design: "DesignBasis") -> Path:
    """Return where the record of a site is kept."""
    return given or design.record.file or site.with_name(f"{site.stem}.record.csv")


def _now() -> datetime.datetime:
    return datetime.datetime.now().replace(microsecond=0)  # the clock of the site


def log(
    site: SiteFile,
    readings: Readings = None,
    when: When = None,
    note: Note = "",
    file: RecordFile = None,
    strike: Strike = None,
    source: FromSheet = None,
    names: Gauges = False,
) -> None:
    """Write a reading of the gauges into the record of a site; without values, ask for them.

    Example: pretreat log site.toml temperature=15C feed_pressure='10.4 bar' product_flow='26 L/min'

    Short: pretreat log site.toml t=15C fp='10.4 bar' sh='<1 gpg' sf='2 bags'

    From the record sheet, filled in and saved: pretreat log site.toml --from sheet.xlsx

    A wrong one is withdrawn: pretreat log site.toml --strike '2031-05-14 09:30' --note 'wrong unit'
    """
    from pretreat.record.entry import gauge_lines
    from pretreat.record.store.book import Book, read_book, strike_readings
    from pretreat.stages.site import read_site

    if names:
        typer.echo("\n".join(gauge_lines()))
        return
    design = read_site(site, water_needed=False)
    path = record_path(site, file, design)
    if (strike is not None or source is not None) and readings:
        raise typer.BadParameter("give readings, --strike or --from, one at a time")
    if strike is not None:
        for one in strike_readings(path, moment_of(strike, design), note):
            typer.echo(f"{path}: struck the reading of {one.when}; it stays in the file, unused")
        return
    book = read_book(path) if path.exists() else Book((), ())
    job = Logging(site, path, design, book)
    if source is not None:
        log_sheet(job, source)
        return
    if readings or note:
        moment = moment_of(when, design) if when else _now()
        log_entries(job, readings or [], moment, note)
        return
    if not log_asked(job, when, _now()):
        typer.echo("\n".join(gauge_lines()))


def record(
    site: SiteFile,
    output: Output = None,
    as_json: Json = False,
    units: SiteUnits = None,
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

    job, waters, design = _jobs(site, analysis)
    shown = units_of(units, design)
    book = _book(record_path(site, file, design), waters is not None)
    base = moment_of(baseline, design) if baseline else None
    study = run_record(book, job, waters, base, design)
    written = write_files(study, Files(output, csv, figures, figures_format), shown, day(date))
    if as_json:
        typer.echo(to_json(study))
        return
    typer.echo(text_record(study, units=shown.value))
    for line in written:
        typer.echo(line)


def _book(path: Path, may_be_absent: bool) -> "Book":
    """Read the record; a new analysis can be looked at before the first reading."""
    from pretreat.record.store.book import Book, read_book

    return Book((), ()) if may_be_absent and not path.exists() else read_book(path)


def _jobs(site: Path, analysis: Path | None) -> "tuple[Study, TwoWaters | None, DesignBasis]":
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
        return job, None, design
    from pretreat.record.new_analysis import two_waters

    waters = two_waters(water, read_analysis(analysis), design, analysis.name, run_study)
    return job, waters, design


def register(app: typer.Typer) -> None:
    """Add the commands."""
    app.command()(log)
    app.command()(record)
