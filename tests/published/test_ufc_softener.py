"""UFC13FN: UFC 3-240-13FN, 25 May 2005, section 2-2.5.1, operation of softeners; and the units
in which it and the other public manuals print."""

import pytest

from pretreat.core.units import (
    GRAM_PER_GRAIN,
    GRAM_PER_POUND,
    LITRE_PER_CUBIC_FOOT,
    LITRE_PER_US_GALLON,
    METRE_PER_FOOT,
    quantity,
)
from pretreat.stages.softener import laws as softener
from pretreat.stages.softener import regeneration

BV_PER_GAL_FT3 = LITRE_PER_US_GALLON / LITRE_PER_CUBIC_FOOT


def test_slow_rinse_stands_inside_the_printed_range():
    """2-2.5.1.2: 7.5 to 22.5 gal/ft3, that is 1.0 to 3.0 BV."""
    low, high = 7.5 * BV_PER_GAL_FT3, 22.5 * BV_PER_GAL_FT3
    assert low == pytest.approx(1.0, rel=1e-2)
    assert high == pytest.approx(3.01, rel=1e-2)
    assert low <= regeneration.SLOW_RINSE_BV <= high


def test_fast_rinse_stands_inside_the_printed_range():
    """2-2.5.1.2.4: 35 to 100 gal/ft3 at 1.5 to 2 gpm/ft3."""
    low, high = 35.0 * BV_PER_GAL_FT3, 100.0 * BV_PER_GAL_FT3
    assert low == pytest.approx(4.68, rel=1e-2)
    assert high == pytest.approx(13.4, rel=1e-2)
    assert low <= regeneration.FAST_RINSE_BV <= high
    slow, fast = (rate * BV_PER_GAL_FT3 * 60.0 for rate in (1.5, 2.0))
    assert slow == pytest.approx(12.0, rel=1e-2)
    assert slow <= regeneration.FAST_RINSE_BV_H <= fast


def test_printed_rinse_volumes_and_rates_give_longer_times_than_printed():
    """Computed: 17.5 and 66.7 min, against the 5 to 15 min printed elsewhere."""
    assert pytest.approx(17.5, rel=1e-3) == 35.0 / 2.0
    assert pytest.approx(66.7, rel=1e-3) == 100.0 / 1.5


def test_resin_is_replaced_at_a_loss_of_a_quarter():
    """2-2.5.1.4.4: 25 % loss of capacity."""
    assert pytest.approx(0.75) == softener.END_OF_LIFE_CAPACITY


def test_total_regeneration_water_of_another_manual():
    """WTPD4 p. 12.46: about 80 gal/ft3; 2400 gal/ft3 of throughput over it gives 30."""
    assert pytest.approx(10.69, rel=1e-3) == 80.0 * BV_PER_GAL_FT3
    assert pytest.approx(80.0 * BV_PER_GAL_FT3, rel=1e-2) == regeneration.PUBLISHED_WASTE_BV
    assert 2400.0 / 80.0 == 30.0


@pytest.mark.parametrize(
    ("text", "unit", "expected", "rel"),
    [
        ("7 gpm", "m3/h", 17.1 * METRE_PER_FOOT**2, 5e-3),  # 7 gpm/ft2, TSS
        ("6 gpm", "m3/h", 14.7 * METRE_PER_FOOT**2, 5e-3),  # backwash, low, TSS
        ("8 gpm", "m3/h", 19.6 * METRE_PER_FOOT**2, 5e-3),  # backwash, high, TSS
        ("10 gpm", "m3/h", 24.4 * METRE_PER_FOOT**2, 5e-3),  # greensand backwash, NR 811
        ("15 gpm", "m3/h", 36.7 * METRE_PER_FOOT**2, 5e-3),  # coated media, NR 811
        ("20 gpm", "m3/h", 48.9 * METRE_PER_FOOT**2, 5e-3),  # coated media, NR 811
        ("3 gpm", "m3/h", 7.33 * METRE_PER_FOOT**2, 2e-3),  # greensand service, TSS
        ("12 gpm", "m3/h", 29.3 * METRE_PER_FOOT**2, 5e-3),  # contactor, OPFLOW2021
        ("3 ft", "m", 0.914, 1e-3),  # least bed depth, TSS
        ("24 in", "m", 0.61, 2e-3),  # wash water collector above the resin, TSS
        ("6 in", "m", 0.152, 5e-3),  # anthracite cap, TSS
        ("15 psi", "bar", 1.034, 1e-3),  # pressure drop at rated flow, NSF44
    ],
)  # fmt: skip
def test_rates_and_depths_of_the_public_codes(text, unit, expected, rel):
    """Printed in customary units; each is read through the program's own units."""
    assert quantity(text, unit) == pytest.approx(expected, rel=rel)


def test_salt_efficiencies():
    """Printed (trade press on NSF/ANSI 44, California, a sewer district); converted here."""
    per_gram = GRAM_PER_POUND / GRAM_PER_GRAIN
    assert per_gram / 3350.0 == pytest.approx(2.0896, rel=1e-3)
    assert per_gram / 4000.0 == pytest.approx(1.75, rel=1e-3)
    litre_per_gram = LITRE_PER_US_GALLON / (1000.0 * GRAM_PER_GRAIN)
    assert 5.0 * litre_per_gram == pytest.approx(0.2921, rel=1e-3)
    assert 2.5 * litre_per_gram == pytest.approx(0.146, rel=1e-3)
    assert pytest.approx(2.1, rel=1e-3) == 0.3 * GRAM_PER_POUND / (1000.0 * GRAM_PER_GRAIN)
