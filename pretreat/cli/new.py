"""`pretreat new`: the forms of a site to fill in, as a commented file or as a workbook."""

import io
import os
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
    from pretreat.core.doors import replace_file
    from pretreat.lab.form import form_bytes
    from pretreat.site.sheets.toml_form import site_form
    from pretreat.stages.site import tables

    us = units is Units.us
    contents = {
        SITE: site_form(FORM, tables(), us=us).encode("utf-8"),
        FORM: form_bytes(),
        WORKBOOK: _workbook(us),
    }
    for name in contents:
        if os.path.lexists(folder / name):
            raise DesignError(f"{folder / name} exists already; choose another folder")
    written: list[Path] = []
    try:
        for name, content in contents.items():
            written.append(replace_file(folder / name, content))
    except BaseException:
        for path in written:
            path.unlink(missing_ok=True)  # all or none
        raise
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


def _workbook(us: bool) -> bytes:
    import xlsxwriter

    from pretreat.lab.form import add_analysis_sheet
    from pretreat.site.sheets.writer import add_site_sheets
    from pretreat.stages.site import tables

    memory = io.BytesIO()
    book = xlsxwriter.Workbook(
        memory, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    )
    add_site_sheets(book, tables(), us=us)
    add_analysis_sheet(book)
    book.close()
    return memory.getvalue()


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(new)
