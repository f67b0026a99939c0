"""`pretreat new`: a commented site file and a blank analysis form to fill in."""

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
    from pretreat.lab.form import write_form
    from pretreat.site.form import site_form
    from pretreat.stages import ORDER

    added = "".join(f"{stage.site_form}\n" for stage in ORDER if stage.site_form)

    for name in (SITE, FORM):
        if (folder / name).exists():
            raise DesignError(f"{folder / name} exists already; choose another folder")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / SITE).write_text(site_form(FORM, added), encoding="utf-8")
        write_form(folder / FORM)
    except OSError as problem:
        raise DesignError(f"{folder}: cannot be written ({problem.strerror})") from None
    typer.echo(f"{folder / FORM}: fill in the analysis")
    typer.echo(f"{folder / SITE}: fill in the site, then run: pretreat size {folder / SITE}")
    typer.echo(
        f"For vessels that stand there already run: pretreat rate {folder / SITE} "
        "(test-kit values of hardness and iron will do)"
    )


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(new)
