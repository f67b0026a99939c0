"""Ten thousand draws through all laws of the demo study at once.

    python benchmarks/laws_on_draws.py

Hours per day, salt dose and capacity factor are drawn; every law behind them is computed on
arrays. Printed: the time, and its ratio to computing the same laws once with plain floats.
"""

import time
from pathlib import Path

import numpy as np

from pretreat import size
from pretreat.core.law import Applied

SITE = Path(__file__).parents[1] / "water_analyses" / "quarrow_vale.toml"
DRAWS, TURNS = 10_000, 5


def timed(study, changes):
    best = np.inf
    for _ in range(TURNS):
        start = time.perf_counter()
        moved, _ = study.moved(changes)
        best = min(best, time.perf_counter() - start)
    return best, moved


def main() -> None:
    study = size(SITE)
    values = {key: figure.value for key, figure in study.figures.items()}
    laws = [(k, n) for k, n in study.graph.nodes.items() if isinstance(n, Applied)]
    source = np.random.default_rng(7)
    inputs = {
        key: study.number(key) * source.uniform(0.8, 1.0, DRAWS)
        for key in ("machine.hours_per_day", "machine.days_per_year", "softener.capacity_factor",
                    "softener.reserve", "water.fe_total_mg_l")
        if study.number(key) is not None
    }  # fmt: skip
    many, moved = timed(study, inputs)
    one, _ = timed(study, {key: float(v[0]) for key, v in inputs.items()})
    start = time.perf_counter()
    arrays = {
        key: np.full(DRAWS, value) if isinstance(value, float) else value
        for key, value in values.items()
    }
    for _, node in laws:
        node.compute(arrays.get)
    every = time.perf_counter() - start
    arrays_out = sum(isinstance(v, np.ndarray) for v in moved.values())
    print(f"{len(laws)} laws; {DRAWS:,} draws of {len(inputs)} inputs move {arrays_out} figures")
    print(
        f"moved by the draws: {many:.3f} s, {many / one:.1f} times one run of the same with floats"
    )
    print(f"all laws on arrays: {every:.3f} s")


if __name__ == "__main__":
    main()
