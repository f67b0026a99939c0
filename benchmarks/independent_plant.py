"""A second simulated plant, written from published tables alone, without the rules of record/.

Nine 4 x 40 membranes (two vessels, then one, three in each): A, B, polarisation, pressure drop
and 3 % per kelvin as textbooks give them. Years differ in how the machine is run (constant
pressure, or trimmed to its product at every visit), in which gauges the site has, in water that
moves with the season, in meters that drift and are set right again, and in a gauge replaced.
Salt is filled by whole bags, the counter of regenerations is whole, hardness is read by drops of
a kit. All sizes are invented.
"""

import datetime
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
START = datetime.datetime(2031, 3, 3, 10, 0)
AREA_M2, A_LMH_BAR, B_LMH = 7.6, 3.3, 0.22  # at 25 degC, brackish element
BESIDE = (2.0, 2.0, 2.0, 1.0, 1.0, 1.0)  # vessels beside each other, by position
SECTION_M2, D_H_M, LENGTH_M = 2.668e-3, 1.0e-3, 1.0
PRODUCT_M3_H, RECOVERY, HOURS = 1.9, 0.65, 18.0
SALT_MG_L_PER_US_CM = 0.5
RAW_HARDNESS, RAW_IRON, LEAK = 380.0, 1.2, 3.0
RESIN_L, CAPACITY_G_L, DOSE_G_L, RESERVE = 500.0, 57.2, 160.0, 0.2
USABLE_KG = RESIN_L * CAPACITY_G_L * (1 - RESERVE) / 1000
METER_M3 = USABLE_KG / RAW_HARDNESS * 1000
SALT_KG = RESIN_L * DOSE_G_L / 1000
BAG_KG, GRAIN = 25.0, 17.1
PRESSURES = (
    "feed_pressure_bar", "interstage_pressure_bar", "concentrate_pressure_bar",
    "product_pressure_bar", "cartridge_in_bar", "cartridge_out_bar", "iron_filter_in_bar",
    "iron_filter_out_bar", "softener_out_bar",
)  # fmt: skip
FLOWS = ("feed_flow_m3_h", "product_flow_m3_h", "drain_flow_m3_h")
RARE = ("raw_hardness_mg_l_caco3", "iron_out_mg_l", "chlorine_mg_l")  # tested by a kit
COUNTS = ("regenerations", "machine_hours_h", "salt_filled_kg")
METERS = ("feed_conductivity_us_cm", "product_conductivity_us_cm")


@dataclass
class Site:
    """How one year is run and read."""

    trimmed: bool
    missing: set[str]
    replaced: str
    replaced_day: float
    replaced_by: float  # share, or bar for a pressure gauge
    drifts: dict[str, float] = field(default_factory=dict)  # share a year


@dataclass
class Health:
    """State over the year: by position and day, or by day."""

    a: Array
    b: Array
    drop: Array
    pump: Array
    cartridge: Array
    filter_bed: Array
    capacity: Array
    early_leak: Array
    iron: Array
    chlorine: Array
    runs: Array  # regenerations done per regeneration due
    salt: Array
    water: Array
    hard: Array


@dataclass
class PlantYear:
    """Readings as written, the fault, when it begins and by when it must be named."""

    days: Array
    readings: list[dict[str, float]]
    begins: float
    limit: float
    site: Site


def machine(health: Health, temp: Array, ec: Array, trimmed: bool) -> dict[str, Array]:
    """Solve every day by bisection: pressure for the product, or feed for the drain valve."""
    low, high = np.full_like(temp, 1.2), np.full_like(temp, 30.0)
    feed = np.full_like(temp, PRODUCT_M3_H / RECOVERY)
    if trimmed:
        for _ in range(42):
            middle = 0.5 * (low + high)
            short = march(health, temp, ec, feed, middle)["product"] < PRODUCT_M3_H
            low, high = np.where(short, middle, low), np.where(short, high, middle)
        return march(health, temp, ec, feed, 0.5 * (low + high))
    pressure = 13.2 * health.pump
    valve = 0.30
    low, high = np.full_like(temp, 0.6), np.full_like(temp, 8.0)
    for _ in range(42):
        middle = 0.5 * (low + high)
        found = march(health, temp, ec, middle, pressure)
        much = found["drain"] > valve * np.sqrt(np.maximum(found["p_end"], 0.05))
        high, low = np.where(much, middle, high), np.where(much, low, middle)
    return march(health, temp, ec, 0.5 * (low + high), pressure)


def march(health: Health, temp: Array, ec: Array, feed: Array, pressure: Array) -> dict[str, Array]:
    """Walk down the positions; every quantity by day."""
    warm = 1.03 ** (temp - 25.0)
    nu = 1e-6 * 0.893 * 1.02 ** (25.0 - temp)
    flow, conc, p = feed.copy(), ec * SALT_MG_L_PER_US_CM, pressure.copy()
    product, salt = np.zeros_like(feed), np.zeros_like(feed)
    between = p
    for i, beside in enumerate(BESIDE):
        if i == 3:
            between = p.copy()
        each = np.maximum(flow / beside, 0.05)
        u = each * 0.92 / 3600 / SECTION_M2
        friction = 6.23 * (u * D_H_M / nu) ** -0.3
        drop = health.drop[i] * 2.2 * friction * 997 * u**2 * LENGTH_M / (2 * D_H_M) / 1e5
        mmol = 2 * conc / 58.44
        osmotic = 0.93 * 0.0831446 * (temp + 273.15) * mmol / 1000
        flux = health.a[i] * A_LMH_BAR * warm * np.maximum(p - drop / 2 - 0.4 - 1.12 * osmotic, 0.1)
        made = np.minimum(flux * AREA_M2 / 1000, 0.4 * each)
        flux = made * 1000 / AREA_M2
        beta = np.exp(0.7 * made / each)
        b = health.b[i] * B_LMH * warm
        passed = b * beta * conc / (flux + b)
        rest = each - made
        conc = (conc * each - passed * made) / rest
        product = product + made * beside
        salt = salt + passed * made * beside
        flow = rest * beside
        p = np.maximum(p - drop, 0.1)
    return {
        "feed": feed, "product": product, "drain": flow, "p_feed": pressure, "p_between": between,
        "p_end": p, "ec_product": salt / product / SALT_MG_L_PER_US_CM,
    }  # fmt: skip


def sound(days: Array, rng: np.random.Generator) -> Health:
    """Return a year without fault: slow ageing, cartridges changed, beds backwashed."""
    n, year = len(days), days / 365.0
    ageing, leaking = rng.uniform(0.02, 0.05), rng.uniform(0.03, 0.10)
    every, growth = rng.uniform(60, 90), rng.uniform(0.15, 0.45)
    cycle = rng.uniform(0, 1, n)  # where in its run a bed is met
    season = np.sin(2 * np.pi * (year + rng.uniform()))
    step = rng.uniform(-0.06, 0.06) * (days > rng.uniform(90, 300))
    one = np.ones(n)
    return Health(
        a=np.tile(1 - ageing * year, (6, 1)),
        b=np.tile(1 + leaking * year, (6, 1)),
        drop=np.tile(1 + 0.03 * year, (6, 1)),
        pump=one - 0.02 * year,
        cartridge=0.10 + growth * (days % every) / every,
        filter_bed=0.12 + rng.uniform(0.05, 0.18) * cycle,
        capacity=1 - rng.uniform(0.01, 0.05) * year,
        early_leak=np.zeros(n),
        iron=np.abs(rng.normal(0.04, 0.02, n)),
        chlorine=np.zeros(n),
        runs=one.copy(),
        salt=one.copy(),
        water=1 + 0.05 * season + step,
        hard=1 + 0.04 * season + step,
    )


def spoil(health: Health, kind: str, grown: Array, rng: np.random.Generator) -> None:
    """Let a fault grow: 0 before it begins, 1 when it is fully there, more afterwards."""
    FAULT[kind](health, grown, rng)


def scaling(health: Health, grown: Array, _: np.random.Generator) -> None:
    """Precipitate where the water is most concentrated."""
    for i, part in ((5, 1.0), (4, 0.5), (3, 0.2)):
        health.a[i] *= np.clip(1 - 0.75 * part * grown, 0.05, 1)
        health.drop[i] *= 1 + 1.8 * part * grown
        health.b[i] *= 1 + 1.2 * part * grown


def fouling(health: Health, grown: Array, _: np.random.Generator) -> None:
    """Hold particles and growth in the first membranes."""
    for i, part in ((0, 1.0), (1, 0.6), (2, 0.3)):
        health.a[i] *= np.clip(1 - 0.5 * part * grown, 0.1, 1)
        health.drop[i] *= 1 + 1.6 * part * grown


def membrane_damage(health: Health, grown: Array, rng: np.random.Generator) -> None:
    """Let a seal give way at once, or oxidise all membranes little by little."""
    if rng.uniform() < 0.5:
        health.b[int(rng.integers(0, 6))] *= np.where(grown > 0, rng.uniform(4.0, 8.0), 1.0)
    else:
        health.b *= 1 + 1.0 * grown
        health.a *= 1 + 0.05 * grown


def resin_capacity(health: Health, grown: Array, _: np.random.Generator) -> None:
    """Lose capacity."""
    health.capacity *= np.clip(1 - 0.35 * grown, 0.3, 1)


def channelled_bed(health: Health, grown: Array, _: np.random.Generator) -> None:
    """Leak from the first litre of a run."""
    health.early_leak += 60.0 * grown


def iron_passing(health: Health, grown: Array, _: np.random.Generator) -> None:
    """Let iron pass the filter."""
    health.iron += np.clip(0.6 * grown, 0, 0.9) * RAW_IRON


def cartridge(health: Health, grown: Array, _: np.random.Generator) -> None:
    """Clog the cartridge faster than it is changed."""
    health.cartridge += 1.4 * grown


def filter_pressure(health: Health, grown: Array, _: np.random.Generator) -> None:
    """Cake the bed of the filter."""
    health.filter_bed += 0.9 * grown


def regenerations_few(health: Health, grown: Array, rng: np.random.Generator) -> None:
    """Miss regenerations."""
    health.runs[grown > 0] = rng.uniform(0.4, 0.7)


def regenerations_many(health: Health, grown: Array, rng: np.random.Generator) -> None:
    """Regenerate too often."""
    health.runs[grown > 0] = rng.uniform(1.4, 2.0)


def salt_use(health: Health, grown: Array, rng: np.random.Generator) -> None:
    """Use too little salt, or too much."""
    health.salt[grown > 0] = rng.choice([rng.uniform(0.4, 0.65), rng.uniform(1.4, 1.8)])


def low_pressure(health: Health, grown: Array, _: np.random.Generator) -> None:
    """Wear the pump."""
    health.pump *= np.clip(1 - 0.25 * grown, 0.6, 1)


def changed_water(health: Health, grown: Array, rng: np.random.Generator) -> None:
    """Bring in another water from one day to the next."""
    health.water[grown > 0] *= rng.uniform(1.28, 1.6)
    health.hard[grown > 0] *= rng.uniform(1.28, 1.6)


def chlorine(health: Health, grown: Array, rng: np.random.Generator) -> None:
    """Let chlorine through to the membranes."""
    health.chlorine[grown > 0] = rng.uniform(0.15, 0.5)


FAULT = {
    f.__name__: f
    for f in (
        scaling, fouling, membrane_damage, resin_capacity, channelled_bed, iron_passing,
        cartridge, filter_pressure, regenerations_few, regenerations_many, salt_use,
        low_pressure, changed_water, chlorine,
    )
}  # fmt: skip
FAULTS = tuple(FAULT)


def softener(
    health: Health, days: Array, hours: Array, feed: Array, rng: np.random.Generator
) -> tuple[dict[str, Array], Array]:
    """Return what is read at the softener, and the true hardness at the end of a run."""
    n = len(days)
    used = feed * np.diff(hours, prepend=hours[0])
    due = used / METER_M3
    count = np.floor(np.cumsum(due * health.runs) + rng.uniform())
    throughput = METER_M3 / np.maximum(health.runs, 0.05)
    late = rng.uniform(size=n) < 0.5  # asked for: the last thing before it regenerates
    met = throughput * np.where(late, rng.uniform(0.85, 1.0, n), rng.uniform(0.1, 1.0, n))
    salt_share = np.clip(health.salt, 0.3, 1.0) ** 0.45
    full = RESIN_L * CAPACITY_G_L * health.capacity * salt_share

    def hardness(volume: Array) -> Array:
        raw = RAW_HARDNESS * health.hard
        share = volume * raw / full
        return LEAK + health.early_leak + raw / (1 + np.exp((1.02 - share) / 0.035))

    wanted = np.cumsum(np.diff(count, prepend=count[0]) * SALT_KG * health.salt)
    bags = np.floor(wanted / BAG_KG) * BAG_KG
    read = {
        "softened_m3": met,
        "regenerations": count + 400.0,
        "salt_filled_kg": np.diff(bags, prepend=bags[0]),
        "raw_hardness_mg_l_caco3": RAW_HARDNESS * health.hard,
    }
    read["soft_hardness_mg_l_caco3"] = np.round(hardness(met) / 2) * 2
    return read, hardness(throughput)


def draw_site(rng: np.random.Generator) -> Site:
    """Return gauges, way of running and what happens to a gauge."""
    missing = set()
    for keys, chance in (
        (("interstage_pressure_bar",), 0.35),
        (("product_pressure_bar",), 0.4),
        (("feed_flow_m3_h",), 0.3),
        (("cartridge_in_bar",), 0.1),
        (("softener_out_bar",), 0.3),
        (("raw_ph",), 0.9),
    ):
        if rng.uniform() < chance:
            missing.update(keys)
    replaced = str(rng.choice([*PRESSURES[:3], *FLOWS[1:], *METERS, "none"]))
    by = rng.normal(0, 0.08) if replaced in PRESSURES else rng.normal(0, 0.02)
    drifts = {key: rng.normal(0, 0.02) for key in (*FLOWS, *METERS)}
    return Site(bool(rng.uniform() < 0.5), missing, replaced, rng.uniform(60, 300), by, drifts)


def shown_by(key: str, true: Array, days: Array, site: Site, rng: np.random.Generator) -> Array:
    """Return what a gauge shows: resolution, noise, drift, replacement."""
    n = len(days)
    replaced = site.replaced_by * (days > site.replaced_day) * (key == site.replaced)
    if key in PRESSURES:
        wander = 0.02 * np.cumsum(rng.normal(0, 0.15, n)) + rng.normal(0, 0.06)
        noisy = true + wander + replaced + rng.normal(0, 0.03, n)
        return np.maximum(np.round(noisy / 0.05) * 0.05, 0.0)
    if key in (*FLOWS, *METERS):
        set_right = rng.uniform(150, 250)  # the drift is taken out on that day
        since = np.where(days > set_right, days - set_right, days)
        drift = 1 + site.drifts[key] * since / 365
        return true * drift * (1 + replaced) * (1 + rng.normal(0, 0.012, n))
    if key == "temperature_c":
        return np.round((true + rng.normal(0, 0.3, n)) / 0.5) * 0.5
    if key == "raw_hardness_mg_l_caco3":
        return np.round(true * (1 + rng.normal(0, 0.02, n)) / GRAIN) * GRAIN
    if key in ("iron_out_mg_l", "chlorine_mg_l"):
        return np.round(np.maximum(true + rng.normal(0, 0.01, n), 0) / 0.05) * 0.05
    return true


def as_read(
    exact: dict[str, Array], days: Array, site: Site, rng: np.random.Generator
) -> list[dict[str, float]]:
    """Return the readings as written: gaps, and values misread by a quarter."""
    seen = {k: shown_by(k, np.asarray(v, dtype=float), days, site, rng) for k, v in exact.items()}
    return [written(seen, i, site, rng) for i in range(len(days))]


def written(
    seen: dict[str, Array], place: int, site: Site, rng: np.random.Generator
) -> dict[str, float]:
    """Return one reading; the first is complete, and a bag of salt is never forgotten."""
    one = {}
    for key, value in seen.items():
        gap = 0.15 if key in RARE else 0.04
        if key in site.missing or (place and rng.uniform() < gap and key != "salt_filled_kg"):
            continue
        slip = rng.choice([0.75, 1.25]) if place and rng.uniform() < 0.004 else 1.0
        one[key] = float(value[place] * (1.0 if key in COUNTS else slip))
    return one


def first_day(days: Array, reached: NDArray[np.bool_], later: float = 0.0) -> float:
    """Return the day on which something is reached, and what may pass after it."""
    return float(days[int(np.argmax(reached))]) + later if reached.any() else float(days[-1])


def plant_year(seed: int, kind: str | None, every_days: float = 7.0) -> PlantYear:
    """Return one year; the seed fixes it."""
    rng = np.random.default_rng([seed, 0 if kind is None else 1 + FAULTS.index(kind)])
    days = np.arange(0.0, 364.0, every_days)
    n = len(days)
    site = draw_site(rng)
    temp = rng.uniform(12, 16) + rng.uniform(1, 5) * np.sin(
        2 * np.pi * (days / 365 + rng.uniform())
    )
    good, begins = sound(days, rng), rng.uniform(60, 200)
    health = Health(**{k: np.array(v, copy=True) for k, v in vars(good).items()})
    grown = np.clip((days - begins) / rng.uniform(60, 160), 0.0, 2.0)
    if kind is not None:
        spoil(health, kind, grown, rng)
        if kind == "low_pressure":
            site.trimmed = False
        if kind == "cartridge":
            site.missing.discard("cartridge_in_bar")  # its only gauge
    daily = HOURS * (1 + rng.normal(0, 0.06, n))
    hours = np.cumsum(daily * np.diff(days, prepend=days[0])) + 2_000.0
    ec = 1450.0 * health.water
    run, twin = (machine(h, temp, ec, site.trimmed) for h in (health, good))
    soft, end_of_run = softener(health, days, hours, run["feed"], rng)
    before = 3.6 - 0.1 * rng.uniform(size=n)
    exact = {
        "temperature_c": temp, "machine_hours_h": hours,
        "iron_filter_in_bar": before, "iron_filter_out_bar": before - health.filter_bed,
        "softener_out_bar": before - health.filter_bed - 0.35,
        "cartridge_in_bar": before - health.filter_bed - 0.4,
        "cartridge_out_bar": before - health.filter_bed - 0.4 - health.cartridge,
        "feed_pressure_bar": run["p_feed"], "interstage_pressure_bar": run["p_between"],
        "concentrate_pressure_bar": run["p_end"], "product_pressure_bar": np.full(n, 0.4),
        "feed_flow_m3_h": run["feed"], "product_flow_m3_h": run["product"],
        "drain_flow_m3_h": run["drain"], "feed_conductivity_us_cm": ec,
        "product_conductivity_us_cm": run["ec_product"],
        "iron_out_mg_l": health.iron, "chlorine_mg_l": health.chlorine, **soft,
    }  # fmt: skip
    case = Case(days, health, good, (temp, ec, end_of_run), run, twin, begins)
    limit = named_by(kind or "", case)
    return PlantYear(days, as_read(exact, days, site, rng), begins, limit, site)


@dataclass
class Case:
    """What the day is judged by on which a fault must have been named."""

    days: Array
    health: Health
    good: Health
    ends: tuple[Array, Array, Array]  # temperature, feed conductivity, hardness at a run's end
    run: dict[str, Array]
    twin: dict[str, Array]
    begins: float

    @property
    def week(self) -> float:
        """Time between two readings [d]."""
        return float(self.days[1] - self.days[0])

    def less_flow(self) -> float:
        """Cleaned at 10 to 15 % less flow: machine.md 5."""
        temp, ec, _ = self.ends
        here = machine(self.health, temp, ec, False)["product"]
        there = machine(self.good, temp, ec, False)["product"]
        return first_day(self.days, here < 0.85 * there)

    def more_salt(self) -> float:
        """Looked for at 10 to 15 % more salt passage, judged here at half as much again."""
        passed = self.run["ec_product"] / self.twin["ec_product"]
        return first_day(self.days, passed > 1.5, 3 * self.week)

    def used_up(self) -> float:
        """A quarter of the capacity lost and a grain showing: sizing.md 6."""
        hard = (self.ends[2] > GRAIN) & (self.health.capacity < 0.75)
        return first_day(self.days, hard, 2 * self.week)

    def short_product(self) -> float:
        """Product a tenth short."""
        short = self.run["product"] < 0.9 * self.twin["product"]
        return first_day(self.days, short, 3 * self.week)


def named_by(kind: str, case: Case) -> float:
    """Return the day by which a fault is to be named; the limits are those of its tables."""
    days, health, week = case.days, case.health, case.week
    limits = {
        "scaling": case.less_flow,
        "fouling": case.less_flow,
        "membrane_damage": case.more_salt,
        "resin_capacity": case.used_up,
        # a channel shows only where hardness is read early in a run
        "channelled_bed": lambda: first_day(days, health.early_leak > GRAIN, 6 * week),
        "iron_passing": lambda: first_day(days, health.iron > 0.3, 2 * week),
        # changed at a rise of 0.7 to 1.0 bar
        "cartridge": lambda: first_day(days, health.cartridge > 1.1, week),
        # terminal loss of greensand 8 to 10 psi: sizing.md 2.3
        "filter_pressure": lambda: first_day(days, health.filter_bed > 0.82, week),
        "low_pressure": case.short_product,
    }
    if kind in limits:
        return limits[kind]()
    weeks = {"chlorine": 2, "changed_water": 4, "salt_use": 8}.get(kind, 6)
    return case.begins + weeks * week
