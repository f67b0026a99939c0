"""`pretreat new`: a commented site file and a blank analysis form to fill in."""

import os
from pathlib import Path
from typing import Annotated

import typer

from pretreat.core.errors import DesignError

Folder = Annotated[Path, typer.Argument(help="Folder to make; it must not hold these files yet.")]

FORM = "analysis_form.xlsx"
SITE = "site.toml"


def new(folder: Folder) -> None:
    """Write a commented site file and a blank analysis form to fill in.

    Example: pretreat new my_site
    """
    from pretreat.core.doors import replace_file
    from pretreat.lab.form import form_bytes
    from pretreat.site.form import site_form
    from pretreat.stages import ORDER

    added = "".join(f"{stage.site_form}\n" for stage in ORDER if stage.site_form)

    for name in (SITE, FORM):
        if os.path.lexists(folder / name):
            raise DesignError(f"{folder / name} exists already; choose another folder")
    form, site = form_bytes(), site_form(FORM, added).encode("utf-8")
    replace_file(folder / SITE, site)
    try:
        replace_file(folder / FORM, form)
    except BaseException:
        (folder / SITE).unlink(missing_ok=True)  # both or none
        raise
    typer.echo(f"{folder / FORM}: fill in the analysis")
    typer.echo(f"{folder / SITE}: fill in the site, then run: pretreat size {folder / SITE}")
    typer.echo(
        f"For vessels that stand there already run: pretreat rate {folder / SITE} "
        "(test-kit values of hardness and iron will do)"
    )


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(new)
