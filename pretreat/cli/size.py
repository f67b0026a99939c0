"""`pretreat size`: the whole job, from a site file to a workbook."""

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import typer
from msgspec.structs import replace

from pretreat.cli.files import (
    CardFile,
    CsvFolder,
    FiguresFolder,
    FiguresFormat,
    Files,
    PictureFormat,
    write_files,
)
from pretreat.cli.options import (
    Day,
    DrawCount,
    Json,
    Output,
    PriceList,
    SiteFile,
    SiteUnits,
    Units,
    day,
    units_of,
)

if TYPE_CHECKING:
    from pretreat.site.design import DesignBasis

Mode = Literal["size", "rate"]


def size(
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
    """Size the whole train of a site and write the workbook.

    Example: pretreat size water_analyses/quarrow_vale.toml
    """
    files = Files(target(site, output, as_json), csv, figures, figures_format, card)
    run(site, files, "size", as_json, units, date, draws, prices)


def target(site: Path, output: Path | None, as_json: bool) -> Path | None:
    """Return where the workbook goes: as asked, else by the name of the site file."""
    if output is None and not as_json:
        return Path("reports") / f"{site.stem}.xlsx"
    return output


def run(
    site: Path,
    files: Files,
    mode: Mode,
    as_json: bool,
    units: Units | None,
    date: str | None,
    draws: int,
    prices: Path | None = None,
) -> None:
    """Run the study of a site and show it; shared by size and rate."""
    from pretreat.core.results import to_json
    from pretreat.lab import read_design_water
    from pretreat.stages.site import faults_in_cells
    from pretreat.study import run_study

    design = _design(site, prices, water_needed=mode == "size")
    shown, basis = units_of(units, design), design.water
    water, samples = read_design_water(basis)
    with faults_in_cells(site):
        study = run_study(water, design, mode, samples, draws)
    files = replace(files, logo=design.quote.logo)
    written = write_files(study, files, shown, day(date))
    if as_json:
        typer.echo(to_json(study))
        return
    from pretreat.report import text_rate, text_size

    show = text_size if mode == "size" else text_rate
    typer.echo(show(study, units=shown.value))
    typer.echo("\n" + "\n".join(written))


def _design(site: Path, prices: Path | None, *, water_needed: bool) -> "DesignBasis":
    """Return the choices of a site, with a price list laid under its prices where one is named."""
    from pretreat.site.file import design_from, read_content
    from pretreat.stages.fixed import settled
    from pretreat.stages.site import read_site, tables

    if prices is None:
        return read_site(site, water_needed=water_needed)
    from pretreat.quote.price_list import laid_under, read_price_list

    price_list = read_price_list(prices)
    content, places = read_content(site, tables())
    content = laid_under(content, price_list, site)
    design = design_from(
        content, site.parent, tables(), site.name, water_needed=water_needed, places=places
    )
    return settled(design)


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(size)
