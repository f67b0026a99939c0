"""`pretreat new`: the forms of a site to fill in, as a commented file or as a workbook."""

import os
import tempfile
from pathlib import Path
from typing import Annotated

import typer

from pretreat.cli.options import Units, UnitSystem
from pretreat.core.errors import DesignError

Folder = Annotated[Path, typer.Argument(help="Folder to make; it must not hold these files yet.")]

FORM = "analysis_form.xlsx"
SITE = "site.toml"
WORKBOOK = "site_form.xlsx"


def new(folder: Folder, units: UnitSystem = Units.si) -> None:
    """Write the forms of a site: a commented site file, or a workbook that does without it.

    Example: pretreat new my_site --units us

    The workbook site_form.xlsx holds site, water, vessels and prices; every command takes it
    where it takes a site file.
    """
    from pretreat.lab.form import write_form
    from pretreat.site.sheets.toml_form import site_form
    from pretreat.stages.site import tables

    for name in (SITE, FORM, WORKBOOK):
        if (folder / name).exists():
            raise DesignError(f"{folder / name} exists already; choose another folder")
    us = units is Units.us
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / SITE).write_text(site_form(FORM, tables(), us=us), encoding="utf-8")
        write_form(folder / FORM)
        _write_workbook(folder / WORKBOOK, us)
    except OSError as problem:
        raise DesignError(f"{folder}: cannot be written ({problem.strerror})") from None
    typer.echo(
        f"{folder / WORKBOOK}: all in one workbook: fill it in, then run: pretreat size "
        f"{folder / WORKBOOK}, or pretreat rate for vessels that stand there (a test kit will do)"
    )
    typer.echo("or, as a text file:")
    typer.echo(f"{folder / FORM}: fill in the analysis")
    typer.echo(f"{folder / SITE}: fill in the site, then run: pretreat size {folder / SITE}")
    typer.echo(
        f"For vessels that stand there already run: pretreat rate {folder / SITE} "
        "(test-kit values of hardness and iron will do)"
    )


def _write_workbook(path: Path, us: bool) -> None:
    import xlsxwriter

    from pretreat.lab.form import add_analysis_sheet
    from pretreat.site.sheets.writer import add_site_sheets
    from pretreat.stages.site import tables

    handle, name = tempfile.mkstemp(suffix=".xlsx", dir=path.parent)
    os.close(handle)
    try:
        book = xlsxwriter.Workbook(name, {"strings_to_formulas": False, "strings_to_urls": False})
        add_site_sheets(book, tables(), us=us)
        add_analysis_sheet(book)
        book.close()
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(new)
