"""Waters of the invented sites, and what the tests of the draws do with them."""

import math
from pathlib import Path

from pretreat.lab.reading import read_analysis
from pretreat.lab.water_figures import AT_LIMIT, Composition, alkalinity_of, resolve
from pretreat.membrane.limits import MembranePoint
from pretreat.membrane.recovery import Limits
from pretreat.plant.uncertainty.bands import one_limit
from pretreat.plant.uncertainty.draws import drawn
from pretreat.plant.uncertainty.inputs import engine_errors, uncertain_engine, uncertain_water
from pretreat.plant.uncertainty.recovery_draws import recovery_draws
from pretreat.plant.uncertainty.water_draws import Season, drawn_water, feeds

# Fixed limits with an inhibitor, for the widths of the separate computation: LSI 1.5 and percent
# of saturation.
PERCENT = {"gypsum": 200, "barite": 6000, "celestite": 800, "fluorite": 500, "silica": 120}
INHIBITED = Limits(1.5, 1.5, {k: math.log10(v / 100) for k, v in PERCENT.items()})
BARE = Limits(0.0, 0.0, dict.fromkeys(PERCENT, 0.0))
ANALYSES = Path(__file__).parents[2] / "water_analyses"


def analysis(name):
    return read_analysis(ANALYSES / f"{name}.csv")


def taken_of(water):
    t = water.temperature_c
    return Composition(
        resolve(water, AT_LIMIT, "limit"), resolve(water, (), "half"), alkalinity_of(water), t, t
    )


def around(water, *steps):
    names = ("coldest", "operating", "warmest") if len(steps) == 3 else ("operating",)
    return [Season(n, water.temperature_c + s) for n, s in zip(names, steps, strict=True)]


def run(water, seasons=None, band=None, point=None, count=1024, engine=False, ph_u=None):
    """Return draws of the inputs, the drawn feed and what the draws allow."""
    taken = taken_of(water)
    seasons = seasons or around(water, 0.0)
    band = band or one_limit(INHIBITED)
    constants = uncertain_engine(band.low.criteria()) if engine else ()
    draws = drawn((*uncertain_water(water, taken, ph_u=ph_u), *constants), count)
    feed = feeds(drawn_water(taken, water.ph, draws), seasons)
    point = point or MembranePoint(0.6, {})
    return draws, feed, recovery_draws(feed, seasons, band, point, engine_errors(draws))
