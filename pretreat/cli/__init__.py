"""The command line: parse, call, print, exit code. No arithmetic."""

import gc
import os
import sys

import typer

from pretreat import __version__
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


def _register() -> None:
    from pretreat.cli import check, log, new, rate, scaling, screen, size, workbook

    for module in (check, scaling, size, rate, workbook, screen, new, log):
        module.register(app)


def main() -> None:
    """Run the program; a fault in the input is one clear line each and exit code 1."""
    # Many small matrix products: a second thread of the library only waits for the first.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # A study is many small objects that all live to the end: looking for garbage finds none.
    gc.set_threshold(GARBAGE_AFTER, 50, 50)
    _register()
    try:
        app()
    except SystemExit:
        gc.freeze()  # what is left goes with the process
        raise
    except PretreatError as problem:
        for fault in problem.faults:
            typer.echo(f"pretreat: {fault}", err=True)
        sys.exit(1)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(1)
