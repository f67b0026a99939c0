"""PB82: Plummer and Busenberg (1982), doi:10.1016/0016-7037(82)90056-4.

The printed constants at 25 °C are from the abstract; the table at other temperatures is the
authors' own expressions evaluated (computed), as used by Standard Methods 2330.
"""

import pytest

from pretreat.chemistry.carbonate import log10_k1, log10_k2, log10_ksp_calcite, pkw, slope_sm2330
from pretreat.chemistry.species import minerals
from pretreat.core.units import ZERO_C_IN_K

HALF_LAST_DIGIT = 0.00051
# t: pK1, pK2, pK calcite, pK aragonite, pKw, A
TABLE = {
    0: (6.579, 10.629, 8.381, 8.218, 14.941, 0.4909),
    5: (6.516, 10.554, 8.394, 8.235, 14.732, 0.4944),
    10: (6.463, 10.488, 8.410, 8.255, 14.533, 0.4982),
    15: (6.419, 10.428, 8.430, 8.279, 14.345, 0.5022),
    20: (6.382, 10.376, 8.453, 8.306, 14.165, 0.5064),
    25: (6.352, 10.329, 8.480, 8.336, 13.995, 0.5108),
    30: (6.328, 10.288, 8.510, 8.370, 13.833, 0.5155),
    40: (6.297, 10.222, 8.580, 8.446, 13.532, 0.5255),
    50: (6.286, 10.174, 8.663, 8.536, 13.261, 0.5365),
    60: (6.290, 10.144, 8.759, 8.638, 13.016, 0.5485),
}


def test_calcite_at_25_c_is_the_printed_constant():
    """Abstract: log K = -8.480 ± 0.020 at 25 °C; the authors' own fit meets its rounding."""
    assert float(log10_ksp_calcite(25.0)) == pytest.approx(-8.480, abs=HALF_LAST_DIGIT)


@pytest.mark.parametrize("temp_c", TABLE)
def test_constants_over_temperature(temp_c):
    pk1, pk2, calcite, aragonite, water, slope = TABLE[temp_c]
    assert -float(log10_k1(temp_c)) == pytest.approx(pk1, abs=HALF_LAST_DIGIT)
    assert -float(log10_k2(temp_c)) == pytest.approx(pk2, abs=HALF_LAST_DIGIT)
    assert -float(log10_ksp_calcite(temp_c)) == pytest.approx(calcite, abs=HALF_LAST_DIGIT)
    found = minerals()["aragonite"].log_k_at(temp_c + ZERO_C_IN_K)
    assert -float(found) == pytest.approx(aragonite, abs=HALF_LAST_DIGIT)
    assert float(pkw(temp_c)) == pytest.approx(water, abs=HALF_LAST_DIGIT)  # from memory
    assert float(slope_sm2330(temp_c)) == pytest.approx(slope, abs=0.00006)  # from memory


def test_table_and_function_hold_one_constant():
    """The species table and the trade's formulas must not drift apart."""
    for temp_c in (0.0, 12.5, 25.0, 45.0):
        row = minerals()["calcite"].log_k_at(temp_c + ZERO_C_IN_K)
        assert float(row) == pytest.approx(float(log10_ksp_calcite(temp_c)), abs=1e-12)
