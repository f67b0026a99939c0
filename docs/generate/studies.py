"""The studies from which pages are made: the demo sites, and trains that hold every stage."""

import json
import lzma
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

from pretreat import check, rate, scaling, size
from pretreat.core.results import Figure, Series, Study, from_json

ROOT = Path(__file__).parents[2]
DEMOS = ROOT / "water_analyses"
DRAWS = 64  # enough for every key to be there
# Sites of their own, beside the demos, so that each stage and each way of working is seen once.
SITE = """
[site]
name = "all stages"
[water]
analysis = "{folder}/{analysis}"
coldest_temperature_c = 11
warmest_temperature_c = 19
[machine]
product_flow = "1.6 m3/h"
recovery = 0.65
hours_per_day = 16
element = "4x40"
feed_pressure = "12 bar"
[supply]
pump_flow = "20 m3/h"
pump_pressure = "3.5 bar"
well_yield = "8 m3/h"
raw_tank_volume = "5 m3"
vented_raw_tank = true
product_tank_volume = "12 m3"
demand = "20 m3/d"
demand_profile = "working day"
[product]
target = "drinking"
jurisdiction = "eu"
[prices]
salt_per_kg = 0.45
resin_per_l = 3.2
water_per_m3 = 0.35
energy_per_kwh = 0.22
discount_rate = 0.05
[train]
stages = [{stages}]
{more}
"""
TRAINS = {
    "air and permanganate": (
        "quarrow_vale_well_2.csv",
        "raw_tank aeration permanganate contact_tank iron_filter softener bypass carbon "
        "inhibitor cartridge product_degasser product_alkali",
        '[softener]\nvessels = 2\narrangement = "parallel"\ncontrol = "meter"\n',
    ),
    "chlorine": (
        "quarrow_vale_well_2.csv",
        "chlorine contact_tank iron_filter multimedia softener bisulfite acid inhibitor "
        "cartridge neutralising_filter blending",
        '[softener]\nvessels = 2\narrangement = "lead-lag"\ncontrol = "meter"\n',
    ),
    "weak acid": (
        "drover_flat.csv",
        "weak_acid degasser alkali inhibitor cartridge",
        "",
    ),
}
# Sites of the tests whose ways of working no demo has.
SITES = ROOT / "tests" / "frozen" / "sites"
SIZED = ("well_known", "continuous", "derated")
RATED = ("refill", "vessels_alone")


@lru_cache(maxsize=1)
def studies() -> dict[str, Study]:
    """Return the studies by name, in the order in which figures are looked for in them."""
    found = {
        "Quarrow Vale": size(DEMOS / "quarrow_vale.toml", draws=DRAWS),
        "Quarrow Vale, vessels installed": rate(DEMOS / "quarrow_vale_installed.toml", draws=DRAWS),
        "Drover Flat": size(DEMOS / "drover_flat.toml", draws=DRAWS),
        "Ashfell Ridge": size(DEMOS / "ashfell_ridge.toml", draws=DRAWS),
    }
    with tempfile.TemporaryDirectory() as folder:
        for name, (analysis, stages, more) in TRAINS.items():
            path = Path(folder) / "site.toml"
            quoted = ", ".join(f'"{stage}"' for stage in stages.split())
            text = SITE.format(folder=DEMOS.as_posix(), analysis=analysis, stages=quoted, more=more)
            path.write_text(text, "utf-8")
            found[name] = size(path, draws=DRAWS)
    found |= {name: size(SITES / f"{name}.toml", draws=0) for name in SIZED}
    found |= {name: rate(SITES / f"{name}.toml", draws=0) for name in RATED}
    found["record"] = _record()
    water = DEMOS / "quarrow_vale_well_2.csv"
    found["check"] = check(water)
    found["scaling"] = scaling(water, 0.65, draws=DRAWS)
    return found


def _record() -> Study:
    """Return the record of a site, with a new analysis, as the command prints it."""
    arguments = ["sized.toml", "--file", "readings.record.csv", "--analysis", "harder_water.csv"]
    code = "from pretreat.cli import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", code, "record", *arguments, "--json"],
        cwd=SITES,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=True,
    )
    return from_json(done.stdout)


@lru_cache(maxsize=1)
def recorded() -> list[dict[str, Any]]:
    """Return the documents of the newest record of what the program said."""
    folder = sorted((ROOT / "tests" / "frozen").glob("reference_*"))[-1]
    paths = sorted(folder.glob("*.json.xz"))
    return [json.loads(lzma.decompress(path.read_bytes())) for path in paths]


def figures() -> dict[str, tuple[str, Figure]]:
    """Return every figure once, with the name of the study that shows it first with a value."""
    found: dict[str, tuple[str, Figure]] = {}
    for name, study in studies().items():
        for key, figure in study.figures.items():
            if key not in found or (found[key][1].value is None and figure.value is not None):
                found[key] = (name, figure)
    return found


def series() -> dict[str, Series]:
    """Return every table once."""
    found: dict[str, Series] = {}
    for study in studies().values():
        for key, one in study.series.items():
            found.setdefault(key, one)
    return found


def laws_used() -> Iterator[tuple[str, str, str]]:
    """Yield the name of each law that is used, the key of its figure and the worked line."""
    from pretreat.core.law import Applied

    for key, (name, _) in figures().items():
        study = studies()[name]
        node = study.graph.nodes.get(key) if study.graph else None
        if isinstance(node, Applied):
            yield node.law.name, key, study.worked(key) or ""
