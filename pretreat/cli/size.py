"""`pretreat size`: the whole job, from a site file to a workbook."""

from pathlib import Path
from typing import Literal

import typer

from pretreat.cli.options import Day, Json, Output, SiteFile, Units, UnitSystem, day

Mode = Literal["size", "rate"]


def size(
    site: SiteFile,
    output: Output = None,
    as_json: Json = False,
    units: UnitSystem = Units.si,
    date: Day = None,
) -> None:
    """Size the whole train of a site and write the workbook.

    Example: pretreat size water_analyses/quarrow_vale.toml
    """
    run(site, output, "size", as_json, units, date)


def run(
    site: Path, output: Path | None, mode: Mode, as_json: bool, units: Units, date: str | None
) -> None:
    """Run the study of a site and show it; shared by size and rate."""
    from pretreat.lab import read_analysis
    from pretreat.results import to_json
    from pretreat.site_file import read_site
    from pretreat.study import run_study

    design = read_site(site)
    basis = design.water
    water = None
    if basis.analysis is not None:
        water = read_analysis(basis.analysis, sample=basis.sample, sheet=basis.sheet)
    study = run_study(water, design, mode)
    target = output
    if target is None and not as_json:
        target = Path("reports") / f"{site.stem}.xlsx"
    if target is not None:
        from pretreat.report import write_workbook

        target.parent.mkdir(parents=True, exist_ok=True)
        target = write_workbook(study, target, units=units.value, date=day(date))
    if as_json:
        typer.echo(to_json(study))
        return
    from pretreat.report import text_rate, text_size

    show = text_size if mode == "size" else text_rate
    typer.echo(show(study, units=units.value))
    typer.echo(f"\nWorkbook: {target}")


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(size)
