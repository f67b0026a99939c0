"""What a train does and nobody measured is drawn: exchange, degasser, leakage, a wide constant."""

import numpy as np
import pytest

from pretreat.core.results import Ledger
from pretreat.plant.uncertainty.usual import engine_u_log
from pretreat.plant.uncertainty.water_draws import DrawnWater
from pretreat.plant.verdict.following import following, leakage_of
from pretreat.plant.verdict.train_draws import Exchange, Stripper, uncertain_train
from tests.choices.wells import analysis, sized

WEAK_ACID = '[train]\nstages = ["weak_acid", "degasser", "inhibitor", "cartridge"]\n'
CHOSEN = "[weak_acid]\nshare = 0.9\n[degasser]\nco2_removed = 0.8\n"
HARD = analysis(ph=7.3, alkalinity=600.0, hardness=800.0, tds=1500.0) | {"F": 0.05}


def drawn_water(plant, count=2, **ions):
    same = {k: np.full(count, v) for k, v in ions.items()}
    one = np.ones(count)
    return DrawnWater(same, 200.0 * one, 7.5 * one, 15.0 * one, 0.0 * one, plant)


def test_the_constants_are_drawn_as_wide_as_they_are_known():
    """u(log K), common practice: a choice of compilation is no scatter and is not drawn."""
    drawn = {"calcite": 0.02, "gypsum": 0.02, "celestite": 0.03, "barite": 0.06, "silica": 0.03}
    for scale, wide in (drawn | {"fluorite": 0.10}).items():
        assert engine_u_log(scale) == pytest.approx(wide), scale


@pytest.mark.parametrize(("fluoride", "keeps"), [(1.07, True), (2.0, False)])
def test_half_of_saturation_with_fluorite_is_kept_and_twice_it_is_not(tmp_path, fluoride, keeps):
    """The low limit of fluorite is saturation: 0.28 below it is nearly three u of 0.10."""
    water = analysis(ph=7.3, alkalinity=150.0, hardness=120.0, tds=420.0) | {"F": fluoride}
    more = '[train]\nstages = ["inhibitor", "cartridge"]\n'
    study = sized(tmp_path, water, 0.5, more=more, draws=256)
    percent = study.number("scaling.pct_fluorite")
    assert (percent < 60.0) is keeps
    assert (study.value("verdict.answer") in ("fits", "fits with conditions")) is keeps


def test_an_exchange_at_the_end_of_its_run_leaves_more(tmp_path):
    """A share from memory is drawn; one that the site file states is taken as it is."""
    memory = sized(tmp_path, HARD, 0.8, more=WEAK_ACID, draws=128)
    stated = sized(tmp_path, HARD, 0.8, more=WEAK_ACID + CHOSEN, draws=128)
    named = [str(row[0]) for row in memory.series["verdict.drivers"].rows]
    assert "share that the weak acid exchange takes" in named
    assert memory.number("recovery.max") == pytest.approx(stated.number("recovery.max"))
    wide, narrow = (s["recovery.max"].p90 - s["recovery.max"].p10 for s in (memory, stated))
    assert wide > 1.2 * narrow
    assert memory.number("verdict.probability") < stated.number("verdict.probability")


def test_a_share_less_by_a_third_takes_a_third_less():
    """By hand: 180 of 200 mg/L at 0.9 are 120 at 0.6; of 300 hardness 60 % is left, not 40 %."""
    water = drawn_water({"weak_acid_share": np.array([0.9, 0.6])}, ca=300.0 / 50.043 * 20.039)
    exchange = Exchange(0.9, 180.0)
    assert exchange.takes(water) == pytest.approx([180.0, 120.0])
    raw = {"ca": 300.0 / 50.043 * 20.039}
    treat = following(raw, {"ca": 0.4 * raw["ca"]}, None, exchange)
    assert treat(water).mg_l["ca"] / raw["ca"] == pytest.approx([0.4, 0.6])


def test_a_worse_degasser_leaves_carbon():
    """By hand: 0.8 of the excess of 5 mmol/kg over 1 is 3.2; 0.65 of it 2.6."""
    stripper = Stripper(0.8, 5.0, 1.0)
    assert stripper.more(np.array([0.8, 0.65]), 0.0) == pytest.approx([0.0, -0.6])


def test_twice_the_leakage_leaves_twice_the_hardness():
    ledger = Ledger()
    for key, value in (
        ("resin_hardness_left", 0.3),
        ("selectivity", 2.6),
        ("total_capacity_eq_l", 2.0),
        ("leakage_share", 1.0),
        ("leakage_ratio", 0.01),
    ):
        ledger.put(f"softener.{key}", value, "-", key)
    assert uncertain_train(ledger) == {"softener_leakage": 1.0}
    water = drawn_water({"softener_leakage": np.array([1.0, 2.0])}, ca=60.0, na=30.0)
    left = following({"ca": 60.0, "na": 30.0}, {"ca": 0.6, "na": 98.0}, leakage_of(ledger))(water)
    assert left.mg_l["ca"] == pytest.approx([0.6, 1.2])
