"""`pretreat rate`: the same for vessels that exist."""

import typer

from pretreat.cli.files import (
    CardFile,
    CsvFolder,
    FiguresFolder,
    FiguresFormat,
    Files,
    PictureFormat,
)
from pretreat.cli.options import Day, DrawCount, Json, Output, PriceList, SiteFile, SiteUnits
from pretreat.cli.size import run, target


def rate(
    site: SiteFile,
    output: Output = None,
    as_json: Json = False,
    units: SiteUnits = None,
    date: Day = None,
    csv: CsvFolder = None,
    figures: FiguresFolder = None,
    figures_format: FiguresFormat = PictureFormat.png,
    card: CardFile = None,
    draws: DrawCount = 1024,
    prices: PriceList = None,
) -> None:
    """Rate the vessels that are installed: intervals, programme and settings.

    Example: pretreat rate water_analyses/quarrow_vale_installed.toml
    """
    files = Files(target(site, output, as_json), csv, figures, figures_format, card)
    run(site, files, "rate", as_json, units, date, draws, prices)


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(rate)
