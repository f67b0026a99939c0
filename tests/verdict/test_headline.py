"""The recovery told first is that of the worst season, with the limits for which it holds."""

from types import SimpleNamespace

import pytest
from msgspec.structs import replace

from pretreat.core.results import Ledger
from pretreat.lab.read.numbers import printed_number
from pretreat.plant.calendar.year_figures import noticed
from pretreat.quote.comparison import season_words
from pretreat.site.design import LimitChoices, WaterBasis
from pretreat.study import run_scaling

from .test_membrane_feed import water

INHIBITED = LimitChoices(inhibitor=True)


def test_the_worst_season_comes_first():
    """Silica is less soluble in cold water (any table of its solubility)."""
    basis = WaterBasis(coldest_temperature_c=4.0, warmest_temperature_c=26.0)
    study = run_scaling(water({"sio2": 40.0}), 0.5, basis, limits=INHIBITED, draws=64)
    said = str(study.value("summary.recovery"))
    assert said.startswith("in the worst season, coldest (4 °C), this feed allows")
    assert "the operating water allows" in said
    worst = study["recovery.max_worst_season"]
    assert worst.value < study.number("recovery.max") - 0.02
    assert worst.p10 < worst.value < worst.p90


def test_a_water_of_one_temperature_names_no_season():
    study = run_scaling(water(), 0.5, limits=INHIBITED, draws=64)
    assert str(study.value("summary.recovery")).startswith("this feed allows")


def test_the_band_of_the_limits_stands_beside_the_spread():
    """Fluorite with an inhibitor: 100 to 5000 % (common practice)."""
    fluoride = water({"f": 9.5, "ca": 8.0, "na": 150.0})
    study = run_scaling(fluoride, 0.5, limits=INHIBITED, draws=64)
    low, high = (study.number(f"recovery.max_at_{k}_limits") for k in ("cautious", "bold"))
    assert low < study["recovery.max"].p10
    assert high > study["recovery.max"].p90
    assert "at the usual limits of an inhibitor" in str(study.value("summary.recovery"))


@pytest.mark.parametrize(("kind", "told"), [("lab", True), ("field", False)])
def test_a_laboratory_ph_that_drives_the_spread_is_measured_at_the_well_first(kind, told):
    hard = replace(water({"ca": 85.0}), ph=7.6, ph_kind=kind, alkalinity_mg_l_caco3=230.0)
    study = run_scaling(hard, 0.65, limits=INHIBITED, draws=128)
    assert (study.value("verdict.measure_next") == "pH, at the well") is told


def test_ways_are_told_for_the_season_in_which_they_were_compared():
    ledger = Ledger()
    ledger.put("water.operating_temperature_c", 12.0, "°C", "Operating temperature")
    assert season_words(ledger) == ""
    ledger.put("recovery.worst_season", "coldest (4 °C)", "-", "Worst season")
    assert (
        season_words(ledger)
        == "at the operating temperature (12 °C; the verdict is for the coldest (4 °C)): "
    )


@pytest.mark.parametrize(
    ("unmet", "dry", "told"), [(0.008, 0.01, False), (0.0, 0.0, False), (5.0, 20.0, True)]
)
def test_a_demand_that_rounds_to_nothing_is_met(unmet, dry, told):
    year = SimpleNamespace(unmet_m3=unmet, product_m3=9000.0, hours_without_water=dry, days=330.0)
    assert noticed(year) is told


@pytest.mark.parametrize(("text", "kind"), [("Bq/L", "word"), ("bq / l", "word"), ("BQL", "below")])
def test_a_unit_of_activity_is_no_result(text, kind):
    assert printed_number(text).kind == kind
