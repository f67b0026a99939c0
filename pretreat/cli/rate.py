"""`pretreat rate`: the same for vessels that exist."""

import typer

from pretreat.cli.options import Day, Json, Output, SiteFile, Units, UnitSystem
from pretreat.cli.size import run


def rate(
    site: SiteFile,
    output: Output = None,
    as_json: Json = False,
    units: UnitSystem = Units.si,
    date: Day = None,
) -> None:
    """Rate the vessels that are installed: intervals, programme and settings.

    Example: pretreat rate water_analyses/quarrow_vale_installed.toml
    """
    run(site, output, "rate", as_json, units, date)


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(rate)
