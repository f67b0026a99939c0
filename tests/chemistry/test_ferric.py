"""Ferric hydroxide against PHREEQC 3.8.6 with wateq4f.dat, iron given there as Fe(3)."""

import numpy as np
import pytest

from pretreat.chemistry.ferric import si_ferric_hydroxide
from pretreat.membrane.feed import feed_water

OUTPUT = (
    "SELECTED_OUTPUT\n-reset false\n-high_precision true\n-saturation_indices Fe(OH)3(a)\nEND\n"
)


@pytest.mark.parametrize("ph", [5.5, 6.5, 7.4, 8.3, 9.6])
@pytest.mark.parametrize("temp_c", [8.0, 25.0])
def test_index_equals_phreeqc_with_ferric_iron(ph, temp_c):
    import phreeqc

    mg_l = {"ca": 90.0, "mg": 25.0, "na": 60.0, "so4": 120.0, "cl": 80.0, "f": 0.6, "fe": 1.4}
    engine = phreeqc.Phreeqc()
    assert engine.LoadBuiltInDatabase("wateq4f.dat") == 0
    lines = [f"SOLUTION 1\nunits mg/l\ntemp {temp_c}\npH {ph}\nAlkalinity 250 as CaCO3"]
    names = {"ca": "Ca", "mg": "Mg", "na": "Na", "so4": "S(6)", "cl": "Cl", "f": "F", "fe": "Fe(3)"}
    lines += [f"{names[k]} {v}" + (" as SO4" if k == "so4" else "") for k, v in mg_l.items()]
    assert engine.RunString("\n".join(lines) + "\n" + OUTPUT) == 0
    expected = engine.GetSelectedOutput()["si_Fe(OH)3(a)"][-1]
    ours = si_ferric_hydroxide(feed_water(mg_l, 250.0, ph, temp_c).speciation)
    assert float(ours) == pytest.approx(expected, abs=0.01)


def test_no_iron_no_index():
    water = feed_water({"ca": 90.0, "cl": 160.0}, 0.0, 7.0, 25.0).speciation
    assert np.isnan(si_ferric_hydroxide(water))


@pytest.mark.parametrize("ph", [2.2, 3.0])
def test_acid_water_where_the_ion_itself_is_most_of_the_iron(ph):
    """Fe+3, FeOH+2 and the sulfate pairs carry it: their activities are those of high charges."""
    import phreeqc

    mg_l = {"ca": 300.0, "mg": 80.0, "na": 60.0, "so4": 1800.0, "cl": 40.0, "fe": 40.0}
    engine = phreeqc.Phreeqc()
    assert engine.LoadBuiltInDatabase("wateq4f.dat") == 0
    names = {"ca": "Ca", "mg": "Mg", "na": "Na", "so4": "S(6)", "cl": "Cl", "fe": "Fe(3)"}
    lines = [f"SOLUTION 1\nunits mg/l\ntemp 15\npH {ph}"]
    lines += [f"{names[k]} {v}" + (" as SO4" if k == "so4" else "") for k, v in mg_l.items()]
    assert engine.RunString("\n".join(lines) + "\n" + OUTPUT) == 0
    expected = engine.GetSelectedOutput()["si_Fe(OH)3(a)"][-1]
    ours = si_ferric_hydroxide(feed_water(mg_l, 0.0, ph, 15.0).speciation)
    assert float(ours) == pytest.approx(expected, abs=0.02)
