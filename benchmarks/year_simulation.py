"""How long a simulated year and a search over vessels take, as ratios within the same run.

Run: python benchmarks/year_simulation.py
"""

import sys
import timeit
from pathlib import Path

from msgspec.structs import replace

from pretreat.core.results import Ledger
from pretreat.plant.calendar.simulated import Plant, Wash
from pretreat.plant.calendar.year import simulate
from pretreat.plant.machine import enter_machine
from pretreat.plant.train import enter_train
from pretreat.stages.bed.vessels import nominal_vessels
from pretreat.stages.site import design_from
from pretreat.stages.softener.vessels import SoftenerDuty, try_softener_vessel
from pretreat.stages.stream import RawWater

STEPS = 105_120  # five-minute steps of a year
OPTIONS = 500
PLANT = Plant(
    1.6, 1.6 / 0.65, 12.0, ((0.0, 1.6 * 16.0 / 24.0),),
    (
        Wash("iron filter", 60.0, 3.45, 1.0, permanganate_g=693.0),
        Wash("softener", 102.0, 4.65, 1.0, salt_kg=68.0, softens=True),
        Wash("carbon", 15.0, 1.7, 7.0),
    ),
    raw_tank_m3=5.0, well_m3_h=5.0, flush_m3=0.05, hardness_mg_l_caco3=350.0,
)  # fmt: skip
PROFILE = ((0.0, 0.4), (6.0, 1.8), (9.0, 1.0), (17.0, 1.9), (21.0, 0.6))
WATER = RawWater(
    {"ca": 90.0, "mg": 25.0, "na": 60.0, "sr": 1.0, "ba": 0.08, "fe": 1.5, "mn": 0.2}, ph=7.3
)


def seconds(work: object) -> float:
    return min(timeit.repeat(work, number=1, repeat=7))  # type: ignore[arg-type]


def bare_loop() -> None:
    for _ in range(STEPS):
        pass


def study() -> None:
    machine = {"product_flow_m3_h": 1.6, "recovery": 0.65, "hours_per_day": 16.0}
    design = design_from({"machine": machine, "water": {"analysis": "x.csv"}}, Path())
    ledger = Ledger()
    enter_machine(ledger, design)
    enter_train(ledger, WATER, design, "size")


def search() -> None:
    vessels = nominal_vessels()
    for i in range(OPTIONS):
        duty = SoftenerDuty(100.0 + i, 2.0)
        try_softener_vessel(duty, vessels[i % len(vessels)], 1 + i % 6)


def main() -> int:
    bare, year = seconds(bare_loop), seconds(lambda: simulate(PLANT))
    varied = seconds(lambda: simulate(replace(PLANT, demand_m3_h=PROFILE)))
    one, many = seconds(study), seconds(search)
    print(f"bare loop of {STEPS} steps          {bare * 1e3:8.2f} ms")
    print(f"year, level demand                 {year * 1e3:8.2f} ms  {year / bare:5.1f} x")
    print(f"year, five demands a day           {varied * 1e3:8.2f} ms  {varied / bare:5.1f} x")
    print(f"sections of the train, one study   {one * 1e3:8.2f} ms")
    print(f"with {OPTIONS} more vessel options       {(one + many) * 1e3:8.2f} ms"
          f"  {(one + many) / one:5.2f} x")  # fmt: skip
    return 0 if year <= 10 * bare and one + many <= 5 * one else 1


if __name__ == "__main__":
    sys.exit(main())
