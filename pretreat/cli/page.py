"""`pretreat page`: the page in the browser, and the HTTP interface beside it."""

from pathlib import Path
from typing import Annotated

import typer

from pretreat.core.errors import PretreatError

MaybeSite = Annotated[
    Path | None, typer.Argument(help="Site file, TOML, to open the page with.", metavar="[SITE]")
]
Port = Annotated[int, typer.Option(min=0, max=65535, help="Port; 0 takes one that is free.")]
Browser = Annotated[bool, typer.Option("--browser/--no-browser", help="Open the browser.")]
Host = Annotated[str, typer.Option(help="Address of this machine to listen on.")]
Names = Annotated[
    list[str] | None,
    typer.Option("--name", help="Another host name that the page answers to; may be repeated."),
]

_HOME = "127.0.0.1"
_WARNING = (
    "pretreat: whoever can reach this address can use the page, and what they send travels "
    "unencrypted: use it on a network that you trust, or put a proxy with TLS and a password "
    "before it"
)


def page(
    site: MaybeSite = None,
    port: Port = 8765,
    browser: Browser = True,
    host: Host = _HOME,
    name: Names = None,
) -> None:
    """Show the page in the browser, on this machine alone, until Ctrl-C.

    Example: pretreat page water_analyses/quarrow_vale.toml

    For a phone in the same building: pretreat page --host 192.0.2.10 --no-browser
    """
    try:
        from pretreat.page.serve import opening_of, serve
    except ModuleNotFoundError as problem:
        raise PretreatError(
            f"the page needs the package {problem.name}: pip install 'pretreat[page]'"
        ) from None
    opening = opening_of(site) if site is not None else None
    if host != _HOME:
        typer.echo(_WARNING, err=True)
    names = tuple(text.casefold() for text in name or ())
    try:
        serve(opening, (host, port), names, browser=browser, say=_say)
    except ModuleNotFoundError as problem:
        raise PretreatError(
            f"the page needs the package {problem.name}: pip install 'pretreat[page]'"
        ) from None


def _say(line: str) -> None:
    print(line, flush=True)  # noqa: T201 - a script waits for it


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(page)
