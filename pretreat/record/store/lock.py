"""One writer at a time, on every system: a lock on a file beside the record."""

import os
import re
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from msgspec import Struct

from pretreat.record.readings import RecordError

LONGEST_WAIT_S = 30.0  # RECORD_STATISTICS: a writer holds the lock for milliseconds
PAUSE_S = 0.01
AFTER_LOCK = 1  # the first byte is what some systems lock
DIGITS = 8  # of a check word


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


class Memo(Struct, frozen=True):
    """What the file of the lock remembers: the digits of the last check word written."""

    handle: int

    def read(self) -> str:
        """Return the digits, empty where none were written."""
        os.lseek(self.handle, AFTER_LOCK, os.SEEK_SET)
        return _digits(os.read(self.handle, 2 * DIGITS))

    def write(self, digits: str) -> None:
        """Remember the digits."""
        os.lseek(self.handle, AFTER_LOCK, os.SEEK_SET)
        os.write(self.handle, digits.encode("ascii"))


def _digits(data: bytes) -> str:
    found = re.match(rb"[0-9a-f]{8}", data)
    return found[0].decode("ascii") if found else ""


def noted_word(path: Path) -> str:
    """Return the digits of the last check word that was written to a record.

    Parameters
    ----------
    path : Path
        The record. [-]

    Returns
    -------
    str
        Eight hexadecimal digits, empty where they are not known. [-]
    """
    try:
        with path.with_name(path.name + ".lock").open("rb") as file:
            file.seek(AFTER_LOCK)
            return _digits(file.read(2 * DIGITS))
    except OSError:
        return ""


@contextmanager
def locked(path: Path) -> Iterator[Memo]:
    """Hold the lock of a record while the block runs; the block may use what it remembers.

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
        yield Memo(handle)
    finally:
        os.close(handle)  # frees the lock on every system
