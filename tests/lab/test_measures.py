"""Conversions that lab reports need, against the factors of the trade."""

import pytest

from pretreat.core.errors import UnitError
from pretreat.core.units.concentration import (
    concentration_unit,
    conductivity_us_cm,
    hardness_mg_l_caco3,
)
from pretreat.lab.interpret.measures import measure

ROUNDING = 2e-4  # the factors are printed to four or five figures


@pytest.mark.parametrize(
    ("key", "unit", "basis", "factor"),
    [
        # Chemistry: ratios of molar masses; degrees by their definitions (10 mg/L CaO, ...).
        ("hco3", "mg/L as CaCO3", "", 1.2193),
        ("co3", "mg/L as CaCO3", "", 0.5996),
        ("ca", "mg/L as CaCO3", "", 0.4004),
        ("mg", "mg/L as CaCO3", "", 0.2428),
        ("no3", "mg/L as N", "", 4.4268),
        ("no2", "mg/L", "N", 3.2844),
        ("nh4", "mg N/L", "", 1.2878),
        ("po4", "mg/l as P", "", 3.0662),
        ("sio2", "mg/L as Si", "", 2.1393),
        ("so4", "mg/L", "S", 2.9959),
        ("sio2", "mg/L as H2SiO3", "", 0.7693),
        ("hardness", "gpg", "", 17.118),
        ("hardness", "°dH", "", 17.848),
        ("hardness", "°f", "", 10.0),
        ("hardness", "°e", "", 14.254),
        ("hardness", "mmol/L", "", 100.09),
        ("hardness", "meq/L", "", 50.0435),
        ("alkalinity", "mmol/l", "", 50.0435),
        ("alkalinity", "meq/L", "", 50.0435),
        ("alkalinity", "mg/L as HCO3", "", 0.8202),
        ("alkalinity", "°f", "", 10.0),
        ("na", "mg/L as CaCO3", "", 0.45939),
        ("ba", "µg/L", "", 0.001),
        ("ca", "mmol/l", "", 40.078),
        ("so4", "meq/L", "", 48.03),
        ("h2s", "mg/L", "S", 1.0630),
        ("ec", "mS/m", "", 10.0),
        ("ec", "dS/m", "", 1000.0),
        ("ec", "mmho/cm", "", 1000.0),
    ],
)
def test_factor(key, unit, basis, factor):
    assert measure(key, unit, basis).factor == pytest.approx(factor, rel=ROUNDING)


@pytest.mark.parametrize(
    ("key", "unit", "basis", "assumed"),
    [
        ("ca", "", "", "mg/L"),
        ("alkalinity", "mg/L", "", "as CaCO3"),
        ("alkalinity_hco3", "mg/L", "", "as CaCO3"),
        ("hardness", "mg/L", "", "as CaCO3"),
        ("ec", "", "", "µS/cm"),
        ("temperature", "", "", "°C"),
        ("alkalinity", "mg/L as CaCO3", "", ""),
        ("no3", "mg/L", "N", ""),
    ],
)
def test_what_is_assumed_is_said(key, unit, basis, assumed):
    assert measure(key, unit, basis).assumed == assumed


@pytest.mark.parametrize(
    ("key", "unit", "basis"),
    [
        ("ca", "furlongs", ""),
        ("sio2", "meq/L", ""),
        ("b", "mg/L as CaCO3", ""),
        ("ca", "mg/L as N", ""),
        ("alkalinity", "mg/L as Fe", ""),
        ("temperature", "mg/L", ""),
        ("ec", "mg/L", ""),
    ],
)
def test_wrong_units_are_refused(key, unit, basis):
    with pytest.raises(UnitError):
        measure(key, unit, basis)


@pytest.mark.parametrize(
    "unit",
    [
        "mg/l", "MG/L", "mg L-1", "mg·L⁻¹", "mg/dm³", "ppm", "g/m3", "mg/1", "rng/L",
        "milligrams/liter", "mg per l",
    ],
)  # fmt: skip
def test_spellings_of_milligrams_per_litre(unit):
    assert concentration_unit(unit) == ("mass", 1.0, None)


@pytest.mark.parametrize(
    "unit",
    [
        "uS/cm",
        "µS/cm",
        "μS·cm⁻¹",
        "umhos/cm",
        "micromhos/cm",
        "uS/cm @25C",
        "µS/cm (25 °C)",
        "microS/cm",
    ],
)
def test_spellings_of_microsiemens_per_centimetre(unit):
    assert conductivity_us_cm(1.0, unit) == 1.0


@pytest.mark.parametrize(
    ("unit", "species"),
    [
        ("mg/l asNO3", "NO3"), ("mg(NO3)/L", "NO3"), ("mg NO3-N/L", "N"), ("mg/l (N)", "N"),
        ("mg/l als N", "N"),
        ("mg/l NO3-N", "N"), ("ug/L as P", "P"), ("mg F/L", "F"), ("mg HCO3/L", "HCO3"),
    ],
)  # fmt: skip
def test_species_in_the_unit(unit, species):
    assert concentration_unit(unit).species == species


@pytest.mark.parametrize(
    "unit", ["mg/l CaCO3", "mg/l CaCO3**", "ppm as CaCO3", "mg CaCO3/L", "mg/L CaCO₃"]
)
def test_as_calcium_carbonate(unit):
    assert concentration_unit(unit) == ("as CaCO3", 1.0, None)


def test_a_number_without_unit_is_told_what_to_write():
    with pytest.raises(UnitError, match="no unit is given; write mg/L or ppm"):
        hardness_mg_l_caco3("350")
    assert hardness_mg_l_caco3("350 ppm") == 350
