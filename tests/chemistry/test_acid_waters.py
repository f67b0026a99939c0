"""Waters without carbonate, and pH and alkalinity that do not belong together.

Reference: PHREEQC 3.8.6 with wateq4f.dat, which reads alkalinity 0 as no carbonate at all.
"""

import numpy as np
import pytest

from pretreat.chemistry.ccpp import ccpp_mg_l
from pretreat.core.errors import PretreatError
from pretreat.core.water import WaterAnalysis
from pretreat.lab.samples.screen_table import read_chunks
from pretreat.lab.screen import screen
from pretreat.membrane.concentrate import concentrate
from pretreat.membrane.feed import feed_water
from pretreat.study import run_scaling
from tests.chemistry.phreeqc_reference import PHASES, Reference, si_of

MINE = {"ca": 300.0, "mg": 80.0, "na": 60.0, "k": 5.0, "so4": 1800.0, "cl": 40.0, "f": 1.2,
        "sio2": 40.0, "fe": 120.0, "ba": 0.02}  # fmt: skip


@pytest.mark.parametrize("ph", [2.5, 3.0, 4.0])
def test_alkalinity_of_zero_is_no_carbonate(ph):
    feed = feed_water(MINE, 0.0, ph, 15.0)
    row = Reference().feed(MINE, 0.0, ph, 15.0)
    for mineral in ("gypsum", "barite", "fluorite", "silica"):
        assert float(feed.speciation.si(mineral)) == pytest.approx(si_of(row, mineral), abs=0.002)
    assert np.isnan(feed.speciation.si("calcite"))
    assert float(feed.speciation.co2_mol_kg) == 0.0
    assert set(PHASES) >= {"gypsum"}


def test_its_concentrate_keeps_the_acidity():
    """Acidity is concentrated like a salt: pH falls by less than the logarithm of the factor."""
    feed = feed_water(MINE, 0.0, 3.0, 15.0)
    brine = concentrate(feed, 0.5)
    assert 3.0 - np.log10(2.0) < float(brine.ph) < 3.0


def _table(tmp_path, rows):
    path = tmp_path / "acid.csv"
    path.write_text("id,pH,temperature_c,Ca,Na,Alkalinity,SO4,Cl\n" + "\n".join(rows))
    (table,) = read_chunks(path)
    return screen(table, [0.0, 0.5], {})


def test_impossible_pairs_fail_and_say_so(tmp_path):
    block = _table(tmp_path, ["mine,3,15,300,60,0,800,40", "wrong,3,15,300,60,5,800,40"])
    assert block.columns["status"][:2] != ["failed", "failed"]
    assert block.columns["status"][2:] == ["failed", "failed"]
    assert "ph_alkalinity_mismatch" in block.columns["flags"][2]
    assert np.all(np.isnan(block.columns["si_gypsum"][2:]))


def test_a_single_water_of_that_kind_is_refused():
    water = WaterAnalysis(
        source="own", sample="", mg_l={"ca": 300.0, "so4": 800.0}, ph=3.0, alkalinity_mg_l_caco3=5.0
    )
    with pytest.raises(PretreatError, match="do not go together"):
        run_scaling(water, 0.5)


def test_precipitation_potential_is_blank_rather_than_a_bound():
    strongly_acid = feed_water({"ca": 300.0, "cl": 530.0}, 20.0, 4.3, 15.0).speciation
    found = float(ccpp_mg_l(strongly_acid))
    assert np.isnan(found) or found > -1990.0


def test_second_opinion_keeps_the_ph_of_a_water_without_carbonate():
    water = WaterAnalysis(source="own", sample="", mg_l=MINE, ph=3.0, alkalinity_mg_l_caco3=0.0)
    study = run_scaling(water, 0.5)
    rows = {r[0]: r for r in study.series["second_opinion.si"].rows}
    assert rows["pH"][4] == pytest.approx(0.0, abs=1e-6)
    assert rows["SI gypsum"][4] == pytest.approx(0.0, abs=0.002)
