"""`pretreat scaling`: concentrate, indexes and recovery limits of a water."""

from pathlib import Path

import typer

from pretreat.cli.options import (
    Analysis,
    Decimal,
    DrawCount,
    Encoding,
    Flow,
    Inhibitor,
    Json,
    KChartFile,
    LimitFile,
    MaybeRecovery,
    SaltPassage,
    Sample,
    Sheet,
    Temperature,
    Units,
    UnitSystem,
)


def scaling(
    analysis: Analysis,
    recovery: MaybeRecovery = None,
    product: Flow = None,
    drain: Flow = None,
    temperature: Temperature = None,
    salt_passage: SaltPassage = 0.0,
    inhibitor: Inhibitor = False,
    limits: LimitFile = None,
    k_chart: KChartFile = None,
    draws: DrawCount = 1024,
    sample: Sample = None,
    sheet: Sheet = None,
    encoding: Encoding = None,
    decimal: Decimal = None,
    as_json: Json = False,
    units: UnitSystem = Units.si,
) -> None:
    """Concentrate, scaling indexes and how far recovery may go.

    The recovery is given, or follows from the measured flows of product and drain.

    Example: pretreat scaling water_analyses/drover_flat.csv --recovery 0.65 --temperature 18

    Example: pretreat scaling water_analyses/drover_flat.csv --product "6 gpm" --drain "4 gpm"
    """
    by_meters = product is not None and drain is not None
    if (recovery is None) != by_meters or (product is None) != (drain is None):
        raise typer.BadParameter("write --recovery 0.65, or both --product and --drain")
    from pretreat.lab import read_analysis
    from pretreat.site.design import LimitChoices, WaterBasis
    from pretreat.site.limits import with_files
    from pretreat.study import run_scaling

    choices = with_files(LimitChoices(inhibitor=inhibitor), limits, k_chart)
    water = read_analysis(analysis, sample=sample, sheet=sheet, encoding=encoding, decimal=decimal)
    study = run_scaling(
        water,
        _flows(product, drain) if recovery is None else recovery,
        WaterBasis(operating_temperature_c=temperature),
        {"default": salt_passage},
        choices,
        draws,
    )
    if as_json:
        from pretreat.core.results import to_json

        typer.echo(to_json(study))
        return
    from pretreat.report import text_scaling

    typer.echo(text_scaling(study, units=units.value))


def _flows(product: str | None, drain: str | None) -> tuple[float, float]:
    from pretreat.site.keys import number

    read = number(0.0, 10_000.0, "m3/h", open_low=True)
    here = Path()
    return read("--product", product, here), read("--drain", drain, here)


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(scaling)
