"""Storage of product through regenerations and peaks, and of salt."""

from collections.abc import Callable
from typing import Any

from pretreat.core.basis import Series
from pretreat.plant.water.demand import (
    LEVEL,
    hourly_demand_m3_h,
    peak_storage_m3,
    profile_rows,
    profile_shares,
)
from pretreat.plant.water.storage_laws import (
    demand_of_all_product_m3_d,
    demand_of_hour_m3_h,
    salt_kept_kg,
    storage_for_outage_and_peaks_m3,
    storage_for_outage_m3,
)
from pretreat.stages.train import Train

SALT_STORED_D = 30.0  # MEMORY: Recommended Standards, 30 d of salt


HOURS_SHARE = 0.02  # PRACTICE: more than this beyond the hours given is told


def _enter_profile(train: Train) -> float:
    """Enter when the product is drawn; return the storage that its peaks need [m3]."""
    entries, choice = train.entries, train.design.supply.demand_profile
    origin = train.design.origin("supply.demand_profile")
    name = choice if isinstance(choice, str) else "24 numbers of the site file"
    row = profile_rows()[choice][0] if isinstance(choice, str) else None
    entries.word(
        "storage.demand_profile",
        name,
        "Demand over the day",
        origin=origin,
        evidence=row["evidence"] if row else "computed",
        cites=(row["source"],) if row else (),
    )
    if choice == LEVEL:
        return 0.0
    shares = profile_shares(choice)
    for key, label, share in (
        ("peak", "Largest demand of an hour", max(shares)),
        ("lowest", "Smallest demand of an hour", min(shares)),
    ):
        entries.law(
            f"storage.{key}_demand_m3_h",
            demand_of_hour_m3_h,
            demand_m3_d="storage.demand_m3_d",
            share_of_mean=share,
            label=label,
            method="from the demand profile",
        )
    hourly = hourly_demand_m3_h(entries.value("storage.demand_m3_d"), shares)
    entries.ledger.table(
        Series(
            "storage.demand_hours",
            "Product drawn over the day",
            ("from_hour", "demand_m3_h"),
            ("h", "m3/h"),
            hourly,
            headings=("From hour", "Demand"),
            cites=(row["source"],) if row else (),
            method=f"demand profile: {name}",
        )
    )

    def again(value: Callable[[str], Any]) -> Any:
        mean = value("storage.demand_m3_d")
        changing = [(float(n), demand_of_hour_m3_h(mean, x)) for n, x in enumerate(shares)]
        return peak_storage_m3(changing, value("machine.product_flow_m3_h"))

    key = "storage.peak_m3"
    peaks = entries.result(
        key,
        peak_storage_m3(hourly, entries.value("machine.product_flow_m3_h")),
        "m3",
        "Storage for the hours in which more is drawn than made",
        by=(peak_storage_m3,),
        method="shortfall that builds up, the machine running all the while",
    )
    entries.ledger.rests(key, "storage.demand_m3_d", "machine.product_flow_m3_h", again=again)
    return peaks


def enter_storage(train: Train) -> None:
    """Enter the product storage that bridges the fullest day's regenerations, and the salt.

    Parameters
    ----------
    train : Train
        With the hours of the regenerations entered. [-]
    """
    entries, supply = train.entries, train.design.supply
    demand = supply.demand_m3_d
    if demand is None:
        entries.law(
            "storage.demand_m3_d",
            demand_of_all_product_m3_d,
            product_m3_d="machine.product_m3_d",
            label="Product drawn per day",
            method="taken as all that is made",
        )
    else:
        entries.given(
            "storage.demand_m3_d",
            demand,
            "m3/d",
            "Product drawn per day",
            origin="chosen",
            cites=(),
        )
        _hold_hours(train, demand)
    peaks = _enter_profile(train)
    through = {
        "demand_m3_d": "storage.demand_m3_d",
        "outage_h_d": "programme.regeneration_fullest_h_d",
        "method": "mean demand during the longest stop; "
        + ("peaks by the demand profile, " if peaks else "peaks and ")
        + "emergency on top",
    }
    key, label = "storage.product_needed_m3", "Product storage that bridges the regenerations"
    if peaks:
        need = entries.law(
            key,
            storage_for_outage_and_peaks_m3,
            peak_m3="storage.peak_m3",
            label=f"{label} and the peaks",
            **through,
        )
    else:
        need = entries.law(key, storage_for_outage_m3, label=label, **through)
    tank = supply.product_tank_volume_m3
    if tank is not None and tank < need:
        entries.flag(
            "product_tank_small",
            "caution",
            f"the product tank holds {tank:.2f} m3, the regenerations ask {need:.2f} m3",
            "storage.product_needed_m3",
        )
    if entries.ledger.number("softener.salt_kg_per_year") is not None:
        entries.given(
            "storage.salt_days",
            SALT_STORED_D,
            "d",
            "Days of salt kept",
            evidence="memory",
            cites=("MEMORY",),
        )
        entries.law(
            "storage.salt_kg",
            salt_kept_kg,
            salt_kg_per_year="softener.salt_kg_per_year",
            operating_days_per_year="machine.days_per_year",
            kept_days="storage.salt_days",
            label="Salt kept in store",
        )


def _hold_hours(train: Train, demand_m3_d: float) -> None:
    """Flag a demand for which the machine has to run longer than everything is sized for."""
    entries = train.entries
    hours, product = (entries.value(f"machine.{k}") for k in ("hours_per_day", "product_flow_m3_h"))
    needed = demand_m3_d / product
    if needed > hours * (1.0 + HOURS_SHARE):
        entries.flag(
            "demand_over_hours",
            "warning",
            f"the demand of {demand_m3_d:g} m3/d asks for {needed:.1f} hours a day, {hours:g} are "
            "given: beds, timers, salt and costs are those of the hours given; give the hours",
            "storage.demand_m3_d",
        )
