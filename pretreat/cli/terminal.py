"""What the program says, and how it ends: clean text, one line a fault, nothing left behind."""

import contextlib
import io
import os
import signal
import sys
import traceback
from pathlib import Path
from types import FrameType
from typing import Any

from pretreat.core.errors import LONGEST_FAULT, PretreatError
from pretreat.core.text import one_line, terminal_text

TRACE = "PRETREAT_TRACE"  # of the environment
_ENDS_BY = ("SIGTERM", "SIGHUP", "SIGBREAK")
BOUNDS = (RecursionError, MemoryError, OverflowError)


class CleanText(io.TextIOWrapper):
    """A stream of text that gives the terminal no commands."""

    def write(self, text: str) -> int:
        """Write a text, each command replaced by a sign."""
        super().write(terminal_text(text))
        return len(text)


class Silent:
    """Stands for the bar where nobody looks."""

    def __enter__(self) -> "Silent":
        return self

    def __exit__(self, *_: object) -> None:
        return None

    def update(self, _done: int) -> None:
        """Take up the progress and say nothing."""


def clean_streams() -> dict[str, Any]:
    """Let standard output and error pass clean text only; return those that were there."""
    before = {name: getattr(sys, name) for name in ("stdout", "stderr")}
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115, PTH123
        elif isinstance(stream, io.TextIOWrapper):
            clean = CleanText(
                stream.buffer,
                encoding=stream.encoding,
                errors="replace",
                line_buffering=stream.line_buffering,
                write_through=name == "stderr",
            )
            setattr(sys, name, clean)
    return before


def give_back(streams: dict[str, Any]) -> None:
    """Put the streams back that were there, open as they were: a caller goes on with them."""
    for name, stream in streams.items():
        clean = getattr(sys, name)
        if isinstance(clean, CleanText):
            with contextlib.suppress(OSError, ValueError):
                clean.flush()
            with contextlib.suppress(ValueError):
                clean.detach()
        setattr(sys, name, stream)


def end_in_order() -> None:
    """Let a signal that ends the program end it in order, so that no part file stays."""
    for name in _ENDS_BY:
        number = getattr(signal, name, None)
        if number is not None:
            with contextlib.suppress(ValueError, OSError):  # not in the main thread
                signal.signal(number, _end)


def _end(number: int, _frame: FrameType | None) -> Any:
    raise SystemExit(128 + number)


def complain(problem: PretreatError) -> None:
    """Print one line per fault on standard error."""
    for fault in problem.faults:
        _say(fault)


def _say(text: str) -> None:
    with contextlib.suppress(OSError, ValueError):
        sys.stderr.write(f"pretreat: {one_line(text, LONGEST_FAULT)}\n")


def flush() -> int:
    """Put the last output in its place; return 1, with a line, where that is not possible."""
    try:
        sys.stdout.flush()
    except OSError as problem:
        return cannot_write(problem)
    return 0


def cannot_write(problem: OSError) -> int:
    """Say that an output cannot be written, and leave nothing to flush; return the exit code."""
    if not isinstance(problem, BrokenPipeError):
        where = f"{problem.filename}: " if problem.filename else "the output cannot be written: "
        _say(f"{where}{problem.strerror or problem}")
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
    return 1


def out_of_bounds(problem: BaseException) -> int:
    """Say that an input is beyond what the machine or the program holds; return the exit code."""
    what = "more memory than there is" if isinstance(problem, MemoryError) else "numbers too large"
    if isinstance(problem, RecursionError):
        what = "parts nested too deep"
    _say(f"the input asks for {what}: check its values")
    return 1


def unforeseen(problem: Exception) -> int:
    """Say that the program itself is at fault, and where; return the exit code."""
    if os.environ.get(TRACE):
        raise problem
    last = traceback.extract_tb(problem.__traceback__)[-1]
    what = f"{type(problem).__name__}: {problem}" if str(problem) else type(problem).__name__
    _say(
        f"a fault of the program itself, not of your input ({what}, {Path(last.filename).name} "
        f"line {last.lineno}): report it with the files of this run; {TRACE}=1 shows more"
    )
    return 1
