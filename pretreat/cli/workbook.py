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
from pretreat.core.doors.way_in import MEGABYTE, Kind, file_bytes
from pretreat.core.errors import PretreatError
from pretreat.core.text import one_line

StudyFile = Annotated[
    Path, typer.Argument(help="What --json printed, saved in a file; - reads it from the pipe.")
]
_PIPE = "-"
MOST_MEGABYTES = 64


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


STUDY = Kind("the JSON of a run", "no such file; save there what --json prints", MOST_MEGABYTES)


def _text(path: Path) -> str:
    if str(path) != _PIPE:
        data, shown = file_bytes(path, STUDY), one_line(str(path))
    else:
        shown = "the pipe"
        data = sys.stdin.buffer.read(MOST_MEGABYTES * MEGABYTE + 1) if sys.stdin else b""
        if len(data) > MOST_MEGABYTES * MEGABYTE:
            raise PretreatError(f"{shown}: more than {MOST_MEGABYTES} MB: name the right file")
    try:
        return data.decode(json.detect_encoding(data))  # some shells write UTF-16
    except UnicodeDecodeError:
        raise PretreatError(
            f"{shown}: cannot be read as text; save again what --json prints"
        ) from None


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(workbook)
