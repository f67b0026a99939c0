"""The simple carbonate relations against each other, against PHREEQC 3.8.6 and on known cases."""

import numpy as np
import pytest

from pretreat.chemistry.carbonate import (
    MOST_CO2_MOL_KG,
    bicarbonate_mol_l,
    log10_k1,
    log10_k2,
    ph_from_alkalinity_and_co2,
    pkw,
    slope_sm2330,
)
from pretreat.chemistry.ferric import log_gamma
from pretreat.chemistry.indexes import (
    LSI_TDS_LIMIT_MG_L,
    outside_stiff_davis_fit,
    stiff_davis_k,
)
from pretreat.chemistry.kinetics import (
    barite_growth_nm_h,
    gypsum_induction_min,
    nucleation_exponent,
)
from pretreat.chemistry.speciation import molal_totals, speciate


@pytest.mark.parametrize("alkalinity_mg_l", [20.0, 250.0, 2000.0])
@pytest.mark.parametrize("co2_mmol_l", [3e-4, 2e-3, 0.05, 0.8])
@pytest.mark.parametrize("temp_c", [5.0, 25.0, 40.0])
def test_ph_from_alkalinity_and_carbon_dioxide_by_phreeqc(alkalinity_mg_l, co2_mmol_l, temp_c):
    """Sodium bicarbonate: from CO2(aq) and alkalinity of PHREEQC back to its pH, 5.5 to 10.9."""
    import phreeqc

    engine = phreeqc.Phreeqc()
    assert engine.LoadBuiltInDatabase("wateq4f.dat") == 0
    sodium = alkalinity_mg_l / 50.0435
    gas = np.log10(co2_mmol_l * 1e-3)  # activity of a neutral species, all but its molality
    text = f"""
PHASES
    Fix_CO2
    CO2 = CO2
    log_k 0
SOLUTION 1
    units mmol/kgw
    temp {temp_c}
    pH 7 charge
    Na {sodium}
    C(4) {sodium}
EQUILIBRIUM_PHASES 1
    Fix_CO2 {gas:.10g} 10
SELECTED_OUTPUT
    -reset false
    -high_precision true
    -pH true
    -alkalinity true
    -ionic_strength true
    -molalities CO2
END
"""
    assert engine.RunString(text) == 0, engine.GetErrorString()
    row = {k: v[-1] for k, v in engine.GetSelectedOutput().items()}
    ours = ph_from_alkalinity_and_co2(row["Alk(eq/kgw)"], row["m_CO2(mol/kgw)"], row["mu"], temp_c)
    # NaHCO3 and NaCO3-, which the simple relations do not know, bind more the stronger the soda.
    assert ours == pytest.approx(row["pH"], abs=0.025 if alkalinity_mg_l < 1000.0 else 0.1)


def test_bicarbonate_and_carbon_dioxide_of_one_water_agree():
    """With no pair of ions about, the full model gives the same split."""
    found = speciate(
        {"K": 4e-3, "Cl": 1e-3}, temp_c=15.0, ph=9.2, alkalinity_eq_kg=3e-3, species=True
    )
    simple = bicarbonate_mol_l(3e-3, 9.2, float(found.ionic_strength_mol_kg), 15.0)
    assert found.molality["HCO3-"] == pytest.approx(float(simple), rel=0.02)


def test_what_the_alkalinity_holds_is_no_amount_of_its_own():
    """Bicarbonate and carbonate of a report are its alkalinity; what bears no ion adds nothing."""
    plain = molal_totals({"ca": 80.0, "cl": 60.0}, 150.0)
    same = molal_totals({"ca": 80.0, "cl": 60.0, "hco3": 183.0, "co3": 5.0}, 150.0)
    assert same == plain


def test_activity_coefficient_with_a_slope():
    """Ca+2 with gamma 5.0 0.165 (wateq4f.dat), as PHREEQC 3.8.6 has it."""
    import phreeqc

    engine = phreeqc.Phreeqc()
    assert engine.LoadBuiltInDatabase("wateq4f.dat") == 0
    text = """
SOLUTION 1
    units mmol/kgw
    temp 15
    pH 7
    Na 200
    Cl 200 charge
    Ca 0.01
SELECTED_OUTPUT
    -reset false
    -high_precision true
    -ionic_strength true
    -molalities Ca+2
    -activities Ca+2
END
"""
    assert engine.RunString(text) == 0, engine.GetErrorString()
    row = {k: v[-1] for k, v in engine.GetSelectedOutput().items()}
    water = speciate({"Na": 0.2, "Cl": 0.2}, temp_c=15.0, ph=7.0, alkalinity_eq_kg=0.0)
    ours = log_gamma({"species": "Ca+2", "gamma_a": "5.0", "gamma_b": "0.165"}, water)
    expected = row["la_Ca+2"] - np.log10(row["m_Ca+2(mol/kgw)"])
    assert float(ours) == pytest.approx(expected, abs=5e-4)


@pytest.mark.parametrize("ph", [5.8, 8.2, 9.6, 10.4])
@pytest.mark.parametrize("strength", [0.004, 0.3])
def test_ph_is_the_one_whose_mass_actions_give_the_alkalinity(ph, strength):
    """Stumm and Morgan, mass action with activities, Davies for charges one and two."""
    temp_c, co2 = 12.0, 2e-5
    root = strength**0.5
    davies = slope_sm2330(temp_c) * (root / (1.0 + root) - 0.3 * strength)
    one, two, activity = 10.0**-davies, 10.0 ** (-4.0 * davies), 10.0**-ph
    hco3 = 10.0 ** log10_k1(temp_c) * co2 / activity / one
    co3 = 10.0 ** log10_k2(temp_c) * hco3 * one / activity / two
    oh = 10.0 ** -pkw(temp_c) / activity / one
    alkalinity = hco3 + 2.0 * co3 + oh - activity / one
    assert ph_from_alkalinity_and_co2(alkalinity, co2, strength, temp_c) == pytest.approx(
        ph, abs=1e-9
    )
    assert bicarbonate_mol_l(alkalinity, ph, strength, temp_c) == pytest.approx(hco3, rel=1e-9)


def test_fits_of_printed_points_worked_by_hand():
    """The fits' own coefficients: what lies between the printed points is theirs alone."""
    # 1.9766 + 1.9185 x 1.41421/2.41421 - 0.15183 x 2 - 0.01471 x 4
    assert stiff_davis_k(2.0, 25.0) == pytest.approx(2.73793, abs=2e-5)
    # 10 degrees colder, I = 1: 1.9766 + 0.16417 + 0.00441 + 0.95925 - 0.15183 - 0.0129 - 0.01471
    assert stiff_davis_k(1.0, 15.0) == pytest.approx(2.92499, abs=2e-5)
    # ln t = 0.368 + 29.11 / 3.04785^2 = 3.50170
    assert gypsum_induction_min(21.07) == pytest.approx(33.172, rel=1e-3)
    assert nucleation_exponent(0.0, 25.0, 0.093, 52.1) == np.inf
    assert nucleation_exponent([0.2, -1.0], 25.0, 0.093, 52.1)[1] == np.inf
    assert np.isfinite(nucleation_exponent(0.2, 25.0, 0.093, 52.1))
    # exp(13.59 - 35000 / (8.31446 x 298.15)) = 0.58873, times 10^1.1 - 1 = 11.58925
    assert barite_growth_nm_h(1.1, 25.0) == pytest.approx(6.823, rel=1e-3)


def test_a_water_that_no_gas_pressure_gives_is_no_water():
    """Above 0.5 mol/kg of CO2, some 15 bar over the water at 25 degrees (PB82, K0)."""
    per_bar = 10.0**-1.468  # mol/kg and bar at 25 degrees, PB82
    assert pytest.approx(15.0, rel=0.03) == MOST_CO2_MOL_KG / per_bar


def test_ranges_are_those_of_the_sources():
    """Fit of K over Pitzer speciation, 0.02 to 2.5 mol/kg and 5 to 45 °C; D3739: LSI to 10 g/L."""
    inside = [(0.02, 5.0), (2.5, 45.0), (0.5, 25.0)]
    outside = [(0.0199, 25.0), (2.51, 25.0), (0.5, 4.9), (0.5, 45.1)]
    for strength, temp_c in inside:
        assert not outside_stiff_davis_fit(strength, temp_c)
    for strength, temp_c in outside:
        assert outside_stiff_davis_fit(strength, temp_c)
    assert LSI_TDS_LIMIT_MG_L == 10_000.0
