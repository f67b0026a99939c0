"""`pretreat check`: read and judge a lab report."""

from typing import Annotated

import typer

from pretreat.cli.options import (
    Analysis,
    Decimal,
    Encoding,
    Json,
    Sample,
    Sheet,
    Units,
    UnitSystem,
)

Column = Annotated[
    str | None,
    typer.Option("--column", help="Column of results by its heading, letter or number."),
]
ReportUnits = Annotated[
    list[str] | None,
    typer.Option(
        "--unit", help="Unit of results that print none, as 'mg/L'; of one analyte, as 'Iron=ug/L'."
    ),
]


def check(
    analysis: Analysis,
    sample: Sample = None,
    sheet: Sheet = None,
    encoding: Encoding = None,
    decimal: Decimal = None,
    column: Column = None,
    unit: ReportUnits = None,
    as_json: Json = False,
    units: UnitSystem = Units.si,
) -> None:
    """Read and judge a lab report.

    Example: pretreat check water_analyses/quarrow_vale_well_2.csv
    """
    from pretreat.lab import read_report, read_site_samples
    from pretreat.lab.read.report import Asked
    from pretreat.lab.trail import trail, trail_text
    from pretreat.study import run_check

    asked = Asked.of(column, unit)
    found = read_site_samples(
        analysis, sample=sample, sheet=sheet, encoding=encoding, decimal=decimal, asked=asked
    )
    study = run_check(found.chosen, samples=found.repeated)
    if as_json:
        from pretreat.core.results import to_json

        typer.echo(to_json(study))
        return
    from pretreat.report import text_check

    typer.echo(text_check(study, units=units.value))
    report = read_report(analysis, sheet=sheet, encoding=encoding, decimal=decimal, asked=asked)
    typer.echo(f"\n{trail_text(trail(found.chosen, report))}")


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(check)
