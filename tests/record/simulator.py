"""A small plant simulated for a year, membrane by membrane; it shares no code with the judging.

Six membranes: two vessels side by side in the first stage and one in the second, two membranes
in each. A pump with a falling curve, a fixed drain valve, a cartridge, an iron filter, and a
softener whose hardness breaks through along an S-shaped front. All sizes are invented.
Temperature, feed salt and compaction move in sound years too.
"""

import datetime
from dataclasses import dataclass

import numpy as np

START = datetime.datetime(2030, 1, 7, 9, 0)
PARALLEL = np.array([2.0, 2.0, 1.0, 1.0])
A25 = 0.041  # m3/(h bar) per membrane
B25 = 0.0042  # m3/h per membrane
DROP = np.array([0.28, 0.17, 0.42, 0.28])  # bar per membrane at 1.2 m3/h
BAR_PER_US_CM = 4.7e-4
VALVE = 0.29  # m3/h per square root of bar
FAULTS = ("scaling", "fouling", "resin_capacity", "iron_passing", "cartridge", "membrane_damage")
RAW_IRON, RAW_HARDNESS = 1.5, 437.0
ITERATIONS = 45


@dataclass
class Year:
    """Readings with noise, and the truth behind them."""

    days: np.ndarray
    readings: list[dict[str, float]]
    loss: np.ndarray  # of flow or capacity against the same year without the fault
    passage_ratio: np.ndarray
    begins: float
    fault: str


@dataclass
class Health:
    """State of the plant over the year; arrays of (positions, days) or (days)."""

    a: np.ndarray
    b: np.ndarray
    k: np.ndarray
    cartridge: np.ndarray
    capacity: np.ndarray
    iron: np.ndarray


def operate(health, temp, salt, ea):
    """Solve the feed flow of every day by bisection; return what flows and presses."""
    kelvin = temp + 273.15
    warm_a = np.exp(ea[0] * (1 / 298.15 - 1 / kelvin))
    warm_b = np.exp(ea[1] * (1 / 298.15 - 1 / kelvin))
    thick = np.exp(-0.021 * (temp - 15.0))
    low, high = np.full(temp.shape, 0.3), np.full(temp.shape, 6.0)
    for _ in range(ITERATIONS):
        feed = 0.5 * (low + high)
        end = march(health, feed, salt, (warm_a, warm_b, thick))
        too_much = end["drain"] > VALVE * np.sqrt(np.maximum(end["p_end"], 0.01))
        high = np.where(too_much, feed, high)
        low = np.where(too_much, low, feed)
    return end


def march(health, feed, salt, warm):
    warm_a, warm_b, thick = warm
    before = 3.3 + 0 * feed
    behind = np.maximum(before - health.cartridge * feed / 2.4, 0.2)
    p_feed = behind + 8.6 - 0.25 * feed
    pressure, flow, c = p_feed.copy(), feed.copy(), salt.copy()
    product, passed = 0 * feed, 0 * feed
    between = p_feed
    for i in range(4):
        if i == 2:
            between = pressure.copy()
        each = flow / PARALLEL[i]
        drop = health.k[i] * DROP[i] * (np.maximum(each, 0.01) / 1.2) ** 1.6 * thick
        drive = pressure - drop / 2 - 0.3 - 1.1 * BAR_PER_US_CM * c
        flux = np.clip(health.a[i] * A25 * warm_a * drive, 1e-4, 0.45 * each)
        beta = np.exp(0.7 * flux / np.maximum(each, 0.01))
        salt_flux = np.minimum(health.b[i] * B25 * warm_b * c * beta, 0.9 * c * flux)
        rest = np.maximum(flow - flux * PARALLEL[i], 0.01)
        c = (c * flow - salt_flux * PARALLEL[i]) / rest
        product += flux * PARALLEL[i]
        passed += salt_flux * PARALLEL[i]
        flow = rest
        pressure = pressure - drop
    return {
        "feed": feed, "product": product, "drain": flow, "p_feed": p_feed, "p_between": between,
        "p_end": pressure, "before": before, "behind": behind, "c_product": passed / product,
    }  # fmt: skip


def health_of(days, rng, fault, begins, lasts):
    n = len(days)
    s = np.clip((days - begins) / lasts, 0.0, 1.6) if fault else np.zeros(n)
    compaction = 1 - rng.uniform(0.0, 0.03) * np.sqrt(days / 365)
    a, b, k = np.tile(compaction, (4, 1)), np.ones((4, n)), np.ones((4, n))
    every = rng.uniform(75, 95)
    growth = rng.uniform(0.15, 0.40)
    cartridge = 0.12 + growth * (days % every) / every
    capacity = 1 - rng.uniform(0.0, 0.03) * days / 365
    iron = np.abs(rng.normal(0.04, 0.01, n))
    if fault == "scaling":
        a[3] *= np.clip(1 - s, 0.05, 1)
        a[2] *= np.clip(1 - 0.4 * s, 0.05, 1)
        k[3] *= 1 + 3.0 * s
        k[2] *= 1 + 0.6 * s
        b[3] *= 1 + 2.0 * s
    elif fault == "fouling":
        a[0] *= np.clip(1 - 0.45 * s, 0.1, 1)
        a[1] *= np.clip(1 - 0.25 * s, 0.1, 1)
        k[0] *= 1 + 2.2 * s
        k[1] *= 1 + 0.8 * s
        b[:2] *= 1 + 0.1 * s
    elif fault == "resin_capacity":
        capacity = capacity * np.clip(1 - 0.22 * s, 0.3, 1)
    elif fault == "iron_passing":
        iron = iron + np.clip(0.22 * s, 0, 0.8) * RAW_IRON
        a[0] *= 1 - 0.1 * np.clip(s - 0.5, 0, 1)
    elif fault == "cartridge":
        at = 0.12 + growth * (begins % every) / every
        cartridge = np.where(days > begins, at + 2.6 * np.minimum(s, 1.0), cartridge)
    elif fault == "membrane_damage":
        b *= 1 + 1.2 * np.clip(4 * s, 0, 1)
        a *= 1 + 0.06 * np.clip(4 * s, 0, 1)
    return Health(a, b, k, cartridge, capacity, iron)


def hardness(capacity, share, front):
    """Return hardness before regeneration [mg/L]: an S-shaped front through the bed."""
    used = 0.8 * share / capacity
    return 2.0 + RAW_HARDNESS / (1 + np.exp((1.0 - used) / front))


def simulate(seed, fault=None, every_days=7.0, noise=0.02, swing_c=6.0, rough=False):
    """Return one year of readings; the seed fixes it."""
    rng = np.random.default_rng(seed)
    days = np.arange(0.0, 364.0, every_days)
    n = len(days)
    temp = 15.0 + swing_c * np.sin(2 * np.pi * (days / 365 + rng.uniform())) + rng.normal(0, 0.4, n)
    salt = 1250.0 * (1 + 0.04 * np.sin(2 * np.pi * (days / 180 + rng.uniform())))
    salt *= 1 + rng.normal(0, 0.01, n)
    ea = rng.uniform(2500, 3000), rng.uniform(2700, 3500)
    begins, lasts = rng.uniform(70, 170), rng.uniform(70, 180)
    twin = rng.bit_generator.state
    health = health_of(days, rng, fault, begins, lasts)
    rng.bit_generator.state = twin
    sound = health_of(days, rng, None, begins, lasts)
    truth, should = operate(health, temp, salt, ea), operate(sound, temp, salt, ea)
    loss = 1 - truth["product"] / should["product"]
    if fault == "resin_capacity":
        loss = 1 - health.capacity / sound.capacity
    elif fault == "iron_passing":
        loss = np.maximum(loss, (health.iron - sound.iron) / RAW_IRON)
    share = rng.uniform(0.93, 1.0, n)
    soft = hardness(health.capacity, share, rng.uniform(0.025, 0.04))
    exact = {
        "feed_pressure_bar": truth["p_feed"], "interstage_pressure_bar": truth["p_between"],
        "concentrate_pressure_bar": truth["p_end"], "product_pressure_bar": 0.3 + 0 * days,
        "cartridge_in_bar": truth["before"], "cartridge_out_bar": truth["behind"],
        "feed_flow_m3_h": truth["feed"], "product_flow_m3_h": truth["product"],
        "drain_flow_m3_h": truth["drain"], "feed_conductivity_us_cm": salt,
        "product_conductivity_us_cm": truth["c_product"], "soft_hardness_mg_l_caco3": soft,
        "raw_hardness_mg_l_caco3": RAW_HARDNESS + 0 * days, "iron_out_mg_l": health.iron,
        "temperature_c": temp,
    }  # fmt: skip
    read = {k: v * (1 + rng.normal(0, noise, n)) for k, v in exact.items()}
    read["soft_hardness_mg_l_caco3"] = np.round(read["soft_hardness_mg_l_caco3"])
    read["iron_out_mg_l"] = np.round(read["iron_out_mg_l"], 2)
    readings = [{k: float(v[i]) for k, v in read.items()} for i in range(n)]
    if rough:
        readings = roughen(readings, rng)
    return Year(days, readings, loss, truth["c_product"] / should["c_product"], begins, fault or "")


def roughen(readings, rng):
    """Leave gauges out and misread some by a third, as happens."""
    out = []
    for number, one in enumerate(readings):
        kept = dict(one)
        for key in list(kept) if number else []:
            if rng.uniform() < 0.05:
                del kept[key]
            elif rng.uniform() < 0.01:
                kept[key] *= rng.choice([0.7, 1.3])
        out.append(kept)
    return out
