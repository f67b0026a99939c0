"""Twenty people at the page for two minutes: errors, waiting times by job, memory.

    python benchmarks/page_load.py [--people 20] [--seconds 120] [--pause 10]

Each checks a report, sizes the site, takes the workbook, and reads on between (``--pause``, mean
seconds). Half way a worker is killed: one clear error, and the next request is answered.
"""

import argparse
import json
import os
import random
import re
import signal
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from pathlib import Path

ROOT = Path(__file__).parents[1]
ANALYSES = ROOT / "water_analyses"
SITES = ("quarrow_vale", "drover_flat", "ashfell_ridge")
BOUNDARY = "----people"


def form(fields: dict[str, str], files: list[tuple[str, bytes]]) -> bytes:
    parts = []
    for name, text in fields.items():
        head = f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n'
        parts.append(head.encode() + text.encode() + b"\r\n")
    for name, content in files:
        head = (
            f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="report"; '
            f'filename="{name}"\r\n\r\n'
        )
        parts.append(head.encode() + content + b"\r\n")
    return b"".join(parts) + f"--{BOUNDARY}--\r\n".encode()


class Tally:
    """Waiting times and errors of all people."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self.times: dict[str, list[float]] = {}
        self.errors: list[str] = []

    def ask(self, url: str, job: str, body: bytes, kind: str) -> bytes | None:
        request = urllib.request.Request(f"{url}/api/{job}", body, {"Content-Type": kind})
        begun = time.perf_counter()
        try:
            with urllib.request.urlopen(request, timeout=120) as answer:
                content = answer.read()
        except urllib.error.HTTPError as problem:
            with self.lock:
                self.errors.append(f"{job} {problem.code} {problem.read()[:120]!r}")
            return None
        with self.lock:
            self.times.setdefault(job, []).append(time.perf_counter() - begun)
        return content


def person(url: str, tally: Tally, until: float, pause: float, seed: int) -> None:
    chance = random.Random(seed)
    multipart = f"multipart/form-data; boundary={BOUNDARY}"
    time.sleep(chance.uniform(0, pause))
    while time.monotonic() < until:
        text = (ANALYSES / f"{chance.choice(SITES)}.toml").read_text("utf-8")
        hours = f"hours_per_day = {chance.uniform(6, 16):.2f}"  # no two ask the same
        text = re.sub(r"^hours_per_day = \S+", hours, text, flags=re.M)
        name = next(row for row in text.splitlines() if row.startswith("analysis")).split('"')[1]
        report = [(name, (ANALYSES / name).read_bytes())]
        tally.ask(url, "check", form({}, report), multipart)
        time.sleep(chance.expovariate(1 / pause))
        study = tally.ask(url, "size", form({"site": text}, report), multipart)
        time.sleep(chance.expovariate(1 / pause))
        if study is not None and chance.random() < 0.3:
            tally.ask(url, "workbook", study, "application/json")


def children(pid: int) -> list[int]:
    found = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            text = path.read_text()
        except OSError:
            continue
        if int(text.rpartition(")")[2].split()[1]) == pid:
            child = int(path.parent.name)
            found += [child, *children(child)]
    return found


def memory_mb(pid: int) -> float:
    total = 0.0
    for one in [pid, *children(pid)]:
        try:
            lines = Path(f"/proc/{one}/smaps_rollup").read_text().splitlines()
        except OSError:
            continue
        total += sum(int(line.split()[1]) for line in lines if line.startswith("Pss:"))
    return total / 1024


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--people", type=int, default=20)
    parser.add_argument("--seconds", type=float, default=120.0)
    parser.add_argument("--pause", type=float, default=10.0)
    chosen = parser.parse_args()
    code = "from pretreat.cli import main; main()"
    command = [sys.executable, "-c", code, "page", "--port", "0", "--no-browser"]
    begun = time.perf_counter()
    server = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=ROOT)
    try:
        url = server.stdout.readline().strip()
        urllib.request.urlopen(url, timeout=30).read()
        print(f"first page after {time.perf_counter() - begun:.2f} s")
        time.sleep(3)
        print(f"load before: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
        tally, until = Tally(), time.monotonic() + chosen.seconds
        crowd = [
            threading.Thread(target=person, args=(url, tally, until, chosen.pause, seed))
            for seed in range(chosen.people)
        ]
        for one in crowd:
            one.start()
        peak, killed = 0.0, False
        while any(one.is_alive() for one in crowd):
            time.sleep(1)
            peak = max(peak, memory_mb(server.pid))
            if not killed and time.monotonic() > until - chosen.seconds / 2:
                busiest = max(children(server.pid), key=processor_time)
                os.kill(busiest, signal.SIGKILL)
                killed = True
        for job, times in sorted(tally.times.items()):
            times.sort()
            p50, p95 = times[len(times) // 2], times[int(0.95 * (len(times) - 1))]
            print(f"{job:<9} {len(times):>5} done, p50 {p50:.2f} s, p95 {p95:.2f} s")
        print(f"errors: {json.dumps(tally.errors)} (one worker was killed)")
        print(f"memory of server and workers, peak: {peak:.0f} MB")
    finally:
        server.terminate()
        server.wait()


def processor_time(pid: int) -> int:
    try:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return 0
    return int(fields[11]) + int(fields[12])


if __name__ == "__main__":
    main()
