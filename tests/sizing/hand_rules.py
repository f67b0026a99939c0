"""The sizing sums of a plant, written down a second time; nothing of the program is imported.

Rules: hardness in equivalents (molar masses); the co-current ladder 6, 8, 10, 15 lb/ft3 of salt
to 20, 22.5, 25, 30 kgr/ft3 (trade guides, no single source) with 80 to 40.3 g/L below it;
leakage from the outlet-end equilibrium (Helfferich 1962, affinities from memory); backwash by
Wen and Yu as in Hendricks (2011), Eq. 12.53 and 12.55; solids 349 g/m2 of Fe + 2 Mn and
oxidation capacities 1.34, 0.67 and 0.33 g/L (memory); settings of a calendar timer (practice).
Viscosity by Kestin (1978); density by the Tanaka-like form of Kell's table, from memory.
"""

import math
from itertools import pairwise
from typing import Any

Figures = dict[str, float | None]
PER_MG = {"ca": 2.497, "mg": 4.118, "sr": 1.142, "ba": 0.729, "fe": 1.792, "mn": 1.822}
RESIN, GREENSAND = (0.65, 1270.0, 0.38), (0.40, 2400.0, 0.45)  # mm, kg/m3, settled porosity
KGR, LB = 2.28835, 16.01846  # g/L in a kgr/ft3 and in a lb/ft3
LADDER = [(80.0, 40.3)] + [
    (p * LB, k * KGR) for p, k in ((6, 20.0), (8, 22.5), (10, 25.0), (15, 30.0))
]
PER_WEEK = {7.0: 1.0, 4.0: 2.0, 3.0: 7.0 / 3.0, 2.0: 3.5, 1.0: 7.0, 0.5: 14.0}
BRINE_KG_L = 0.264 / 0.736 * 0.9982  # salt that a litre of make-up dissolves at saturation


def capacity(dose: float) -> float:
    for (d0, c0), (d1, c1) in pairwise(LADDER):
        if d0 <= dose <= d1:
            return c0 + (dose - d0) / (d1 - d0) * (c1 - c0)
    raise ValueError(dose)


def backwash_m_h(grains: tuple[float, float, float], growth: float, temp_c: float) -> float:
    size_mm, heavy, settled = grains
    mu = 1.002e-3 * 10 ** (
        (20 - temp_c)
        / (temp_c + 96)
        * (1.2364 - 1.37e-3 * (20 - temp_c) + 5.7e-6 * (20 - temp_c) ** 2)
    )
    rho = 1000 * (
        1 - (temp_c + 288.9414) / (508929.2 * (temp_c + 68.12963)) * (temp_c - 3.9863) ** 2
    )
    d = size_mm / 1000.0
    galileo = d**3 * rho * (heavy - rho) * 9.80665 / mu**2
    target = ((settled + growth) / (1 + growth)) ** 4.7 * galileo
    low, high = 0.0, 1e5
    for _ in range(100):
        middle = (low + high) / 2
        low, high = (middle, high) if 18 * middle + 2.7 * middle**1.687 < target else (low, middle)
    return low * mu / (rho * d) * 3600.0


def setting(interval: float, hours: float, longest: float) -> float | None:
    allowed = min(interval, longest)
    for gap in (7.0, 4.0, 3.0, 2.0, 1.0):
        if gap <= allowed:
            return gap
    return 0.5 if allowed * hours >= min(12.0, hours) else None


def softener(plant: dict[str, Any], out: Figures) -> float:
    """Fill in the softener's figures; return its regeneration water, mean per day [m3]."""
    feed, water, soft = plant["feed"], plant["water"], plant["softener"]
    iron, manganese = plant["left"]
    hard = water.get("hard") or sum(PER_MG[k] * water.get(k, 0.0) for k in ("ca", "mg", "sr", "ba"))
    load_mg_l = hard + iron * PER_MG["fe"] + manganese * PER_MG["mn"]
    load = feed * plant["hours"] * load_mg_l / 1000.0
    litres, dose = soft["litres"], soft["dose"]
    held, reserve = capacity(dose), soft.get("reserve", 0.2)
    usable = litres * held * soft.get("factor", 1.0) * (1 - reserve) / 1000.0
    interval = usable / load
    longest = 3.0 if iron + manganese > 0.1 else 7.0
    programme = setting(interval, plant["hours"], longest)
    if soft.get("metered"):
        per_week: float | None = 7.0 / min(interval, 3.0 if longest == 3.0 else 14.0)
    else:
        per_week = None if programme is None else PER_WEEK[programme]
    salt = litres * dose / 1000.0
    cations = load_mg_l / 50040.0 + sum(
        water.get(k, 0.0) / m for k, m in (("na", 22990.0), ("k", 39098.0), ("nh4", 18039.0))
    )
    left = 1 - held / (50.04 * 2.0)
    r = left / (1 - left) ** 2 * cations / (5.16 / 1.98 * 2.0)
    passed = ((2 * r + 1) - math.sqrt((2 * r + 1) ** 2 - 4 * r * r)) / (2 * r)
    leak = min(passed * cations * 50040.0 * soft.get("leakage_share", 1.0), hard)
    flow = backwash_m_h(RESIN, 0.5, plant["warmest"]) * math.pi / 4 * soft["diameter"] ** 2
    waste = flow / 6 + litres / 1000.0 * (dose / 107.0 + 2 + 5)
    out |= {
        "softener.load_kg_caco3_d": load,
        "softener.resin_volume_l": litres,
        "softener.resin_filled_l": litres,
        "softener.capacity_g_caco3_l": held,
        "softener.interval_d": interval,
        "softener.interval_aged_d": interval / soft.get("factor", 1.0) * 0.75,
        "softener.programme_days": programme,
        "softener.meter_setting_m3": usable * 1000.0 / load_mg_l,
        "softener.salt_kg_per_regeneration": salt,
        "softener.salt_kg_per_year": None
        if per_week is None
        else salt * per_week * plant["days"] / 7,
        "softener.leakage_mg_l_caco3": leak,
        "softener.sodium_added_mg_l": (hard - leak) * 0.45943,
        "softener.backwash_flow_m3_h": flow,
        "softener.waste_m3_per_regeneration": waste,
    }
    return waste * (per_week / 7 if per_week else 1 / interval)


def iron_filter(plant: dict[str, Any], out: Figures, softener_m3_d: float) -> None:
    feed, water, bed = plant["feed"], plant["water"], plant["iron_filter"]
    area = math.pi / 4 * bed["diameter"] ** 2
    litres = bed.get("litres") or area * bed["depth"] * 1000.0
    solids = water.get("fe_total", water["fe"]) + 2 * water["mn"]
    run = 349.0 * area / (feed * solids)
    if "dose" in bed:
        used = water["fe"] / 1.34 + water["mn"] / 0.67 + water.get("h2s", 0.0) / 0.33
        run = min(run, litres / (feed * used))
        out["iron_filter.permanganate_g_per_regeneration"] = bed["dose"] * litres
    interval, daily = run / plant["hours"], feed * plant["hours"]
    everything = interval * daily / (daily + softener_m3_d)
    out |= {
        "iron_filter.area_m2": area,
        "iron_filter.media_volume_l": litres,
        "iron_filter.interval_d": interval,
        "iron_filter.interval_all_water_d": everything,
        "iron_filter.programme_days": setting(min(interval, everything), plant["hours"], 3.0),
        "iron_filter.backwash_flow_m3_h": backwash_m_h(GREENSAND, 0.4, plant["warmest"]) * area,
    }


def carbon(plant: dict[str, Any], out: Figures) -> None:
    feed, bed = plant["feed"], plant["carbon"]
    years = 2.0
    if bed["chlorine"]:
        days = bed["litres"] * 0.48 * 1000 * 1.0 * 0.5 / (feed * plant["hours"] * bed["chlorine"])
        years = min(years, days / plant["days"])
    out |= {
        "carbon.media_volume_l": bed["litres"],
        "carbon.ebct_min": bed["litres"] / 1000.0 / feed * 60.0,
        "carbon.life_years": years,
    }


def figures(plant: dict[str, Any]) -> Figures:
    """Return every figure of a plant by the hand's rules."""
    product, feed = plant["product"], plant["product"] / plant["recovery"]
    plant = {**plant, "feed": feed}
    out: Figures = {
        "machine.feed_flow_m3_h": feed,
        "machine.product_flow_m3_h": product,
        "machine.concentrate_flow_m3_h": feed - product,
        "machine.recycle_flow_m3_h": plant.get("recycle", 0.0),
    }
    extra = softener(plant, out)
    if "iron_filter" in plant:
        iron_filter(plant, out, extra)
    if "carbon" in plant:
        carbon(plant, out)
    return out
