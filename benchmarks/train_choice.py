"""How much longer a study takes that chooses its train than one of the same plant, fixed.

    python benchmarks/train_choice.py [SITE.toml ...]

Without sites: the demo sites, and two invented wells with iron for which many trains are looked
at. The fixed plant has what goes with the train too, such as how its filter is regenerated: else
it washes otherwise, and its year is another. Processor time of the study alone, both in turn,
least of nine; the aim is 1.5 times.
"""

import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any
from unittest.mock import patch

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the commands have it
sys.path.insert(0, str(Path(__file__).parents[1]))

from pretreat.chemistry.speciation import forget
from pretreat.lab import read_design_water
from pretreat.plant.choices.choose import Choice, choose
from pretreat.site.design import DesignBasis
from pretreat.stages.site import read_site
from pretreat.study import run_size
from tests.choices.wells import analysis, sized

ROUNDS = 9
DEMO = Path(__file__).parents[1] / "water_analyses"
WELLS = {
    "iron and manganese, acid": {
        "ph": 6.5, "alkalinity": 100, "hardness": 120, "tds": 500, "Fe": 5.0, "Mn": 0.4,
    },
    "iron, alkaline": {
        "ph": 7.6, "alkalinity": 280, "hardness": 300, "tds": 1600, "Fe": 2.0, "Mn": 0.04,
    },
}  # fmt: skip


def taken(run: Callable[[], Any]) -> float:
    """Return the processor time of a run [s]."""
    forget()
    start = time.process_time()
    run()
    return time.process_time() - start


def chosen_design(water: Any, design: DesignBasis, samples: Any) -> tuple[int, DesignBasis]:
    """Return how many trains stand in the table, and the design with the train chosen as fixed."""
    choices: list[Choice] = []

    def spy(*asked: Any) -> Choice:
        choices.append(choose(*asked))
        return choices[-1]

    with patch("pretreat.study.choose", spy):
        run_size(water, design, samples)
    return len(choices[-1].rows), choices[-1].rows[0].design


def ratio(name: str, site: Path) -> None:
    """Print the time of a site with its train chosen, and fixed to the same train."""
    design = read_site(site)
    water, samples = read_design_water(design.water)
    rows, fixed = chosen_design(water, design, samples)
    times = [
        [taken(lambda basis=basis: run_size(water, basis, samples)) for basis in (design, fixed)]
        for _ in range(ROUNDS)
    ]
    chosen, plain = (min(column) for column in zip(*times, strict=True))
    print(f"{name:28} {rows:3} trains  {chosen:.3f} s  fixed {plain:.3f} s  {chosen / plain:.2f}")


def main() -> None:
    """Print the ratios."""
    sites = [Path(name) for name in sys.argv[1:]] or [
        DEMO / f"{name}.toml" for name in ("ashfell_ridge", "drover_flat", "quarrow_vale")
    ]
    for site in sites:
        ratio(site.stem, site)
    if len(sys.argv) > 1:
        return
    for name, water in WELLS.items():
        with tempfile.TemporaryDirectory() as folder:
            sized(Path(folder), analysis(**water), recovery=0.5, draws=0)
            ratio(name, Path(folder) / "site.toml")


if __name__ == "__main__":
    main()
