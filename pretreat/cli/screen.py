"""`pretreat screen`: many waters at once."""

import csv
import io
import itertools
import os
import sys
from collections import deque
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TextIO

import typer
from msgspec import Struct

from pretreat.cli.options import (
    Inhibitor,
    KChartFile,
    LimitFile,
    Output,
    Recoveries,
    SaltPassage,
    Sheet,
)
from pretreat.cli.terminal import Silent
from pretreat.core.doors.way_out import part_of, refuse_target
from pretreat.core.errors import LONGEST_FAULT, AnalysisError, PretreatError
from pretreat.core.text import csv_text, one_line

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from pretreat.lab.screen import ScreenBlock
    from pretreat.membrane.recovery import Limits

CHUNK = 1 << 20  # bytes
MOST_LINES = 20  # lines about single cells shown on a terminal

Tables = Annotated[list[Path], typer.Argument(help="Wide tables, one water per row.")]


class Job(Struct, frozen=True):
    """What is asked of every water."""

    recoveries: tuple[float, ...]
    passage: float
    limits: "Limits"
    sheet: str | None


def screen(
    files: Tables,
    recovery: Recoveries,
    salt_passage: SaltPassage = 0.0,
    inhibitor: Inhibitor = False,
    limits: LimitFile = None,
    k_chart: KChartFile = None,
    sheet: Sheet = None,
    output: Output = None,
) -> None:
    """Screen many waters: saturation and maximum recovery, one row per water and recovery.

    Example: pretreat screen wells.csv --recovery 0.5 --recovery 0.75 -o screened.csv
    """
    job = Job(tuple(recovery), salt_passage, _limits(inhibitor, limits, k_chart), sheet)
    if output is None:
        _write(sys.stdout, files, job)
        return
    _write_file(output, files, job)


def _write_file(output: Path, files: list[Path], job: Job) -> None:
    """Write to a part beside the file and put it in place at the end; nowhere as it comes."""
    if str(output) == os.devnull:
        with output.open("w", newline="", encoding="utf-8") as stream:
            _write(stream, files, job)
        return
    if output.is_dir():
        raise AnalysisError(
            f"{output} is a folder: name a file in it, as {output / 'screened.csv'}"
        )
    refuse_target(output, *files)
    with part_of(output) as stream:
        _write(stream, files, job)


def _limits(inhibitor: bool, file: Path | None, k_chart: Path | None) -> "Limits":
    from pretreat.membrane.limits import limits_from
    from pretreat.site.design import LimitChoices
    from pretreat.site.limits import with_files

    return limits_from(with_files(LimitChoices(inhibitor=inhibitor), file, k_chart), inhibitor)


def _write(target: TextIO, files: list[Path], job: Job) -> None:
    faults: list[str] = []
    done = 0
    for path in files:
        try:
            with _progress(path) as bar:
                for block, notes in _blocks(path, job):
                    faults.extend(f"{path.name}, {note}" for note in notes)
                    target.write(_csv_text(block, with_heading=done == 0))
                    done += len(block)
                    bar.update(len(block) // len(job.recoveries))
        except PretreatError as problem:
            faults.extend(problem.faults)
    _complain(faults)
    if done == 0:
        raise AnalysisError(*(() if faults else ("no water could be read",)))


def _complain(faults: list[str]) -> None:
    for fault in faults[:MOST_LINES]:
        typer.echo(f"pretreat: {one_line(fault, LONGEST_FAULT)}", err=True)
    if len(faults) > MOST_LINES:
        typer.echo(f"pretreat: and {len(faults) - MOST_LINES} more; see column 'flags'", err=True)


def _blocks(path: Path, job: Job) -> Iterator[tuple["ScreenBlock", list[str]]]:
    """Screen chunk by chunk, in order: the next ones are computed while one is written."""
    from concurrent.futures import Future, ThreadPoolExecutor

    from pretreat.lab.samples.screen_table import WaterTable, read_chunks
    from pretreat.lab.screen import screen as screen_chunk

    def computed(table: WaterTable) -> tuple["ScreenBlock", list[str]]:
        block = screen_chunk(table, job.recoveries, {"default": job.passage}, job.limits)
        return block, table.notes

    workers, fault = os.cpu_count() or 1, None
    with ThreadPoolExecutor(workers) as pool:
        ahead: deque[Future[tuple[ScreenBlock, list[str]]]] = deque()
        try:
            for table in read_chunks(path, job.sheet):
                ahead.append(pool.submit(computed, table))
                if len(ahead) > workers:
                    yield ahead.popleft().result()
        except PretreatError as problem:
            fault = problem  # what stands before it in the file is still given out
        while ahead:
            yield ahead.popleft().result()
    if fault is not None:
        raise fault


def _csv_text(block: "ScreenBlock", *, with_heading: bool) -> str:
    """Write a block as CSV: six digits, blanks for gaps, words quoted where they must be."""
    text: list[list[str]] = []
    for numbers, group in itertools.groupby(block.columns.values(), _is_number):
        columns = list(group)
        text.extend([_numbers(columns)] if numbers else map(_words, columns))
    buffer = io.StringIO()
    if with_heading:
        csv.writer(buffer, lineterminator="\n").writerow(block.columns)
    buffer.writelines(map("{}\n".format, map(",".join, zip(*text, strict=True))))
    return buffer.getvalue()


def _is_number(column: object) -> bool:
    return not isinstance(column, list)


def _numbers(columns: list["NDArray[np.float64]"]) -> list[str]:
    """Return the cells of columns that stand side by side, joined row by row."""
    import numpy as np

    table = np.stack(columns, axis=1)
    line = ",".join(["%.6g"] * len(columns)) + "\n"
    joined = (line * len(table)) % tuple(table.ravel().tolist())
    return joined.replace("nan", "").splitlines()


def _words(column: list[str]) -> list[str]:
    """Return words as cells; most stand in many rows."""
    cells = {word: _cell(word) for word in set(column)}
    return [cells[word] for word in column]


def _cell(word: str) -> str:
    """Return one cell, quoted as the csv module would."""
    text = csv_text(word)
    if text.isalnum():
        return text
    buffer = io.StringIO()
    csv.writer(buffer, lineterminator="").writerow([text, ""])
    return buffer.getvalue()[:-1]


def _progress(path: Path) -> Any:
    """Show on a terminal how far the work is; say nothing to a file or a pipe."""
    if not sys.stderr.isatty():
        return Silent()
    return typer.progressbar(
        length=_lines(path),
        label=one_line(path.name),
        file=sys.__stderr__,
        width=0,
        show_pos=True,
    )


def _lines(path: Path) -> int:
    """Count the lines below the heading; 1 where the file has none or cannot be read."""
    try:
        if not path.is_file():
            return 1
        with path.open("rb") as source:
            return max(
                sum(chunk.count(b"\n") for chunk in iter(lambda: source.read(CHUNK), b"")), 1
            )
    except OSError:
        return 1


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(screen)
