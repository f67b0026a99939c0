"""`pretreat scaling`: concentrate, indexes and recovery limits of a water."""

import typer

from pretreat.cli.options import (
    Analysis,
    Decimal,
    Encoding,
    Inhibitor,
    Json,
    Recovery,
    SaltPassage,
    Sample,
    Sheet,
    Temperature,
    Units,
    UnitSystem,
)


def scaling(
    analysis: Analysis,
    recovery: Recovery,
    temperature: Temperature = None,
    salt_passage: SaltPassage = 0.0,
    inhibitor: Inhibitor = False,
    sample: Sample = None,
    sheet: Sheet = None,
    encoding: Encoding = None,
    decimal: Decimal = None,
    as_json: Json = False,
    units: UnitSystem = Units.si,
) -> None:
    """Concentrate, scaling indexes and how far recovery may go.

    Example: pretreat scaling water_analyses/drover_flat.csv --recovery 0.65 --temperature 18
    """
    from pretreat.design import LimitChoices, WaterBasis
    from pretreat.lab import read_analysis
    from pretreat.study import run_scaling

    water = read_analysis(analysis, sample=sample, sheet=sheet, encoding=encoding, decimal=decimal)
    study = run_scaling(
        water,
        recovery,
        WaterBasis(operating_temperature_c=temperature),
        {"default": salt_passage},
        LimitChoices(inhibitor=inhibitor),
    )
    if as_json:
        from pretreat.results import to_json

        typer.echo(to_json(study))
        return
    from pretreat.report import text_scaling

    typer.echo(text_scaling(study, units=units.value))


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(scaling)
