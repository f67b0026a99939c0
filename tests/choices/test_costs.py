"""Interest factors, the cost of a year and where two trains cost the same.

Factors against printed tables; the comparison of four trains against sums by hand on invented
prices (each number of the comparison is worked out from the inputs that stand here).
"""

import math

import pytest

from pretreat.life import annual, discharge

# Printed in Riggs, Bedworth and Randhawa (1996), 10 % and 5 years, as copied in a teaching note.
RIGGS = [
    (annual.single_present_value, 0.62092, 1e-5),
    (annual.uniform_present_value, 3.7908, 1e-4),
    (annual.capital_recovery, 0.26380, 1e-5),
    (annual.compound_amount, 1.6105, 1e-4),
    (annual.uniform_compound_amount, 6.1051, 1e-4),
    (annual.sinking_fund, 0.16380, 1e-5),
]


@pytest.mark.parametrize(("law", "printed", "tolerance"), RIGGS)
def test_printed_factors(law, printed, tolerance):
    assert law(0.1, 5.0) == pytest.approx(printed, abs=tolerance)


def test_printed_present_values():
    # Help pages that cite Newnan (2020): 30 000 a year, 8 %, 30 years; 1 000 every third year,
    # 3 %, within 50 years.
    assert 30_000 * annual.uniform_present_value(0.08, 30.0) == pytest.approx(337_733.5, abs=0.1)
    every_third = sum(1000 * annual.single_present_value(0.03, float(y)) for y in range(3, 49, 3))
    assert every_third == pytest.approx(8174.547, abs=0.001)
    # A public cost worksheet: 14 000 at 10 % and 10 years is 2 278 a year.
    assert annual.yearly_of_price(14_000.0, 0.1, 10.0) == pytest.approx(2278, abs=0.5)
    assert annual.uniform_present_value(0.0, 7.0) == 7.0
    # Course notes: 10 000 a year for ever at 10 % is 100 000; hundred years come close.
    assert 10_000 * annual.uniform_present_value(0.1, 100.0) == pytest.approx(99_992.74, abs=0.01)


def test_printed_six_tenths():
    # A techno-economic handbook: 2.0 million at 5 MW, exponent 0.62, is 2.7 million at 8 MW.
    assert annual.scaled_cost(2.0, 8.0, 5.0, 0.62) == pytest.approx(2.7, abs=0.05)


def test_printed_chloride_criteria():
    # Iowa and Missouri criteria, from slides of the state: 629 and 389 at hardness 200, 602 and
    # 372 at 162, sulfate 63 mg/L.
    assert discharge.acute_chloride_mg_l(200.0, 63.0) == pytest.approx(629, abs=0.5)
    assert discharge.chronic_chloride_mg_l(200.0, 63.0) == pytest.approx(389, abs=0.5)
    assert discharge.acute_chloride_mg_l(162.0, 63.0) == pytest.approx(602, abs=0.5)
    assert discharge.chronic_chloride_mg_l(162.0, 63.0) == pytest.approx(372, abs=0.5)


def test_recovery_against_cost():
    # By hand: a = 1.10, k = 0.05, drain 0.60.
    assert annual.cheapest_recovery(1.10, 0.05) == pytest.approx(0.8243, abs=1e-4)
    for recovery, cost in ((0.70, 1.1381), (0.75, 1.0667), (0.8243, 1.0190), (0.90, 1.1222)):
        found = annual.cost_of_recovery_m3(recovery, 1.10, 0.60, 0.05)
        assert found == pytest.approx(cost, abs=1e-4)
    assert annual.gain_of_recovery_m3(1.10, 0.70, 0.75) == pytest.approx(0.10476, abs=1e-4)
    assert annual.overall_recovery(0.75, 0.4 * 0.14604, 0.0) == pytest.approx(0.7086, abs=1e-4)
    assert annual.overall_recovery(0.75, 0.4 * 0.14604, 0.03) == pytest.approx(0.6873, abs=1e-4)
    assert annual.salt_of_product_kg_m3(400.0, 2.1, 0.75) == pytest.approx(1.12)
    assert annual.chloride_of_salt_kg(1.12) == pytest.approx(0.679, abs=1e-3)
    # Madison's best practice: 4000 grains a pound.
    assert discharge.salt_efficiency_g_kg(4000.0) == pytest.approx(571.4, abs=0.1)


def test_salt_of_resin_that_ages():
    assert annual.mean_salt_of_ageing(0.75) == pytest.approx(1.1587, abs=1e-4)


def test_mixing_below_an_outfall():
    # By hand: 12.337 m3/d at 3368 mg/L to 230 in a stream of 20.
    stream = discharge.stream_needed_m3_d(12.337, 3368.0, 230.0, 20.0)
    assert stream == pytest.approx(184.4, abs=0.1)
    assert discharge.mixed_mg_l(stream, 20.0, 12.337, 3368.0) == pytest.approx(230.0)


# Four trains on one feed, invented: hardness 400 and TDS 2000 mg/L, iron filtered in each.
RATE, YEARS, HARDNESS, TDS = 0.05, 15.0, 400.0, 2000.0
BASE = {"raw": 0.40, "drain": 0.60, "salt": 0.35}


def cost_of(train, flow, prices, *, recovery=None, hardness=HARDNESS, dose=2.1):
    """Return the yearly cost [u/y] of a train at a product flow [m3/d], by the laws."""
    recovery = recovery or {"A": 0.75, "B": 0.70, "C": 0.75, "D": 0.50}[train]
    product = flow * 365.0
    feed = product / recovery
    waste = hardness * 0.14604 / 1000.0 * feed if train == "A" else 0.0
    raw = feed + waste
    bar = annual.feed_pressure_bar(recovery, TDS, 8.5, 0.00075)
    energy = annual.pumping_kwh_year(feed, bar, 0.50) * 0.20
    salt = hardness / 1000.0 * feed * dose if train == "A" else 0.0
    chemicals = salt * prices["salt"]
    if train in "BC":
        chemicals += 3.0 / 1000.0 * feed * 8.0
    if train == "C":
        chemicals += 147.0 / 1000.0 * feed * 0.60
    visits = {"A": (12, 26), "B": (12, 26), "C": (26, 52), "D": (6, 12)}[train][flow > 100]
    cleaning = (1 if train == "A" else 2) * (100.0 + 2.0 * flow)
    life = 6.0 if train == "A" else 5.0
    elements = annual.yearly_of_price(90.0 * flow, RATE, life)
    resin = 0.0
    if train == "A":
        resin = annual.yearly_of_price(6.0 * hardness * feed / 365.0 / 45.0, RATE, 8.0)
    capital = annual.scaled_cost(5000.0, raw / 365.0, 40.0, 0.6)
    if train == "A":
        capital += annual.scaled_cost(6000.0, flow, 30.0, 0.6)
    elif train in "BC":
        capital += annual.scaled_cost({"B": 1500.0, "C": 5500.0}[train], flow, 30.0, 0.3)
    return (
        raw * prices["raw"] + (raw - product) * prices["drain"] + energy + chemicals
        + 60.0 * visits + cleaning + elements + resin
        + annual.yearly_of_price(capital, RATE, YEARS)
    )  # fmt: skip


# Cost of a m3 of product, worked by hand from the same inputs.
PRICES = {
    "base": BASE,
    "own well": BASE | {"raw": 0.10, "drain": 0.0},
    "dear": BASE | {"raw": 1.50, "drain": 3.00},
}
WORKED = [
    ("base", 3, (2.450, 2.128, 3.078, 2.355)), ("base", 30, (1.628, 1.250, 1.371, 1.810)),
    ("base", 200, (1.523, 1.156, 1.197, 1.742)), ("own well", 3, (1.780, 1.442, 2.478, 1.155)),
    ("own well", 30, (0.958, 0.564, 0.771, 0.610)), ("dear", 3, (4.990, 4.728, 5.345, 6.955)),
    ("dear", 30, (4.167, 3.850, 3.638, 6.410)), ("dear", 200, (4.062, 3.756, 3.463, 6.342)),
]  # fmt: skip


@pytest.mark.parametrize(("prices", "flow", "worked"), WORKED)
def test_four_trains_compared(prices, flow, worked):
    costs = [cost_of(t, flow, PRICES[prices]) / (flow * 365.0) for t in "ABCD"]
    assert costs == pytest.approx(worked, abs=0.0015)


def test_dose_of_best_practice_still_loses():
    for flow, worked in ((3, 2.385), (30, 1.562), (200, 1.458)):
        found = cost_of("A", flow, BASE, dose=1.75) / (flow * 365.0)
        assert found == pytest.approx(worked, abs=0.0015)


# Where two trains cost the same, worked by hand: (one, other, price, flow, value).
FLIPS = [
    ("B", "D", "drain", 3, 0.202), ("A", "B", "salt", 3, 0.062), ("A", "B", "salt", 30, 0.013),
    ("A", "B", "salt", 200, 0.022), ("A", "D", "salt", 3, 0.265), ("A", "D", "salt", 30, 0.513),
    ("A", "D", "salt", 200, 0.545), ("B", "C", "drain", 3, 10.575), ("B", "C", "drain", 30, 1.873),
    ("B", "C", "drain", 200, 1.031), ("B", "C", "raw", 30, 1.673), ("B", "C", "raw", 200, 0.831),
]  # fmt: skip


@pytest.mark.parametrize(("one", "other", "price", "flow", "worked"), FLIPS)
def test_prices_of_equal_cost(one, other, price, flow, worked):
    now, more = BASE, BASE | {price: BASE[price] + 1.0}
    cost = [cost_of(t, flow, now) for t in (one, other)]
    use = [cost_of(t, flow, more) - c for t, c in zip((one, other), cost, strict=True)]
    found = annual.price_of_equal_cost(BASE[price], *cost, *use)
    assert found == pytest.approx(worked, abs=0.001 * max(1.0, worked))


@pytest.mark.parametrize(("flow", "worked"), [(3, 144.3), (30, 98.6), (200, 106.5)])
def test_hardness_of_equal_cost(flow, worked):
    low, high = 1.0, 400.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        dearer = cost_of("A", flow, BASE, hardness=middle) > cost_of("B", flow, BASE)
        low, high = (low, middle) if dearer else (middle, high)
    assert low == pytest.approx(worked, rel=0.005)


def test_salt_share_of_the_waste():
    # By hand: 1120 g of salt are 679 g of chloride for a m3 of product.
    year = discharge.chloride_kg_year(0.0, 0.0, 1120.0, 0.0)
    assert year == pytest.approx(679, abs=1)
    assert math.isclose(discharge.mean_of_load_mg_l(year, 1000.0), year)
