"""What must hold whatever the constants: charge, closure, forward and inverse, monotony."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pretreat.chemistry.speciation import molal_totals, speciate
from pretreat.core.errors import OutOfRangeError
from pretreat.core.tables import analytes
from tests.chemistry.waters import seeded_waters

SOLVER = 1e-8  # relative closure of the solver, with room


@pytest.fixture(scope="module")
def water():
    mg_l, alkalinity, ph, temp = seeded_waters(200, seed=7)
    totals = molal_totals(mg_l, alkalinity)
    return totals, speciate(
        totals.mol_kg, temp_c=temp, ph=ph, alkalinity_eq_kg=totals.alkalinity_eq_kg, species=True
    )


def test_every_component_closes(water):
    totals, found = water
    for name, total in totals.mol_kg.items():
        np.testing.assert_allclose(found.totals_mol_kg[name], total, rtol=SOLVER)
    np.testing.assert_allclose(found.alkalinity_eq_kg, totals.alkalinity_eq_kg, rtol=SOLVER)


def test_charge_of_species_is_charge_of_totals(water):
    """An unbalanced analysis stays unbalanced by the same amount: nothing is repaired.

    Alkalinity carries the charge of carbonate, hydroxide, borate and silicate; a phosphate
    keeps one charge at the end point of the titration.
    """
    totals, found = water
    charge = -found.alkalinity_eq_kg
    for key, ion in analytes().items():
        if ion.component in totals.mol_kg and key not in {"hco3", "co3"}:
            z = -1 if key == "po4" else ion.charge
            charge = charge + z * totals.mol_kg[ion.component]
    np.testing.assert_allclose(found.charge_eq_kg, charge, atol=1e-9)


def test_ph_from_alkalinity_and_carbon_inverts_alkalinity_from_ph(water):
    totals, found = water
    back = speciate(
        totals.mol_kg,
        temp_c=found.temp_c,
        alkalinity_eq_kg=found.alkalinity_eq_kg,
        inorganic_carbon_mol_kg=found.inorganic_carbon_mol_kg,
    )
    np.testing.assert_allclose(back.ph, found.ph, atol=1e-7)
    again = speciate(
        totals.mol_kg,
        temp_c=found.temp_c,
        ph=back.ph,
        inorganic_carbon_mol_kg=found.inorganic_carbon_mol_kg,
    )
    np.testing.assert_allclose(again.alkalinity_eq_kg, found.alkalinity_eq_kg, rtol=1e-6)
    np.testing.assert_allclose(back.co2_mol_kg, found.co2_mol_kg, rtol=1e-6)


def test_one_water_and_many_are_one_path(water):
    totals, found = water
    i = 17
    single = speciate(
        {k: v[i] for k, v in totals.mol_kg.items()},
        temp_c=found.temp_c[i],
        ph=found.ph[i],
        alkalinity_eq_kg=totals.alkalinity_eq_kg[i],
    )
    assert single.ph.shape == ()
    assert float(single.si("barite")) == pytest.approx(found.si("barite")[i], abs=1e-8)


@settings(max_examples=150, deadline=None)
@given(
    ph=st.floats(3.0, 11.5),
    temp=st.floats(0.0, 60.0),
    ca=st.floats(1e-6, 0.05),
    na=st.floats(1e-6, 3.0),
    so4=st.floats(1e-7, 0.3),
    f=st.floats(1e-7, 1e-2),
    alk=st.floats(1e-5, 0.05),
)
def test_any_water_closes_or_says_so(ph, temp, ca, na, so4, f, alk):
    found = speciate(
        {"Ca": ca, "Na": na, "Cl": na, "SO4": so4, "F": f, "Si": 5e-4, "B": 1e-5},
        temp_c=temp, ph=ph, alkalinity_eq_kg=alk,
    )  # fmt: skip
    if found.converged:
        assert found.residual < 1e-6
        assert np.isfinite(found.si("gypsum"))
    else:
        assert np.isnan(found.si("gypsum"))


@pytest.mark.parametrize("temp_c", [-1.0, 90.5, float("nan")])
def test_temperature_is_never_extrapolated(temp_c):
    with pytest.raises(OutOfRangeError, match="PB82"):
        speciate({"Ca": 1e-3}, temp_c=temp_c, ph=7.0)


def test_in_a_batch_a_bad_water_is_a_gap():
    found = speciate({"Ca": np.array([1e-3, 1e-3])}, temp_c=np.array([20.0, 95.0]), ph=7.0)
    assert found.converged.tolist() == [True, False]
    assert np.isnan(found.ph[1])
