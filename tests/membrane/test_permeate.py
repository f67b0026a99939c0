"""The product is electroneutral whatever passes of each ion, and mass closes with it."""

import csv
import os
from pathlib import Path

import numpy as np
import pytest

from pretreat.chemistry.composition import ion_sums_meq_l
from pretreat.core.tables import rows
from pretreat.lab.water_laws import ion_balance_pct
from pretreat.membrane.concentrate import concentrate, concentration_factor
from pretreat.membrane.feed import feed_water
from pretreat.membrane.permeate import permeate
from tests.chemistry.waters import seeded_waters

GENERIC = {row["key"]: float(row["passage"]) for row in rows("salt_passage.csv")}
IMBALANCE_PCT = 0.5
MASS = 1e-9


@pytest.fixture(scope="module")
def feed():
    mg_l, alkalinity, ph, temp = seeded_waters(60, seed=11)
    return feed_water(mg_l, alkalinity, ph, temp)


def _imbalance_pct(product):
    sums = ion_sums_meq_l(product.mg_l, product.alkalinity_mg_l_caco3)
    return np.abs(ion_balance_pct(*sums))


@pytest.mark.parametrize("rho", [0.0, 0.3, 0.8])
@pytest.mark.parametrize("recovery", [0.3, 0.75, 0.9])
def test_cations_and_anions_of_the_product_are_equal(feed, recovery, rho):
    """Electroneutrality; passage by class of ion alone leaves a median of 24 % over."""
    brine = concentrate(feed, recovery, GENERIC, rho)
    product = permeate(feed, brine, GENERIC, rho)
    assert np.all(_imbalance_pct(product) < IMBALANCE_PCT)
    # The speciated product is neutral too, hydrogen ions and every pair included.
    anions = ion_sums_meq_l(product.mg_l, product.alkalinity_mg_l_caco3)[1] / 1e3
    assert np.all(np.abs(product.speciation.charge_eq_kg) < 0.005 * 2 * anions)


@pytest.mark.parametrize("rho", [0.0, 0.8])
def test_mass_closes_ion_by_ion_with_the_passage_that_is_neutral(feed, rho):
    recovery = 0.75
    brine = concentrate(feed, recovery, GENERIC, rho)
    product = permeate(feed, brine, GENERIC, rho)
    for key, amount in feed.mg_l.items():
        total = recovery * product.mg_l[key] + (1 - recovery) * brine.mg_l[key]
        np.testing.assert_allclose(total, amount, rtol=MASS, err_msg=key)
    carbon = (
        recovery * product.speciation.inorganic_carbon_mol_kg
        + (1 - recovery) * brine.speciation.inorganic_carbon_mol_kg
    )
    np.testing.assert_allclose(carbon, feed.speciation.inorganic_carbon_mol_kg, rtol=1e-7)


def test_order_of_passage_is_kept_and_neutrals_are_left_alone(feed):
    """Within one charge the ratios stay; silica and boron have none."""
    own = concentrate(feed, 0.7, GENERIC).passage
    np.testing.assert_allclose(own["no3"] / own["cl"], GENERIC["no3"] / GENERIC["cl"])
    np.testing.assert_allclose(own["na"] / own["ca"], GENERIC["na"] / GENERIC["ca"])
    assert np.all(own["sio2"] == GENERIC["sio2"])
    assert np.all(own["b"] == GENERIC["b"])


def test_one_passage_for_all_keeps_the_closed_form(feed):
    """D4582, eq. 7.1: a product with one passage is as neutral as the analysis."""
    brine = concentrate(feed, 0.75, {"default": 0.03})
    ratio = brine.mg_l["ca"] / feed.mg_l["ca"]
    np.testing.assert_allclose(ratio, concentration_factor(0.75, 0.03), rtol=1e-12)


def test_no_passage_exceeds_one(feed):
    own = concentrate(feed, 0.7, {"default": 0.01, "cl": 0.9, "no3": 0.99}).passage
    assert np.all(own["no3"] <= 1.0)
    assert np.all(own["na"] <= 1.0)


def test_a_water_without_anions_is_computed_as_given():
    feed = feed_water({"ca": 40.0, "mg": 10.0}, 0.0, 7.0, 20.0)
    brine = concentrate(feed, 0.5, {"ca": 0.01, "mg": 0.05})
    assert float(brine.passage["mg"]) == pytest.approx(0.05)


def test_real_waters_out_of_balance_still_give_a_neutral_product():
    """60 analyses of the open collection, as they are printed (PRETREAT_WATERS)."""
    folder = os.environ.get("PRETREAT_WATERS")
    if not folder:
        pytest.skip("PRETREAT_WATERS is not set")
    with Path(folder, "real_waters.csv").open(encoding="utf-8-sig") as file:
        table = [r for r in csv.DictReader(file) if r["pH"] and float(r["alk_mg_L_CaCO3"] or 0) > 0]
    chosen = table[:: len(table) // 60][:60]
    ions = {"ca": "Ca", "mg": "Mg", "na": "Na", "k": "K", "cl": "Cl", "so4": "SO4", "no3": "NO3",
            "sr": "Sr", "ba": "Ba", "fe": "Fe"}  # fmt: skip

    def column(name):
        return np.array([float(r[name] or 0) for r in chosen])

    mg_l = {k: column(v) for k, v in ions.items()}
    feed = feed_water(mg_l, column("alk_mg_L_CaCO3"), column("pH"), 15.0)
    product = permeate(feed, concentrate(feed, 0.7, GENERIC), GENERIC)
    assert np.all(_imbalance_pct(product) < IMBALANCE_PCT)
