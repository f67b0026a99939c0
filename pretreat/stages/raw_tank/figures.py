"""A vented raw water tank: carbon dioxide lost, pH gained, iron oxidised."""

from collections.abc import Callable
from functools import partial, reduce
from typing import Any

import numpy as np
from msgspec.structs import replace

from pretreat.chemistry.carbonate import ph_from_alkalinity_and_co2
from pretreat.core.basis import citations
from pretreat.core.results import Ledger
from pretreat.core.units import CACO3_MG_PER_MEQ
from pretreat.stages.oxidation import oxidant_demand_mg_l, oxidant_per_mg
from pretreat.stages.raw_tank.laws import CO2_MG_PER_MOL, co2_left_mg_l, co2_of_air_mg_l
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train

STRIPPED = 0.5  # PRACTICE: a tank filled from above loses about half; spray aeration more
OXYGEN_MG_L = 8.0  # MEMORY: water that fell through air takes up most of 9 to 11 mg/L
CO2, AIR, LEFT = "water.co2_mg_l", "train.co2_of_air_mg_l", "train.tank_co2_mg_l"
KEPT = "tank_co2_kept"  # flag
CARBONATE = (
    "water.alkalinity_mg_l_caco3",
    "water.ionic_strength_mol_kg",
    "water.operating_temperature_c",
)


def treat(train: Train, stream: Stream) -> Stream:
    """Return the water behind the tank: a vented one lets oxygen in and carbon dioxide out.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water ahead. [-]

    Returns
    -------
    Stream
        The water behind it. [-]
    """
    if not train.design.supply.vented_raw_tank:
        _note_kept(train)
        return stream
    enter_raw_tank(train)
    before, left = (train.entries.ledger.number(key) for key in (CO2, LEFT))
    lost = 0.0 if before is None or left is None else (before - left) / CO2_MG_PER_MOL
    return replace(stream, oxygen_mg_l=OXYGEN_MG_L, carbon_lost_mol_kg=lost)


def enter_raw_tank(train: Train) -> None:
    """Enter what a vented raw tank does to carbon dioxide, pH and iron, where there is one.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    """
    if not train.design.supply.vented_raw_tank:
        return
    _enter_oxygen(train)
    entries, raw = train.entries, train.raw
    number = entries.ledger.number
    if raw.ph is None or any(number(key) is None for key in (CO2, *CARBONATE)):
        return
    entries.law(
        AIR,
        co2_of_air_mg_l,
        temperature_c="water.operating_temperature_c",
        label="Carbon dioxide in equilibrium with air",
    )
    entries.given(
        "train.co2_stripped",
        STRIPPED,
        "-",
        "Part of the excess carbon dioxide that the raw tank loses",
    )
    entries.law(
        LEFT,
        co2_left_mg_l,
        co2_mg_l=CO2,
        co2_of_air_mg_l=AIR,
        stripped="train.co2_stripped",
        label="Carbon dioxide behind the raw tank",
    )
    for name, amounts, label in (
        ("tank_ph", (LEFT,), "pH behind the raw tank"),
        ("tank_ph_most", (AIR, CO2), "pH if the tank lost all excess carbon dioxide"),
    ):
        again = partial(_ph_at, amounts)
        entries.ledger.put(
            f"train.{name}",
            again(number),
            "-",
            label,
            cites=citations(ph_from_alkalinity_and_co2),
            method="alkalinity kept, carbon dioxide lost",
        )
        entries.ledger.rests(f"train.{name}", *amounts, *CARBONATE, again=again)
    rise = entries.value("train.tank_ph") - _ph_at((CO2,), number)
    entries.flag(
        "vented_tank",
        "caution",
        f"the vented raw tank raises the pH by about {rise:.1f}: the Langelier index does "
        "so too, and the scaling shown counts with it; how much gas a tank loses is common "
        "practice: measure the pH behind it",
        "train.tank_ph",
    )


def carbon_if_vented_mol_kg(ledger: Ledger) -> float | None:
    """Return the carbon that a raw tank would lose were it open, where nobody says whether it is.

    Parameters
    ----------
    ledger : Ledger
        With the train entered. [-]

    Returns
    -------
    float or None
        None where there is no such tank, or its venting was stated. [mol/kg]
    """
    number = ledger.number
    co2, temperature = number(CO2), number(CARBONATE[-1])
    told = any(flag.code == KEPT for flag in ledger.study().flags)
    if not told or co2 is None or temperature is None:
        return None
    left = float(co2_left_mg_l(co2, co2_of_air_mg_l(temperature), STRIPPED))
    return (co2 - left) / CO2_MG_PER_MOL


def _note_kept(train: Train) -> None:
    """Say that a raw tank of which nothing is known keeps its carbon dioxide, and what if not."""
    if train.design.origin("supply.vented_raw_tank") == "chosen":
        return
    number = train.entries.ledger.number
    co2, temperature = number(CO2), number(CARBONATE[-1])
    if train.raw.ph is None or co2 is None or temperature is None:
        return
    if any(number(key) is None for key in CARBONATE):
        return
    left = co2_left_mg_l(co2, co2_of_air_mg_l(temperature), STRIPPED)
    after = _ph_at((LEFT,), {LEFT: left, **{key: number(key) for key in CARBONATE}}.__getitem__)
    rise = after - _ph_at((CO2,), number)
    train.entries.flag(
        KEPT,
        "info",
        f"carbon dioxide is kept in the raw tank; an open tank loses some: at {STRIPPED:.0%} "
        f"loss (common practice) the pH is {after:.1f} and the calcite index {rise:.1f} higher; "
        "for an open tank give vented_raw_tank = true in [supply]",
        CO2,
    )


def _ph_at(amounts: tuple[str, ...], value: Callable[[str], Any]) -> Any:
    """Return the pH at the smallest of some amounts of carbon dioxide, from the figures."""
    alkalinity, strength, temperature = (value(key) for key in CARBONATE)
    co2 = reduce(np.minimum, [value(key) for key in amounts]) / CO2_MG_PER_MOL
    eq_l = alkalinity / CACO3_MG_PER_MEQ / 1000.0
    found = np.asarray(ph_from_alkalinity_and_co2(eq_l, co2, strength, temperature))
    return found if found.ndim else float(found)


def _enter_oxygen(train: Train) -> None:
    entries, raw = train.entries, train.raw
    iron, manganese = raw.mg_l.get("fe", 0.0), raw.mg_l.get("mn", 0.0)
    taking: dict[str, str | float] = {"fe": entries.dissolved(raw, "fe")}
    if raw.h2s_mg_l:
        known = entries.ledger.number("water.h2s_mg_l") == raw.h2s_mg_l
        taking["h2s"] = "water.h2s_mg_l" if known else raw.h2s_mg_l
    need = entries.law(
        "train.oxygen_needed_mg_l",
        oxidant_demand_mg_l,
        dissolved_mg_l=list(taking.values()),
        oxidant_mg_mg=[oxidant_per_mg(reduced, "air") for reduced in taking],
        label="Oxygen that iron and sulfide take up in the raw tank",
        method="electron balance",
    )
    if iron <= 0:
        return
    ending = "" if need <= OXYGEN_MG_L else "; more than air gives in one fall"
    entries.flag(
        "iron_oxidises_in_tank",
        "info",
        f"air in the raw tank turns dissolved iron into rust ({need:.2f} mg/L oxygen"
        f"{ending}), fast above pH 7.2 (from memory): it settles and is filtered, but the "
        "softener must never see it; manganese "
        f"({manganese:.2g} mg/L) stays dissolved",
        "train.oxygen_needed_mg_l",
    )
