"""The one way out for files: never onto an input, whole or not at all, nothing left behind."""

import contextlib
import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO

from pretreat.core.doors.way_in import taken_in
from pretreat.core.errors import PretreatError
from pretreat.core.text import one_line

LONGEST_HEAD = 10_000  # bytes


def refuse_target(target: Path, *inputs: Path) -> None:
    """Refuse to write onto an input of the run, a link, a folder, a pipe or a device.

    Parameters
    ----------
    target : Path
        The file that is to be written. [-]
    *inputs : Path
        Files that are read beside those already taken in. [-]

    Raises
    ------
    PretreatError
        If it must not be written.
    """
    shown = one_line(str(target))
    try:
        mode = target.lstat().st_mode
    except (FileNotFoundError, NotADirectoryError):
        mode = None
    except ValueError:
        raise PretreatError(f"{shown} is not a name of a file; write to another") from None
    except OSError as problem:
        raise PretreatError(f"{shown} cannot be written: {problem.strerror}") from None
    what = "" if mode is None or stat.S_ISREG(mode) else _what(mode)
    if what:
        raise PretreatError(f"{shown} is {what}, not a file: name a file to write to")
    if mode is not None and _is_record(target):
        raise PretreatError(f"{shown} is a record of readings: write to another file")
    for given in (*inputs, *taken_in()):
        if _same(target, given, there=mode is not None):
            raise PretreatError(f"{shown} is an input of this run: write to another file")


def _what(mode: int) -> str:
    if stat.S_ISDIR(mode):
        return "a folder"
    return "a link" if stat.S_ISLNK(mode) else "a pipe or a device"


def _is_record(target: Path) -> bool:
    """Tell a record of readings, which only grows, by its first line."""
    try:
        with target.open("rb") as source:
            first = source.readline(LONGEST_HEAD).removeprefix(b"\xef\xbb\xbf").rstrip()
    except OSError:
        return False
    return first.startswith(b"when,") and first.endswith(b",note,check")


def _same(target: Path, given: Path, *, there: bool) -> bool:
    try:
        if target.resolve() == given.resolve():
            return True
        return there and given.exists() and target.samefile(given)
    except (OSError, ValueError, RuntimeError):
        return False


def refuse_if_open(target: Path) -> None:
    """Refuse a workbook beside which another program has laid its lock file.

    Parameters
    ----------
    target : Path
        The file. [-]

    Raises
    ------
    PretreatError
        If a lock file lies beside the file.
    """
    for lock in (f"~${target.name}", f".~lock.{target.name}#"):
        with contextlib.suppress(OSError, ValueError):
            if target.with_name(lock).exists():
                raise PretreatError(
                    f"{target} is open in another program (its lock file {lock} is there): close "
                    f"it, or write to {_other_name(target)}"
                )


def _other_name(target: Path) -> Path:
    number = 2
    while (other := target.with_name(f"{target.stem}_{number}{target.suffix}")).exists():
        number += 1
    return other


def replace_file(target: Path, content: bytes) -> Path:
    """Put content in place of a file in one step, so that it is never half written.

    Parameters
    ----------
    target : Path
        The file. [-]
    content : bytes
        Its new content. [-]

    Returns
    -------
    Path
        The file. [-]

    Raises
    ------
    PretreatError
        If it is an input of the run or no file, or it or its folder cannot be written.
    """
    with _part(target) as part, part.open("wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())
    return target


@contextmanager
def part_of(target: Path) -> Iterator[TextIO]:
    """Open a text beside a file, and put it in its place when the block ends without a fault.

    Parameters
    ----------
    target : Path
        The file. [-]

    Yields
    ------
    TextIO
        UTF-8; line ends as written. [-]

    Raises
    ------
    PretreatError
        As `replace_file`.
    """
    with _part(target) as part, part.open("w", newline="", encoding="utf-8") as stream:
        yield stream
        stream.flush()
        os.fsync(stream.fileno())


@contextmanager
def _part(target: Path) -> Iterator[Path]:
    """Give a name beside a file; what stands there at the end replaces the file."""
    refuse_target(target)
    shown = one_line(str(target))
    part = target.with_name(f".{target.name[:100]}.{os.getpid()}.part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        yield part
        part.replace(target)
    except PermissionError as problem:
        raise PretreatError(
            f"{shown} cannot be replaced, it is open in another program or may not be written: "
            f"close it, or write to {_other_name(target)}"
        ) from problem
    except OSError as problem:
        raise PretreatError(f"{shown} cannot be written: {problem.strerror}") from problem
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
