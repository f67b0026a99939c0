"""Water, pump and storage: what the train takes from the well and sends to the drain."""

import math
from dataclasses import dataclass

from pretreat.core.basis import Series
from pretreat.plant.demand import (
    LEVEL,
    hourly_demand_m3_h,
    peak_storage_m3,
    profile_rows,
    profile_shares,
)
from pretreat.plant.supply_laws import pump_shaft_power_w
from pretreat.plant.wash_supply import enter_wash_supply
from pretreat.stages.train import Train

EFFICIENCY = 0.5  # PRACTICE: small pump with its motor
PRESSURE_BAR = 2.5  # PRACTICE: service pressure ahead of the membranes
BAR_M3_PER_KWH = 36.0  # a cubic metre against 36 bar takes one kilowatt-hour
ROUNDING = 1e-9  # what arithmetic leaves of whole minutes
SALT_STORED_D = 30.0  # MEMORY: Recommended Standards, 30 d of salt


@dataclass(frozen=True, slots=True)
class Washer:
    """A stage that regenerates or backwashes: where its water and its times stand."""

    prefix: str
    label: str
    water_key: str
    per_week_key: str
    minutes: tuple[str, ...]

    @property
    def number_key(self) -> str:
        """Key of the vessels that stand side by side and regenerate one after the other."""
        return f"{self.prefix}.vessels_in_service"


WASHERS = (
    Washer("iron_filter", "Iron filter", "iron_filter.waste_m3_per_regeneration",
           "iron_filter.regenerations_per_week", ("iron_filter.regeneration_min",)),
    Washer("multimedia", "Multimedia filter", "multimedia.waste_m3_per_backwash",
           "multimedia.backwashes_per_week",
           ("multimedia.backwash_min", "multimedia.rinse_min")),
    Washer("softener", "Softener", "softener.waste_m3_per_regeneration",
           "softener.regenerations_per_week", ("softener.regeneration_min",)),
    Washer("carbon", "Carbon", "carbon.waste_m3_per_backwash", "carbon.backwashes_per_week",
           ("carbon.backwash_min", "carbon.rinse_min")),
)  # fmt: skip


def washers(train: Train) -> tuple[Washer, ...]:
    """Return the stages of this train that regenerate or backwash, in the order of flow."""
    return tuple(w for w in WASHERS if w.water_key in train.entries.ledger)


def minutes_of(train: Train, washer: Washer, *, keyed_in: bool = False) -> float:
    """Return the time of a stage's regenerations, its vessels one after the other [min].

    ``keyed_in`` takes every step of a vessel in whole minutes, as a timer does.
    """
    each = [train.entries.value(key) for key in washer.minutes]
    one = sum(math.ceil(minutes - ROUNDING) for minutes in each) if keyed_in else sum(each)
    return one * train.entries.value(washer.number_key)


def minutes_formula(washer: Washer) -> str:
    """Return the same as a formula of the workbook."""
    inner = "+".join(f"{{{key}}}" for key in washer.minutes)
    return f"{{{washer.number_key}}}*({inner})"


def enter_softener_water_per_day(train: Train) -> str:
    """Enter the softener's regeneration water, mean per day; return its key.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]

    Returns
    -------
    str
        Key of the figure. [-]
    """
    washer = next(w for w in WASHERS if w.prefix == "softener")
    _enter_water_per_day(train, washer)
    return "softener.regeneration_water_m3_d"


def _enter_water_per_day(train: Train, washer: Washer) -> float:
    """Enter the mean water of a stage; where no setting holds, as often as its interval."""
    entries, key = train.entries, f"{washer.prefix}.regeneration_water_m3_d"
    known = entries.ledger.number(key)
    if known is not None:
        return known
    waste = entries.value(washer.water_key)
    per_week = entries.ledger.number(washer.per_week_key)
    formula = f"{{{washer.water_key}}}*{{{washer.per_week_key}}}/7"
    interval_key = f"{washer.prefix}.interval_d"
    if interval_key in entries.ledger:
        interval = entries.value(interval_key)
        formula = (
            f'IF({{{washer.per_week_key}}}="",{{{washer.water_key}}}/{{{interval_key}}},{formula})'
        )
    value = waste * per_week / 7.0 if per_week is not None else waste / interval
    return entries.calc(key, value, "m3/d", f"{washer.label}: water to the drain, mean", formula,
                        method="waste times regenerations")  # fmt: skip


def enter_supply(train: Train) -> None:
    """Enter water balance, pump duty, storage and hours; flag a day that is too short.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    """
    stages = washers(train)
    _enter_water_balance(train, stages)
    _enter_hours(train, stages)
    _enter_pump(train, stages)
    enter_wash_supply(train)
    _enter_storage(train)


def _enter_water_balance(train: Train, stages: tuple[Washer, ...]) -> None:
    entries, ledger = train.entries, train.entries.ledger
    feed, product = entries.value("machine.feed_m3_d"), entries.value("machine.product_m3_d")
    used = {w: _enter_water_per_day(train, w) for w in stages}
    keys = [f"{{{w.prefix}.regeneration_water_m3_d}}" for w in stages]
    waste = entries.calc("water_balance.regeneration_m3_d", sum(used.values()), "m3/d",
                         "Water for regenerations and backwashes, mean", "+".join(keys) or "0",
                         method="sum of the stages")  # fmt: skip
    raw = entries.calc("water_balance.raw_m3_d", feed + waste, "m3/d", "Raw water needed, mean",
                       "{machine.feed_m3_d}+{water_balance.regeneration_m3_d}",
                       method="membrane feed and regenerations")  # fmt: skip
    entries.calc("water_balance.drain_m3_d", raw - product, "m3/d",
                 "Water to the drain, mean", "{water_balance.raw_m3_d}-{machine.product_m3_d}",
                 method="raw water less product")  # fmt: skip
    entries.calc("water_balance.product_share", product / raw, "-", "Product over raw water",
                 "{machine.product_m3_d}/{water_balance.raw_m3_d}",
                 method="what is left of the recovery")  # fmt: skip
    days = entries.value("machine.days_per_year")
    for name, value in (("raw", raw), ("regeneration", waste), ("drain", raw - product)):
        label = {"raw": "Raw water", "regeneration": "Regeneration water", "drain": "Drain"}[name]
        entries.calc(f"water_balance.{name}_m3_year", value * days, "m3/year",
                     f"{label} per year",
                     f"{{water_balance.{name}_m3_d}}*{{machine.days_per_year}}")  # fmt: skip
    lines = [("product", product), ("concentrate", feed - product)]
    lines += [(f"{w.label.lower()} regeneration", amount) for w, amount in used.items()]
    lines.append(("raw water", raw))
    ledger.table(
        Series("water_balance", "Where the raw water goes",
               ("item", "m3_d", "m3_year", "share"), ("-", "m3/d", "m3/year", "-"),
               tuple((name, m3, m3 * days, m3 / raw) for name, m3 in lines),
               headings=("Item", "Per day of operation", "Per year", "Share of raw water"),
               method="mean over the week")
    )  # fmt: skip
    well = train.design.supply.well_yield_m3_h
    if well is not None and raw > well * 24.0:
        entries.flag("well_too_small", "warning",
                     f"the train needs {raw:.1f} m3/d, the well gives {well * 24.0:.1f} m3/d at "
                     "most: fewer hours, higher recovery or another well",
                     "water_balance.raw_m3_d")  # fmt: skip


def stops_flow(train: Train, washer: Washer) -> bool:
    """Tell whether the machine waits while a stage regenerates."""
    return washer.prefix != "softener" or train.design.softener.arrangement == "simplex"


def _enter_hours(train: Train, stages: tuple[Washer, ...]) -> None:
    """Enter the hours that regenerations take from a day, mean and on the fullest day."""
    entries = train.entries
    mean, worst, parts, full = 0.0, 0.0, [], []
    for w in (w for w in stages if stops_flow(train, w)):
        minutes, text = minutes_of(train, w), minutes_formula(w)
        per_week = entries.ledger.number(w.per_week_key)
        if per_week is None:
            continue
        mean += minutes / 60.0 * per_week / 7.0
        worst += minutes / 60.0 * max(1.0, per_week / 7.0)
        parts.append(f"{text}/60*{{{w.per_week_key}}}/7")
        full.append(f"{text}/60*MAX(1,{{{w.per_week_key}}}/7)")
    entries.calc("programme.regeneration_h_d", mean, "h/d",
                 "Hours of regeneration that stop the machine, mean", "+".join(parts) or "0",
                 method="minutes times regenerations")  # fmt: skip
    entries.calc("programme.regeneration_fullest_h_d", worst, "h/d",
                 "The same on a day when all stages regenerate", "+".join(full) or "0",
                 method="one after the other")  # fmt: skip
    hours = entries.value("machine.hours_per_day")
    total = entries.calc("programme.hours_d", hours + mean, "h/d",
                         "Running and regenerating, mean",
                         "{machine.hours_per_day}+{programme.regeneration_h_d}")  # fmt: skip
    left_min = (24.0 - hours) * 60.0
    if total > 24.0:
        simplex = any(w.prefix == "softener" and stops_flow(train, w) for w in stages)
        remedy = "a duplex softener, " if simplex else ""
        entries.flag("hours_exceed_day", "warning",
                     f"{hours:g} h of running leave {left_min:.0f} min a day, the regenerations "
                     f"that stop the machine take {mean * 60.0:.0f} min a day: {remedy}more "
                     "product flow, or fewer hours", "programme.hours_d")  # fmt: skip
    elif hours + worst > 24.0:
        entries.flag("fullest_day_too_long", "caution",
                     f"on a day when all stages regenerate they take {worst * 60.0:.0f} min, "
                     f"{hours:g} h of running leave {left_min:.0f} min: spread the stages over the "
                     "week", "programme.regeneration_fullest_h_d")  # fmt: skip


def _drop_key(train: Train, washer: Washer) -> str:
    """Return the key of a stage's pressure drop: of two beds where one stands behind the other."""
    series = f"{washer.prefix}.pressure_drop_series_kpa"
    return series if series in train.entries.ledger else f"{washer.prefix}.pressure_drop_kpa"


def _enter_pump(train: Train, stages: tuple[Washer, ...]) -> None:
    entries, supply = train.entries, train.design.supply
    flows = [f"{w.prefix}.backwash_flow_m3_h" for w in stages]
    duty = max((entries.value(key) for key in flows), default=0.0)
    feed = entries.value("machine.feed_flow_m3_h")
    inner = ",".join(f"{{{key}}}" for key in ("machine.feed_flow_m3_h", *flows))
    largest = entries.calc("pump.largest_flow_m3_h", max(duty, feed), "m3/h",
                           "Largest flow the raw water pump must give", f"MAX({inner})",
                           method="service or backwash of one vessel at a time")  # fmt: skip
    given = supply.pump_pressure_bar
    pressure = entries.given("pump.pressure_bar", PRESSURE_BAR if given is None else given, "bar",
                             "Pressure of the raw water pump",
                             origin="assumed" if given is None else "chosen",
                             cites=("PRACTICE",) if given is None else ())  # fmt: skip
    eta = entries.given("pump.efficiency", EFFICIENCY, "-", "Pump and motor efficiency")
    entries.calc("pump.power_w", pump_shaft_power_w(largest, pressure, eta), "W",
                 "Power at the largest flow",
                 "{pump.largest_flow_m3_h}/3600*{pump.pressure_bar}*100000/{pump.efficiency}",
                 method="flow times pressure over efficiency")  # fmt: skip
    energy = entries.value("water_balance.raw_m3_year") * pressure / BAR_M3_PER_KWH / eta
    entries.calc("pump.energy_kwh_year", energy, "kWh/year", "Energy of the raw water pump",
                 "{water_balance.raw_m3_year}*{pump.pressure_bar}/36/{pump.efficiency}",
                 method="1 m3 at 36 bar takes 1 kWh")  # fmt: skip
    drops = [_drop_key(train, w) for w in stages]
    entries.calc("pump.clean_beds_kpa", sum(entries.value(k) for k in drops), "kPa",
                 "Pressure lost in all clean beds, coldest water",
                 "+".join(f"{{{k}}}" for k in drops) or "0", method="Ergun, beds alone",
    )  # fmt: skip
    pump = supply.pump_flow_m3_h
    if pump is not None and pump < feed:
        entries.flag("pump_below_feed", "warning",
                     f"the pump gives {pump:.2f} m3/h, the machine takes {feed:.2f} m3/h: a larger "
                     "pump, or a raw tank with a booster", "pump.largest_flow_m3_h")  # fmt: skip


def _enter_profile(train: Train) -> float:
    """Enter when the product is drawn; return the storage that its peaks need [m3]."""
    entries, choice = train.entries, train.design.supply.demand_profile
    origin = train.design.origin("supply.demand_profile")
    name = choice if isinstance(choice, str) else "24 numbers of the site file"
    row = profile_rows()[choice][0] if isinstance(choice, str) else None
    entries.word("storage.demand_profile", name, "Demand over the day", origin=origin,
                 evidence=row["evidence"] if row else "printed",
                 cites=(row["source"],) if row else ())  # fmt: skip
    if choice == LEVEL:
        return 0.0
    shares = profile_shares(choice)
    demand = "{storage.demand_m3_d}"
    for key, label, share in (
        ("peak", "Largest demand of an hour", max(shares)),
        ("lowest", "Smallest demand of an hour", min(shares)),
    ):
        entries.calc(f"storage.{key}_demand_m3_h",
                     entries.value("storage.demand_m3_d") / 24.0 * share, "m3/h", label,
                     f"{demand}/24*{share!r}", method="from the demand profile")  # fmt: skip
    hourly = hourly_demand_m3_h(entries.value("storage.demand_m3_d"), shares)
    entries.ledger.table(
        Series("storage.demand_hours", "Product drawn over the day", ("from_hour", "demand_m3_h"),
               ("h", "m3/h"), hourly, headings=("From hour", "Demand"),
               cites=(row["source"],) if row else (), method=f"demand profile: {name}")
    )  # fmt: skip
    flow = entries.value("machine.product_flow_m3_h")
    return entries.calc("storage.peak_m3", peak_storage_m3(hourly, flow), "m3",
                        "Storage for the hours in which more is drawn than made",
                        inputs=("storage.demand_m3_d", "machine.product_flow_m3_h"),
                        by=(peak_storage_m3,),
                        method="shortfall that builds up, the machine running all the while",
    )  # fmt: skip


def _enter_storage(train: Train) -> None:
    """Enter the product storage that bridges the fullest day's regenerations, and the salt."""
    entries, supply = train.entries, train.design.supply
    demand = supply.demand_m3_d
    value = entries.value("machine.product_m3_d") if demand is None else demand
    if demand is None:
        entries.calc("storage.demand_m3_d", value, "m3/d", "Product drawn per day",
                     "{machine.product_m3_d}", method="taken as all that is made")  # fmt: skip
    else:
        entries.given("storage.demand_m3_d", value, "m3/d", "Product drawn per day",
                      origin="chosen", cites=())  # fmt: skip
    peaks = _enter_profile(train)
    outage = entries.value("programme.regeneration_fullest_h_d")
    need = entries.calc("storage.product_needed_m3", value / 24.0 * outage + peaks, "m3",
                        "Product storage that bridges the regenerations"
                        + (" and the peaks" if peaks else ""),
                        "{storage.demand_m3_d}/24*{programme.regeneration_fullest_h_d}"
                        + ("+{storage.peak_m3}" if peaks else ""),
                        method="mean demand during the longest stop; "
                        + ("peaks by the demand profile, " if peaks else "peaks and ")
                        + "emergency on top", cites=("TM58138",))  # fmt: skip
    tank = supply.product_tank_volume_m3
    if tank is not None and tank < need:
        entries.flag("product_tank_small", "caution",
                     f"the product tank holds {tank:.2f} m3, the regenerations ask {need:.2f} m3",
                     "storage.product_needed_m3")  # fmt: skip
    salt = entries.ledger.number("softener.salt_kg_per_year")
    if salt is not None:
        entries.given("storage.salt_days", SALT_STORED_D, "d", "Days of salt kept",
                      evidence="memory", cites=("MEMORY",))  # fmt: skip
        days = entries.value("machine.days_per_year")
        entries.calc("storage.salt_kg", salt / days * SALT_STORED_D, "kg", "Salt kept in store",
                     'IF({softener.salt_kg_per_year}="","",{softener.salt_kg_per_year}'
                     "/{machine.days_per_year}*{storage.salt_days})")  # fmt: skip
