"""What is taken as uncertain, and who says how much."""

import math

import pytest

from pretreat.core.water import Reading, WaterAnalysis
from pretreat.lab.hardness_split import split_cases
from pretreat.lab.water_figures import Composition
from pretreat.lab.water_laws import hardness_mg_l_caco3
from pretreat.plant.uncertainty.distributions import Rectangular
from pretreat.plant.uncertainty.draws import drawn
from pretreat.plant.uncertainty.inputs import (
    stated_u,
    uncertain_hardness,
    uncertain_plant,
    uncertain_water,
)
from pretreat.plant.uncertainty.usual import characteristic_u, default_distribution, engine_u_log
from pretreat.plant.uncertainty.water_draws import drawn_water

TAKEN = Composition({"ca": 100.0, "so4": 50.0, "b": 0.05}, {}, 200.0, 12.0, 12.0)


def reading(text, value, factor=1.0, key="ca"):
    return Reading("line 2", key, "Calcium", text, "mg/L", "", "", factor, value)


def water(**more):
    return WaterAnalysis("s", "f", ph=7.4, ph_kind="field", temperature_c=12.0,
                         mg_l={"ca": 100.0}, below_mg_l={"so4": 50.0, "b": 0.1}, **more)  # fmt: skip


def found(*args, **more):
    return {i.key: i for i in uncertain_water(*args, **more)}


@pytest.mark.parametrize(
    ("x", "u"), [(0.05, 0.02010), (0.5, 0.02828), (5.0, 0.20100)]
)  # fmt: skip
def test_characteristic_function(x, u):
    """Eurachem QUAM (form from memory), s0 0.02, s1 0.04."""
    assert characteristic_u(x, 0.02, 0.04) == pytest.approx(u, abs=1e-5)


@pytest.mark.parametrize(
    ("text", "value", "factor", "u"),
    [("118 ± 6", 118.0, 1.0, 3.0), ("118 +/- 5 %", 118.0, 1.0, 2.95), ("0,5±0,1", 0.5, 1.0, 0.05),
     ("85 ± 8", 0.085, 1e-3, 0.004), ("118", 118.0, 1.0, None), ("<5 ± 1", None, 1.0, None)],
)  # fmt: skip
def test_what_the_report_prints(text, value, factor, u):
    """A laboratory prints the expanded uncertainty, k = 2."""
    got = stated_u(reading(text, value, factor))
    assert got == (None if u is None else pytest.approx(u))


def test_the_site_file_beats_the_report_and_the_report_the_usual_value():
    plain = found(water(), TAKEN)["ca"]
    printed = found(water(readings=(reading("100 ± 2", 100.0),)), TAKEN)["ca"]
    own = found(water(readings=(reading("100 ± 2", 100.0),)), TAKEN, {"ca": 6.0})["ca"]
    assert [i.distribution.u for i in (plain, printed, own)] == pytest.approx(
        (4.00125, 1.0, 3.0), abs=1e-4
    )
    assert (printed.origin, own.origin) == ("printed in the report", "site file")


def test_a_non_detect_that_forms_scale_stays_at_its_limit_another_is_drawn():
    got = found(water(), TAKEN)
    assert "so4" not in got
    assert got["b"].distribution == Rectangular(0.0, 0.1)


@pytest.mark.parametrize(
    ("kind", "temp", "u"), [("field", None, 0.1), ("lab", 12.0, 0.2), ("unknown", 12.0, 0.1),
                            ("unknown", None, 0.2)],
)  # fmt: skip
def test_ph_by_where_it_was_measured(kind, temp, u):
    one = WaterAnalysis("s", "f", ph=7.4, ph_kind=kind, temperature_c=temp)
    assert found(one, TAKEN)["ph"].distribution.u == u
    assert found(one, TAKEN, ph_u=0.05)["ph"].distribution.u == 0.05


def test_the_plant():
    got = {i.key: i.distribution for i in uncertain_plant({"hours": 20.0, "media_capacity": 1.0})}
    assert (got["hours"].low, got["hours"].high) == (16.0, 24.0)
    assert got["media_capacity"].at([0.1, 0.9]) == pytest.approx((1 / 1.5, 1.5))
    counted = uncertain_plant({"hours": 20.0}, hours_counted=True)[0].distribution
    assert counted.high == pytest.approx(20.4)


def test_a_rotameter_read_at_half_scale():
    """4 % of full scale is 8 % of the reading: u = 8 / sqrt(3) = 4.62 %."""
    assert default_distribution("plant", "flow", 1.0).u == pytest.approx(0.0462, abs=1e-4)


def test_draws_without_inputs_and_certain_inputs():
    none = drawn((), 8)
    assert none.get("ca", 5.0).tolist() == [5.0] * 8
    assert engine_u_log("barite") == 0.06
    assert engine_u_log("unknown scale") == 0.0


def test_a_split_hardness_is_drawn_as_one_total_and_a_share():
    """Drawn calcium and magnesium add up to the drawn hardness, draw by draw."""
    cases = split_cases(300.0)
    taken = Composition({"ca": cases.taken.ca_mg_l, "mg": cases.taken.mg_mg_l}, {}, 200.0, 12, 12)
    inputs = (*uncertain_water(WaterAnalysis("s", "f", ph=7.4), taken), *uncertain_hardness(cases))
    assert {"ca", "mg"}.isdisjoint(i.key for i in inputs)
    draws = drawn(inputs, 256)
    got = drawn_water(taken, 7.4, draws).mg_l
    total = hardness_mg_l_caco3(got["ca"], got["mg"])
    assert total[0] == pytest.approx(300.0)
    assert total[1:] == pytest.approx(draws.values["hardness"])
    assert total[1:].std() == pytest.approx(math.hypot(9.0, 2.0), rel=0.05)
    share = got["ca"] / cases.all_calcium.ca_mg_l
    assert share.min() > 0.38
    assert share.max() < 1.1


def test_a_stated_share_is_not_drawn():
    keys = [i.key for i in uncertain_hardness(split_cases(300.0, 0.6), 4.0)]
    assert keys == ["hardness"]
