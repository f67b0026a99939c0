"""Real groundwaters with one result deleted: no yes that the whole analysis does not support.

Reads the folder named by PRETREAT_WATERS (openly licensed analyses); skipped where it is unset.
"""

import math
import os
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from pretreat.core.tables import analytes
from pretreat.core.water import WaterAnalysis
from pretreat.lab.water_figures import Composition
from pretreat.membrane.limits import MembranePoint
from pretreat.plant.uncertainty.bands import limit_band
from pretreat.plant.uncertainty.seasons import seasons_of
from pretreat.plant.verdict.judge import Question, judge
from pretreat.site.design import LimitChoices

FOLDER = os.environ.get("PRETREAT_WATERS")
pytestmark = pytest.mark.skipif(not FOLDER, reason="PRETREAT_WATERS is not set")
IONS = {"Ca": "ca", "Mg": "mg", "Na": "na", "K": "k", "Sr": "sr", "Ba": "ba", "Fe": "fe",
        "Mn": "mn", "SO4": "so4", "Cl": "cl", "F": "f", "NO3": "no3", "SiO2": "sio2"}  # fmt: skip
# What a row lacks is filled in with an ordinary level, so that there is a full analysis at all.
ORDINARY = {"ba": 0.03, "sr": 0.3, "f": 0.3, "sio2": 15.0, "fe": 0.05, "mn": 0.02, "k": 3.0,
            "no3": 2.0}  # fmt: skip
COUNT = 300


def waters():
    table = pd.read_csv(Path(FOLDER) / "real_waters.csv", low_memory=False)
    needed = ["pH", "alk_mg_L_CaCO3", "Ca", "Mg", "Na", "SO4", "Cl"]
    table = table[table.qc.isna() & table[needed].notna().all(axis=1)]
    with_silica = table[table.SiO2.notna()].sample(200, random_state=2)
    others = table[table.SiO2.isna() & table.Ba.notna() & table.Sr.notna()]
    return pd.concat([with_silica, others.sample(COUNT - 200, random_state=2)])


def answer(mg_l, alkalinity, ph, temp_c, recovery, inhibitor):
    water = WaterAnalysis("x", "x", ph=ph, ph_kind="field", temperature_c=temp_c,
                          alkalinity_mg_l_caco3=alkalinity, mg_l=mg_l)  # fmt: skip
    known = math.nan if alkalinity is None else alkalinity
    taken = Composition(mg_l, mg_l, known, temp_c, temp_c)
    seasons = seasons_of(temp_c, max(temp_c - 3.0, 1.0), temp_c + 3.0)
    band = limit_band(LimitChoices(inhibitor=inhibitor))
    point = MembranePoint(recovery, {})
    question = Question(water, taken, seasons, band, point, inhibitor=inhibitor, count=128)
    return judge(question).verdict


EACH_TIME = 40  # the others with the thorough run


@pytest.mark.parametrize("part", [0, pytest.param(1, marks=pytest.mark.thorough)])
def test_a_deleted_result_never_turns_a_no_into_a_yes(part):
    rng = np.random.default_rng(3)
    names = {k: analytes()[k].name for k in IONS.values()}
    names |= {"alkalinity": "alkalinity", "ph": "pH"}
    green, sure = 0, 0
    found = waters().sample(frac=1.0, random_state=4)
    mine = found[:EACH_TIME] if part == 0 else found[EACH_TIME:]
    for n, row in enumerate(mine.itertuples()):
        mg_l = dict(ORDINARY)
        mg_l |= {key: float(v) for c, key in IONS.items() if pd.notna(v := getattr(row, c))}
        temp = min(max(row.temp_C if pd.notna(row.temp_C) else 14.0, 4.0), 40.0)
        state = {"alkalinity": float(row.alk_mg_L_CaCO3), "ph": float(row.pH)}
        job = temp, (0.3, 0.4, 0.5, 0.6, 0.7, 0.8)[n % 6], bool(n % 4)
        full = answer(mg_l, *state.values(), *job)
        if full.probability is not None and full.probability >= 0.95:
            sure, green = sure + 1, green + (full.answer == "fits")
        gone = str(rng.choice(list(names)))
        left = {k: v for k, v in mg_l.items() if k != gone}
        cut = answer(left, *({**state, gone: None}[k] for k in state), *job)
        assert not (full.answer == "does not fit" and cut.answer == "fits"), (row.id, gone)
        assert any(names[gone] in reason for reason in cut.reasons), (row.id, gone)
    assert sure >= len(mine) // 10
    assert green >= 0.9 * sure
