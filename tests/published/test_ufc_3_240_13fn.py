"""UFC 3-240-13FN (25 May 2005), Appendix B: examples B-1 and B-2, Table B-2 (printed)."""

import numpy as np
import pytest

from pretreat.chemistry.indexes import TradeWater, hand_phs, puckorius, ryznar
from pretreat.core.units import molar_mass, temperature_c

HALF_LAST_DIGIT = 0.005
TABLE_B2 = {32: 2.60, 40: 2.48, 50: 2.34, 60: 2.20, 70: 2.06, 80: 1.95, 90: 1.84, 100: 1.74,
            110: 1.65, 120: 1.57, 130: 1.48, 140: 1.40, 150: 1.32, 160: 1.26, 170: 1.19}  # fmt: skip
# The closed form of B and the table differ by up to 0.11 (computed from both).
TABLE_AGAINST_CLOSED_FORM = 0.115


def _water(temp_f: float) -> TradeWater:
    calcium = 500 * molar_mass("Ca") / molar_mass("CaCO3")
    return TradeWater(calcium, 100.0, 1000.0, 0.025, temperature_c(temp_f, "F"))


def _closed_b(temp_f: float) -> float:
    """Take B out of our closed form: it is all that depends on temperature."""
    a, c, d = 0.2, np.log10(500) - 0.4, 2.0
    return float(hand_phs(_water(temp_f))) - 9.3 - a + c + d


@pytest.mark.parametrize("temp_f", TABLE_B2)
def test_closed_form_of_b_stays_near_the_table(temp_f):
    assert _closed_b(temp_f) == pytest.approx(TABLE_B2[temp_f], abs=TABLE_AGAINST_CLOSED_FORM)


def test_example_b1_with_the_tabulated_b():
    """TDS 1000, Ca 500, Alk 100, 120 °F: pHs 6.77 and, with pH 8.2, LSI +1.43 (printed)."""
    phs = float(hand_phs(_water(120))) - _closed_b(120) + TABLE_B2[120]
    assert phs == pytest.approx(6.77, abs=HALF_LAST_DIGIT)
    assert 8.2 - phs == pytest.approx(1.43, abs=HALF_LAST_DIGIT)


def test_example_b1_with_the_closed_form():
    """The closed form gives 6.847 (computed), 0.08 above the printed value."""
    assert float(hand_phs(_water(120))) == pytest.approx(6.847, abs=0.003)


def test_example_b2_ryznar_and_puckorius():
    """PHs 6.77, pH 8.2, Alk 100: RSI 5.34 and PSI 6.07 (printed; pHeq 7.47 from its table).

    The text prints a slope of 1.485, which contradicts its own table; 1.465 gives 7.47.
    """
    assert ryznar(6.77, 8.2) == pytest.approx(5.34, abs=HALF_LAST_DIGIT)
    assert float(puckorius(6.77, 100.0)) == pytest.approx(6.07, abs=HALF_LAST_DIGIT)
