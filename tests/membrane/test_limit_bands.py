"""Limits as bands, calcium phosphate as a scale, metals and kinetics beside them.

Bands are common practice, no source; that they are ordered, chosen from and beaten by the user's
own figure is what is tested. Kinetics: printed points and the printed law.
"""

import math

import numpy as np
import pytest

from pretreat.chemistry.kinetics import (
    barite_growth_nm_h,
    gypsum_induction_min,
    loop_age_s,
    nucleation_exponent,
    residence_s,
)
from pretreat.core.results import Ledger
from pretreat.membrane.bands import default_limits, limit_bands
from pretreat.membrane.concentrate import concentrate
from pretreat.membrane.feed import feed_water
from pretreat.membrane.limits import MembranePoint, enter_limits, limits_from
from pretreat.membrane.metals import recovery_at_si
from pretreat.membrane.phosphate import phosphate_that_limits_mg_l
from pretreat.membrane.recovery import recovery_limit
from pretreat.membrane.scaling import enter_scaling
from pretreat.site.design import LimitChoices, LimitSet

HARD = {"ca": 80.0, "mg": 5.0, "na": 20.0, "cl": 40.0, "so4": 20.0, "sio2": 10.0}


def _phosphate_water(po4, ph=7.5):
    return feed_water({**HARD, "po4": po4}, 150.0, ph, 25.0)


@pytest.mark.parametrize("inhibitor", [False, True])
def test_bands_are_ordered_and_name_where_they_come_from(inhibitor):
    bands = limit_bands(inhibitor)
    assert set(bands) == {"calcite", "gypsum", "barite", "celestite", "fluorite", "silica",
                          "calcium_phosphate"}  # fmt: skip
    for band in bands.values():
        assert band.low <= band.likely <= band.high
        assert not inhibitor or band.evidence == "common practice"
        plain = limit_bands(False)
    assert all(bands[k].likely >= plain[k].likely for k in bands)


def test_the_middle_of_the_band_is_in_force_and_the_own_figure_wins():
    limits = default_limits(True)
    assert limits.lsi == 1.8
    assert limits.si["gypsum"] == pytest.approx(math.log10(2.3))
    own = LimitChoices(inhibitor=True, file_with=LimitSet(1.2, None, {"gypsum": 175.0}))
    for column in ("low", "likely", "high"):
        found = limits_from(own, True, column)
        assert (found.lsi, found.sdsi) == (1.2, 1.2)
        assert found.si["gypsum"] == pytest.approx(math.log10(1.75))
        assert found.si["barite"] == default_limits(True, column).si["barite"]


def test_low_end_allows_least_and_high_end_most():
    feed = feed_water({**HARD, "ba": 0.05, "so4": 120.0}, 150.0, 7.3, 15.0)
    found = [float(recovery_limit(feed, default_limits(True, c)).maximum)
             for c in ("low", "likely", "high")]  # fmt: skip
    assert found[0] < found[1] < found[2]
    ledger = Ledger()
    enter_limits(ledger, feed, concentrate(feed, 0.5), MembranePoint(0.5, {}), LimitChoices(), "")
    assert [ledger.number(f"recovery.max_inhibited{end}") for end in ("_low", "", "_high")] == (
        pytest.approx(found, abs=1e-4)
    )
    row = next(r for r in ledger.study().series["scaling.limits"].rows if r[0] == "silica")
    assert row[-2:] == pytest.approx((90.0, 120.0))


@pytest.mark.parametrize(
    ("ca", "alk", "po4", "ph", "log_iap"),
    [
        (80.0, 150.0, 1.0, 7.5, -29.12),
        (320.0, 600.0, 4.0, 7.5, -26.97),
        (320.0, 600.0, 4.0, 8.0, -25.98),
        (320.0, 600.0, 2.0, 7.5, -27.57),
    ],
)
def test_ion_product_of_calcium_phosphate(ca, alk, po4, ph, log_iap):
    """PHREEQC 3.8.6, wateq4f.dat (computed): Na 20 mg/L, chloride closes the charge, 25 °C."""
    cl = (ca / 20.039 + 20.0 / 22.99 - alk / 50.04) * 35.45
    feed = feed_water({"ca": ca, "na": 20.0, "cl": max(cl, 0.0), "po4": po4}, alk, ph, 25.0)
    found = float(feed.speciation.si("calcium_phosphate")) - 28.25
    assert found == pytest.approx(log_iap, abs=0.03)


def test_ion_products_reported_for_amorphous_phosphate_contain_the_band():
    """{Ca}3{PO4}2 from 2.0e-33 to 1.6e-25 at 37 °C (printed, PMC7281443 Table 4); 25.7 at pH 7.4
    and 25 °C (printed, Materials 2010 3:3815): the high end of the band."""
    band = limit_bands(True)["calcium_phosphate"]
    ends = [-28.25 + math.log10(v / 100.0) for v in (band.low, band.likely, band.high)]
    assert ends == pytest.approx([-28.25, -27.0, -25.7], abs=1e-4)
    assert math.log10(2.0e-33) < ends[0] < ends[2] < math.log10(1.6e-25)


def test_calcium_phosphate_stops_a_softer_water_rich_in_phosphate():
    mg_l = {"ca": 20.0, "mg": 4.0, "na": 60.0, "cl": 60.0, "so4": 20.0, "po4": 6.0}
    feed = feed_water(mg_l, 60.0, 7.3, 20.0)
    reach = recovery_limit(feed, default_limits(True))
    assert str(reach.limited_by) == "calcium_phosphate"
    at = concentrate(feed, float(reach.maximum)).speciation.si("calcium_phosphate")
    assert float(at) == pytest.approx(default_limits(True).si["calcium_phosphate"], abs=1e-3)


def test_phosphate_that_would_limit_is_the_one_that_does():
    limits = default_limits(True)
    feed = feed_water(HARD, 150.0, 7.4, 25.0)
    enough = phosphate_that_limits_mg_l(feed, 0.6, limits)
    brine = concentrate(feed_water({**HARD, "po4": enough}, 150.0, 7.4, 25.0), 0.6)
    found = float(brine.speciation.si("calcium_phosphate"))
    assert found == pytest.approx(limits.si["calcium_phosphate"], abs=0.05)


def test_unmeasured_phosphate_is_named_only_where_a_well_could_hold_as_much():
    flags = _flags({**HARD, "ba": 0.001, "sr": 0.01, "f": 0.1}, recovery=0.5)[1]
    assert "mg/L of PO4 in the feed" in flags["phosphate_not_measured"]
    soft = {"ca": 0.1, "na": 60.0, "cl": 40.0, "so4": 20.0, "sio2": 10.0, "ba": 0.001, "sr": 0.01,
            "f": 0.1}  # fmt: skip
    flags = _flags(soft, alkalinity=60.0, ph=7.0, recovery=0.5)[1]
    assert "phosphate_not_measured" not in flags
    assert "calcium_phosphate" not in flags.get("not_measured", "")


def _flags(mg_l, alkalinity=400.0, ph=7.3, recovery=0.7):
    ledger = Ledger()
    feed = feed_water(mg_l, alkalinity, ph, 12.0)
    enter_scaling(ledger, feed, MembranePoint(recovery, {}), LimitChoices())
    return feed, {f.code: f.text for f in ledger.study().flags}


def test_siderite_of_a_sealed_iron_well_is_a_caution_with_its_numbers():
    feed, flags = _flags({**HARD, "fe": 4.0, "mn": 0.01})
    assert "SI +" in flags["metal_carbonate"]
    assert "4 mg/L of iron" in flags["metal_carbonate"]
    at = recovery_at_si(feed, MembranePoint(0.7, {}), "siderite", 1.0)
    assert f"recovery of {at:.2f} up" in flags["metal_carbonate"]
    assert float(concentrate(feed, at).speciation.si("siderite")) == pytest.approx(1.0, abs=1e-3)
    assert "metal_carbonate" not in _flags({**HARD, "fe": 0.02})[1]


@pytest.mark.parametrize(
    ("ph", "siderite", "rhodochrosite"), [(7.0, 1.09, 0.76), (7.5, 1.56, 1.17)]
)
def test_carbonates_of_iron_and_manganese(ph, siderite, rhodochrosite):
    """PHREEQC 3.8.6, wateq4f.dat (computed): Ca 320, Alk 800, Fe 8, Mn 2 mg/L, 12 °C."""
    feed = feed_water({"ca": 320.0, "fe": 8.0, "mn": 2.0}, 800.0, ph, 12.0)
    assert float(feed.speciation.si("siderite")) == pytest.approx(siderite, abs=0.03)
    assert float(feed.speciation.si("rhodochrosite")) == pytest.approx(rhodochrosite, abs=0.03)


def test_metals_beside_silica_are_named_with_what_silica_allows():
    mg_l = {"ca": 10.0, "mg": 3.0, "na": 40.0, "cl": 30.0, "so4": 20.0, "sio2": 45.0, "al": 0.1}
    _, flags = _flags(mg_l, alkalinity=70.0, ph=7.0)
    assert "aluminium 0.1 mg/L" in flags["silica_metals"]
    assert "silica_metals" not in _flags({**mg_l, "al": 0.01}, alkalinity=70.0, ph=7.0)[1]


def test_magnesium_silicate_is_named_with_its_ph():
    mg_l = {"ca": 10.0, "mg": 60.0, "na": 40.0, "cl": 200.0, "sio2": 60.0}
    _, flags = _flags(mg_l, alkalinity=150.0, ph=8.4)
    assert "magnesium silicate: SI +" in flags["magnesium_silicate"]


def test_a_concentrate_over_saturation_is_to_be_displaced_at_a_stop():
    assert "3 volumes" in _flags(HARD)[1]["flush_at_stop"]


@pytest.mark.parametrize(
    ("si", "temp_c", "nm_h"),
    [(1.78, 25.0, 34.9), (2.1, 25.0, 73.5), (1.78, 10.0, 16.5), (1.78, 40.0, 68.6)],
)
def test_growth_of_barite(si, temp_c, nm_h):
    """Vital et al. 2020: exp(13.59) exp(-35 000/RT)(10^SI - 1), printed in the abstract."""
    assert barite_growth_nm_h(si, temp_c) == pytest.approx(nm_h, rel=0.01)


def test_growth_is_not_extrapolated():
    assert np.isnan(barite_growth_nm_h([0.5, 2.5, 1.5], [25.0, 25.0, 5.0])).all()


@pytest.mark.parametrize(("ratio", "minutes"), [(11.06, 217), (21.07, 36), (42.08, 11)])
def test_induction_of_gypsum(ratio, minutes):
    """Printed in the abstract, no inhibitor; the fit is good to 8 %."""
    assert gypsum_induction_min(ratio) == pytest.approx(minutes, rel=0.1)
    assert math.isnan(gypsum_induction_min(3.0))


@pytest.mark.parametrize(("si", "exponent"), [(1.78, 86.1), (2.0, 68.2)])
def test_barrier_of_barite(si, exponent):
    """Classical theory with 0.093 J/m2 (He, Oddo and Tomson 1995, printed), 52.1 cm3/mol."""
    assert nucleation_exponent(si, 25.0, 0.093, 52.1) == pytest.approx(exponent, rel=0.01)


@pytest.mark.parametrize(
    ("y", "factor"), [(0.5, 1.386), (0.65, 1.615), (0.75, 1.848), (0.85, 2.232)]
)
def test_time_in_a_machine(y, factor):
    """Plug flow with even permeation (computed); 2.35 L at 0.8 m3/h is 10.6 s."""
    assert residence_s(1.0, 3.6, y) == pytest.approx(factor, abs=0.001)
    assert residence_s(2.35, 0.8, 1e-9) == pytest.approx(10.6, rel=0.01)
    assert loop_age_s(10.0, 0.25) == pytest.approx(144.0)
