"""Calcium carbonate precipitation potential of a closed water (SM 2330).

Reference: PHREEQC 3.8.6 with wateq4f.dat, the same water brought to equilibrium with calcite.
"""

import numpy as np
import pytest

from pretreat.chemistry.ccpp import calcite_equilibrium, ccpp_mg_l
from pretreat.membrane.feed import feed_water
from tests.chemistry.phreeqc_reference import Reference
from tests.chemistry.waters import seeded_waters

MG_PER_MOL = 100_090.0  # of CaCO3
WATERS = {
    "calcium in excess": ({"ca": 420.0, "mg": 20.0, "cl": 600.0}, 120.0, 8.2, 18.0),
    "carbonate in excess": ({"ca": 40.0, "na": 260.0, "cl": 30.0}, 600.0, 8.4, 25.0),
    "strongly over": ({"ca": 300.0, "na": 90.0, "cl": 400.0}, 350.0, 9.6, 30.0),
    "dissolves": ({"ca": 12.0, "na": 30.0, "cl": 30.0}, 40.0, 6.4, 11.0),
    "near saturation": ({"ca": 75.0, "mg": 10.0, "so4": 60.0}, 160.0, 7.5, 12.0),
}


def settled(mg_l, alkalinity, ph, temp_c):
    """Return calcite formed [mg/kg] and the pH afterwards as PHREEQC finds them."""
    reference = Reference()
    reference.feed(mg_l, alkalinity, ph, temp_c)
    text = "USE solution 1\nEQUILIBRIUM_PHASES 1\nCalcite 0 10\n"
    output = (
        "SELECTED_OUTPUT\n-reset false\n-high_precision true\n-pH true\n"
        "-equilibrium_phases Calcite\nEND\n"
    )
    assert reference.engine.RunString(text + output) == 0, reference.engine.GetErrorString()
    row = {k: v[-1] for k, v in reference.engine.GetSelectedOutput().items()}
    return row["d_Calcite"] * MG_PER_MOL, row["pH"]


@pytest.mark.parametrize("name", WATERS)
def test_calcite_of_a_closed_water(name):
    mg_l, alkalinity, ph, temp_c = WATERS[name]
    water = feed_water(mg_l, alkalinity, ph, temp_c).speciation
    formed, ph_after = settled(*WATERS[name])
    assert float(ccpp_mg_l(water)) == pytest.approx(formed, rel=2e-3, abs=0.02)
    assert float(calcite_equilibrium(water).ph) == pytest.approx(ph_after, abs=0.001)


def test_seeded_waters_one_by_one_and_all_at_once():
    mg_l, alkalinity, ph, temp_c = seeded_waters(12, seed=31)
    for key in ("fe", "mn", "nh4", "no3"):
        del mg_l[key]  # a reaction of PHREEQC lets them oxidise each other
    together = ccpp_mg_l(feed_water(mg_l, alkalinity, ph, temp_c).speciation)
    for i, found in enumerate(np.asarray(together)):
        one = {key: float(values[i]) for key, values in mg_l.items()}
        formed, _ = settled(one, float(alkalinity[i]), float(ph[i]), float(temp_c[i]))
        assert float(found) == pytest.approx(formed, rel=3e-3, abs=0.05)
