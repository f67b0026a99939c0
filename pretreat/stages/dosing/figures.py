"""What a chemical feed needs: solution, pump, strokes and day tank, entered for any chemical."""

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Any

from msgspec import Struct

from pretreat.core.basis import Evidence
from pretreat.core.tables import rows
from pretreat.site.keys import POSITIVE, YES_NO, measured, plain
from pretreat.stages.dosing import laws
from pretreat.stages.train import Train

MOST_STROKES_PER_MIN = 180.0  # PRACTICE: of a small diaphragm pump
FEWEST_STROKES_PER_MIN = 20.0  # PRACTICE: below, the chemical comes in slugs
MOST_TURNDOWN = 10.0  # PRACTICE: by stroke rate alone; 100 by rate and length is not usable
PUMP_LOAD = 0.8  # PRACTICE: share of the largest flow at which a pump is set
FEED = ("machine.feed_flow_m3_h", "machine.feed_m3_d")
LEAST_INHIBITOR_G_L = 100.0  # PRACTICE: more dilute, it grows and hydrolyses


class Chemical(Struct, frozen=True):
    """One row of data/chemicals.csv.

    ``percent`` is the strength as delivered, by volume where ``kg_per_l`` says the density;
    ``counted`` is what a dose is counted as.
    """

    key: str
    name: str
    product_g_l: float
    product: str
    percent: float
    kg_per_l: float | None
    counted: str
    package: str
    solution_g_l: float
    kept_days: float
    source: str
    where: str
    evidence: Evidence


@lru_cache(maxsize=1)
def chemicals() -> Mapping[str, Chemical]:
    """Return the chemicals that are dosed, by key.

    Returns
    -------
    mapping of str to Chemical
        Rows of data/chemicals.csv. [-]
    """
    return MappingProxyType(
        {
            row["key"]: Chemical(
                row["key"],
                row["name"],
                float(row["product_g_l"]),
                row["product"],
                float(row["percent"]),
                float(row["kg_per_l"]) if row["kg_per_l"] else None,
                row["counted"],
                row["package"],
                float(row["solution_g_l"]),
                float(row["kept_days"]),
                row["source"],
                row["where"],
                row["evidence"],  # type: ignore[arg-type]
            )
            for row in rows("chemicals.csv")
        }
    )


class Feeder(Struct, frozen=True):
    """Choices for a feeder: strength of its solution, largest flow of its pump, days kept.

    ``delivered_percent`` is the strength of what is bought, where a table has that key.
    """

    include: bool | None = None
    dose_mg_l: float | None = None
    solution_g_l: float | None = None
    pump_l_h: float | None = None
    kept_days: float | None = None
    delivered_percent: float | None = None


DELIVERED_KEY: Mapping[str, Any] = MappingProxyType(
    plain("delivered_percent", 0.0, 100.0, open_low=True)
)
FEEDER_KEYS: Mapping[str, Any] = MappingProxyType(
    {
        **YES_NO,
        **measured("dose", "mg_l", "mg/L", 0.0, 5000.0),
        **measured("solution", "g_l", "g/L", 0.0, 2000.0, open_low=True),
        **measured("pump", "l_h", "L/h", 0.0, POSITIVE, open_low=True),
        **plain("kept_days", 0.0, 366.0, open_low=True),
    }
)


def enter_feeder(
    train: Train,
    prefix: str,
    dose_key: str,
    chemical: Chemical,
    *,
    year: str = "",
    water: tuple[str, str] = FEED,
) -> None:
    """Enter feed, solution, pump and day tank of a chemical whose dose is entered.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    prefix : str
        Key of the stage; its choices are a `Feeder`. [-]
    dose_key : str
        Key of the dose [mg/L].
    chemical : Chemical
        What is fed. [-]
    year : str
        Key of the amount of a year, that of the stage where empty. [-]
    water : tuple of str
        Keys of the flow [m3/h] and of a day's water [m3/d] that is dosed.
    """
    entries, name = train.entries, chemical.name
    label = name[0].upper() + name[1:]
    fed = entries.law(
        f"{prefix}.fed_g_h",
        laws.fed_g_h,
        feed_flow_m3_h=water[0],
        dose_mg_l=dose_key,
        label=f"{label} fed while running",
    )
    entries.law(
        year or f"{prefix}.kg_per_year",
        laws.fed_kg_per_year,
        feed_m3_d=water[1],
        days_per_year="machine.days_per_year",
        dose_mg_l=dose_key,
        label=f"{label} per year, {chemical.counted}",
    )
    if fed > 0:
        _enter_solution(train, prefix, chemical)
        _enter_pump(train, prefix, chemical)


def _enter_solution(train: Train, prefix: str, chemical: Chemical) -> None:
    entries, choice = train.entries, getattr(train.design, prefix)
    own, bought = choice.solution_g_l, choice.delivered_percent
    product, product_g_l = chemical.product, chemical.product_g_l
    if bought is not None:
        product_g_l *= bought / chemical.percent
        product = chemical.product.replace(f"{chemical.percent:g} %", f"{bought:g} %")
    entries.given(
        f"{prefix}.solution_g_l",
        chemical.solution_g_l if own is None else own,
        "g/L",
        f"Strength of the solution of {chemical.name}",
        origin="assumed" if own is None else "chosen",
        method=f"{chemical.where}; delivered as {product}, {product_g_l:.4g} g/L",
        evidence=chemical.evidence,
        cites=(chemical.source,),
    )
    entries.law(
        f"{prefix}.solution_l_h",
        laws.solution_l_h,
        fed_g_h=f"{prefix}.fed_g_h",
        solution_g_l=f"{prefix}.solution_g_l",
        label="Solution fed while running",
    )
    days = choice.kept_days
    entries.given(
        f"{prefix}.kept_days",
        chemical.kept_days if days is None else days,
        "d",
        "Days that the solution is kept",
        origin="assumed" if days is None else "chosen",
    )
    entries.law(
        f"{prefix}.day_tank_l",
        laws.day_tank_l,
        solution_l_h=f"{prefix}.solution_l_h",
        hours_per_day="machine.hours_per_day",
        kept_days=f"{prefix}.kept_days",
        label="Solution tank, at most",
    )
    if own is not None and own > product_g_l:
        entries.flag(
            "solution_too_strong",
            "caution",
            f"[{prefix}] solution of {own:g} g/L is stronger than {chemical.name} is delivered "
            f"({product}, {product_g_l:.4g} g/L)",
            f"{prefix}.solution_g_l",
        )
    if chemical.key == "inhibitor" and own is not None and own < LEAST_INHIBITOR_G_L:
        entries.flag(
            "solution_too_weak",
            "caution",
            f"inhibitor diluted to {own:g} g/L grows and hydrolyses below about "
            f"{LEAST_INHIBITOR_G_L:g} g/L (common practice): make it with product water and renew "
            "it every week",
            f"{prefix}.solution_g_l",
        )


def _enter_pump(train: Train, prefix: str, chemical: Chemical) -> None:
    entries, choice = train.entries, getattr(train.design, prefix)
    wanted = entries.value(f"{prefix}.solution_l_h")
    sizes = [float(row["largest_l_h"]) for row in rows("dosing_pumps.csv")]
    fitting = [size for size in sizes if size * PUMP_LOAD >= wanted] or sizes[-1:]
    own = choice.pump_l_h
    entries.given(
        f"{prefix}.pump_l_h",
        fitting[0] if own is None else own,
        "L/h",
        "Largest flow of the dosing pump",
        origin="assumed" if own is None else "chosen",
        method=f"smallest usual size that runs at {PUMP_LOAD:.0%} or less",
    )
    entries.given(
        f"{prefix}.most_strokes_per_min",
        MOST_STROKES_PER_MIN,
        "1/min",
        "Strokes of the pump at its largest flow",
    )
    entries.law(
        f"{prefix}.stroke_l",
        laws.stroke_l,
        pump_l_h=f"{prefix}.pump_l_h",
        most_strokes_per_min=f"{prefix}.most_strokes_per_min",
        label="Volume of a stroke",
    )
    strokes = entries.law(
        f"{prefix}.strokes_per_min",
        laws.strokes_per_min,
        solution_l_h=f"{prefix}.solution_l_h",
        stroke_l=f"{prefix}.stroke_l",
        label="Strokes while running",
    )
    ratio = entries.law(
        f"{prefix}.turndown",
        laws.turndown,
        pump_l_h=f"{prefix}.pump_l_h",
        solution_l_h=f"{prefix}.solution_l_h",
        label="Turndown of the pump",
    )
    pump = entries.value(f"{prefix}.pump_l_h")
    if wanted > pump:
        entries.flag(
            "pump_too_small",
            "warning",
            f"the dosing pump of {pump:g} L/h cannot give {wanted:.3g} L/h of {chemical.name}: a "
            "larger head, or a stronger solution",
            f"{prefix}.pump_l_h",
        )
    elif strokes < FEWEST_STROKES_PER_MIN or ratio > MOST_TURNDOWN:
        entries.flag(
            "pump_too_coarse",
            "caution",
            f"{chemical.name}: {strokes:.2g} strokes a minute of a pump of {pump:g} L/h (turndown "
            f"{ratio:.0f}:1) feed in slugs; {FEWEST_STROKES_PER_MIN:g} or more are wanted, and "
            f"{MOST_TURNDOWN:g}:1 (common practice): dilute the solution, take a smaller head, or "
            "mix behind it",
            f"{prefix}.strokes_per_min",
        )
