"""Kills a writer of the record at random moments, and lets two write at once.

Run: python benchmarks/record_kills.py [kills] [seed]
A reading counts as committed once the writer has said so after `add_readings` returned. Half
of the kills hit a writer that stops in the middle of a line, since the system itself almost
never splits so short a write. Needs a system with fork.
"""

import datetime
import os
import random
import signal
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

from pretreat.record.readings import reading
from pretreat.record.store import book

START = datetime.datetime(2030, 1, 1)
LEAST_WAIT_S = 0.02
WRITES = 5.0  # a writer lives for so many writes at the most, as fast as the disk is here


def taken(number: int):
    when = START + datetime.timedelta(seconds=number)
    return reading(when, {"temperature_c": 15.0, "product_flow_m3_h": 1.6}, f"number {number}")


def torn_write(handle: int, data: bytes) -> int:
    """Write in small pieces with pauses, so that a kill falls inside a line."""
    time.sleep(0.0001)
    return REAL_WRITE(handle, bytes(data[:7]))


REAL_WRITE = os.write


def writer(path: Path, first: int, pipe: int, torn: bool) -> None:
    if torn:
        os.write = torn_write
    number = first
    while True:
        book.add_readings(path, taken(number))
        REAL_WRITE(pipe, number.to_bytes(4, "big"))
        number += 1


def usual_time(folder: Path) -> float:
    """Return how long a writer takes here from its start to its first committed reading."""
    times = []
    for number in range(7):
        read_end, write_end = os.pipe()
        begin = time.perf_counter()
        child = os.fork()
        if child == 0:
            writer(folder / "pace.record.csv", 1000 * number, write_end, torn=False)
        os.read(read_end, 4)
        times.append(time.perf_counter() - begin)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(read_end)
        os.close(write_end)
    return median(times)


def killed_once(
    path: Path, first: int, rng: random.Random, longest: float
) -> tuple[list[int], int]:
    """Start a writer, kill it, and return what it had committed and the next free number."""
    read_end, write_end = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(read_end)
        writer(path, first, write_end, torn=rng.random() < 0.5)
    os.close(write_end)
    time.sleep(rng.uniform(0.0, longest))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    said = b""
    while part := os.read(read_end, 65536):
        said += part
    os.close(read_end)
    done = [int.from_bytes(said[i : i + 4], "big") for i in range(0, len(said) - 3, 4)]
    return done, (done[-1] if done else first - 1) + 2  # the one under way may stand or not


def kills(count: int, seed: int) -> dict[str, int]:
    rng = random.Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "site.record.csv"
        committed: list[int] = []
        following = 1
        longest = max(LEAST_WAIT_S, WRITES * usual_time(Path(folder)))
        for _ in range(count):
            done, following = killed_once(path, following, rng, longest)
            committed += done
        found = book.read_book(path)
        notes = [int(r.note.split()[1]) for r in found.readings]
        lines = path.read_bytes().count(b"\n")
        open_end = not path.read_bytes().endswith(b"\n")
        return {
            "kills": count,
            "committed": len(committed),
            "lost": len(set(committed) - set(notes)),
            "read": len(notes),
            "read twice": len(notes) - len(set(notes)),
            "wrong": sum(dict(r.values) != dict(taken(1).values) for r in found.readings),
            "damaged lines reported": len(found.damaged),
            "lines not accounted for": lines - 1 + open_end - len(notes) - len(found.damaged),
        }


def two_writers(each: int) -> dict[str, int]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "site.record.csv"
        children = []
        for first in (0, each):
            child = os.fork()
            if child == 0:
                for number in range(first, first + each):
                    book.add_readings(path, taken(number))
                os._exit(0)
            children.append(child)
        for child in children:
            os.waitpid(child, 0)
        found = book.read_book(path)
        return {
            "written by two at once": 2 * each,
            "read": len({r.note for r in found.readings}),
            "damaged": len(found.damaged),
        }


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    print(kills(count, seed))
    print(two_writers(500))


if __name__ == "__main__":
    main()
