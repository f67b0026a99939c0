"""Puts a finished file in its place: whole or not at all."""

import contextlib
import os
from pathlib import Path

from pretreat.core.errors import PretreatError


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
        if target.with_name(lock).exists():
            raise PretreatError(
                f"{target} is open in another program (its lock file {lock} is there): close it, "
                f"or write to {_other_name(target)}"
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
        If the file or its folder cannot be written.
    """
    part = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with part.open("wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        part.replace(target)
    except PermissionError as problem:
        raise PretreatError(
            f"{target} cannot be replaced, it is open in another program or may not be written: "
            f"close it, or write to {_other_name(target)}"
        ) from problem
    except OSError as problem:
        raise PretreatError(f"{target} cannot be written: {problem.strerror}") from problem
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
    return target
