"""Osmotic pressure of the water at the membranes, as it is concentrated."""

import math
from typing import Any

import numpy as np

from pretreat.chemistry.second_opinion import available, second_opinions
from pretreat.chemistry.speciation import Speciation
from pretreat.core.basis import Series, citations
from pretreat.core.results import Ledger
from pretreat.membrane.concentrate import concentrate, concentration_factor
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.gauges.osmotic import osmotic_pressure_kpa
from pretreat.membrane.gauges.pressure import OsmoticCurve, array_factor, osmotic_of_water_kpa
from pretreat.membrane.limits import MembranePoint
from pretreat.membrane.rests import feed_keys

FACTORS = (0.5, 1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.0, 10.0, 15.0, 20.0)


def _pitzer_kpa(water: Speciation) -> float | None:
    """Return the osmotic pressure by PHREEQC with pitzer.dat, None where it has no answer."""
    parts = (water.alkalinity_eq_kg, water.inorganic_carbon_mol_kg, water.temp_c)
    alkalinity, carbon, temp = (float(np.asarray(v)) for v in parts)
    if not available() or not math.isfinite(alkalinity + carbon):
        return None
    totals = {k: float(np.asarray(v)) for k, v in water.totals_mol_kg.items() if k != "CO3"}
    found = second_opinions(totals, alkalinity, carbon, temp, databases=("pitzer.dat",))
    return float(osmotic_pressure_kpa(found[0].water_activity, temp)) if found else None


def enter_osmotic(ledger: Ledger, feed: FeedWater, point: MembranePoint) -> OsmoticCurve | None:
    """Enter the osmotic pressure of the actual water, concentrated from 0.5 to 20 times.

    Parameters
    ----------
    ledger : Ledger
        With the machine and the water entered. [-]
    feed : FeedWater
        Water that enters the membranes. [-]
    point : MembranePoint
        Recovery, salt passage, recycle. [-]

    Returns
    -------
    OsmoticCurve or None
        Pressure by concentration; None where the water cannot be speciated. [kPa]
    """
    factors = np.array([f for f in FACTORS if f >= 1.0])
    water = concentrate(feed, 1.0 - 1.0 / factors).speciation
    own = np.asarray(osmotic_of_water_kpa(water), float)
    keep = np.isfinite(own)
    if not keep[0]:
        return None
    average = array_factor(point.recovery, point.rho)
    middle = concentrate(feed, max(0.0, 1.0 - 1.0 / average)).speciation
    second = _pitzer_kpa(middle)
    ratio = None
    if second is not None:
        ratio = second / float(np.asarray(osmotic_of_water_kpa(middle)))
    curve = _curve(factors[keep], own[keep], float(np.asarray(feed.temp_c)), ratio)
    _enter_curve(ledger, curve, point, average, ratio)
    return curve


def _curve(factors: Any, own: Any, temp_c: float, ratio: float | None) -> OsmoticCurve:
    """Bring our own pressures to the second opinion; below the feed they are in proportion."""
    kpa = np.array([FACTORS[0] * own[0], *own]) * (1.0 if ratio is None else ratio)
    return OsmoticCurve((FACTORS[0], *map(float, factors)), tuple(map(float, kpa)), temp_c)


def _enter_curve(
    ledger: Ledger, curve: OsmoticCurve, point: MembranePoint, average: float, ratio: float | None
) -> None:
    sources = citations(osmotic_of_water_kpa, osmotic_pressure_kpa)
    how = "water activity of the speciated water" + (
        "" if ratio is None else ", brought to PHREEQC with pitzer.dat at the design point"
    )
    last = float(concentration_factor(point.recovery, 0.0, point.rho))
    feed = feed_keys(ledger, treated=True)
    for key, factor, label in (
        ("feed", 1.0, "fresh feed"),
        ("average", average, "average along the membranes"),
        ("concentrate", last, "concentrate"),
    ):
        ledger.put(
            f"settings.osmotic_{key}_kpa",
            curve.at(factor),
            "kPa",
            f"Osmotic pressure of the {label}",
            method=how,
            cites=sources,
        )
        ledger.rests(f"settings.osmotic_{key}_kpa", *feed, "machine.recovery")
    if ratio is not None:
        ledger.put(
            "settings.osmotic_pitzer_ratio",
            ratio,
            "-",
            "Osmotic pressure by pitzer.dat over our own",
            cites=("PA13",),
            method="at the average of the design point; applied to all",
        )
        ledger.rests("settings.osmotic_pitzer_ratio", *feed, "machine.recovery")
    ledger.put("settings.osmotic_temp_c", curve.temp_c, "°C", "Temperature of these pressures")
    ledger.rests(
        "settings.osmotic_temp_c",
        "water.operating_temperature_c",
        again=lambda value: value("water.operating_temperature_c"),
    )
    ledger.table(
        Series(
            "settings.osmotic",
            "Osmotic pressure of the feed water, concentrated",
            ("factor", "kpa"),
            ("-", "kPa"),
            tuple(zip(curve.factors, curve.kpa, strict=True)),
            method=how,
            cites=sources,
            headings=("Concentrated", "Osmotic pressure"),
        )
    )
