"""Mass balances of the membrane and the recovery limit."""

import numpy as np
import pytest

from pretreat.membrane.concentrate import concentrate, concentration_factor
from pretreat.membrane.feed import feed_water
from pretreat.membrane.permeate import permeate
from pretreat.membrane.recovery import default_limits, excesses, reaches, recovery_limit
from tests.chemistry.waters import seeded_waters

TIGHT = 1e-9


@pytest.fixture(scope="module")
def feed():
    mg_l, alkalinity, ph, temp = seeded_waters(150, seed=3)
    return feed_water(mg_l, alkalinity, ph, temp)


@pytest.mark.parametrize("rho", [0.0, 0.25, 0.6])
@pytest.mark.parametrize("passage", [0.0, 0.02, 0.3])
def test_fresh_feed_splits_into_product_and_drain(rho, passage):
    """Feed = Y product + (1 - Y) drain, the product seeing the mixed array feed."""
    recovery = np.array([0.1, 0.5, 0.75, 0.9])
    drain = concentration_factor(recovery, passage, rho)
    array_feed = (1 - rho) + rho * drain
    product = passage * array_feed
    np.testing.assert_allclose(recovery * product + (1 - recovery) * drain, 1.0, rtol=TIGHT)


def test_without_recycle_it_is_the_familiar_form():
    assert concentration_factor(0.75, 0.01) == pytest.approx((1 - 0.75 * 0.01) / 0.25, rel=TIGHT)


@pytest.mark.parametrize("rho", [0.0, 0.4])
def test_inorganic_carbon_closes_over_the_machine(feed, rho):
    recovery, passage = 0.7, 0.03
    brine = concentrate(feed, recovery, {"default": passage}, rho)
    co2, carbon = brine.array_feed_co2_mol_kg, brine.array_feed_carbon_mol_kg
    product = passage * (carbon - co2) + co2
    total = recovery * product + (1 - recovery) * brine.speciation.inorganic_carbon_mol_kg
    np.testing.assert_allclose(total, feed.speciation.inorganic_carbon_mol_kg, rtol=1e-8)


@pytest.mark.parametrize("rho", [0.0, 0.35])
def test_every_ion_closes_over_feed_product_and_drain(feed, rho):
    """Product and drain together are the fresh feed, ion by ion, with its own passage each."""
    recovery, passage = 0.72, {"default": 0.02, "ca": 0.004, "cl": 0.05, "hco3": 0.03, "b": 0.4}
    brine = concentrate(feed, recovery, passage, rho)
    product = permeate(feed, brine, passage, rho)
    for key, amount in feed.mg_l.items():
        total = recovery * product.mg_l[key] + (1 - recovery) * brine.mg_l[key]
        np.testing.assert_allclose(total, amount, rtol=TIGHT, err_msg=key)
    alkalinity = (
        recovery * product.alkalinity_mg_l_caco3 + (1 - recovery) * brine.alkalinity_mg_l_caco3
    )
    np.testing.assert_allclose(alkalinity, feed.alkalinity_mg_l_caco3, rtol=TIGHT)


def test_product_is_more_acid_than_the_feed(feed):
    """CO2 passes, alkalinity hardly: known of every reverse-osmosis product (common practice)."""
    passage = {"default": 0.02}
    product = permeate(feed, concentrate(feed, 0.7, passage), passage)
    sound = product.speciation.converged
    assert sound.mean() > 0.98
    assert np.all(product.speciation.ph[sound] < feed.ph[sound])


def test_zero_recovery_returns_the_feed(feed):
    brine = concentrate(feed, 0.0)
    np.testing.assert_allclose(brine.ph, feed.ph, atol=1e-7)
    np.testing.assert_allclose(brine.ph_d3739, feed.ph, atol=1e-7)
    np.testing.assert_allclose(
        brine.speciation.si("barite"), feed.speciation.si("barite"), atol=1e-7
    )


def test_concentrate_holds_more_co2_than_the_feed_and_less_ph_than_d3739(feed):
    brine = concentrate(feed, 0.75)
    assert np.all(brine.speciation.co2_mol_kg > feed.speciation.co2_mol_kg)
    assert np.median(brine.ph_d3739 - brine.ph) > 0.1


def test_more_recovery_never_lowers_the_salts(feed):
    """Gypsum, barite, celestite and fluorite, while the concentrate stays below I = 1."""
    recoveries = np.linspace(0, 0.9, 19)
    runs = [concentrate(feed, y) for y in recoveries]
    for mineral in ("gypsum", "barite", "celestite", "fluorite"):
        si = np.stack([r.speciation.si(mineral) for r in runs])
        strength = np.stack([r.speciation.ionic_strength_mol_kg for r in runs])
        rising = (np.diff(si, axis=0) > -1e-9) | (strength[1:] > 1.0)
        assert np.all(rising)


@pytest.mark.parametrize("inhibitor", [False, True])
def test_index_at_the_largest_recovery_meets_its_limit(feed, inhibitor):
    limits = default_limits(inhibitor)
    reach = recovery_limit(feed, limits)
    worst = np.nanmax(
        np.stack(list(excesses(concentrate(feed, reach.maximum), limits).values())), axis=0
    )
    inside = (reach.maximum > 0) & (reach.maximum < 0.95) & ~reach.at_step
    assert inside.sum() > 2
    assert np.all(np.abs(worst[inside]) < 1e-3)
    assert np.all(worst[reach.supersaturated] > 0)
    assert np.all(reach.maximum[reach.supersaturated] == 0)


def test_single_scales_agree_with_the_overall_limit(feed):
    limits = default_limits(True)
    i = 5
    mg_l = {k: v[i] for k, v in feed.mg_l.items()}
    one = feed_water(mg_l, feed.alkalinity_mg_l_caco3[i], feed.ph[i], feed.temp_c[i])
    (reach,) = reaches(one, [limits])
    together = recovery_limit(one, limits)
    assert reach.maximum == pytest.approx(float(together.maximum), abs=1e-4)
    assert reach.limited_by == str(together.limited_by)
    assert min(reach.alone.values()) == reach.maximum


def test_unmeasured_ion_leaves_its_scale_open():
    one = feed_water({"ca": 80.0, "mg": 20.0, "na": 30.0, "cl": 50.0}, 200.0, 7.4, 15.0)
    (reach,) = reaches(one, [default_limits(False)])
    alone = reach.alone
    assert np.isnan(alone["barite"])
    assert np.isnan(alone["silica"])
    assert not np.isnan(alone["calcite"])
