"""Concentrate recycle: pH of the drain against a loop of PHREEQC's own; what does not settle."""

import numpy as np
import pytest

from pretreat.core.results import Ledger
from pretreat.membrane import recycle
from pretreat.membrane.bands import default_limits
from pretreat.membrane.concentrate import concentrate
from pretreat.membrane.feed import feed_water, one_of_feed
from pretreat.membrane.limits import MembranePoint
from pretreat.membrane.recovery import recovery_limit
from pretreat.membrane.scaling import enter_scaling
from pretreat.site.design import LimitChoices
from tests.chemistry.phreeqc_reference import Reference
from tests.chemistry.waters import seeded_waters
from tests.membrane.phreeqc_loop import Loop

WATERS = 30
PH = 0.002
UNSETTLED = 1 / WATERS  # at most one of the thirty, and it says so


@pytest.fixture(scope="module")
def waters():
    mg_l, alkalinity, ph, temp = seeded_waters(WATERS, seed=41)
    feed = feed_water(mg_l, alkalinity, ph, temp)
    reference = Reference()
    fresh = [
        reference.feed({k: v[i] for k, v in mg_l.items()}, alkalinity[i], ph[i], temp[i])
        for i in range(WATERS)
    ]
    return feed, reference, fresh


def _loops(waters, recovery, rho, passage):
    feed, reference, fresh = waters
    for i in range(WATERS):
        one = one_of_feed(feed, i)
        yield Loop(reference, one.speciation.totals_mol_kg, fresh[i], float(feed.temp_c[i]),
                   (recovery, rho, passage))  # fmt: skip


@pytest.mark.parametrize("rho", [0.5, 0.75, 0.9])
@pytest.mark.parametrize("recovery", [0.75, 0.9])
@pytest.mark.parametrize("share", [0.0, 0.05])
def test_ph_of_the_drain_is_that_of_a_loop_by_phreeqc(waters, recovery, rho, share):
    """PHREEQC 3.8.6, wateq4f.dat; the largest difference found when written was 0.00001."""
    passage = dict.fromkeys((*waters[0].mg_l, "hco3"), share)
    brine = concentrate(waters[0], recovery, {"default": share}, rho)
    assert np.mean(~brine.settled) <= UNSETTLED
    assert np.all(np.isnan(brine.ph[~brine.settled]))
    for i, loop in enumerate(_loops(waters, recovery, rho, passage)):
        if brine.settled[i] and brine.speciation.converged[i]:
            expected = loop.drain_ph(loop.drain_by_root())
            assert brine.ph[i] == pytest.approx(expected, abs=PH), i


def test_the_root_is_what_turning_the_loop_comes_to(waters):
    """Some hundred turns at recovery 0.9 and recycle 0.9: sixty are 2 pH units away."""
    brine = concentrate(waters[0], 0.9, {}, 0.9)
    loop = next(_loops(waters, 0.9, 0.9, {}))
    by_turns = loop.drain_by_turns()
    assert by_turns == pytest.approx(loop.drain_by_root(), rel=1e-5)
    assert brine.ph[0] == pytest.approx(loop.drain_ph(by_turns), abs=PH)


def test_ions_that_pass_differently_are_mixed_each_by_itself(waters):
    """Chloride that passes like nothing else does not change what the others do."""
    passage = {"default": 0.0, "cl": 0.5, "na": 0.5, "hco3": 0.0}
    feed, reference, fresh = waters
    brine = concentrate(feed, 0.8, passage, 0.7)
    for i in (0, 9, 21):
        one = one_of_feed(feed, i)
        own = {k: float(np.asarray(v)[i]) for k, v in brine.passage.items() if np.ndim(v)}
        loop = Loop(reference, one.speciation.totals_mol_kg, fresh[i], float(feed.temp_c[i]),
                    (0.8, 0.7, own))  # fmt: skip
        expected = loop.drain_ph(loop.drain_by_root())
        assert brine.ph[i] == pytest.approx(expected, abs=PH)


def test_many_recoveries_and_one_are_one_path(waters):
    feed = one_of_feed(waters[0], 3)
    recoveries = np.array([0.0, 0.3, 0.6, 0.9])
    many = concentrate(feed, recoveries, {"default": 0.03}, 0.6)
    for i, y in enumerate(recoveries):
        one = concentrate(feed, float(y), {"default": 0.03}, 0.6)
        assert float(one.ph) == pytest.approx(many.ph[i], abs=1e-7)


def test_a_water_without_carbonate_has_none_in_the_loop():
    feed = feed_water({"ca": 40.0, "na": 300.0, "cl": 500.0}, 0.0, 4.2, 20.0)
    brine = concentrate(feed, 0.8, {}, 0.7)
    assert bool(brine.settled)
    assert float(brine.speciation.inorganic_carbon_mol_kg) == pytest.approx(0.0, abs=1e-20)


def test_what_does_not_settle_is_nan_and_says_so(waters, monkeypatch):
    monkeypatch.setattr(recycle, "SHIFTS", ())
    brine = concentrate(waters[0], 0.9, {}, 0.9)
    assert not np.any(brine.settled)
    assert np.all(np.isnan(brine.ph))
    assert np.all(np.isnan(brine.speciation.si("calcite")))


def test_a_limit_beyond_what_settles_is_unknown_and_flagged(waters, monkeypatch):
    monkeypatch.setattr(recycle, "SHIFTS", ())
    one = one_of_feed(waters[0], 2)
    reach = recovery_limit(one, default_limits(True), {}, 0.9)
    assert np.isnan(reach.maximum)
    assert str(reach.limited_by) == ""
    ledger = Ledger()
    enter_scaling(ledger, one, MembranePoint(0.9, {}, 0.9), LimitChoices())
    study = ledger.study()
    assert "recycle_not_settled" in {f.code for f in study.flags}
    assert study.value("concentrate.ph") is None
    assert study.value("recovery.max_inhibited") is None
