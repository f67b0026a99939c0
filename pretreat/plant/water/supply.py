"""Water, hours and pump: what the train takes from the well and sends to the drain."""

import math
from typing import Any

from msgspec import Struct

from pretreat.core.basis import Series
from pretreat.core.errors import PretreatError
from pretreat.plant.laws import (
    drained_water_m3_d,
    occupied_h_d,
    product_share,
    raw_water_m3_d,
    washing_h_d,
    washing_of_fullest_day_h_d,
    washing_water_by_interval_m3_d,
    washing_water_m3_d,
    washing_water_of_all_m3_d,
    water_m3_year,
)
from pretreat.plant.water.pressure import VALVES_BAR, note_pressure
from pretreat.plant.water.pump_laws import (
    drop_of_all_beds_kpa,
    largest_flow_m3_h,
    pump_energy_kwh_year,
    pump_shaft_power_w,
)
from pretreat.plant.water.storage import enter_storage
from pretreat.plant.water.wash_beside import enter_wash_beside
from pretreat.plant.water.wash_supply import WASHING, enter_wash_supply
from pretreat.stages import ORDER, Stage
from pretreat.stages.bed.arrangement import arrangement_of
from pretreat.stages.train import Train

EFFICIENCY = 0.5  # PRACTICE: small pump with its motor
PRESSURE_BAR = 2.5  # PRACTICE: service pressure ahead of the membranes
TOO_LONG = "hours_exceed_day"
ROUNDING = 1e-9  # what arithmetic leaves of whole minutes


class Washer(Struct, frozen=True):
    """A stage that regenerates or backwashes: where its water and its times stand."""

    prefix: str
    label: str
    water_key: str
    per_week_key: str
    minutes: tuple[str, ...]

    @property
    def number_key(self) -> str:
        """Key of the vessels that stand side by side and regenerate one after the other."""
        return f"{self.prefix}.vessels_side_by_side"

    @property
    def programme_keys(self) -> tuple[str, ...]:
        """Keys of what the stage asks of a calendar: how often, how long, how many vessels."""
        setting = f"{self.prefix}.programme_days"
        return (setting, self.per_week_key, self.number_key, *self.minutes)


def washer_of(stage: Stage) -> Washer:
    """Return where the water and the times of a stage's regeneration stand.

    Parameters
    ----------
    stage : Stage
        A stage that washes. [-]

    Returns
    -------
    Washer
        Its keys. [-]
    """
    wash = stage.wash
    if wash is None:
        raise PretreatError(f"{stage.name} neither regenerates nor backwashes")
    return Washer(stage.key, stage.label, wash.water, wash.per_week, wash.minutes)


WASHERS = tuple(washer_of(stage) for stage in ORDER if stage.wash is not None)


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


def enter_water_per_day(train: Train, stage: Stage) -> str:
    """Enter the water of a stage's regenerations, mean per day; return its key.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stage : Stage
        A stage that washes. [-]

    Returns
    -------
    str
        Key of the figure. [-]
    """
    _enter_water_per_day(train, washer_of(stage))
    return f"{stage.key}.regeneration_water_m3_d"


def _enter_water_per_day(train: Train, washer: Washer) -> float:
    """Enter the mean water of a stage; where no setting holds, as often as its interval."""
    entries, key = train.entries, f"{washer.prefix}.regeneration_water_m3_d"
    known = entries.ledger.number(key)
    if known is not None:
        return known
    how = {
        "label": f"{washer.label}: water to the drain, mean",
        "method": "waste times regenerations",
        "wash_water_m3": washer.water_key,
        "washes_per_week": washer.per_week_key,
    }
    interval = f"{washer.prefix}.interval_d"
    if interval in entries.ledger:
        return entries.law(key, washing_water_by_interval_m3_d, interval_d=interval, **how)
    return entries.law(key, washing_water_m3_d, **how)


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
    enter_wash_beside(train)
    enter_wash_supply(train)
    enter_storage(train)


def _enter_water_balance(train: Train, stages: tuple[Washer, ...]) -> None:
    entries, ledger = train.entries, train.entries.ledger
    feed, product = entries.value("machine.feed_m3_d"), entries.value("machine.product_m3_d")
    used = {w: _enter_water_per_day(train, w) for w in stages}
    entries.law(
        "water_balance.regeneration_m3_d",
        washing_water_of_all_m3_d,
        waters_m3_d=[f"{w.prefix}.regeneration_water_m3_d" for w in stages],
        label="Water for regenerations and backwashes, mean",
        method="sum of the stages",
    )
    raw = entries.law(
        "water_balance.raw_m3_d",
        raw_water_m3_d,
        feed_m3_d="machine.feed_m3_d",
        washing_water_m3_d="water_balance.regeneration_m3_d",
        label="Raw water needed, mean",
        method="membrane feed and regenerations",
    )
    entries.law(
        "water_balance.drain_m3_d",
        drained_water_m3_d,
        raw_water_m3_d="water_balance.raw_m3_d",
        product_m3_d="machine.product_m3_d",
        label="Water to the drain, mean",
        method="raw water less product",
    )
    entries.law(
        "water_balance.product_share",
        product_share,
        product_m3_d="machine.product_m3_d",
        raw_water_m3_d="water_balance.raw_m3_d",
        label="Product over raw water",
        method="what is left of the recovery",
    )
    for name, label in (
        ("raw", "Raw water"),
        ("regeneration", "Regeneration water"),
        ("drain", "Drain"),
    ):
        entries.law(
            f"water_balance.{name}_m3_year",
            water_m3_year,
            water_m3_d=f"water_balance.{name}_m3_d",
            operating_days_per_year="machine.days_per_year",
            label=f"{label} per year",
        )
    days = entries.value("machine.days_per_year")
    lines = [("product", product), ("concentrate", feed - product)]
    lines += [(f"{w.label.lower()} regeneration", amount) for w, amount in used.items()]
    lines.append(("raw water", raw))
    ledger.table(
        Series(
            "water_balance",
            "Where the raw water goes",
            ("item", "m3_d", "m3_year", "share"),
            ("-", "m3/d", "m3/year", "-"),
            tuple((name, m3, water_m3_year(m3, days), m3 / raw) for name, m3 in lines),
            headings=("Item", "Per day of operation", "Per year", "Share of raw water"),
            method="mean over the week",
        )
    )
    well = train.design.supply.well_yield_m3_h
    if well is not None and raw > well * 24.0:
        entries.flag(
            "well_too_small",
            "warning",
            f"the train needs {raw:.1f} m3/d, the well gives {well * 24.0:.1f} m3/d at "
            "most: fewer hours, higher recovery or another well",
            "water_balance.raw_m3_d",
        )


def stops_flow(train: Train, washer: Washer) -> bool:
    """Tell whether the machine waits while a stage regenerates."""
    prefix = washer.prefix
    return prefix != "softener" or arrangement_of(train.entries.ledger, prefix) == "single"


def _enter_hours(train: Train, stages: tuple[Washer, ...]) -> None:
    """Enter the hours that regenerations take from a day, mean and on the fullest day."""
    entries = train.entries
    stopping = [w for w in stages if stops_flow(train, w)]
    steps = [(minutes, w) for w in stopping for minutes in w.minutes]
    washing: dict[str, Any] = {
        "steps_min": [minutes for minutes, _ in steps],
        "vessels": [w.number_key for _, w in steps],
        "washes_per_week": [w.per_week_key for _, w in steps],
    }
    mean = entries.law(
        "programme.regeneration_h_d",
        washing_h_d,
        **washing,
        label="Hours of regeneration that stop the machine, mean",
        method="minutes times regenerations",
    )
    worst = entries.law(
        "programme.regeneration_fullest_h_d",
        washing_of_fullest_day_h_d,
        **washing,
        label="The same on a day when all stages regenerate",
        method="one after the other",
    )
    hours = entries.value("machine.hours_per_day")
    total = entries.law(
        "programme.hours_d",
        occupied_h_d,
        running_hours_per_day="machine.hours_per_day",
        washing_h_d="programme.regeneration_h_d",
        label="Running and regenerating, mean",
    )
    left_min = (24.0 - hours) * 60.0
    if total > 24.0:
        simplex = any(w.prefix == "softener" and stops_flow(train, w) for w in stages)
        remedy = "a duplex softener, " if simplex else ""
        entries.flag(
            TOO_LONG,
            "warning",
            f"{hours:g} h of running leave {left_min:.0f} min a day, the regenerations "
            f"that stop the machine take {mean * 60.0:.0f} min a day: {remedy}more "
            "product flow, or fewer hours",
            "programme.hours_d",
        )
    elif hours + worst > 24.0:
        entries.flag(
            "fullest_day_too_long",
            "caution",
            f"on a day when all stages regenerate they take {worst * 60.0:.0f} min, "
            f"{hours:g} h of running leave {left_min:.0f} min: spread the stages over the "
            "week",
            "programme.regeneration_fullest_h_d",
        )


def _drop_key(train: Train, washer: Washer) -> str:
    """Return the key of a stage's pressure drop: of two beds where one stands behind the other."""
    series = f"{washer.prefix}.pressure_drop_series_kpa"
    return series if series in train.entries.ledger else f"{washer.prefix}.pressure_drop_kpa"


def _enter_pump(train: Train, stages: tuple[Washer, ...]) -> None:
    entries, supply = train.entries, train.design.supply
    feed = entries.value("machine.feed_flow_m3_h")
    alone, beside = (
        [f"{w.prefix}.backwash_flow_m3_h" for w in stages if stops_flow(train, w) is stops]
        for stops in (True, False)
    )
    entries.law(
        "pump.largest_flow_m3_h",
        largest_flow_m3_h,
        feed_m3_h="machine.feed_flow_m3_h",
        alone_m3_h=alone,
        beside_m3_h=beside,
        label="Largest flow the raw water pump must give",
        method="service, or backwash of one vessel at a time; beside the service where another "
        "vessel keeps it up",
    )
    for key, flow, label in (
        ("supply.pump_flow_m3_h", supply.pump_flow_m3_h, "Raw water pump gives"),
        ("supply.well_yield_m3_h", supply.well_yield_m3_h, "Yield of the well"),
    ):
        if flow is not None:
            entries.given(key, flow, "m3/h", label, origin="chosen")
    given = supply.pump_pressure_bar
    note_pressure(train, bool(stages))
    entries.given(
        "pump.pressure_bar",
        PRESSURE_BAR if given is None else given,
        "bar",
        "Pressure of the raw water pump",
        origin="assumed" if given is None else "chosen",
        cites=("PRACTICE",) if given is None else (),
    )
    entries.given("pump.efficiency", EFFICIENCY, "-", "Pump and motor efficiency")
    duty = {"pressure_bar": "pump.pressure_bar", "efficiency": "pump.efficiency"}
    entries.law(
        "pump.power_w",
        pump_shaft_power_w,
        flow_m3_h="pump.largest_flow_m3_h",
        **duty,
        label="Power at the largest flow",
        method="flow times pressure over efficiency",
    )
    entries.law(
        "pump.energy_kwh_year",
        pump_energy_kwh_year,
        water_m3_year="water_balance.raw_m3_year",
        **duty,
        label="Energy of the raw water pump",
        method="1 m3 at 36 bar takes 1 kWh",
    )
    entries.law(
        "pump.clean_beds_kpa",
        drop_of_all_beds_kpa,
        drops_kpa=[_drop_key(train, w) for w in stages],
        label="Pressure lost in all clean beds, coldest water",
        method="Ergun, beds alone",
    )
    if supply.pump_flow_m3_h is None and supply.well_yield_m3_h is None and stages:
        _note_unknown_pump(train, stages)
    pump = supply.pump_flow_m3_h
    if pump is not None and pump < feed:
        entries.flag(
            "pump_below_feed",
            "caution" if supply.raw_tank_volume_m3 else "warning",
            f"the pump gives {pump:.2f} m3/h, the machine takes {feed:.2f} m3/h: "
            + (
                "behind the raw tank a booster that gives what the machine takes"
                if supply.raw_tank_volume_m3
                else "a larger pump, or a raw tank with a booster"
            ),
            "pump.largest_flow_m3_h",
        )


def _note_unknown_pump(train: Train, stages: tuple[Washer, ...]) -> None:
    """Say what a backwash takes where neither pump nor well is known."""
    entries = train.entries
    worst = max(stages, key=lambda w: entries.value(f"{w.prefix}.backwash_flow_m3_h"))
    wash = entries.value(f"{worst.prefix}.backwash_flow_m3_h")
    flow = entries.value("pump.largest_flow_m3_h")
    beside = f", {flow:.3g} m3/h with what the machine takes meanwhile" if flow > wash else ""
    entries.flag(
        "pump_unknown",
        "caution" if train.mode == "size" else "info",  # a plant that stands has its pump
        f"neither pump nor well is named in [supply]: the backwash of the "
        f"{WASHING[worst.prefix].name} takes {wash:.3g} m3/h{beside}, and its valve about "
        f"{VALVES_BAR:g} bar at its inlet (common practice): see that the raw water pump and "
        "the well give both",
        "pump.largest_flow_m3_h",
    )
