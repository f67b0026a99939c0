"""One writer at a time, on every system: a lock on a file beside the record."""

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from pretreat.record.readings import RecordError

LONGEST_WAIT_S = 30.0  # RECORD_STATISTICS: a writer holds the lock for milliseconds
PAUSE_S = 0.01


def _try_lock(handle: int) -> bool:
    """Take the lock without waiting; the system frees it when the process ends."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return False
    return True


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Hold the lock of a record while the block runs.

    Parameters
    ----------
    path : Path
        The record; the lock is a file of that name with ".lock" added. [-]

    Raises
    ------
    RecordError
        If another writer holds it for longer than 30 s, or the folder cannot be written.
    """
    name = path.with_name(path.name + ".lock")
    try:
        handle = os.open(name, os.O_RDWR | os.O_CREAT, 0o666)
    except OSError as problem:
        raise RecordError(f"{name}: cannot be written ({problem.strerror})") from None
    try:
        end = time.monotonic() + LONGEST_WAIT_S
        while not _try_lock(handle):
            if time.monotonic() > end:
                raise RecordError(
                    f"{path}: another program has been writing for {LONGEST_WAIT_S:g} s; "
                    "close it and try again"
                )
            time.sleep(PAUSE_S)
        yield
    finally:
        os.close(handle)  # frees the lock on every system
