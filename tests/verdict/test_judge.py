"""The whole way: a softened water, gaps of an analysis, seasons, temperature unknown."""

import numpy as np
import pytest
from msgspec.structs import replace

from pretreat.core.water import WaterAnalysis
from pretreat.lab.water_figures import Composition
from pretreat.membrane.limits import MembranePoint
from pretreat.plant.uncertainty.bands import limit_band
from pretreat.plant.uncertainty.seasons import seasons_of
from pretreat.plant.verdict.case import Obstacle
from pretreat.plant.verdict.judge import Question, judge
from pretreat.site.design import LimitChoices

from ..uncertainty.waters import analysis, taken_of

SODIUM_PER = {"ca": 22.99 * 2 / 40.08, "mg": 22.99 * 2 / 24.305, "sr": 22.99 * 2 / 87.62}


def softened(raw, left=0.01):
    """99 % of calcium, magnesium and strontium to sodium, barium too."""
    mg_l = dict(raw.mg_l)
    for ion, per in SODIUM_PER.items():
        if ion in mg_l:
            mg_l["na"] = mg_l["na"] + (1 - left) * mg_l[ion] * per
            mg_l[ion] = left * mg_l[ion]
    if "ba" in mg_l:
        mg_l["ba"] = left * mg_l["ba"]
    return replace(raw, mg_l=mg_l)


def ask(water, recovery, **more):
    taken = taken_of(water) if water.temperature_c else more.pop("taken")
    inhibitor = more.get("inhibitor", False)
    band = limit_band(LimitChoices(inhibitor=inhibitor))
    seasons = more.pop("seasons", seasons_of(taken.operating_temp_c))
    return Question(
        water, taken, seasons, band, MembranePoint(recovery, {}), count=256, **more
    )  # fmt: skip


def test_a_softener_makes_it_fit_and_silica_decides():
    water = analysis("quarrow_vale_well_2")
    raw, treated = judge(ask(water, 0.6)), judge(ask(water, 0.6, treat=softened))
    assert raw.verdict.answer == "does not fit"
    assert treated.verdict.answer == "fits"
    assert treated.found.nominal_limited_by["likely"] == ("silica",)
    assert treated.verdict.card_recovery == 0.6


def test_a_softener_takes_barium_that_was_not_measured():
    """Without inhibitor any barium limits a raw water; what a softener leaves may not."""
    water = analysis("quarrow_vale_well_2")
    left = {k: v for k, v in water.mg_l.items() if k != "ba"}
    gap = replace(water, mg_l=left)
    for treat, could in ((None, True), (lambda raw: softened(raw, 0.001), False)):
        found = judge(ask(gap, 0.3, treat=treat))
        barite = next(u for u in found.unjudged if u.scale == "barite")
        assert barite.could_limit is could
        assert any("barium" in r for r in found.verdict.reasons)
        assert found.verdict.answer != "fits"


@pytest.mark.parametrize("missing", ["ph", "alkalinity"])
def test_without_ph_or_alkalinity_calcite_is_not_judged(missing):
    water = analysis("quarrow_vale_well_2")
    if missing == "ph":
        water = replace(water, ph=None)
    else:
        ions = {k: v for k, v in water.mg_l.items() if k not in {"hco3", "co3"}}
        water = replace(water, alkalinity_mg_l_caco3=None, mg_l=ions)
    found = judge(ask(water, 0.2, inhibitor=True))
    assert found.verdict.answer == "depends"
    assert found.verdict.probability is None
    assert found.verdict.measure_next == {"ph": "pH"}.get(missing, missing)


def test_next_to_nothing_known_is_no_crash():
    water = WaterAnalysis("kit", "kit", ph=7.2)
    taken = Composition({}, {}, np.nan, 25.0, 25.0)
    found = judge(ask(water, 0.5, taken=taken, seasons=seasons_of(25.0, known=False)))
    assert found.verdict.answer == "depends"
    assert found.verdict.card_recovery is None
    assert len(found.unjudged) >= 6


def test_obstacles_go_into_the_verdict():
    pump = Obstacle("condition", "see to the pump")
    found = judge(ask(analysis("quarrow_vale_well_2"), 0.6, treat=softened, obstacles=(pump,)))
    assert found.verdict.answer == "fits with conditions"
    assert "see to the pump" in found.verdict.reasons


def test_seasons():
    assert [s.name for s in seasons_of(15.0, 10.0, 22.0)] == ["coldest", "operating", "warmest"]
    assert [s.name for s in seasons_of(15.0)] == ["operating"]
    assert [s.temp_c for s in seasons_of(12.0, known=False)] == [5.0, 12.0, 25.0]


def test_a_water_that_cannot_be_computed_is_no_yes_and_no_no():
    """The constants of the carbonate system end at 90 °C."""
    water = replace(analysis("quarrow_vale_well_2"), temperature_c=120.0)
    found = judge(ask(water, 0.5, inhibitor=True))
    assert found.verdict.answer == "depends"
    assert found.verdict.probability is None
    assert found.verdict.card_recovery is None
    assert "could not be computed" in found.verdict.reasons[0]
