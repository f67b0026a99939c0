"""Softener bypass, and the stages behind the membranes: degasser, alkali, blending."""

import pytest

from pretreat.stages.bypass import laws as bypass
from pretreat.stages.product_alkali.laws import dose_for_co2_mg_l

SOFT = ("softener", "bypass", "cartridge")


def test_softened_share_for_a_hardness():
    # Mass balance: 350 to 120 mg/L with 5 of leakage softens two thirds.
    assert 1.0 - bypass.bypass_share(350.0, 120.0, 5.0) == pytest.approx(0.6667, rel=1e-3)


def test_a_bypass_lets_the_softener_treat_less(figures):
    whole, _ = figures(("softener", "cartridge"))
    part, _ = figures(SOFT, more="[bypass]\nshare = 0.25")
    assert part["softener.load_kg_caco3_d"] == pytest.approx(
        0.75 * whole["softener.load_kg_caco3_d"]
    )
    raw, soft = whole["water.ca_mg_l"], whole["softener.out_ca_mg_l"]
    assert part["bypass.out_ca_mg_l"] == pytest.approx(0.25 * raw + 0.75 * soft, rel=1e-6)
    assert part["recovery.max"] < whole["recovery.max"]
    assert part["concentrate.ca_mg_l"] > whole["concentrate.ca_mg_l"]


def test_a_bypass_of_no_softener_is_refused(site):
    code, _, error = site(("bypass", "cartridge"))
    assert code == 1
    assert "passes beside a softener" in error


def test_iron_beside_the_softener_is_named(figures):
    _, texts = figures(SOFT, water={"Fe [mg/L]": "0.4"})
    assert any(text.startswith("bypass: iron") for text in texts)


def test_a_hardness_behind_the_bypass(figures):
    found, _ = figures(SOFT, more='[bypass]\ntarget_hardness = "120 mg/L"')
    # Hardness of the water by hand: 110 x 2.497 + 28 x 4.118 mg/L as CaCO3 (atomic masses).
    hardness = 110 * 100.09 / 40.078 + 28 * 100.09 / 24.305
    assert found["bypass.share"] == pytest.approx((120 - 5) / (hardness - 5), rel=2e-3)


def test_alkali_for_the_carbon_dioxide_of_the_product(figures):
    # Stoichiometry: 39.997 g of NaOH for 44.009 g of CO2, 105.99 g of Na2CO3.
    assert dose_for_co2_mg_l(44.009, 1.0, 39.997 / 44.009) == pytest.approx(39.997)
    found, _ = figures(("cartridge", "product_alkali"), recovery=0.3)
    co2 = found["water.co2_mg_l"]
    assert found["product_alkali.dose_mg_l"] == pytest.approx(0.9 * co2 * 39.997 / 44.009, rel=1e-3)
    soda, _ = figures(
        ("cartridge", "product_alkali"), more='[product_alkali]\nbase = "soda_ash"', recovery=0.3
    )
    assert soda["product_alkali.dose_mg_l"] == pytest.approx(0.9 * co2 * 105.99 / 44.009, rel=1e-3)
    # It is the product that is dosed: 1 m3/h for 20 h/d.
    assert found["product_alkali.kg_per_year"] == pytest.approx(
        found["product_alkali.dose_mg_l"] * 20 * 365 / 1000
    )


def test_a_degasser_of_the_product_strips_what_the_feed_held(figures):
    found, _ = figures(("cartridge", "product_degasser"), recovery=0.3)
    air = found["product_degasser.co2_of_air_mg_l"]
    left = air + 0.2 * (found["water.co2_mg_l"] - air)  # common practice: 80 % of the excess
    assert found["product_degasser.co2_mg_l"] == pytest.approx(left)
    assert "degasser.co2_mg_l" not in found


def test_sulfide_behind_the_membranes_is_warned_of(figures):
    _, texts = figures(("cartridge", "product_degasser"), water={"H2S [mg/L]": "2.0"}, recovery=0.3)
    assert any("passes the membranes as a gas" in text for text in texts)


def test_blending_brings_the_feed_into_the_product(figures):
    found, texts = figures(("cartridge", "blending"), more="[blending]\nshare = 0.1", recovery=0.3)
    hardness = 110 * 100.09 / 40.078 + 28 * 100.09 / 24.305
    assert found["blending.hardness_mg_l_caco3"] == pytest.approx(0.1 * hardness, rel=2e-3)
    assert found["blending.flow_m3_h"] == pytest.approx(1.0 * 0.1 / 0.9)
    assert any("germs" in text for text in texts)
