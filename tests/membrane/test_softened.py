"""Softening keeps alkalinity and inorganic carbon: pH against an exchanger of PHREEQC's."""

import numpy as np
import pytest

from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.core.units import molar_mass
from pretreat.membrane.concentrate import concentrate
from pretreat.membrane.feed import exchanged, feed_water, one_of_feed
from pretreat.membrane.limits import MembranePoint, limits_from
from pretreat.membrane.recovery import recovery_limit
from pretreat.plant.levers import _mixed, _softened, enter_levers
from pretreat.site.design import LimitChoices
from tests.chemistry.phreeqc_reference import ELEMENT, OUTPUT, Reference
from tests.chemistry.waters import seeded_waters

WATERS = 20
PH = 0.005
HARD = ("ca", "mg", "sr", "ba")
SITES = 2.0  # mol of exchange sites per kg of water: enough that hardly any hardness is left


@pytest.fixture(scope="module")
def feed():
    mg_l, alkalinity, ph, temp = seeded_waters(WATERS, seed=17)
    for key in ("fe", "mn", "nh4"):  # an exchanger takes these too; left out of the comparison
        del mg_l[key]
    return feed_water(mg_l, alkalinity, ph, temp)


def _by_exchange(reference, one):
    """Soften by SAVE / EXCHANGE / MIX of PHREEQC: X sites full of sodium, nothing else moves."""
    totals = one.speciation.totals_mol_kg
    lines = ["SOLUTION 1", "units mol/kgw", f"temp {float(one.temp_c):.10g}", "pH 7.5",
             f"C(4) {float(one.speciation.inorganic_carbon_mol_kg):.14g}",
             f"Alkalinity {float(one.speciation.alkalinity_eq_kg):.14g}"]  # fmt: skip
    for key in one.mg_l:
        ion = analytes()[key]
        lines.append(f"{ELEMENT.get(key, ion.symbol)} {float(totals[ion.component]):.14g}")
    # A strongly acidic resin in the sodium form takes no hydrogen from a neutral water.
    lines += ["EXCHANGE_SPECIES", "H+ + X- = HX", "log_k -20"]
    lines += ["END", "EXCHANGE 1", f"NaX {SITES}", "USE solution 1", "USE exchange 1"]
    text = "\n".join(lines) + "\n" + OUTPUT.replace("-totals C(4)", "-totals C(4) Ca Mg Sr Ba Na K")
    if reference.engine.RunString(text) != 0:
        raise RuntimeError(reference.engine.GetErrorString())
    return {k: v[-1] for k, v in reference.engine.GetSelectedOutput().items()}


def test_softened_ph_is_that_of_an_exchanger_at_constant_carbon(feed):
    reference = Reference()
    changes = []
    for i in range(WATERS):
        one = one_of_feed(feed, i)
        after = _by_exchange(reference, one)
        assert after["C(4)(mol/kgw)"] == pytest.approx(
            float(one.speciation.inorganic_carbon_mol_kg), rel=1e-4
        )
        kg_water = 1 - sum(float(v) for v in one.mg_l.values()) / 1e6
        soft = dict(one.mg_l)
        for key in (*HARD, "na", "k"):
            name = analytes()[key].symbol
            soft[key] = after[f"{name}(mol/kgw)"] * molar_mass(name) * 1e3 * kg_water
        found = exchanged(one, soft)
        assert float(found.ph) == pytest.approx(after["pH"], abs=PH)
        changes.append(float(found.ph - one.ph))
    assert max(map(abs, changes)) > 0.02  # keeping the raw pH would not pass


@pytest.mark.parametrize("raw_share", [0.0, 0.3, 1.0])
def test_levers_blend_at_the_raw_waters_alkalinity_and_carbon(feed, raw_share):
    one = one_of_feed(feed, 4)
    mixed = _mixed(one, _softened(one, 160.0), np.array([raw_share]))
    np.testing.assert_allclose(
        mixed.speciation.inorganic_carbon_mol_kg, one.speciation.inorganic_carbon_mol_kg, rtol=1e-9
    )
    np.testing.assert_allclose(
        mixed.speciation.alkalinity_eq_kg, one.speciation.alkalinity_eq_kg, rtol=1e-9
    )
    if raw_share == 1.0:
        np.testing.assert_allclose(mixed.ph, one.ph, atol=1e-4)


def test_the_lever_in_the_table_is_the_limit_of_the_softened_water(feed):
    one, point = one_of_feed(feed, 4), MembranePoint(0.6, {})
    ledger, choices = Ledger(), LimitChoices()
    soft = exchanged(one, _softened(one, point.salt_dose_g_l))
    limit = recovery_limit(soft, limits_from(choices, False))
    from pretreat.membrane.limits import enter_limits

    reach = enter_limits(ledger, one, concentrate(one, 0.6), point, choices, "")
    enter_levers(ledger, one, point, choices, reach)
    table = ledger.study().series["recovery.levers"]
    row = next(r for r in table.rows if r[0] == "softener")
    assert row[1] == pytest.approx(float(limit.maximum), abs=1e-4)


def test_water_of_unknown_alkalinity_keeps_its_ph():
    feed = feed_water({"ca": 80.0, "cl": 140.0}, np.nan, 7.3, 15.0)
    soft = exchanged(feed, {"ca": 1.0, "na": 91.0, "cl": 140.0})
    assert float(soft.ph) == pytest.approx(7.3)


def test_one_exchange_at_three_temperatures():
    """Coldest, operating and warmest water behind one softener, as a study takes them."""
    mg_l = {"ca": 118.0, "mg": 34.0, "na": 86.0, "cl": 138.0, "so4": 146.0}
    raw = feed_water(mg_l, 285.0, 7.35, 15.2, np.array([8.0, 15.2, 20.0]))
    soft = exchanged(raw, _softened(one_of_feed(raw, 1), 160.0))
    np.testing.assert_allclose(
        soft.speciation.inorganic_carbon_mol_kg, raw.speciation.inorganic_carbon_mol_kg, rtol=1e-12
    )
    assert np.all(soft.ph > raw.ph + 0.02)
    brine = concentrate(one_of_feed(soft, 0), 0.5)
    assert np.isfinite(float(brine.ph))
