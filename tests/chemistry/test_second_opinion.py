"""The second opinion: its own way from the fresh feed, recycle included; what it replaces."""

import numpy as np
import pytest
from msgspec.structs import replace

from pretreat.chemistry.second_opinion import Concentration, concentrate_opinions, second_opinions
from pretreat.core.results import Ledger
from pretreat.membrane.concentrate import concentrate
from pretreat.membrane.feed import feed_water, one_of_feed
from pretreat.membrane.opinion import concentration, enter_second_opinion
from tests.chemistry.phreeqc_reference import Reference
from tests.chemistry.waters import seeded_waters
from tests.membrane.phreeqc_loop import Loop

GENERIC = {"default": 0.02, "na": 0.05, "cl": 0.03, "ca": 0.005, "hco3": 0.04}


@pytest.fixture(scope="module")
def waters():
    mg_l, alkalinity, ph, temp = seeded_waters(6, seed=23)
    feed = feed_water(mg_l, alkalinity, ph, temp)
    return [one_of_feed(feed, i) for i in range(6)]


def _opinion(feed, brine, rho=0.0, database="wateq4f.dat"):
    fresh = feed.speciation
    totals = {k: float(v) for k, v in fresh.totals_mol_kg.items() if k != "CO3"}
    found = concentrate_opinions(totals, float(fresh.alkalinity_eq_kg), float(feed.ph),
                                 float(feed.temp_c), concentration(brine, rho))  # fmt: skip
    return {o.database: o for o in found}[database]


@pytest.mark.parametrize("rho", [0.0, 0.5, 0.9])
def test_with_our_own_database_it_finds_what_we_find(waters, rho):
    for feed in waters:
        brine = concentrate(feed, 0.8, GENERIC, rho)
        opinion = _opinion(feed, brine, rho)
        assert opinion.ph == pytest.approx(float(brine.ph), abs=0.001)
        assert opinion.si["barite"] == pytest.approx(float(brine.speciation.si("barite")), abs=5e-4)


def test_it_does_not_see_our_carbon(waters, monkeypatch):
    """A wrong carbon of ours is a difference between the columns, not a common fault."""
    feed = waters[0]
    right = concentrate(feed, 0.8, {}, 0.7)
    wrong = concentrate(feed, 0.8, {}, 0.2)  # another recycle: another pH
    wrong = replace(right, speciation=wrong.speciation)
    ledger = Ledger()
    enter_second_opinion(ledger, feed, wrong, 0.7)
    rows = {r[0]: r for r in ledger.study().series["second_opinion.si"].rows}
    assert rows["pH"][2] == pytest.approx(float(right.ph), abs=0.001)
    assert abs(rows["pH"][4]) > 0.01


def test_recycle_is_that_of_a_loop(waters):
    feed = waters[1]
    brine = concentrate(feed, 0.85, {}, 0.8)
    fresh = Reference().feed(
        {k: float(v) for k, v in feed.mg_l.items()}, float(feed.alkalinity_mg_l_caco3),
        float(feed.ph), float(feed.temp_c),
    )  # fmt: skip
    loop = Loop(Reference(), feed.speciation.totals_mol_kg, fresh, float(feed.temp_c),
                (0.85, 0.8, {}))  # fmt: skip
    expected = loop.drain_ph(loop.drain_by_root())
    assert _opinion(feed, brine, 0.8).ph == pytest.approx(expected, abs=0.001)


def test_what_pitzer_lacks_is_replaced_eq_for_eq_and_said():
    mg_l = {"ca": 80.0, "na": 60.0, "cl": 90.0, "so4": 60.0, "f": 2.0, "no3": 40.0, "po4": 1.0,
            "nh4": 3.0}  # fmt: skip
    feed = feed_water(mg_l, 180.0, 7.4, 15.0)
    water = feed.speciation
    totals = {k: float(v) for k, v in water.totals_mol_kg.items() if k != "CO3"}
    alkalinity, carbon = float(water.alkalinity_eq_kg), float(water.inorganic_carbon_mol_kg)
    by_hand = {k: v for k, v in totals.items() if k not in {"F", "NO3", "PO4", "NH4"}}
    by_hand["Cl"] += totals["F"] + totals["NO3"] + totals["PO4"]
    by_hand["Na"] += totals["NH4"]
    first = {o.database: o for o in second_opinions(totals, alkalinity, carbon, 15.0)}
    second = {o.database: o for o in second_opinions(by_hand, alkalinity, carbon, 15.0)}
    assert set(first["pitzer.dat"].replaced) == {"F", "NO3", "PO4", "NH4"}
    assert first["pitzer.dat"].si["gypsum"] == second["pitzer.dat"].si["gypsum"]
    assert "fluorite" not in first["pitzer.dat"].si
    ledger = Ledger()
    enter_second_opinion(ledger, feed, concentrate(feed, 0.5))
    assert "pitzer_replaced_ions" in {f.code for f in ledger.study().flags}


def test_a_strong_water_is_told_which_engine_measurements_support():
    from pretreat.membrane.limits import MembranePoint
    from pretreat.membrane.scaling import enter_scaling
    from pretreat.site.design import LimitChoices

    mg_l = {"ca": 300.0, "mg": 120.0, "na": 1500.0, "cl": 2200.0, "so4": 1300.0, "ba": 0.02}
    ledger = Ledger()
    feed = feed_water(mg_l, 200.0, 7.4, 20.0)
    enter_scaling(ledger, feed, MembranePoint(0.75, {}), LimitChoices())
    text = next(f.text for f in ledger.study().flags if f.code == "high_ionic_strength")
    assert "gypsum believe the Pitzer value" in text
    assert "barite believe this program's" in text


def test_acid_water_keeps_its_acidity():
    """Without carbonate the drain holds the acid of the feed times the factor."""
    feed = feed_water({"ca": 40.0, "na": 30.0, "so4": 400.0}, 0.0, 3.1, 15.0)
    brine = concentrate(feed, 0.6)
    assert _opinion(feed, brine).ph == pytest.approx(float(brine.ph), abs=1e-4)


def test_a_machine_that_does_nothing_gives_the_feed_back(waters):
    feed = waters[2]
    one = dict.fromkeys((*feed.speciation.totals_mol_kg, "CO3"), 1.0)
    totals = {k: float(v) for k, v in feed.speciation.totals_mol_kg.items() if k != "CO3"}
    found = concentrate_opinions(totals, float(feed.speciation.alkalinity_eq_kg), float(feed.ph),
                                 float(feed.temp_c), Concentration(one, one, 1.0))  # fmt: skip
    assert found[0].ph == pytest.approx(float(feed.ph), abs=1e-5)
    assert np.isfinite(found[1].ph)
