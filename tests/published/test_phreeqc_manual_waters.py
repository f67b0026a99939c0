"""Waters published with their speciation in the USGS PHREEQC manuals (printed).

Three editions of the manual give the same seawater SI of calcite of 0.76, 0.68 and 0.78, so
0.1 is the honest tolerance between databases. The values printed here were computed with
phreeqc.dat, whose sulfate pairs are stronger than those of wateq4f.dat.
"""

import pytest

from pretreat.chemistry.speciation import molal_totals, speciate

BETWEEN_EDITIONS = 0.1


def test_seawater_of_nordstrom_and_others_1979():
    """PHREEQC example 1, in ppm (mg/kg of solution, as mg/L with density 1); pH 8.22, 25 °C."""
    mg_l = {"ca": 412.3, "mg": 1291.8, "na": 10768.0, "k": 399.1, "fe": 0.002, "mn": 0.0002,
            "sio2": 4.28, "cl": 19353.0, "so4": 2712.0, "no3": 0.29, "nh4": 0.03}  # fmt: skip
    totals = molal_totals(mg_l, 141.682 / 1.219271)
    water = speciate(totals.mol_kg, temp_c=25.0, ph=8.22, alkalinity_eq_kg=totals.alkalinity_eq_kg)
    for mineral, si in (("calcite", 0.78), ("aragonite", 0.64), ("gypsum", -0.72),
                        ("anhydrite", -0.94), ("silica", -1.35)):  # fmt: skip
        assert float(water.si(mineral)) == pytest.approx(si, abs=BETWEEN_EDITIONS)
    assert float(water.ionic_strength_mol_kg) == pytest.approx(0.6745, rel=0.05)
    assert float(water.water_activity) == pytest.approx(0.981, abs=0.001)


def test_madison_aquifer_recharge_water():
    """Example 18 (Plummer and others 1990), 9.9 °C: I 0.00661, SI calcite -0.04, gypsum -2.55."""
    water = speciate(
        {"Ca": 1.20e-3, "Mg": 1.01e-3, "Na": 2e-5, "K": 2e-5, "Cl": 2e-5, "SO4": 1.6e-4},
        temp_c=9.9,
        ph=7.55,
        inorganic_carbon_mol_kg=4.30e-3,
    )
    assert float(water.ionic_strength_mol_kg) == pytest.approx(0.00661, rel=0.02)
    assert float(water.si("calcite")) == pytest.approx(-0.04, abs=0.05)
    assert float(water.si("gypsum")) == pytest.approx(-2.55, abs=BETWEEN_EDITIONS)


def test_madison_aquifer_mysse_well():
    """Example 18, 63 °C: I 0.0661, SI calcite 0.37, anhydrite -0.01, gypsum -0.16.

    At 63 °C the two databases themselves lie 0.13 apart for anhydrite (PHREEQC with
    wateq4f.dat gives -0.14), hence the wider tolerance for the sulfates.
    """
    water = speciate(
        {"Ca": 11.28e-3, "Mg": 4.54e-3, "Na": 31.89e-3, "K": 2.54e-3, "Cl": 17.85e-3,
         "SO4": 19.86e-3},
        temp_c=63.0,
        ph=6.61,
        inorganic_carbon_mol_kg=6.87e-3,
    )  # fmt: skip
    assert float(water.ionic_strength_mol_kg) == pytest.approx(0.0661, rel=0.1)
    assert float(water.si("calcite")) == pytest.approx(0.37, abs=BETWEEN_EDITIONS)
    assert float(water.si("anhydrite")) == pytest.approx(-0.01, abs=0.15)
    assert float(water.si("gypsum")) == pytest.approx(-0.16, abs=0.15)


@pytest.mark.parametrize(
    ("ph", "amounts", "si_gypsum"),
    [
        (6.2, (0.273, 0.078, 0.029, 0.134, 0.028, 0.328, 0.010, 0.014), -4.65),
        (6.8, (0.410, 0.260, 0.071, 0.259, 0.040, 0.895, 0.025, 0.030), -3.80),
    ],
)
def test_sierra_springs_of_garrels_and_mackenzie(ph, amounts, si_gypsum):
    """Example 16, mmol/L: ephemeral and perennial springs, 25 °C; SI gypsum (printed)."""
    names = ("Si", "Ca", "Mg", "Na", "K", "alk", "SO4", "Cl")
    totals = {n: a * 1e-3 for n, a in zip(names, amounts, strict=True)}
    alkalinity = totals.pop("alk")
    water = speciate(totals, temp_c=25.0, ph=ph, alkalinity_eq_kg=alkalinity)
    assert float(water.si("gypsum")) == pytest.approx(si_gypsum, abs=0.05)
