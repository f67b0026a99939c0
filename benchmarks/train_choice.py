"""How much longer a study takes that chooses its train than one whose train is fixed.

    python benchmarks/train_choice.py [SITE.toml ...]

Without sites: the demo sites, and two invented wells with iron for which many trains are looked
at. Processor time of the study alone, least of five; the aim is 1.5 times.
"""

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from pretreat.chemistry.speciation import forget
from pretreat.lab import read_design_water
from pretreat.plant.choices.candidates import COUNTER, designed
from pretreat.stages.site import read_site
from pretreat.study import run_size
from tests.choices.wells import analysis, sized

ROUNDS = 5
DEMO = Path(__file__).parents[1] / "water_analyses"
WELLS = {
    "iron and manganese, acid": {
        "ph": 6.5, "alkalinity": 100, "hardness": 120, "tds": 500, "Fe": 5.0, "Mn": 0.4,
    },
    "iron, alkaline": {
        "ph": 7.6, "alkalinity": 280, "hardness": 300, "tds": 1600, "Fe": 2.0, "Mn": 0.04,
    },
}  # fmt: skip


def least(run: Callable[[], Any]) -> float:
    """Return the least processor time of some rounds [s]."""
    times = []
    for _ in range(ROUNDS):
        forget()
        start = time.process_time()
        run()
        times.append(time.process_time() - start)
    return min(times)


def ratio(name: str, site: Path) -> None:
    """Print the time of a site with its train chosen, and fixed to the same train."""
    design = read_site(site)
    water, samples = read_design_water(design.water)
    study = run_size(water, design, samples)
    named = str(study.value("train.chosen")).split(" + ")
    fixed = designed(design, [key.partition(" (")[0] for key in named])
    if any(COUNTER in key for key in named):
        fixed = fixed.change("softener", direction=COUNTER)
    chosen, plain = (
        least(lambda basis=basis: run_size(water, basis, samples)) for basis in (design, fixed)
    )
    rows = len(study.series["train.choices"].rows)
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
