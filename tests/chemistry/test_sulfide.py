"""Iron sulfide against PHREEQC 3.8.6 with phreeqc.dat: FeS(ppt) of ferrous iron beside sulfide.

Its rules of activity for HS- differ from ours by up to 0.05; wateq4f.dat adds polysulfides of free
sulfur, which a well without it does not hold.
"""

import pytest

from pretreat.chemistry.sulfide import H2S_MG_MOL, si_iron_sulfide
from pretreat.membrane.feed import feed_water

OUTPUT = "SELECTED_OUTPUT\n-reset false\n-high_precision true\n-saturation_indices FeS(ppt)\nEND\n"
NAMES = {"ca": "Ca", "mg": "Mg", "na": "Na", "so4": "S(6)", "cl": "Cl", "fe": "Fe(2)"}


@pytest.mark.parametrize("h2s_mg_l", [0.05, 2.0, 40.0])
@pytest.mark.parametrize("ph", [6.2, 7.6, 8.8])
@pytest.mark.parametrize(("salt", "temp_c"), [(1.0, 25.0), (30.0, 25.0), (1.0, 8.0)])
def test_index_equals_phreeqc(h2s_mg_l, ph, salt, temp_c):
    """Much sulfide binds most of the iron in Fe(HS)2 and Fe(HS)3-; salt moves every activity."""
    import phreeqc

    mg_l = {"ca": 40.0, "mg": 12.0, "na": 60.0 * salt, "so4": 50.0, "cl": 90.0 * salt, "fe": 0.8}
    engine = phreeqc.Phreeqc()
    assert engine.LoadBuiltInDatabase("phreeqc.dat") == 0
    water = feed_water(mg_l, 180.0, ph, temp_c).speciation
    carbon = float(water.totals_mol_kg["CO3"]) * 12_011.0
    lines = [f"SOLUTION 1\nunits mg/l\ntemp {temp_c}\npH {ph}\nC(4) {carbon:.10g} as C"]
    lines += [f"{NAMES[k]} {v}" + (" as SO4" if k == "so4" else "") for k, v in mg_l.items()]
    lines += [f"S(-2) {h2s_mg_l / H2S_MG_MOL * 32_060.0:.10g} as S"]
    assert engine.RunString("\n".join(lines) + "\n" + OUTPUT) == 0
    expected = engine.GetSelectedOutput()["si_FeS(ppt)"][-1]
    assert float(si_iron_sulfide(water, h2s_mg_l)) == pytest.approx(expected, abs=0.06)
