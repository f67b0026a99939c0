"""HEN2011: Hendricks (2011), Fundamentals of Water Treatment Unit Processes, pp. 366-368."""

import pytest

from pretreat.core.errors import OutOfRangeError
from pretreat.stages.bed.hydraulics import (
    Grains,
    bed_expansion,
    expanded_porosity,
    fluidisation_velocity_amirtharajah_m_h,
    fluidisation_velocity_m_h,
    fluidised_head_loss_m,
)

SAND_KG_M3 = 2650.0  # inferred, as is the size (upper sieve opening): they fit the printed column


@pytest.mark.parametrize(
    ("size_mm", "temp_c", "printed_m_h", "rel"),
    [
        (2.0, 25.0, 87.5, 0.04), (2.0, 40.0, 97.6, 0.03), (1.4, 25.0, 57.2, 0.04),
        (1.4, 40.0, 67.3, 0.03), (1.0, 25.0, 34.2, 0.04), (1.0, 40.0, 42.8, 0.03),
        (0.6, 25.0, 13.3, 0.04), (0.6, 40.0, 18.0, 0.03),
    ],
)  # fmt: skip
def test_table_12_9_predicted_fluidisation(size_mm, temp_c, printed_m_h, rel):
    """Printed column of predictions by Eq. 12.56; size and density inferred, hence 3 to 4 %."""
    grains = Grains(size_mm, SAND_KG_M3, 0.42)
    assert fluidisation_velocity_m_h(grains, temp_c) == pytest.approx(printed_m_h, rel=rel)


CORNING_SAND = Grains(0.736, 2655.0, 0.407)  # d60, specific gravity and porosity printed, p. 367


def test_corning_sand_by_amirtharajah_and_cleasby():
    """Printed: 8.2 gpm/ft2 = 20.1 m/h; about 20 °C is inferred."""
    found = fluidisation_velocity_amirtharajah_m_h(CORNING_SAND, 20.0)
    assert found == pytest.approx(20.1, rel=0.015)


def test_amirtharajah_is_not_used_above_its_range():
    with pytest.raises(OutOfRangeError, match=r"12\.50"):
        fluidisation_velocity_amirtharajah_m_h(Grains(2.0, SAND_KG_M3, 0.42), 25.0)


def test_corning_sand_expanded():
    """Computed by an independent hand calculation from Eq. 12.53 and 12.55 at 30 m/h, 20 °C."""
    assert expanded_porosity(CORNING_SAND, 30.0, 20.0) == pytest.approx(0.460, rel=5e-3)
    assert bed_expansion(CORNING_SAND, 30.0, 20.0) == pytest.approx(0.098, rel=1e-2)


def test_corning_sand_lifted_head_loss():
    """Computed: buoyant weight of 0.457 m of the same sand."""
    assert fluidised_head_loss_m(CORNING_SAND, 0.457, 20.0) == pytest.approx(0.450, rel=5e-3)


@pytest.mark.parametrize(
    ("grains", "velocity_m_h", "temp_c", "expected"),
    [
        (Grains(0.65, 1270.0, 0.38), 14.67, 20.0, 0.515),
        (Grains(0.65, 1270.0, 0.38), 14.67, 10.0, 0.635),
        (Grains(0.65, 1270.0, 0.38), 19.56, 20.0, 0.697),
        (Grains(0.65, 1270.0, 0.38), 14.67, 5.0, 0.716),
        (Grains(0.40, 2400.0, 0.45), 29.34, 12.8, 0.442),
        (Grains(1.00, 1400.0, 0.45), 25.0, 10.0, 0.228),
    ],
)
def test_expansion_of_resin_greensand_and_carbon(grains, velocity_m_h, temp_c, expected):
    """Computed from Eq. 12.53 and 12.55 beforehand; grain data from memory."""
    assert bed_expansion(grains, velocity_m_h, temp_c) == pytest.approx(expected, rel=1e-2)
