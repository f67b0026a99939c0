"""What is looked for at once is found as if it were asked alone."""

import numpy as np
import pytest

from pretreat.core.basis import Figure, Series
from pretreat.core.results import Ledger
from pretreat.core.scratch import Scratch
from pretreat.membrane.acid import HYDROCHLORIC, SULFURIC, dose_for_index, doses_apart
from pretreat.membrane.feed import feed_water
from pretreat.membrane.limits import MembranePoint
from pretreat.membrane.recovery import Limits
from pretreat.plant.uncertainty.bands import COLUMNS, one_limit
from pretreat.plant.uncertainty.draws import drawn
from pretreat.plant.uncertainty.inputs import uncertain_water
from pretreat.plant.uncertainty.recovery_draws import Share, drawn_together, recovery_draws
from pretreat.plant.uncertainty.water_draws import drawn_water, feeds
from tests.uncertainty.waters import BARE, INHIBITED, analysis, around, taken_of

HARD = {"ca": 90.0, "mg": 30.0, "na": 60.0, "cl": 70.0, "so4": 60.0}


@pytest.mark.parametrize("limit", [-4.0, 0.5, 1.2, 9.0])
def test_the_dose_of_each_acid(limit):
    water = feed_water(HARD, 260.0, 7.6, 16.0)
    limits = Limits(limit, limit, {"gypsum": 0.0})
    together = doses_apart(water, [SULFURIC, HYDROCHLORIC], 0.7, limits)
    for acid, found in zip((SULFURIC, HYDROCHLORIC), together, strict=True):
        alone = dose_for_index(water, [acid], np.array([0.7]), limits)
        assert found.dose_mg_l == pytest.approx(float(alone.dose_mg_l[0]), rel=1e-12)
        assert found.enough == bool(alone.enough[0])
        for scale, over in alone.excesses.items():
            assert found.excesses[scale] == pytest.approx(float(over[0]), abs=1e-12)


def test_the_draws_of_shares_with_limits_of_their_own():
    water = analysis("quarrow_vale_well_2")
    taken, seasons = taken_of(water), around(water, -4.0, 0.0, 5.0)
    draws = drawn(uncertain_water(water, taken), 32)
    feed = feeds(drawn_water(taken, water.ph, draws), [*seasons, seasons[1]])
    one = feeds(drawn_water(taken, water.ph, draws), seasons)
    other = feeds(drawn_water(taken, water.ph, draws), seasons[1:2])
    point = MembranePoint(0.6, {"default": 0.02})
    bands = one_limit(BARE), one_limit(INHIBITED)
    shares = [Share(tuple(seasons), bands[0]), Share((seasons[1],), bands[1])]
    for share, alone, found in zip(
        shares, (one, other), drawn_together(feed, shares, point), strict=True
    ):
        asked = recovery_draws(alone, share.seasons, share.band, point)
        assert found.scales == asked.scales
        for column in COLUMNS:
            np.testing.assert_allclose(found.maximum[column], asked.maximum[column], rtol=1e-12)
            for scale in asked.scales:
                np.testing.assert_array_equal(found.kept[column][scale], asked.kept[column][scale])


def test_a_scratch_ledger_leaves_the_study_alone():
    ledger = Ledger()
    ledger.put("machine.feed_m3_d", 3.0, "m3/d", "Feed")
    scratch = Scratch(ledger.study().figures)
    scratch.put("softener.tried_m3", 1.0, "m3", "Tried")
    scratch.rests("softener.tried_m3", "machine.feed_m3_d")
    scratch.table(Series("softener.rows", "Rows", ("a",), ("-",), ((1.0,),)))
    assert scratch.number("machine.feed_m3_d") == 3.0
    assert scratch.number("softener.tried_m3") == 1.0
    assert not scratch.study().series
    assert isinstance(ledger.figure("machine.feed_m3_d"), Figure)
    assert "softener.tried_m3" not in ledger
