"""`pretreat workbook`: the workbook again, from the JSON of a run alone."""

import json
import sys
from pathlib import Path
from typing import Annotated

import typer

from pretreat.cli.files import (
    CsvFolder,
    FiguresFolder,
    FiguresFormat,
    Files,
    PictureFormat,
    write_files,
)
from pretreat.cli.options import Day, Output, Units, UnitSystem, day

StudyFile = Annotated[
    Path, typer.Argument(help="What --json printed, saved in a file; - reads it from the pipe.")
]
_PIPE = "-"


def workbook(
    study: StudyFile,
    output: Output = None,
    units: UnitSystem = Units.si,
    date: Day = None,
    csv: CsvFolder = None,
    figures: FiguresFolder = None,
    figures_format: FiguresFormat = PictureFormat.png,
) -> None:
    """Write the workbook of a run again from its JSON, without the site file or the analysis.

    Example: pretreat workbook study.json -o site.xlsx

    The file comes from a run before: pretreat size site.toml --json > study.json
    """
    from pretreat.core.results import from_json

    found = from_json(_text(study))
    name = "study" if str(study) == _PIPE else study.stem
    target = output or Path("reports") / f"{name}.xlsx"
    files = Files(target, csv, figures, figures_format)
    typer.echo("\n".join(write_files(found, files, units, day(date))))


def _text(path: Path) -> str:
    from pretreat.core.errors import PretreatError

    if str(path) == _PIPE:
        return sys.stdin.read()
    try:
        raw = path.read_bytes()
        return raw.decode(json.detect_encoding(raw))  # some shells write UTF-16
    except FileNotFoundError:
        raise PretreatError(f"{path}: no such file; save there what --json prints") from None
    except (OSError, UnicodeDecodeError) as problem:
        raise PretreatError(f"{path}: cannot be read as text ({problem})") from None


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(workbook)
