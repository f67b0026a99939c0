"""The command line: parse, call, print, exit code. No arithmetic."""

import gc
import os
import sys
from functools import cache
from importlib import import_module

import typer

from pretreat import __version__
from pretreat.cli.terminal import (
    BOUNDS,
    cannot_write,
    clean_streams,
    complain,
    end_in_order,
    flush,
    give_back,
    out_of_bounds,
    unforeseen,
)
from pretreat.core.errors import PretreatError

GARBAGE_AFTER = 200_000  # objects made since the last look

app = typer.Typer(
    name="pretreat",
    help="Scaling and pretreatment sizing for small reverse-osmosis machines on well water.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"pretreat {__version__}")
        raise typer.Exit


@app.callback()
def _top(
    version: bool = typer.Option(
        False, "--version", help="Show the version and stop.", callback=_version, is_eager=True
    ),
) -> None:
    pass


COMMANDS = ("check", "scaling", "size", "rate", "workbook", "quote", "screen", "new", "log", "page")


def _register(asked: str = "") -> None:
    """Add the commands; where one is asked for by its name, that one alone."""
    for name in (asked,) if asked in COMMANDS else COMMANDS:
        _add(app, name)


@cache
def _add(program: typer.Typer, name: str) -> None:
    """Add a command, once: one that is there twice costs every later call in the process."""
    import_module(f"pretreat.cli.{name}").register(program)


def main() -> None:
    """Run the program; a fault in the input is one clear line each and exit code 1."""
    # Many small matrix products: a second thread of the library only waits for the first.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # A study is many small objects that all live to the end: looking for garbage finds none.
    gc.set_threshold(GARBAGE_AFTER, 50, 50)
    streams = clean_streams()
    try:
        _run()
    finally:
        give_back(streams)


def _run() -> None:
    end_in_order()
    _register(sys.argv[1] if len(sys.argv) > 1 else "")
    try:
        app()
    except SystemExit as end:
        gc.freeze()  # what is left goes with the process
        if flush():
            sys.exit(1)
        raise end from None
    except PretreatError as problem:
        complain(problem)
        flush()
        sys.exit(1)
    except OSError as problem:
        sys.exit(cannot_write(problem))
    except BOUNDS as problem:
        sys.exit(out_of_bounds(problem))
    except Exception as problem:  # noqa: BLE001 - whoever runs a command needs a line, not a trace
        sys.exit(unforeseen(problem))
