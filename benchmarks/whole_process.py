"""The whole process `pretreat size DEMO` against bare imports, in the same run.

    python benchmarks/whole_process.py [REPEATS]

Prints the medians and their ratio; the aim is a ratio of at most 2.3.
"""

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[1]
IMPORTS = [sys.executable, "-c", "import numpy, pandas, xlsxwriter, typer"]
SITE = PROJECT / "water_analyses" / "quarrow_vale.toml"
COMMAND = Path(sys.executable).with_name("pretreat")  # as installed beside this Python


def seconds(command: list[str]) -> float:
    start = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True)
    return time.perf_counter() - start


def main() -> None:
    repeats = int(sys.argv[1]) if len(sys.argv) > 1 else 11
    with tempfile.TemporaryDirectory() as folder:
        size = [str(COMMAND), "size", str(SITE), "-o", f"{folder}/demo.xlsx"]
        seconds(IMPORTS)
        seconds(size)
        pairs = [(seconds(IMPORTS), seconds(size)) for _ in range(repeats)]
    imports, whole = (statistics.median(column) for column in zip(*pairs, strict=True))
    print(f"bare imports  {imports:.3f} s")
    print(f"pretreat size {whole:.3f} s")
    print(f"ratio         {whole / imports:.2f} (median of {repeats}; aim: at most 2.3)")


if __name__ == "__main__":
    main()
