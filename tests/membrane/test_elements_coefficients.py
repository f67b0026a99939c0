"""Units, temperature factors, osmotic pressure, boron, channel: printed and reference values."""

import numpy as np
import pytest

from pretreat.chemistry.second_opinion import available
from pretreat.core.units import KPA_PER_PSI, LITRE_PER_US_GALLON, METRE_PER_FOOT, molar_mass
from pretreat.membrane.elements.channel import (
    channel_velocity_m_s,
    film_wall_factor,
    mass_transfer_m_s,
    pressure_drop_bar,
    recovery_wall_factor,
    reynolds,
    water_viscosity_pa_s,
)
from pretreat.membrane.elements.element import element
from pretreat.membrane.elements.energy import KW_PER_M3_H_BAR
from pretreat.membrane.elements.feed import element_feed
from pretreat.membrane.elements.march import osmotic_bar
from pretreat.membrane.elements.permeability import (
    Membrane,
    aged,
    boric_acid_fraction,
    boron_permeability_lmh,
    salt_permeability_lmh,
    temperature_factor,
)
from tests.chemistry.phreeqc_reference import Reference
from tests.membrane.worked_machines import FA, FB, FC

FOUR = element("4x40")


def test_units_of_the_trade():
    """1 gfd 1.6977 LMH; 1 LMH/bar 2.778e-12 m/s/Pa; 1 bar m3 0.02778 kWh; psi: definitions."""
    gfd = LITRE_PER_US_GALLON / METRE_PER_FOOT**2 / 24
    assert gfd == pytest.approx(1.6977, rel=5e-4)
    assert 1e-3 / 3600 / 1e5 == pytest.approx(2.778e-12, rel=5e-4)
    assert KW_PER_M3_H_BAR == pytest.approx(0.02778, rel=1e-3)
    found = np.array([125, 300, 350, 600]) * KPA_PER_PSI / 100
    np.testing.assert_allclose(found, [8.62, 20.68, 24.13, 41.37], rtol=1e-3)


def test_temperature_factor_of_the_default():
    """1.03^(t - 25) evaluated at 5, 10, 18 degC."""
    found = temperature_factor(np.array([5.0, 10.0, 18.0]), 1.03)
    np.testing.assert_allclose(found, [0.5537, 0.6419, 0.8131], atol=1e-4)


def test_viscosity_alone_gives_a_weaker_factor():
    found = water_viscosity_pa_s(25.0) / water_viscosity_pa_s(np.array([5.0, 10.0, 18.0, 30.0]))
    np.testing.assert_allclose(found, [0.5931, 0.6852, 0.8461, 1.1169], atol=1e-4)


def test_viscosity_against_a_reference_library():
    """IAPWS 2008 viscosity at 1 atm: 1.5182, 1.0016, 0.8900 mPa s at 5, 20, 25 degC, memory."""
    found = water_viscosity_pa_s(np.array([5.0, 20.0, 25.0])) * 1e3
    np.testing.assert_allclose(found, [1.5182, 1.0016, 0.8900], rtol=0.025)


@pytest.mark.parametrize(
    ("mg_l", "temp_c", "bar", "pitzer"),
    [(FA, 10, 0.6752, 0.690), (FB, 18, 1.4673, 1.466), (FC, 25, 2.1051, 2.053)],
    ids=["FA", "FB", "FC"],
)
def test_osmotic_pressure(mg_l, temp_c, bar, pitzer):
    """With 0.93 within 3 % of water activity by PHREEQC with pitzer.dat (0.690, 1.466, 2.053)."""
    found = osmotic_bar(element_feed(mg_l, temp_c))
    assert found == pytest.approx(bar, abs=1e-3)
    assert found == pytest.approx(pitzer, rel=0.03)


@pytest.mark.skipif(not available(), reason="PHREEQC cannot be loaded here")
def test_osmotic_pressure_against_pitzer_in_process():
    """PHREEQC with pitzer.dat on the third feed; nitrate and fluoride as chloride."""
    engine = Reference("pitzer.dat").engine
    cl = FC["cl"] / 35.45 + FC["no3"] / molar_mass("NO3") + FC["f"] / 18.998
    text = (
        "SOLUTION 1\nunits mmol/l\ntemp 25\npH 7.5\n"
        f"Ca {FC['ca'] / 40.078}\nMg {FC['mg'] / 24.305}\nNa {FC['na'] / 22.99}\n"
        f"K {FC['k'] / 39.098}\nCl {cl}\nS(6) {FC['so4'] / 96.06}\n"
        f"Alkalinity {FC['hco3'] / 61.017}\n"
        'USER_PUNCH\n-headings a\n-start\n10 PUNCH ACT("H2O")\n-end\n'
        "SELECTED_OUTPUT\n-reset false\n-high_precision true\n-user_punch true\nEND\n"
    )
    assert engine.RunString(text) == 0
    activity = next(iter(engine.GetSelectedOutput().values()))[-1]
    bar = -83.14463 * 298.15 * np.log(activity) / 18.069  # cm3/mol at 25 degC
    assert osmotic_bar(element_feed(FC, 25)) == pytest.approx(bar, rel=0.03)


def test_boron_permeability_from_printed_rejections():
    """Tu et al. 2013: 21 % at 5, 79 % at 60 L/m2/h: B = J (1 - R) / R = 18.8 and 15.9."""
    printed = [5 * 0.79 / 0.21, 60 * 0.21 / 0.79]
    np.testing.assert_allclose(printed, [18.8, 15.9], atol=0.1)
    assert printed[1] - 0.1 < salt_permeability_lmh(Membrane(), "b", 25.0) < printed[0]


def test_boric_acid_fraction():
    """pKa 9.24 at pH 7.5, 8.5, 10; rejection above 90 % only near pH 9.5 and beyond (Prats 2000)."""
    found = boric_acid_fraction(np.array([7.5, 8.5, 10.0]))
    np.testing.assert_allclose(found, [0.9821, 0.8460, 0.1481], atol=5e-4)
    at_ph = boron_permeability_lmh(Membrane(), np.array([7.5, 9.5, 10.5]))
    rejection = 20 / (20 + at_ph)
    assert 0.4 < rejection[0] < 0.6  # conventional RO 40 to 60 %, Prats et al. 2000, abstract
    assert rejection[0] < rejection[1] < rejection[2]


def test_age_moves_both_coefficients():
    old = aged(Membrane(), 3, 0.05, 0.075)
    assert old.water_lmh_bar == pytest.approx(4 * 0.95**3)
    assert old.salt_lmh == pytest.approx(0.3 * 1.075**3)


@pytest.mark.parametrize(
    ("size", "temp_c", "flow", "bar"),
    [
        ("4x40", 25, 1.0, 0.0727),
        ("4x40", 25, 1.5, 0.1448),
        ("4x40", 25, 3.0, 0.4705),
        ("4x40", 10, 1.5, 0.1622),
        ("8x40", 25, 8.0, 0.1676),
        ("2.5x40", 25, 0.36, 0.0793),
    ],
)
def test_pressure_drop(size, temp_c, flow, bar):
    """6.23 Re^-0.3 evaluated by a separate script."""
    assert pressure_drop_bar(flow, temp_c, element(size)) == pytest.approx(bar, rel=2e-3)


@pytest.mark.parametrize(
    ("speed", "flux", "temp_c", "re", "k", "beta"),
    [(0.1278, 24.039, 18, 121.1, 3.052e-5, 1.2446), (0.1371, 8.159, 25, 153.5, 4.155e-5, 1.0561)],
)
def test_film_theory(speed, flux, temp_c, re, k, beta):
    flow = speed * 3600 * FOUR.cross_section_m2
    assert channel_velocity_m_s(flow, FOUR) == pytest.approx(speed)
    assert reynolds(flow, temp_c, FOUR) == pytest.approx(re, rel=5e-3)
    assert mass_transfer_m_s(flow, temp_c, FOUR) == pytest.approx(k, rel=5e-3)
    assert film_wall_factor(flux, flow, temp_c, FOUR) == pytest.approx(beta, rel=5e-3)


def test_wall_factor_from_recovery():
    found = recovery_wall_factor(np.array([0.1385, 0.0460]))
    np.testing.assert_allclose(found, [1.1018, 1.0327], atol=5e-4)


@pytest.mark.parametrize("spelling", ["4x40", "4 x 40", "4×40", '4" x 40"', " 4X40 "])
def test_spellings_of_a_size(spelling):
    assert element(spelling) == FOUR


def test_area_alone_takes_the_nearest_size():
    assert element(area_m2=7.4).max_feed_m3_h == FOUR.max_feed_m3_h
    assert element(area_m2=37).max_feed_m3_h == element("8x40").max_feed_m3_h
    assert element("4x40", area_m2=8.2).cross_section_m2 == pytest.approx(
        FOUR.cross_section_m2 * 8.2 / 7.6
    )


def test_hold_up():
    """60 % of an element of 1.016 m and 2.4, 3.94, 7.89 inch outside: 1.78, 4.79, 19.15 L."""
    for size, inches in (("2.5x40", 2.4), ("4x40", 3.94), ("8x40", 7.89)):
        litres = 0.6 * np.pi / 4 * (inches * 0.0254) ** 2 * 1.016 * 1000
        assert element(size).hold_up_l == pytest.approx(litres, rel=0.01)
