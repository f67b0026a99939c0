"""A and B from the readings of a simulated year, whose plant shares no code with the fit.

The plant marches its own membranes with its own temperature law and conductivity for salt; the
gauges have 2 % noise. It is known what was done to it.
"""

import datetime

import numpy as np
import pytest
from simulator import A25, simulate

from pretreat.membrane.elements.array import Array
from pretreat.membrane.elements.checks import usual_limits
from pretreat.membrane.elements.element import element
from pretreat.membrane.elements.energy import usual_pump
from pretreat.membrane.elements.feed import element_feed
from pretreat.membrane.elements.fit import fit_membrane
from pretreat.membrane.elements.machine import Machine
from pretreat.membrane.elements.operate import Duty
from pretreat.membrane.elements.permeability import Membrane
from pretreat.record.fitted.fits import _drop_error
from pretreat.record.fitted.gauges_of_fit import as_fit_reading, meter_us_cm, water_of_the_day
from pretreat.record.fitted.meaning import Movement, meaning
from pretreat.record.readings import reading

START = datetime.datetime(2030, 1, 7, 9)
SEEDS = range(6)
ARRAY = Array(element("4x40"), (2, 1), 2)
MACHINE = Machine(ARRAY, Membrane(), usual_pump(), usual_limits("well"), Duty(1.6, 0.65), False)
WATER = element_feed({"na": 230.0, "ca": 2.0, "cl": 300.0, "so4": 40.0, "hco3": 60.0}, 15.0)


def _fit(values, first):
    taken, base = reading(START, values), reading(START, first)
    gauges = as_fit_reading(taken, base, MACHINE)
    water, _ = water_of_the_day(WATER, taken)
    found = fit_membrane(ARRAY, gauges, water, Membrane(), meter_us_cm).membrane
    return found, _drop_error(gauges)


def _meaning(seed, fault):
    year = simulate(seed, fault)
    (new, one), (old, two) = (_fit(year.readings[i], year.readings[0]) for i in (0, -1))
    moved = Movement(
        old.water_lmh_bar / new.water_lmh_bar,
        old.salt_lmh / new.salt_lmh,
        old.drop_factor / new.drop_factor,
        float(year.days[-1]) / 365.0,
        float(np.hypot(one, two)),
    )
    return meaning(moved).name


@pytest.mark.parametrize(
    ("fault", "names"),
    [
        ("scaling", {"scaling"}),
        ("fouling", {"fouling"}),
        ("membrane_damage", {"leaking", "wear"}),
    ],
)
def test_what_was_done_to_the_plant_is_named(fault, names):
    assert {_meaning(seed, fault) for seed in SEEDS} <= names


def test_a_sound_year_moves_nothing():
    """Of twenty sound years one read by chance a drop that rose: 2.5 errors of two gauges."""
    found = [_meaning(seed, None) for seed in SEEDS]
    assert found.count("unmoved") >= len(SEEDS) - 1


def test_water_permeability_of_the_plant():
    """Known per membrane; 3 % of it is the plant's other temperature law, 2 % the gauges."""
    found = [_fit(r, r)[0].water_lmh_bar for r in (simulate(s).readings[0] for s in SEEDS)]
    true = 1000.0 * A25 / ARRAY.element.area_m2
    assert np.mean(found) == pytest.approx(true, rel=0.05)
