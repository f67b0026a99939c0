"""ASTM D4516-19a: standardized flow as quoted elsewhere, the rest recalled; see each test.

Osmotic pressures: PHREEQC 3.8.6 with pitzer.dat (computed), Robinson and Stokes (1959) for the
osmotic coefficient of sodium chloride (recalled), IAPWS R13-08 for seawater (computed).
"""

import pytest

from pretreat.chemistry.second_opinion import available, second_opinions
from pretreat.chemistry.speciation import molal_totals, speciate
from pretreat.core.units import molar_mass
from pretreat.membrane.gauges.osmotic import osmotic_pressure_kpa
from pretreat.membrane.gauges.pressure import (
    Operation,
    array_factor,
    average_factor,
    feed_pressure_kpa,
    osmotic_nacl_kpa,
    osmotic_of_water_kpa,
    standard_flow,
    temperature_factor,
)

RT_RHO_KPA = 8.314462618 * 298.15 * 0.99704  # per osmol/kg


@pytest.mark.parametrize(
    ("mg_l", "temp_c", "kpa"),
    [(1000, 25, 79.2), (2000, 25, 158.6), (10_000, 25, 799.3), (35_000, 25, 2870.0),
     (2000, 15, 153.3)],
)  # fmt: skip
def test_osmotic_equation_of_the_standard(mg_l, temp_c, kpa):
    """Values recomputed by hand from the recalled equation: 0.2 kPa."""
    assert osmotic_nacl_kpa(mg_l, temp_c) == pytest.approx(kpa, abs=0.2)


@pytest.mark.parametrize(("recovery", "factor"), [(0.10, 1.0536), (0.50, 1.3863), (0.75, 1.8484)])
def test_log_mean_concentration(recovery, factor):
    assert average_factor(recovery) == pytest.approx(factor, abs=1e-4)
    assert array_factor(recovery) == pytest.approx(factor, abs=1e-4)


@pytest.mark.parametrize(("temp_c", "factor"), [(15, 0.7441), (20, 0.8626), (30, 1.1593)])
def test_temperature_factor(temp_c, factor):
    assert temperature_factor(temp_c) == pytest.approx(factor, abs=1e-4)


def test_standard_flow():
    """Own numbers in the printed form: 100 at 20 °C and 1500 kPa is 103.94 at 25 °C, 1400 kPa."""

    def at(temp_c, feed_kpa):
        feed_side = osmotic_nacl_kpa(2000 * average_factor(0.75), temp_c)
        return Operation(100, temp_c, feed_kpa, 200, 100, feed_side, osmotic_nacl_kpa(40, temp_c))

    actual, standard = at(20, 1500), at(25, 1400)
    assert actual.osmotic_feed_side_kpa == pytest.approx(288.7, abs=0.1)
    assert standard.osmotic_feed_side_kpa == pytest.approx(293.6, abs=0.1)
    assert standard_flow(actual, standard) == pytest.approx(103.94, abs=0.05)


def test_standardizing_to_the_same_conditions_changes_nothing():
    here = Operation(1.6, 14.0, 1080.0, 120.0, 30.0, 91.0, 2.0)
    assert standard_flow(here, here) == pytest.approx(1.6, rel=1e-12)
    assert feed_pressure_kpa(here, here) == pytest.approx(1080.0, rel=1e-12)


@pytest.mark.parametrize(
    ("molality", "kpa", "phi"),
    [(0.0342, 160.6, None), (0.1, 461.0, 0.9324), (0.5, 2278.7, 0.9209), (1.0, 4628.7, 0.9355)],
)
def test_sodium_chloride_without_phreeqc(molality, kpa, phi):
    """Our own water activity: 0.5 % of pitzer.dat; phi within 0.005 of Robinson and Stokes."""
    water = speciate({"Na": molality, "Cl": molality}, temp_c=25.0, ph=7.0, species=True)
    found = float(osmotic_of_water_kpa(water))
    assert found == pytest.approx(kpa, rel=0.005)
    if phi is not None:
        assert found / (2 * molality * RT_RHO_KPA) == pytest.approx(phi, abs=0.005)


def test_brackish_mixture_is_neither_ideal_nor_sodium_chloride():
    """Pitzer 132.0 kPa; ideal 143.7; sodium chloride equation on its dissolved solids 169.7."""
    mg_l = {"ca": 120.0, "mg": 60.0, "na": 500.0, "k": 15.0, "cl": 760.0, "so4": 380.0, "no3": 5.0}
    totals = molal_totals(mg_l, 300.0 / 1.2193)
    water = speciate(totals.mol_kg, temp_c=25.0, ph=7.5, alkalinity_eq_kg=totals.alkalinity_eq_kg,
                     species=True)  # fmt: skip
    assert float(osmotic_of_water_kpa(water)) == pytest.approx(132.0, rel=0.01)


SEAWATER_G_KG = {"Na": 10.7837, "Mg": 1.2837, "Ca": 0.4121, "K": 0.3991, "Cl": 19.3529,
                 "SO4": 2.7124, "Sr": 0.0079}  # fmt: skip
SEAWATER = {name: g / molar_mass(name) / 0.965 for name, g in SEAWATER_G_KG.items()}


@pytest.mark.parametrize(("temp_c", "kpa"), [(25.0, 2579.0), (15.0, 2491.0)])
def test_standard_seawater(temp_c, kpa):
    """IAPWS R13-08 at 35 g/kg; composition after Millero et al. 2008, from memory: 0.5 %."""
    water = speciate(SEAWATER, temp_c=temp_c, ph=8.1, alkalinity_eq_kg=0.0024, species=True)
    assert float(osmotic_of_water_kpa(water)) == pytest.approx(kpa, rel=0.005)


@pytest.mark.skipif(not available(), reason="PHREEQC cannot be loaded here")
@pytest.mark.parametrize(("temp_c", "kpa"), [(25.0, 2579.0), (15.0, 2491.0)])
def test_standard_seawater_by_the_second_opinion(temp_c, kpa):
    """The set points bring our pressures to this one: pitzer.dat, within 0.5 % of IAPWS R13-08."""
    found = second_opinions(SEAWATER, 0.0024, 0.0022, temp_c)[-1]
    pressure = float(osmotic_pressure_kpa(found.water_activity, temp_c))
    assert pressure == pytest.approx(kpa, rel=0.005)


@pytest.mark.skipif(not available(), reason="PHREEQC cannot be loaded here")
@pytest.mark.parametrize("temp_c", [5.0, 15.0, 35.0])
@pytest.mark.parametrize("molality", [0.0342, 0.1, 0.5, 1.0])
def test_sodium_chloride_at_other_temperatures(molality, temp_c):
    """PHREEQC 3.8.6 with pitzer.dat: 0.5 %; 0.7 % at 1 mol/kg, where our slope is a straight line."""
    salt = {"Na": molality, "Cl": molality}
    pitzer = second_opinions(salt, 0.0, 0.0, temp_c)[-1]
    expected = float(osmotic_pressure_kpa(pitzer.water_activity, temp_c))
    water = speciate(salt, temp_c=temp_c, ph=7.0, species=True)
    within = 0.005 if molality < 1.0 or temp_c == 15.0 else 0.007
    assert float(osmotic_of_water_kpa(water)) == pytest.approx(expected, rel=within)
