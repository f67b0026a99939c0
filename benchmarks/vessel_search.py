"""How much longer a study takes when it tries 500 vessels for each stage, within one run.

The study without a search rates vessels that are given; the one with it sizes the same plant
from a table of 500 vessels, every one of which is tried for iron filter, softener and carbon.
Both are measured whole, and beside them the sections of the train alone, which are a small
part of a study.

Run: python benchmarks/vessel_search.py
"""

import sys
import timeit
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from unittest.mock import patch

from pretreat.core.results import Ledger, Study
from pretreat.lab import read_analysis
from pretreat.plant.machine import enter_machine
from pretreat.plant.train import enter_train
from pretreat.site.design import DesignBasis
from pretreat.stages.bed.vessels import Vessel
from pretreat.stages.site import design_from
from pretreat.stages.stream import RawWater
from pretreat.stages.train import Mode
from pretreat.study import run_study

OPTIONS = 500
MOST_TIMES = 5.0
MACHINE = {"product_flow_m3_h": 1.6, "recovery": 0.65, "hours_per_day": 16.0}
INSTALLED = {
    "softener": {"resin_volume_l": 570.0, "vessel_diameter_m": 0.9144, "salt_dose_g_l": 160.0},
    "iron_filter": {"vessel_diameter_m": 0.762, "media_depth_m": 0.76},
    "carbon": {"media_volume_l": 283.0, "vessel_diameter_m": 0.6096},
}
RAW = RawWater(
    {"ca": 90.0, "mg": 25.0, "na": 60.0, "sr": 1.0, "ba": 0.08, "fe": 1.5, "mn": 0.2}, ph=7.3
)
ANALYSIS = Path(__file__).parents[1] / "water_analyses" / "quarrow_vale_well_2.csv"
STAGES = ("softener", "iron_filter", "carbon")


def many_vessels() -> tuple[Vessel, ...]:
    """Return 500 vessels from 8 to 63 in wide, of the usual proportions."""
    found = []
    for number in range(OPTIONS):
        diameter = (8.0 + 55.0 * number / (OPTIONS - 1)) * 0.0254
        height = 1.1 + 0.9 * diameter
        litres = 0.5 * height * 3.14159 / 4.0 * diameter**2 * 1000.0
        found.append(Vessel(f"option {number + 1}", diameter, height, litres))
    return tuple(found)


def seconds(work: Callable[[], Study]) -> float:
    return min(timeit.repeat(work, number=1, repeat=5))


@contextmanager
def searching() -> Iterator[None]:
    """Let every stage choose among the 500 vessels."""
    vessels = many_vessels()
    with (
        patch("pretreat.stages.softener.vessels.nominal_vessels", lambda: vessels),
        patch("pretreat.stages.iron_filter.vessels.nominal_vessels", lambda: vessels),
        patch("pretreat.stages.carbon.figures.nominal_vessels", lambda: vessels),
    ):
        yield


def train_alone(design: DesignBasis, mode: Mode) -> Study:
    ledger = Ledger()
    enter_machine(ledger, design)
    enter_train(ledger, RAW, design, mode)
    return ledger.study()


def compare(name: str, rate: Callable[[], Study], size: Callable[[], Study]) -> float:
    without, usual = seconds(rate), seconds(size)
    with searching():
        searched = seconds(size)
    print(f"{name}: without a search {without * 1e3:6.1f} ms; usual vessels {usual * 1e3:6.1f} ms, "
          f"{usual / without:4.2f} x; {OPTIONS} vessels a stage {searched * 1e3:6.1f} ms, "
          f"{searched / without:4.2f} x")  # fmt: skip
    return searched / without


def main() -> int:
    water = read_analysis(ANALYSIS)
    tables = {"machine": MACHINE, "water": {"analysis": str(ANALYSIS)}}
    rated = design_from({**tables, **INSTALLED}, ANALYSIS.parent)
    sized = design_from(tables, ANALYSIS.parent)
    with searching():
        study = run_study(water, sized, "size")
    tried = {stage: len(study.series[f"{stage}.options"].rows) for stage in STAGES}
    print("vessels tried:", ", ".join(f"{stage} {count}" for stage, count in tried.items()))
    whole = compare("whole study", lambda: run_study(water, rated, "rate"),
                    lambda: run_study(water, sized, "size"))  # fmt: skip
    compare("train alone", lambda: train_alone(rated, "rate"), lambda: train_alone(sized, "size"))
    return 0 if min(tried.values()) >= OPTIONS and whole <= MOST_TIMES else 1


if __name__ == "__main__":
    sys.exit(main())
