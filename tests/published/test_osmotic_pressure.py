"""Osmotic pressure of sodium chloride: Robinson and Stokes' osmotic coefficients, via pitzer.dat.

phi at 0.1, 0.5 and 1.0 mol/kg is 0.9324, 0.9209 and 0.9355 (from memory).
"""

import pytest

from pretreat.chemistry.second_opinion import available, second_opinions
from pretreat.membrane.gauges.osmotic import osmotic_pressure_kpa

pytestmark = pytest.mark.skipif(not available(), reason="PHREEQC cannot be loaded here")
RT_RHO_KPA = 8.314462618 * 298.15 * 0.99704  # per osmol/kg


@pytest.mark.parametrize(
    ("molality", "kpa", "phi"),
    [(0.0342, 160.6, None), (0.1, 461.0, 0.9324), (0.5, 2278.7, 0.9209), (1.0, 4628.7, 0.9355)],
)
def test_sodium_chloride_at_25_c(molality, kpa, phi):
    pitzer = second_opinions({"Na": molality, "Cl": molality}, 0.0, 0.0, 25.0)[-1]
    pressure = float(osmotic_pressure_kpa(pitzer.water_activity, 25.0))
    assert pressure == pytest.approx(kpa, rel=0.005)
    if phi is not None:
        assert pressure / (2 * molality * RT_RHO_KPA) == pytest.approx(phi, abs=0.002)
