"""Quotes of many customers in one go, against bare imports in the same run.

    python benchmarks/quote_customers.py [CUSTOMERS]

Each has the demo's full analysis, installed vessels and hours of its own; the aim is 20 s for 30.
"""

import csv
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[1]
SITES = PROJECT / "water_analyses"
IMPORTS = [sys.executable, "-c", "import numpy, pandas, xlsxwriter, typer"]
COMMAND = Path(sys.executable).with_name("pretreat")
HEADS = ("quote.customer", "machine.hours_per_day", "quote.number")


def seconds(command: list[str], folder: Path) -> float:
    start = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True, cwd=folder)
    return time.perf_counter() - start


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for path in SITES.glob("*.csv"):
            shutil.copy(path, folder)
        site = (SITES / "quarrow_vale_installed.toml").read_text("utf-8")
        priced = (SITES / "quarrow_vale.toml").read_text("utf-8")
        prices = priced[priced.index("[prices]") :]
        (folder / "site.toml").write_text(f"{site}\n{prices}" * ("[prices]" not in site) or site)
        with (folder / "customers.csv").open("w", newline="") as stream:
            rows = [(f"Customer {n}", 4 + n % 12, n) for n in range(count)]
            csv.writer(stream).writerows([HEADS, *rows])
        imports = seconds(IMPORTS, folder)
        quote = [str(COMMAND), "quote", "site.toml", "--customers", "customers.csv", "-o", "out"]
        taken = seconds(quote, folder)
        made = len(list((folder / "out").glob("*.pdf")))
    print(f"{made} quotes of {count} in {taken:.1f} s, {taken / imports:.0f} times bare imports")


if __name__ == "__main__":
    main()
