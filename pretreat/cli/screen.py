"""`pretreat screen`: many waters at once."""

import csv
import io
import os
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TextIO

import typer

from pretreat.cli.options import Inhibitor, Output, Recoveries, SaltPassage
from pretreat.errors import AnalysisError, PretreatError

if TYPE_CHECKING:
    from pretreat.study.screen import ScreenBlock

MOST_LINES = 20  # lines about single cells shown on a terminal

Tables = Annotated[list[Path], typer.Argument(help="Wide tables, one water per row.")]


def screen(
    files: Tables,
    recovery: Recoveries,
    salt_passage: SaltPassage = 0.0,
    inhibitor: Inhibitor = False,
    output: Output = None,
) -> None:
    """Screen many waters: saturation and largest recovery, one row per water and recovery.

    Example: pretreat screen wells.csv --recovery 0.5 --recovery 0.75 -o screened.csv
    """
    if output is None:
        _write(sys.stdout, files, recovery, salt_passage, inhibitor)
        return
    output.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=output.parent, prefix=".screen-", suffix=".csv")
    try:
        with os.fdopen(handle, "w", newline="", encoding="utf-8") as target:
            _write(target, files, recovery, salt_passage, inhibitor)
        Path(name).replace(output)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _write(
    target: TextIO, files: list[Path], recoveries: list[float], passage: float, inhibitor: bool
) -> None:
    faults: list[str] = []
    done = 0
    for path in files:
        try:
            for block, notes in _blocks(path, recoveries, passage, inhibitor):
                faults.extend(f"{path.name}, {note}" for note in notes)
                target.write(_csv_text(block, with_heading=done == 0))
                done += len(block)
                _progress(path, done // max(len(recoveries), 1))
        except PretreatError as problem:
            faults.extend(problem.faults)
    _progress(None, 0)
    _complain(faults)
    if done == 0:
        raise AnalysisError(*(() if faults else ("no water could be read",)))


def _complain(faults: list[str]) -> None:
    for fault in faults[:MOST_LINES]:
        typer.echo(f"pretreat: {fault}", err=True)
    if len(faults) > MOST_LINES:
        typer.echo(f"pretreat: and {len(faults) - MOST_LINES} more; see column 'flags'", err=True)


def _blocks(
    path: Path, recoveries: list[float], passage: float, inhibitor: bool
) -> Iterable[tuple["ScreenBlock", list[str]]]:
    from pretreat.lab.screen_table import read_chunks
    from pretreat.membrane.recovery import default_limits
    from pretreat.study.screen import screen as screen_chunk

    limits = default_limits(inhibitor)
    for table in read_chunks(path):
        yield screen_chunk(table, recoveries, {"default": passage}, limits), table.notes


def _csv_text(block: "ScreenBlock", *, with_heading: bool) -> str:
    """Write a block as CSV: six digits, blanks for gaps, words quoted where they must be."""
    import numpy as np

    text: list[list[str]] = []
    for column in block.columns.values():
        if isinstance(column, np.ndarray):
            cells = ["%.6g" % value for value in column.tolist()]  # noqa: UP031 - the fastest way
            text.append(["" if cell == "nan" else cell for cell in cells])
        else:
            text.append(column)
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    if with_heading:
        writer.writerow(block.columns)
    writer.writerows(zip(*text, strict=True))
    return buffer.getvalue()


def _progress(path: Path | None, waters: int) -> None:
    """Show on a terminal how far the work is; say nothing to a file."""
    if not sys.stderr.isatty():
        return
    text = "" if path is None else f"{path.name}: {waters:,} waters"
    sys.stderr.write(f"\r{text:<70}\r")
    sys.stderr.flush()


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(screen)
