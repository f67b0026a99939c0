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
from pretreat.cli.options import Day, Json, Output, SiteFile, Units, UnitSystem, day

if TYPE_CHECKING:
    from pretreat.record.book import Book
    from pretreat.results import Study
    from pretreat.study.new_analysis import TwoWaters

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
Note = Annotated[str, typer.Option("--note", help="A remark in words.")]


def record_path(site: Path, given: Path | None) -> Path:
    """Return where the record of a site is kept."""
    return given or site.with_name(f"{site.stem}.record.csv")


def _when(text: str | None) -> datetime.datetime:
    if text is None:
        return datetime.datetime.now().replace(microsecond=0)  # the clock of the site
    try:
        return datetime.datetime.fromisoformat(text)
    except ValueError:
        raise typer.BadParameter(f"'{text}' is not a date; write 2031-05-14 09:30") from None


def log(
    site: SiteFile,
    readings: Readings = None,
    when: When = None,
    note: Note = "",
    file: RecordFile = None,
) -> None:
    """Write one reading of the gauges into the record of a site; without readings, list the gauges.

    Example: pretreat log site.toml temperature=15C feed_pressure='10.4 bar' product_flow='26 L/min'
    """
    from pretreat.record.book import add_readings, read_book
    from pretreat.record.entry import doubts, gauge_lines, read_entries
    from pretreat.record.readings import reading
    from pretreat.site_file import read_site

    design = read_site(site, water_needed=False)
    if not readings and not note:
        typer.echo("\n".join(gauge_lines()))
        return
    taken = reading(_when(when), read_entries(readings or []), note)
    path = record_path(site, file)
    earlier = read_book(path).readings if path.exists() else ()
    add_readings(path, taken)
    for text in doubts(taken, design, earlier):
        typer.echo(f"pretreat: written, but look again: {text}", err=True)
    kind = "complete" if taken.complete else "not complete; a baseline needs all gauges marked *"
    typer.echo(f"{path}: {len(taken.values)} gauges written for {taken.when} ({kind})")


def record(
    site: SiteFile,
    output: Output = None,
    as_json: Json = False,
    units: UnitSystem = Units.si,
    date: Day = None,
    file: RecordFile = None,
    analysis: NewAnalysis = None,
    csv: CsvFolder = None,
    figures: FiguresFolder = None,
    figures_format: FiguresFormat = PictureFormat.png,
) -> None:
    """Show what has changed since the first record, and what it means.

    Example: pretreat record site.toml -o reports/record.xlsx

    With --analysis also what a new lab report of the water changes in recovery and programme.
    """
    from pretreat.results import to_json
    from pretreat.study.record import run_record

    job, waters = _jobs(site, analysis)
    study = run_record(_book(record_path(site, file), waters is not None), job, waters)
    written = write_files(study, Files(output, csv, figures, figures_format), units, day(date))
    if as_json:
        typer.echo(to_json(study))
        return
    _show(study)
    for line in written:
        typer.echo(line)


def _book(path: Path, may_be_absent: bool) -> "Book":
    """Read the record; a new analysis can be looked at before the first reading."""
    from pretreat.record.book import Book, read_book

    return Book((), ()) if may_be_absent and not path.exists() else read_book(path)


def _jobs(site: Path, analysis: Path | None) -> "tuple[Study, TwoWaters | None]":
    """Return the study of the site, and the site with a new analysis if there is one."""
    from pretreat.lab import read_analysis, read_design_water
    from pretreat.site_file import read_site
    from pretreat.study.running import mode_of, run_running

    design = read_site(site, water_needed=False)
    if mode_of(design) == "size":
        design = read_site(site)
    water, _ = read_design_water(design.water)
    job = run_running(water, design)
    if analysis is None:
        return job, None
    from pretreat.study.new_analysis import two_waters

    return job, two_waters(water, read_analysis(analysis), design, analysis.name)


def _show(study: "Study") -> None:
    table = study.series.get("record.findings")
    for finding, what, words in table.rows if table is not None else ():
        if finding:
            typer.echo(finding)
        typer.echo(f"  {what}: {words}")
    if table is not None and not table.rows:
        typer.echo("Nothing has moved beyond the noise of the gauges.")
    _show_changes(study)
    for flag in study.flags:
        if not flag.code.startswith("finding_"):
            typer.echo(f"{flag.level}: {flag.text}")


def _show_changes(study: "Study") -> None:
    changes = study.series.get("record.new_analysis")
    if changes is None:
        return
    typer.echo(f"{changes.label}:")
    for what, unit, before, now, change in changes.rows:
        if change != "same":
            shown = "" if unit == "-" else f" {unit}"
            typer.echo(f"  {what}: {_word(before)} to {_word(now)}{shown}, {change}")


def _word(value: object) -> str:
    """Return a value with three digits, and no fewer than its whole number."""
    if not isinstance(value, float):
        return str(value or "none")
    return f"{value:.3g}" if abs(value) < 1000 else f"{value:,.0f}"


def register(app: typer.Typer) -> None:
    """Add the commands."""
    app.command()(log)
    app.command()(record)
