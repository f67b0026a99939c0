"""The carbonate system of the water between two stages: its pH and carbon dioxide there."""

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from pretreat.core.basis import citations
from pretreat.core.errors import DesignError
from pretreat.core.results import Ledger
from pretreat.membrane.feed import FeedWater, exchanged, feed_water
from pretreat.membrane.rests import TANK_CO2, water_keys
from pretreat.stages.stream import RawWater, Stream
from pretreat.stages.train import Train

CO2_MG_PER_MOL = 44_009.0  # IUPAC2021
MOST_ALKALI_MG_L = 2000.0  # as CaCO3: no plant of this size feeds more
SHARE_TAKEN = 0.98  # no acid is dosed past this share of the alkalinity
ROUNDS, STATIONS = 6, 41
NEARLY = 1e-3  # of a pH unit: between stations so close the pH is straight
LEAST_CO2_MG_L = 1e-6


def water_here(train: Train, stream: Stream) -> FeedWater | None:
    """Return the water between two stages as speciated, None without pH or alkalinity.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water there. [-]

    Returns
    -------
    FeedWater or None
        At the operating temperature. [-]
    """
    return water_behind(train.raw, stream)


def water_behind(raw: RawWater, stream: Stream) -> FeedWater | None:
    """Return a water behind stages as speciated, None without pH or alkalinity.

    Parameters
    ----------
    raw : RawWater
        The water ahead of them. [-]
    stream : Stream
        The water behind them. [-]

    Returns
    -------
    FeedWater or None
        At the operating temperature. [-]
    """
    before, after = raw.alkalinity_mg_l_caco3, stream.alkalinity_mg_l_caco3
    if raw.ph is None or before is None or after is None:
        return None
    of_ph = raw.temperature_c if raw.ph_temperature_c is None else raw.ph_temperature_c
    feed = feed_water(raw.mg_l, before, raw.ph, of_ph, raw.temperature_c)
    return exchanged(feed, stream.mg_l, stream.carbon_lost_mol_kg, after - before)


def water_needed(train: Train, stream: Stream, table: str, instead: str) -> FeedWater:
    """Return the water between two stages; refuse a water whose pH is not known.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water there. [-]
    table : str
        Table of the site file that asks. [-]
    instead : str
        Key with which it does without. [-]

    Returns
    -------
    FeedWater
        At the operating temperature. [-]

    Raises
    ------
    DesignError
        If pH or alkalinity is not known.
    """
    found = water_here(train, stream)
    if found is None:
        raise DesignError(
            f"[{table}]: the dose follows from pH and alkalinity, which the water lacks: "
            f"add them to the report, or write {instead}"
        )
    return found


def enter_ph(train: Train, stream: Stream, prefix: str, label: str, *moved: str) -> None:
    """Enter pH and carbon dioxide of the water behind a stage, where they can be known.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water behind it. [-]
    prefix : str
        Key of the stage. [-]
    label : str
        Its name. [-]
    *moved : str
        Keys of what it changes, on which the pH rests. [-]
    """
    found = water_here(train, stream)
    if found is None or not np.isfinite(float(found.ph)):
        return
    ledger = train.entries.ledger
    kept = {"method": "speciation with the alkalinity and carbon there", "cites": CITES}
    for key, value, unit, text in (
        (f"{prefix}.ph", float(found.ph), "-", f"pH behind the {label}"),
        (f"{prefix}.co2_mg_l", co2_mg_l(found), "mg/L", f"Carbon dioxide behind the {label}"),
    ):
        train.entries.computed(
            key, value, unit, text, inputs=carbonate_keys(ledger, stream, *moved), **kept
        )


def ph_behind(train: Train, stream: Stream) -> float | None:
    """Return the pH behind the stages that a stream has passed, None where it is not known.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water there. [-]

    Returns
    -------
    float or None
        As the last stage that moves it entered it; else that of the report. [-]
    """
    number = train.entries.ledger.number
    moved = (number(f"{stage}.ph") for stage in reversed(stream.passed))
    return next((ph for ph in moved if ph is not None), train.raw.ph)


def alkalinity_for_ph(
    water: FeedWater, ph: float, ions_mg_mg: Mapping[str, float], carbon_mol_mg: float = 0.0
) -> float:
    """Return the alkalinity to add, below 0 to take, for a pH; closed to the air.

    Parameters
    ----------
    water : FeedWater
        A single water with alkalinity. [-]
    ph : float
        pH wanted, at its temperature. [-]
    ions_mg_mg : mapping of str to float
        Ions that come with a milligram of alkalinity as CaCO3 added, or with one taken. [mg/mg]
    carbon_mol_mg : float
        Inorganic carbon that comes with a milligram as CaCO3. [mol/kg per mg/L]

    Returns
    -------
    float
        Alkalinity; NaN where no dose reaches the pH. [mg/L as CaCO3]
    """

    def over(added: Any) -> Any:
        made = treated_with(water, added, ions_mg_mg, carbon_mol_mg)
        return np.broadcast_to(np.asarray(made.ph, float) - ph, np.shape(added))

    rising = float(np.asarray(water.ph)) < ph
    other = MOST_ALKALI_MG_L if rising else -SHARE_TAKEN * float(water.alkalinity_mg_l_caco3)
    low, high = sorted((0.0, other))
    for _ in range(ROUNDS):  # all stations between the ends at once
        stations = np.linspace(low, high, STATIONS)
        values = over(stations)
        if not values[0] <= 0 <= values[-1]:
            return 0.0 if values[0] == values[-1] else math.nan
        at = int(np.argmax(values > 0)) if values[-1] > 0 else STATIONS - 1
        low, high = float(stations[at - 1]), float(stations[at])
        f_low, f_high = float(values[at - 1]), float(values[at])
        if f_high - f_low < NEARLY:
            break
    return low - f_low * (high - low) / (f_high - f_low) if f_high > f_low else low


def treated_with(
    water: FeedWater, added: Any, ions_mg_mg: Mapping[str, float], carbon_mol_mg: float = 0.0
) -> FeedWater:
    """Return a water after acid or base, closed to the air.

    Parameters
    ----------
    water : FeedWater
        A single water. [-]
    added : float or array
        Alkalinity added, below 0 taken. [mg/L as CaCO3]
    ions_mg_mg : mapping of str to float
        Ions that come with a milligram. [mg/mg]
    carbon_mol_mg : float
        Inorganic carbon that comes with a milligram. [mol/kg per mg/L]

    Returns
    -------
    FeedWater
        The water behind. [-]
    """
    ions = dict(water.mg_l)
    for ion, share in ions_mg_mg.items():
        ions[ion] = ions.get(ion, 0.0) + share * np.abs(added)
    return exchanged(water, ions, -carbon_mol_mg * added, added)


def co2_mg_l(water: FeedWater) -> float:
    """Return the carbon dioxide that a water holds.

    Parameters
    ----------
    water : FeedWater
        A single water. [-]

    Returns
    -------
    float
        Carbon dioxide. [mg/L]
    """
    found = float(water.speciation.co2_mol_kg) * CO2_MG_PER_MOL
    return 0.0 if found < LEAST_CO2_MG_L else found  # what a solver leaves of none


def carbonate_keys(ledger: Ledger, stream: Stream, *more: str) -> tuple[str, ...]:
    """Return what pH and carbon dioxide rest on: all ions, through the pairs that they make.

    Parameters
    ----------
    ledger : Ledger
        With the water entered. [-]
    stream : Stream
        The water there; stages ahead count by the pH that they leave. [-]
    *more : str
        Keys of what stages do to it; one that has no number is left out. [-]

    Returns
    -------
    tuple of str
        Keys of figures in the ledger. [-]
    """
    ahead = (TANK_CO2, *(f"{stage}.ph" for stage in stream.passed))
    every = (*water_keys(ledger, treated=False), *ahead, *more)
    return tuple(key for key in every if ledger.number(key) is not None)


CITES = tuple(dict.fromkeys(("WATEQ4F", "PB82", *citations(feed_water))))
