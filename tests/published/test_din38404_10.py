"""DIN 38404-10: calcite saturation of natural waters.

1995 edition, Table 6, and 2012 edition, Table 4; printed values quoted second-hand (the
standard itself was not opened). Concentrations in mmol/L. The standard's own ion pairs and
constants differ a little from ours, so its values are met to 0.03, as two editions of the
standard meet each other.
"""

import pytest

from pretreat.chemistry.ccpp import calcite_equilibrium
from pretreat.chemistry.speciation import speciate

BETWEEN_EDITIONS = 0.03

# number: pH at T, T, Tb, DIC, Ca, Mg, Na, K, Cl, NO3, SO4 | pH(Tb), pHc, SI, D (+ dissolves)
EDITION_1995 = {
    1: ((6.90, 20, 10, 6.680), (3.50, 0.75, 2.05, 0.15, 2.50, 0.50, 1.20), (6.98, 7.07, -0.15, 0.20)),
    2: ((8.20, 15, 11, 1.661), (1.24, 0.41, 0.90, 0.07, 0.90, 0.55, 0.58), (8.25, 8.00, 0.27, -0.03)),
    3: ((7.90, 20, 5.5, 2.456), (1.22, 0.35, 0.15, 0.05, 0.16, 0.07, 0.35), (8.05, 7.90, 0.17, -0.03)),
    4: ((8.40, 17, 12, 0.941), (0.57, 0.10, 0.21, 0.02, 0.34, 0.08, 0.10), (8.47, 8.46, 0.01, 0.00)),
    5: ((8.90, 20, 10, 0.329), (0.30, 0.15, 0.30, 0.05, 0.30, 0.20, 0.20), (9.08, 9.22, -0.15, 0.01)),
}  # fmt: skip

# number: pH, T, KS4.3, (Ca, Mg, Na, K, Cl, NO3, SO4, PO4) | I mmol/L, pHc, DIC
EDITION_2012 = {
    1: ((7.34, 10, 2.50), (1.40, 0.23, 0.30, 0.05, 0.25, 0.15, 0.38, 0.0), (5.36, 7.66, 2.74)),
    2: ((7.80, 15, 1.63), (0.75, 0.10, 0.40, 0.10, 0.30, 0.03, 0.15, 0.0), (3.12, 8.05, 1.63)),
    3: ((7.00, 10, 5.45), (3.50, 0.70, 2.30, 0.30, 2.70, 0.50, 1.20, 0.0), (15.17, 7.08, 6.72)),
    4: ((5.60, 10, 0.22), (0.15, 0.05, 0.30, 0.10, 0.34, 0.18, 0.05, 0.0), (1.04, 7.77, 1.38)),
    5: ((7.37, 10, 2.50), (1.40, 0.25, 0.40, 0.07, 0.55, 0.20, 0.25, 0.07), (5.48, 7.67, 2.66)),
}
M_VALUE_SHIFT = 0.05  # the standard: m-value = KS4.3 - 0.05 mmol/L


def _totals(amounts, names):
    return {name: a * 1e-3 for name, a in zip(names, amounts, strict=True)}


@pytest.mark.parametrize("number", EDITION_1995)
def test_1995_table_6(number):
    (ph, temp, temp_b, dic), amounts, (ph_b, ph_c, si, d) = EDITION_1995[number]
    totals = _totals(amounts, ("Ca", "Mg", "Na", "K", "Cl", "NO3", "SO4"))
    measured = speciate(totals, temp_c=temp, ph=ph, inorganic_carbon_mol_kg=dic * 1e-3)
    water = speciate(
        totals,
        temp_c=temp_b,
        alkalinity_eq_kg=measured.alkalinity_eq_kg,
        inorganic_carbon_mol_kg=dic * 1e-3,
    )
    settled = calcite_equilibrium(water)
    assert float(water.ph) == pytest.approx(ph_b, abs=BETWEEN_EDITIONS)
    assert float(settled.ph) == pytest.approx(ph_c, abs=BETWEEN_EDITIONS)
    assert float(water.si("calcite")) == pytest.approx(si, abs=BETWEEN_EDITIONS)
    assert -1e3 * float(settled.precipitates_mol_kg) == pytest.approx(
        d, abs=BETWEEN_EDITIONS + 0.005
    )


@pytest.mark.parametrize("number", EDITION_2012)
def test_2012_table_4(number):
    (ph, temp, ks), amounts, (strength, ph_c, dic) = EDITION_2012[number]
    totals = _totals(amounts, ("Ca", "Mg", "Na", "K", "Cl", "NO3", "SO4", "PO4"))
    water = speciate(totals, temp_c=temp, ph=ph, alkalinity_eq_kg=(ks - M_VALUE_SHIFT) * 1e-3)
    assert 1e3 * float(water.ionic_strength_mol_kg) == pytest.approx(strength, abs=0.02)
    assert float(calcite_equilibrium(water).ph) == pytest.approx(ph_c, abs=BETWEEN_EDITIONS)
    assert 1e3 * float(water.inorganic_carbon_mol_kg) == pytest.approx(dic, abs=0.04)
