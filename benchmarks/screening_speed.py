"""Points per second of the engine and of `pretreat screen` against PHREEQC in process.

    python benchmarks/screening_speed.py [WATERS] [RECOVERIES]

A point on the PHREEQC side is a feed solve plus a concentrate solve with the six saturation
indexes selected. The waters are seeded and all different. The whole process is timed at two
sizes and the growth taken, so that start-up does not count. Also prints memory and growth for
1,000 to 1,000,000 waters with the option --large.
"""

import csv
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
PROJECT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(PROJECT))

import numpy as np  # noqa: E402

from pretreat.core.tables import analytes  # noqa: E402
from pretreat.membrane.concentrate import concentrate  # noqa: E402
from pretreat.membrane.feed import feed_water  # noqa: E402
from pretreat.membrane.recovery import default_limits, recovery_limit  # noqa: E402
from tests.chemistry.phreeqc_reference import PHASES, Reference  # noqa: E402
from tests.chemistry.waters import seeded_waters  # noqa: E402

RUN = "from pretreat.cli import main; main()"
SAMPLE = 300  # waters given to PHREEQC


def phreeqc_points_per_s() -> float:
    mg_l, alkalinity, ph, temp = seeded_waters(SAMPLE, seed=4)
    feed = feed_water(mg_l, alkalinity, ph, temp)
    totals = feed.speciation.totals_mol_kg
    reference = Reference()
    start = time.perf_counter()
    for i in range(SAMPLE):
        fresh = reference.feed({k: v[i] for k, v in mg_l.items()}, alkalinity[i], ph[i], temp[i])
        reference.concentrate(fresh, {k: v[i] for k, v in totals.items()}, 4.0, temp[i])
    return SAMPLE / (time.perf_counter() - start)


def engine_points_per_s(waters: int, recoveries: int) -> float:
    mg_l, alkalinity, ph, temp = seeded_waters(waters, seed=5)
    start = time.perf_counter()
    feed = feed_water(mg_l, alkalinity, ph, temp)
    for recovery in np.linspace(0.02, 0.9, recoveries):
        brine = concentrate(feed, float(recovery)).speciation
        for mineral in PHASES:
            brine.si(mineral)
    return waters * recoveries / (time.perf_counter() - start)


def limits_per_s(waters: int) -> float:
    feed = feed_water(*seeded_waters(waters, seed=6))
    start = time.perf_counter()
    recovery_limit(feed, default_limits(True))
    return waters / (time.perf_counter() - start)


def write_table(path: Path, waters: int) -> None:
    mg_l, alkalinity, ph, temp = seeded_waters(waters, seed=8)
    with path.open("w", newline="") as target:
        writer = csv.writer(target)
        symbols = [analytes()[k].symbol for k in mg_l]
        writer.writerow(["id", "pH", "temperature_c", "Alkalinity [mg/L as CaCO3]", *symbols])
        columns = [ph, temp, alkalinity, *mg_l.values()]
        for i in range(waters):
            writer.writerow([f"W{i}", *(f"{c[i]:.6g}" for c in columns)])


def screen_seconds(path: Path, recoveries: int, folder: str) -> tuple[float, float]:
    options = [w for y in np.linspace(0.02, 0.9, recoveries) for w in ("--recovery", f"{y:.4f}")]
    command = [sys.executable, "-c", RUN, "screen", str(path), *options, "-o", f"{folder}/out.csv"]
    before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    start = time.perf_counter()
    subprocess.run(command, check=True)
    seconds = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    return seconds, max(before, peak) / 1024


def main() -> None:
    numbers = [int(a) for a in sys.argv[1:] if a.isdigit()]
    waters, recoveries = numbers if len(numbers) == 2 else (4000, 25)
    theirs = phreeqc_points_per_s()
    print(f"PHREEQC in process       {theirs:10.0f} points/s")
    engine = engine_points_per_s(waters, recoveries)
    print(f"engine alone             {engine:10.0f} points/s, {engine / theirs:.0f} times")
    print(f"recovery limits          {limits_per_s(waters):10.0f} waters/s")
    with tempfile.TemporaryDirectory() as folder:
        small, large = Path(folder) / "small.csv", Path(folder) / "large.csv"
        few = max(waters // 10, 1)
        write_table(small, few)
        write_table(large, waters)
        times = [screen_seconds(p, recoveries, folder)[0] for p in (small, large)]
        rate = (waters - few) * recoveries / (times[1] - times[0])
        print(f"whole process, growth    {rate:10.0f} points/s, {rate / theirs:.0f} times")
        if "--large" in sys.argv:
            for count in (1_000, 10_000, 100_000, 1_000_000):
                write_table(large, count)
                seconds, megabytes = screen_seconds(large, 3, folder)
                print(f"{count:7d} waters x 3 {seconds:7.1f} s, peak {megabytes:.0f} MB so far")


if __name__ == "__main__":
    main()
