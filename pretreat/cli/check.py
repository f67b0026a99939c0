"""`pretreat check`: read and judge a lab report."""

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


def check(
    analysis: Analysis,
    sample: Sample = None,
    sheet: Sheet = None,
    encoding: Encoding = None,
    decimal: Decimal = None,
    as_json: Json = False,
    units: UnitSystem = Units.si,
) -> None:
    """Read and judge a lab report.

    Example: pretreat check water_analyses/quarrow_vale_well_2.csv
    """
    from pretreat.lab import read_site_samples
    from pretreat.study import run_check

    found = read_site_samples(
        analysis, sample=sample, sheet=sheet, encoding=encoding, decimal=decimal
    )
    study = run_check(found.chosen, samples=found.repeated)
    if as_json:
        from pretreat.core.results import to_json

        typer.echo(to_json(study))
        return
    from pretreat.report import text_check

    typer.echo(text_check(study, units=units.value))


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(check)
