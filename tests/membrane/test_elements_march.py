"""The element march against worked machines, a simultaneous solve, and an integration."""

import numpy as np
import pytest

from pretreat.membrane.concentrate import concentration_factor
from pretreat.membrane.elements.array import Array
from pretreat.membrane.elements.element import element
from pretreat.membrane.elements.feed import element_feed, imbalance_pct
from pretreat.membrane.elements.march import coefficients, march
from pretreat.membrane.elements.operate import Duty, operate, operate_at_pressure
from pretreat.membrane.elements.permeability import Membrane
from tests.membrane.worked_machines import FA, FB, FC, MACHINES, SecondModel, nacl

NEW = Membrane()
BALANCE = 1e-9
PRINTED = 5e-4  # three to five figures are printed


def marched(mg_l, temp_c, array, flow, bar):
    feed = element_feed(mg_l, temp_c)
    return march(array, coefficients(feed, NEW), feed, flow, bar)


def tds(found):
    return sum(found.feed.mg_l(found.permeate).values())


# Worked cases by a separate script; sodium chloride 2 000 mg/L, A 4, B 0.3, product at 0.5 bar.
STRINGS = [
    (nacl(2000), 25, "4x40", 1, 1.5, 10.0, 0.22930, 23.868, 9.8735),
    (nacl(2000), 15, "4x40", 3, 1.5, 10.0, 0.49534, 27.111, 9.6565),
    (nacl(2000), 25, "4x40", 6, 2.0, 10.0, 1.16170, 39.646, 9.2261),
    (FA, 10, "2.5x40", 2, 0.36, 9.3, 0.10467, 13.343, 9.1638),
    (FB, 18, "4x40", 3, 1.3, 11.0, 0.60119, 28.308, 10.7710),
    (FC, 25, "4x40", 6, 2.0, 10.0, 1.04290, 55.464, 9.1773),
]  # fmt: skip


@pytest.mark.parametrize("case", STRINGS, ids=lambda c: f"{c[2]}-{c[3]}-{c[4]}")
def test_string_of_elements(case):
    mg_l, temp_c, size, count, flow, bar, made, salt, end = case
    found = marched(mg_l, temp_c, Array(element(size), (1,), count), flow, bar)
    assert found.settled
    assert found.product_m3_h == pytest.approx(made, rel=PRINTED)
    assert tds(found) == pytest.approx(salt, rel=PRINTED)
    assert found.concentrate_bar == pytest.approx(end, rel=PRINTED)


@pytest.mark.parametrize("case", STRINGS, ids=lambda c: f"{c[2]}-{c[3]}-{c[4]}")
def test_all_elements_at_once_by_another_solver(case):
    """Flux and permeate of every element solved together by a hybrid Newton method."""
    mg_l, temp_c, size, count, flow, bar, *_ = case
    box = element(size)
    found = marched(mg_l, temp_c, Array(box, (1,), count), flow, bar)
    made, salt, end, left = SecondModel(mg_l, temp_c, box.area_m2).string(flow, bar, count)
    # 2e-6: the second model has molar masses and the gas constant to five or six figures
    np.testing.assert_allclose([s.product_m3_h for s in found.steps], made, rtol=2e-6)
    assert tds(found) == pytest.approx(salt, rel=2e-5)  # molar masses of five figures
    assert found.concentrate_bar == pytest.approx(end, rel=1e-6)
    assert found.concentrate_m3_h == pytest.approx(left, rel=2e-6)


@pytest.mark.parametrize(
    ("case", "made", "salt"),
    [
        (STRINGS[3], 0.10458, 13.427),
        (STRINGS[4], 0.59973, 28.596),
        (STRINGS[5], 1.04096, 55.709),
    ],
    ids=["2.5x40-2", "4x40-3", "4x40-6"],
)
def test_continuous_integration(case, made, salt):
    """Element averages cost 0.1 to 0.25 % of flow and 0.4 to 1 % of salt against an integral."""
    mg_l, temp_c, size, count, flow, bar, *_ = case
    box = element(size)
    found = marched(mg_l, temp_c, Array(box, (1,), count), flow, bar)
    whole = SecondModel(mg_l, temp_c, box.area_m2).continuous(flow, bar, count)
    assert whole[0] == pytest.approx(made, rel=PRINTED)
    assert whole[1] == pytest.approx(salt, rel=PRINTED)
    assert found.product_m3_h == pytest.approx(whole[0], rel=0.003)
    assert tds(found) == pytest.approx(whole[1], rel=0.011)
    assert found.concentrate_bar == pytest.approx(whole[2], rel=1e-3)


def test_element_by_element_of_three():
    """Printed: product 0.17385, 0.16538, 0.15611 m3/h; permeate 22.321, 26.796, 32.778 mg/L."""
    found = marched(nacl(2000), 15, Array(element("4x40"), (1,), 3), 1.5, 10.0)
    flows = [s.product_m3_h for s in found.steps]
    salts = [sum(found.feed.mg_l(s.permeate).values()) for s in found.steps]
    np.testing.assert_allclose(flows, [0.17385, 0.16538, 0.15611], rtol=PRINTED)
    np.testing.assert_allclose(salts, [22.321, 26.796, 32.778], rtol=PRINTED)


def test_usual_test_condition_of_an_element():
    """15.5 bar, 2 000 mg/L, recovery 0.15: J 53.72, 9.80 m3/d, 13.418 mg/L, feed 2.722 m3/h."""
    array = Array(element("4x40"), product_bar=0.0)
    found = operate_at_pressure(array, NEW, element_feed(nacl(2000), 25), 15.5, Duty(0.3, 0.15))
    assert found.flux_lmh == pytest.approx(53.72, rel=1e-3)
    assert found.duty.product_m3_h * 24 == pytest.approx(9.80, rel=1e-3)
    assert found.permeate_tds_mg_l == pytest.approx(13.418, rel=1e-3)
    assert found.duty.array_feed_m3_h == pytest.approx(2.722, rel=1e-3)


# feed bar, concentrate bar, TDS of array feed, concentrate, permeate
WORKED = {
    "M1": (9.319, 9.181, 1587.4, 2190.3, 19.735),
    "M2": (10.977, 10.722, 3980.2, 6376.6, 53.886),
    "M3": (11.193, 9.211, 3222.6, 10565.0, 75.919),
}
WORKED_PERMEATE = {  # Na Cl HCO3 SO4 NO3 SiO2 B Ca
    "M1": (6.393, 5.794, 5.794, 0.1963, 1.119, 0.2249, 0.1037, 0.0073),
    "M2": (18.903, 23.064, 9.104, 1.183, 0.4314, 0.4122, 0.3692, 0.0149),
    "M3": (25.583, 33.471, 9.762, 1.431, 3.171, 0.5110, 0.4933, 0.6935),
}
ORDER = ("na", "cl", "hco3", "so4", "no3", "sio2", "b", "ca")
WORKED_FLUX = {
    "M1": (19.598, 18.864),
    "M2": (24.039, 22.036, 19.714),
    "M3": (32.651, 30.451, 28.149, 25.665, 22.932, 19.926,
           17.416, 15.279, 13.263, 11.390, 9.683, 8.159),
}  # fmt: skip
WORKED_RECOVERY = {"M1": (0.1415, 0.1587), "M2": (0.1385, 0.1474, 0.1546)}
WORKED_SODIUM = {"M1": 706.3, "M2": 2181.2, "M3": 2959.1}


@pytest.fixture(scope="module", params=sorted(MACHINES))
def machine(request):
    mg_l, temp_c, array, duty = MACHINES[request.param]
    return request.param, operate(array, NEW, element_feed(mg_l, temp_c), duty)


def test_worked_machine(machine):
    """Three machines of a separate script: pressures and salts to the figures given."""
    name, found = machine
    bar, end, entering, leaving, product = WORKED[name]
    assert found.feed_bar == pytest.approx(bar, rel=1e-3)
    assert found.concentrate_bar == pytest.approx(end, rel=1e-3)
    assert found.march.product_m3_h == pytest.approx(MACHINES[name][3].product_m3_h, rel=1e-9)
    assert found.array_feed_tds_mg_l == pytest.approx(entering, rel=1e-4)
    assert found.concentrate_tds_mg_l == pytest.approx(leaving, rel=1e-4)
    assert found.permeate_tds_mg_l == pytest.approx(product, rel=1e-3)
    for key, value in zip(ORDER, WORKED_PERMEATE[name], strict=True):
        assert found.permeate_mg_l[key] == pytest.approx(value, rel=5e-3, abs=5e-5), key
    np.testing.assert_allclose(found.by_element("flux_lmh"), WORKED_FLUX[name], rtol=1e-3)
    if name in WORKED_RECOVERY:
        np.testing.assert_allclose(found.by_element("recovery"), WORKED_RECOVERY[name], rtol=1e-3)


def test_concentrate_is_the_closed_form_of_the_passages(machine):
    """The marched drain equals the mass balance of the concentrate fed with its passages."""
    name, found = machine
    duty = found.duty
    for i, key in enumerate(found.fresh.keys):
        factor = concentration_factor(duty.recovery, found.passage[key], duty.rho)
        fresh = found.fresh.mg_l(found.fresh.amounts)[key]
        assert found.concentrate_mg_l[key] == pytest.approx(fresh * factor, rel=BALANCE), i
    assert found.concentrate_mg_l["na"] == pytest.approx(WORKED_SODIUM[name], rel=1e-4)


def test_mass_closes_over_machine_and_elements(machine):
    _, found = machine
    duty, run = found.duty, found.march
    drain = duty.fresh_m3_h - duty.product_m3_h
    entering = duty.fresh_m3_h * found.fresh.amounts
    np.testing.assert_allclose(
        duty.product_m3_h * run.permeate + drain * run.concentrate, entering, rtol=BALANCE
    )
    assert run.product_m3_h + run.concentrate_m3_h == pytest.approx(run.feed_m3_h, rel=BALANCE)
    amounts = run.feed.amounts
    for step in run.steps:
        left = step.feed_m3_h * amounts
        out = step.product_m3_h * step.permeate + step.concentrate_m3_h * step.concentrate
        np.testing.assert_allclose(out, left, rtol=BALANCE)
        amounts = step.concentrate


def test_permeate_is_electroneutral(machine):
    _, found = machine
    assert abs(found.permeate_imbalance_pct) < 1e-9
    for step in found.march.steps:
        assert abs(imbalance_pct(found.fresh, step.permeate)) < 1e-9


# recycle m3/h, feed bar, permeate TDS, hardest element; kWh/m3 stands in test_elements_energy
RECYCLE = [
    (0.0, 10.355, 46.07, 0.335),
    (0.30, 10.780, 51.68, 0.204),
    (0.55, 10.977, 53.89, 0.155),
    (0.90, 11.179, 55.66, 0.115),
]


def test_recycle_levels_the_elements_and_costs_quality():
    flows, bars, salts, hardest = map(np.array, zip(*RECYCLE, strict=True))
    mg_l, temp_c, array, duty = MACHINES["M2"]
    feed = element_feed(mg_l, temp_c)
    found = operate(array, NEW, feed, Duty(duty.product_m3_h, duty.recovery, flows))
    np.testing.assert_allclose(found.feed_bar, bars, rtol=PRINTED)
    np.testing.assert_allclose(found.permeate_tds_mg_l, salts, rtol=PRINTED)
    np.testing.assert_allclose(found.by_element("recovery").max(axis=0), hardest, rtol=4e-3)
    low = operate(array, NEW, feed, Duty(0.5, 0.38))
    assert low.feed_bar == pytest.approx(9.428, rel=PRINTED)
    assert low.permeate_tds_mg_l == pytest.approx(30.74, rel=PRINTED)


def test_temperature_swing():
    """Constant product: pressure falls and salt rises; constant pressure: salt hardly moves."""
    mg_l, _, array, duty = MACHINES["M2"]
    temps = np.array([10.0, 18.0, 25.0, 30.0])
    feed = element_feed(mg_l, temps)
    found = operate(array, NEW, feed, duty)
    np.testing.assert_allclose(found.feed_bar, [12.698, 10.977, 9.783, 9.074], rtol=PRINTED)
    np.testing.assert_allclose(found.permeate_tds_mg_l, [42.73, 53.89, 65.96, 76.17], rtol=PRINTED)
    np.testing.assert_allclose(found.permeate_mg_l["na"], [14.98, 18.90, 23.16, 26.75], rtol=1e-3)
    np.testing.assert_allclose(found.permeate_mg_l["b"], [0.332, 0.369, 0.400, 0.421], rtol=2e-3)
    held = operate_at_pressure(array, NEW, feed, 10.977, duty)
    np.testing.assert_allclose(held.duty.product_m3_h[:3], [0.3983, 0.5, 0.6097], rtol=PRINTED)
    np.testing.assert_allclose(held.permeate_tds_mg_l[:3], [54.21, 53.89, 53.63], rtol=PRINTED)


def test_many_at_once_are_the_same_as_one_at_a_time():
    rng = np.random.default_rng(7)
    mg_l, _, array, _ = MACHINES["M2"]
    scale = rng.uniform(0.3, 2.0, (5, 1))
    temps, recovery = rng.uniform(5, 30, (5, 1)), np.array([0.4, 0.6, 0.7])
    many = {k: v * scale for k, v in mg_l.items()}
    found = operate(array, NEW, element_feed(many, temps), Duty(0.45, recovery, 0.6))
    assert found.feed_bar.shape == (5, 3)
    for i in range(5):
        for j in range(3):
            one = element_feed({k: v * scale[i, 0] for k, v in mg_l.items()}, temps[i, 0])
            alone = operate(array, NEW, one, Duty(0.45, recovery[j], 0.6))
            assert found.feed_bar[i, j] == pytest.approx(alone.feed_bar, rel=1e-9)
            assert found.permeate_mg_l["cl"][i, j] == pytest.approx(
                alone.permeate_mg_l["cl"], rel=1e-9
            )


def test_pressure_and_product_invert_each_other(machine):
    name, found = machine
    mg_l, temp_c, array, duty = MACHINES[name]
    guess = Duty(duty.product_m3_h * 0.7, duty.recovery, duty.recycle_m3_h)
    back = operate_at_pressure(array, NEW, element_feed(mg_l, temp_c), found.feed_bar, guess)
    assert back.duty.product_m3_h == pytest.approx(duty.product_m3_h, rel=1e-9)
    assert back.permeate_tds_mg_l == pytest.approx(found.permeate_tds_mg_l, rel=1e-9)


def test_boost_and_throttle_level_a_tapering_array():
    """Either raises the tail's flux at the same product: textbook remedy, no figure printed."""
    mg_l, temp_c, plain, duty = MACHINES["M3"]
    feed = element_feed(mg_l, temp_c)
    box = plain.element
    boosted = operate(Array(box, (2, 1), 6, boost_bar=(0.0, 3.0)), NEW, feed, duty)
    throttled = operate(Array(box, (2, 1), 6, throttle_bar=(3.0, 0.0)), NEW, feed, duty)
    even = operate(plain, NEW, feed, duty)
    spread = [o.by_element("flux_lmh").max() / o.by_element("flux_lmh").min()
              for o in (even, boosted, throttled)]  # fmt: skip
    assert spread[0] > spread[1]
    assert spread[0] > spread[2]
    assert boosted.feed_bar < even.feed_bar < throttled.feed_bar


def test_film_theory_is_the_cautious_wall_factor():
    mg_l, temp_c, array, duty = MACHINES["M2"]
    feed = element_feed(mg_l, temp_c)
    film = operate(array, Membrane(wall="film"), feed, duty)
    assert film.feed_bar > operate(array, NEW, feed, duty).feed_bar
    assert film.by_element("wall_factor")[0] == pytest.approx(1.245, rel=0.01)
    entering = duty.fresh_m3_h * film.fresh.amounts
    out = duty.product_m3_h * film.march.permeate + film.drain_m3_h * film.march.concentrate
    np.testing.assert_allclose(out, entering, rtol=BALANCE)


def test_traces_pass_in_their_own_unit():
    """Radium 10 pCi/L at a concentration factor of 3.3 leaves at about 33 pCi/L."""
    mg_l, temp_c, array, duty = MACHINES["M3"]
    plain = operate(array, NEW, element_feed(mg_l, temp_c), duty)
    traced = operate(array, NEW, element_feed({**mg_l, "ra": 10.0, "u": 0.04}, temp_c), duty)
    assert traced.feed_bar == pytest.approx(plain.feed_bar, rel=1e-12)
    assert traced.permeate_tds_mg_l == pytest.approx(plain.permeate_tds_mg_l, rel=1e-12)
    assert traced.concentrate_mg_l["ra"] == pytest.approx(33.0, rel=0.02)
    assert traced.permeate_mg_l["ra"] < 0.5
