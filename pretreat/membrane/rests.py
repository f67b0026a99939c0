"""Which figures the chemistry of the membranes rests on: the water and the machine."""

from pretreat.core.results import Ledger
from pretreat.core.tables import analytes

_WATER = (
    "water.ph",
    "water.alkalinity_mg_l_caco3",
    "water.temperature_c",
    "water.operating_temperature_c",
)
_MEMBRANES = (
    "machine.elements",
    "machine.element_area_m2",
    "machine.water_permeability_lmh_bar",
    "machine.salt_permeability_lmh",
    "machine.product_pressure_bar",
    "machine.product_flow_m3_h",
)
TANK_CO2 = "train.tank_co2_mg_l"
# What stages do to the carbonate system: each leaves its pH, which rests on what it was told.
_STAGES = ("acid", "aeration", "alkali", "degasser", "iron_filter", "weak_acid")
_MOVED = (TANK_CO2, *(f"{stage}.ph" for stage in _STAGES))
_METALS = {"fe": "iron_filter.iron_left_mg_l", "mn": "iron_filter.manganese_left_mg_l"}


def water_keys(ledger: Ledger, *, treated: bool) -> tuple[str, ...]:
    """Return the keys of ions, pH, alkalinity and temperatures of a water.

    Parameters
    ----------
    ledger : Ledger
        With the water entered, and the train where there is one. [-]
    treated : bool
        The water behind the stages of the train, rather than the raw water. [-]

    Returns
    -------
    tuple of str
        Keys of figures in the ledger; those behind a stage rest on the raw water. [-]
    """
    known = (*_WATER, *_MOVED) if treated else _WATER
    found = [key for key in known if key in ledger]
    for ion in analytes():
        behind = (f"softener.out_{ion}_mg_l", _METALS.get(ion, ""), f"train.feed_{ion}_mg_l")
        raw = (f"water.{ion}_mg_l", f"water.{ion}_implied_mg_l")
        tried = (*behind, *raw) if treated else raw
        found += [key for key in tried if key in ledger][:1]
    return tuple(found)


def feed_keys(ledger: Ledger, *, treated: bool) -> tuple[str, ...]:
    """Return the keys of the water that enters the array: its own, and what is recycled to it.

    Parameters
    ----------
    ledger : Ledger
        With the water entered, and the machine where there is one. [-]
    treated : bool
        The water behind the stages of the train, rather than the raw water. [-]

    Returns
    -------
    tuple of str
        Keys of figures in the ledger. [-]
    """
    recycled = "machine.recycle_flow_m3_h"
    keys = (*water_keys(ledger, treated=treated), *(k for k in _MEMBRANES if k in ledger))
    if recycled not in ledger:
        return keys
    flow = ("machine.feed_flow_m3_h",) if ledger.number(recycled) else ()
    return (*keys, recycled, *flow)
