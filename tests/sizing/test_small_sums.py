"""Vessels, softener factors, carbon, cartridges, storage: small sums against outside figures."""

import pytest

from pretreat.core.equivalents import caco3_per_mg
from pretreat.core.units import (
    GRAM_PER_POUND,
    KPA_PER_PSI,
    LITRE_PER_CUBIC_FOOT,
    LITRE_PER_US_GALLON,
    METRE_PER_FOOT,
    MG_L_CACO3_PER_GPG,
    molar_mass,
)
from pretreat.plant import laws
from pretreat.plant.water import pump_laws, storage_laws
from pretreat.stages.bed import media
from pretreat.stages.bed.programme import SETTINGS
from pretreat.stages.bed.vessels import nominal_vessels, quick_area_ft2, vessel_area_m2
from pretreat.stages.carbon import laws as carbon
from pretreat.stages.cartridge.laws import cartridges_needed
from pretreat.stages.limits import train_limits
from pretreat.stages.multimedia.laws import silt_density_index
from pretreat.stages.softener import laws as softener
from pretreat.stages.softener import salt_laws

INCH_M = METRE_PER_FOOT / 12.0


@pytest.mark.parametrize(
    ("inches", "area_m2"),
    [
        (13, 0.0856), (16, 0.1297), (18, 0.1642), (21, 0.2235), (24, 0.2919), (30, 0.4560),
        (36, 0.6567),
    ],
)  # fmt: skip
def test_area_of_nominal_vessels(inches, area_m2):
    """Geometry, computed."""
    assert vessel_area_m2(inches * INCH_M) == pytest.approx(area_m2, rel=1e-3)


def test_quick_area():
    """WIRTH2014, printed: 24 in gives 3.14 ft2."""
    assert quick_area_ft2(24.0) == pytest.approx(3.14, rel=3e-3)


@pytest.mark.parametrize(
    ("name", "depth_m", "flow_m3_h"),
    [
        ("10 x 54 in", 0.84, 0.87), ("13 x 54 in", 0.83, 1.46), ("18 x 65 in", 0.86, 2.81),
        ("24 x 72 in", 0.97, 4.99), ("30 x 72 in", 0.93, 7.80), ("36 x 72 in", 0.86, 11.2),
    ],
)  # fmt: skip
def test_nominal_vessels_in_use(name, depth_m, flow_m3_h):
    """Computed beforehand from the nominal sizes (common practice): depth, flow at 17.1 m/h."""
    vessel = next(v for v in nominal_vessels() if v.name == name)
    assert vessel.media_l / 1000.0 / vessel.area_m2 == pytest.approx(depth_m, abs=0.006)
    assert 17.1 * vessel.area_m2 == pytest.approx(flow_m3_h, rel=6e-3)


def test_equivalents_of_iron_and_manganese():
    """Molar masses, computed: 1.792 and 1.822 mg CaCO3 per mg; Sr 1.142, Ba 0.729."""
    expected = {"fe": 1.792, "mn": 1.822, "sr": 1.142, "ba": 0.729, "ca": 2.497, "mg": 4.118}
    for key, value in expected.items():
        assert caco3_per_mg(key) == pytest.approx(value, rel=1e-3)


def test_sodium_added():
    """Computed: 45.94 mg/L per 100 mg/L as CaCO3; solids rise 5.9 mg/L where it was calcium."""
    sodium = softener.sodium_added_mg_l(100.0)
    assert sodium == pytest.approx(45.94, rel=1e-3)
    assert sodium - 100.0 / caco3_per_mg("ca") == pytest.approx(5.9, rel=1e-2)


def test_field_allowance_for_iron():
    """An open notes page prints: 18 gpg and 1.5 mg/L iron at 2 gpg per mg/L give 21 gpg."""
    found = 18.0 * MG_L_CACO3_PER_GPG + softener.iron_allowance_mg_l_caco3(1.5, 2.0)
    assert found / MG_L_CACO3_PER_GPG == pytest.approx(21.0)


def test_derating_for_sodium():
    """From memory (common practice): H 400 and TC 1000 mg/L as CaCO3 give 450 mg/L."""
    assert 400.0 / softener.derating_for_sodium(1000.0) == pytest.approx(450.0)


def test_saturated_brine():
    """26.4 % by weight (memory): 2.99 lb of salt per US gallon of make-up; 316 g/L at 1.198."""
    kilograms = salt_laws.salt_of_refill_kg(1.0, LITRE_PER_US_GALLON)
    assert kilograms * 1000.0 / GRAM_PER_POUND == pytest.approx(2.99, rel=3e-3)
    assert pytest.approx(316.3, rel=2e-3) == salt_laws.SATURATED_BRINE * 1198.0


def test_sodium_of_a_pound_of_salt():
    """MICHAUD2002 prints 47 159 mg/L for 1 lb in 1 US gallon."""
    grams = GRAM_PER_POUND * molar_mass("Na") / molar_mass("NaCl") / LITRE_PER_US_GALLON
    assert grams * 1000.0 == pytest.approx(47_159.0, rel=1e-3)


def test_potassium_chloride():
    """Trade press prints 4695 gr of hardness per lb of KCl (own value 4699)."""
    ratio = molar_mass("CaCO3") / 2.0 / molar_mass("KCl")
    assert ratio * GRAM_PER_POUND / 0.06479891 == pytest.approx(4695.0, rel=3e-3)


def test_twice_a_week_leaves_a_gap_of_four_days():
    """Calendar: 3 + 4 days."""
    assert (4.0, 2.0) in SETTINGS


@pytest.mark.parametrize(
    ("key", "printed"),
    [
        ("softener_iron_refuse", 1.0), ("softener_iron_flag", 0.3), ("softener_turbidity", 5.0),
        ("filter_iron_refuse", 10.0), ("filter_sum_flag", 6.0),
    ],
)  # fmt: skip
def test_printed_limits(key, printed):
    """TSS 604.805(a), 12 VAC 5-590-900(B), summary of TSS 4.4.2.1, web table of media."""
    assert train_limits()[key].value == printed
    assert train_limits()[key].evidence == "printed"


def test_medium_capacities_are_conversions_of_the_trade_figures():
    """From memory: 10 000 and 5 000 mg/L x gal per ft3; 500 and 700 grains/ft2."""
    greensand = media.iron_filter_medium("Manganese Greensand")
    per_litre = LITRE_PER_US_GALLON / LITRE_PER_CUBIC_FOOT / 1000.0
    assert greensand["iron_capacity_g_l"] == pytest.approx(10_000 * per_litre, rel=3e-3)
    assert greensand["manganese_capacity_g_l"] == pytest.approx(5_000 * per_litre, rel=3e-3)
    assert greensand["solids_limit_g_m2"] == pytest.approx(500 * 0.69745, rel=1e-3)
    assert pytest.approx(488.2, rel=1e-3) == 700 * 0.06479891 / METRE_PER_FOOT**2


def test_drop_at_rated_flow():
    """NSF44 (trade press): 15 psi."""
    assert pytest.approx(103.4, rel=1e-3) == 15.0 * KPA_PER_PSI


def test_carbon_contact_and_life():
    """Computed beforehand; 1 g/g and the use factor are common practice."""
    assert carbon.contact_time_min(141.6, 1.488) == pytest.approx(5.71, rel=2e-3)
    assert carbon.chlorine_life_d(100.0, 1.488 * 24.0, 1.0) == pytest.approx(672.0, rel=2e-3)
    assert pytest.approx(11.81, rel=1e-3) == carbon.THEORETICAL_CL2_PER_C
    assert carbon.passing_share(10.0, 1.0) == pytest.approx(0.000977, rel=1e-3)


def test_carbon_volume_is_the_inverse_of_contact_time():
    volume = carbon.volume_for_contact_l(1.488, 5.0)
    assert carbon.contact_time_min(volume, 1.488) == pytest.approx(5.0)


def test_silt_density_index():
    """D4189, definition: 30 s and 45 s give 2.22; 100/15 = 6.67 is the ceiling."""
    assert silt_density_index(30.0, 45.0) == pytest.approx(2.22, rel=2e-3)
    assert silt_density_index(30.0, 1e9) == pytest.approx(6.67, rel=1e-3)


@pytest.mark.parametrize(("flow", "number"), [(0.6, 1), (0.7, 1), (1.5, 3), (1.8, 3)])
def test_cartridges(flow, number):
    """Common practice, no source: two to three 10 in cartridges for 1.5 to 1.8 m3/h."""
    assert cartridges_needed(flow) == number


def test_storage_and_pump():
    """QM5204 prints 4 h/d down; the sums are arithmetic."""
    assert laws.production_rate_m3_h(30.0, 4.0) == pytest.approx(1.5, rel=1e-3)
    assert laws.production_rate_m3_h(30.0, 2.0) == pytest.approx(1.3636, rel=1e-3)
    assert storage_laws.storage_for_outage_m3(30.0, 3.0) == pytest.approx(3.75, rel=1e-3)
    assert storage_laws.storage_for_outage_m3(25.0, 48.0) == pytest.approx(50.0)  # TM58138 2-2
    assert pump_laws.pump_shaft_power_w(6.55, 2.5, 0.5) == pytest.approx(910.0, rel=5e-3)


def test_rows_of_public_texts_in_metric_units():
    """Printed in customary units: 20 gpg challenge water (NSF44), 1 lb/ft2 of solids, 2 oz/ft3."""
    assert pytest.approx(342.0, rel=5e-3) == 20.0 * MG_L_CACO3_PER_GPG
    assert pytest.approx(4.88, rel=1e-3) == GRAM_PER_POUND / METRE_PER_FOOT**2 / 1000.0
    assert pytest.approx(2.0, rel=2e-3) == 2.0 * GRAM_PER_POUND / 16.0 / LITRE_PER_CUBIC_FOOT
    assert pytest.approx(2.90, rel=5e-3) == 29.0 / 10.0  # KELLER2 Table 3, kgr/lb
    assert pytest.approx(30_000.0) == 12.0 * 2500.0  # MICHAUD2015, gr/ft3
