"""Ammonia and boron in the product by their forms; passages as a person names them."""

import numpy as np
import pytest

from pretreat.chemistry.composition import ion_sums_meq_l
from pretreat.core.tables import rows
from pretreat.membrane.balance import (
    IonPassage,
    NamedPassage,
    ammonia_share,
    boric_acid_share,
    neutral_passage,
)
from pretreat.membrane.concentrate import concentrate
from pretreat.membrane.feed import feed_water
from pretreat.membrane.permeate import permeate
from tests.chemistry.phreeqc_reference import ELEMENT

GENERIC = IonPassage({row["key"]: float(row["passage"]) for row in rows("salt_passage.csv")})
SODA = {
    "ca": 1.0, "mg": 0.3, "na": 78.4, "k": 1.0, "so4": 12.0, "cl": 60.0, "f": 0.3, "sio2": 15.0,
    "b": 2.0, "nh4": 5.0, "no3": 2.0,
}  # fmt: skip
NITRATE = {
    "ca": 110.0, "mg": 18.0, "na": 25.6, "k": 6.0, "so4": 60.0, "cl": 70.0, "no3": 125.0,
    "sio2": 14.0,
}  # fmt: skip


def _shares(ph):
    """NH3 / ammonia and H3BO3 / boron by PHREEQC with wateq4f.dat. [-]"""
    phreeqc = pytest.importorskip("phreeqc")
    engine = phreeqc.Phreeqc()
    assert engine.LoadBuiltInDatabase("wateq4f.dat") == 0
    basis = {"nh4": "NH4", "so4": "SO4", "no3": "NO3", "sio2": "SiO2"}
    symbol = {"ca": "Ca", "mg": "Mg", "na": "Na", "k": "K", "cl": "Cl", "f": "F", "b": "B"}
    lines = ["SOLUTION 1", "units mg/l", "temp 20", f"pH {ph}", "Alkalinity 109.73 as HCO3"]
    for key, amount in SODA.items():
        tail = f" as {basis[key]}" if key in basis else ""
        lines.append(f"{ELEMENT.get(key, symbol.get(key))} {amount}{tail}")
    lines += ["SELECTED_OUTPUT", "-reset false", "-totals N(-3) B", "-molalities NH3 H3BO3", "END"]
    assert engine.RunString("\n".join(lines) + "\n") == 0
    out = {k: v[-1] for k, v in engine.GetSelectedOutput().items()}
    return (
        out["m_NH3(mol/kgw)"] / out["N(-3)(mol/kgw)"],
        out["m_H3BO3(mol/kgw)"] / out["B(mol/kgw)"],
    )


@pytest.mark.parametrize("ph", [6.5, 8.0, 9.0, 9.8])
def test_shares_are_those_of_phreeqc_and_pass_as_gas_and_ion(ph):
    """Outside reference: PHREEQC 3.8.6, wateq4f.dat."""
    gas, acid = _shares(ph)
    feed = feed_water(SODA, 90.0, ph, 20.0)
    assert float(ammonia_share(feed.speciation)) == pytest.approx(gas, rel=0.005)
    assert float(boric_acid_share(feed.speciation)) == pytest.approx(acid, rel=0.005)
    product = permeate(feed, concentrate(feed, 0.5, GENERIC), GENERIC)
    passed = float(product.mg_l["nh4"]) / SODA["nh4"]
    assert gas <= passed < gas + 0.1 * (1.0 - gas)  # 5 % of the ammonium, moved by neutrality
    boron = float(product.mg_l["b"]) / SODA["b"]
    assert 0.4 * acid <= boron * 1.005 < 0.4 * acid + 0.05 * (1.0 - acid) + 0.01


@pytest.mark.parametrize("rho", [0.0, 0.5])
def test_a_gas_leaves_mass_carbon_and_charge_closed(rho):
    feed = feed_water(SODA, 90.0, 9.8, 20.0)
    brine = concentrate(feed, 0.5, GENERIC, rho)
    product = permeate(feed, brine, GENERIC, rho)
    for key in ("nh4", "b", "na"):
        total = 0.5 * product.mg_l[key] + 0.5 * brine.mg_l[key]
        assert float(total) == pytest.approx(SODA[key], rel=1e-9)
    carbon = [w.speciation.inorganic_carbon_mol_kg for w in (product, brine)]
    whole = float(feed.speciation.inorganic_carbon_mol_kg)
    assert 0.5 * float(sum(carbon)) == pytest.approx(whole, rel=1e-6)
    sums = ion_sums_meq_l(product.mg_l, product.alkalinity_mg_l_caco3)
    assert float(sums[0]) == pytest.approx(float(sums[1]), rel=1e-6)
    # Ammonia makes the product alkaline: by hand, 5 mg/L x share / 18.04 x 50.04 mg/L as CaCO3
    by_hand = 5.0 * float(ammonia_share(feed.speciation)) / 18.04 * 50.04
    assert float(product.alkalinity_mg_l_caco3) > by_hand * (1.0 - 0.01)


@pytest.mark.parametrize("rho", [0.0, 0.6])
@pytest.mark.parametrize(
    ("named", "closer"),
    [
        ({"no3": 0.3}, "na"),
        ({"na": 0.1, "cl": 0.02}, "hco3"),
        ({"no3": 0.3, "cl": 0.05, "default": 0.02}, "na"),
        (
            {"ca": 0.01, "mg": 0.01, "na": 0.06, "k": 0.06, "cl": 0.05, "so4": 0.01,
             "hco3": 0.06, "no3": 0.4},
            "na",
        ),
        ({"no3": 0.9}, "ca"),
    ],
)  # fmt: skip
def test_passages_named_are_kept_and_the_product_is_neutral(named, closer, rho):
    """Electroneutrality; what is named is printed, but for the ion that has to close it."""
    feed = feed_water(NITRATE, 150.0, 7.0, 13.0)
    passage = NamedPassage(named)
    brine = concentrate(feed, 0.5, passage, rho)
    product = permeate(feed, brine, passage, rho)
    sums = ion_sums_meq_l(product.mg_l, product.alkalinity_mg_l_caco3)
    assert float(sums[0]) == pytest.approx(float(sums[1]), rel=1e-6)
    assert float(sums[0]) > 0.0
    for key in {"no3", "cl"} & set(named):  # of the sign that is not short
        assert float(brine.passage[key]) == pytest.approx(named[key], abs=1e-12)
    assert float(brine.passage[closer]) > named.get(closer, 0.0)
    assert all(0.0 <= float(v) <= 1.0 for v in brine.passage.values())


def test_waters_side_by_side_are_as_one_by_one():
    names = NamedPassage({"no3": 0.4, "na": 0.06, "cl": 0.05})
    nitrate = np.array([125.0, 10.0, 300.0])
    many = feed_water(NITRATE | {"no3": nitrate}, np.full(3, 150.0), np.full(3, 7.0), 13.0)
    together = neutral_passage(many, 0.5, names)
    for i, amount in enumerate(nitrate):
        one = feed_water(NITRATE | {"no3": float(amount)}, 150.0, 7.0, 13.0)
        alone = neutral_passage(one, 0.5, names)
        for key, value in alone.items():
            here = np.broadcast_to(together[key], (3,))[i]
            assert float(here) == pytest.approx(float(value), rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("recovery", [0.3, 0.8])
def test_one_number_for_all_ions_has_no_forms(recovery):
    """One passage is one passage: limits of the recovery rest on it."""
    feed = feed_water(SODA, 90.0, 9.0, 20.0)
    own = neutral_passage(feed, recovery, NamedPassage({"default": 0.02}))
    assert all(float(v) == 0.02 for v in own.values())
