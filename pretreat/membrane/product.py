"""The product water by mass balance, where salt passage is given."""

import math
from typing import Any

import numpy as np

from pretreat.chemistry.composition import tds_mg_l
from pretreat.chemistry.speciation import Speciation
from pretreat.core.basis import Flag, citations
from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.core.units import HCO3_PER_CACO3, molar_mass
from pretreat.membrane.balance import ALKALINITY, NamedPassage, passage_of
from pretreat.membrane.concentrate import Concentrate
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.gauges.osmotic import osmotic_pressure_kpa
from pretreat.membrane.gauges.pressure import osmotic_of_water_kpa
from pretreat.membrane.limits import MembranePoint
from pretreat.membrane.permeate import Permeate, permeate
from pretreat.membrane.rests import feed_keys

MOVED = 0.01  # of a salt passage, relative: a smaller change is not spoken of


def enter_product(
    ledger: Ledger, feed: FeedWater, brine: Concentrate, point: MembranePoint
) -> Permeate | None:
    """Enter the osmotic pressures, and the product where salt passes.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go. [-]
    feed : FeedWater
        The feed of the membranes. [-]
    brine : Concentrate
        The concentrate at the design point. [-]
    point : MembranePoint
        The design point. [-]

    Returns
    -------
    Permeate or None
        The product; None where no salt passes. [-]
    """
    inputs = feed_keys(ledger, treated=True)
    _enter_osmotic(ledger, "feed", feed.speciation, "feed of the membranes", *inputs)
    inputs = ("concentrate.recovery", *inputs)
    _enter_osmotic(ledger, "concentrate", brine.speciation, "concentrate", *inputs)
    if not any(point.passage.values()):
        return None
    found = permeate(feed, brine, point.passage, point.rho)

    def put(key: str, value: Any, unit: str, label: str, method: str) -> None:
        number = float(np.asarray(value))
        if not math.isnan(number):
            ledger.put(f"product.{key}", number, unit, label, method=method, cites=("D4582",))
            ledger.rests(f"product.{key}", *inputs)

    _enter_osmotic(ledger, "product", found.speciation, "product", *inputs)
    _flag_balanced(ledger, brine, point)
    known = bool(np.all(np.asarray(feed.alkalinity_mg_l_caco3, float) > 0.0))
    if not known:
        text = (
            "pH and carbon dioxide of the product are not computable without an alkalinity above "
            "0: measure alkalinity; where it is 0, measure carbon dioxide or acidity"
        )
        ledger.flag(Flag("product_ph_open", "caution", text, "product.tds_mg_l"))
    put(
        "ph",
        found.speciation.ph if known else math.nan,
        "-",
        "pH of the product",
        "from its own alkalinity and inorganic carbon, CO2 passing",
    )
    alkalinity = float(np.nan_to_num(np.asarray(found.alkalinity_mg_l_caco3)))
    measured = bool(np.all(np.isfinite(np.asarray(feed.alkalinity_mg_l_caco3, float))))
    plain = {k: float(np.asarray(v)) for k, v in found.mg_l.items()}
    put(
        "tds_mg_l",
        tds_mg_l(plain, HCO3_PER_CACO3 * alkalinity),
        "mg/L",
        "Total dissolved solids of the product",
        "salt passage of each ion",
    )
    put(
        "alkalinity_mg_l_caco3",
        alkalinity if measured else math.nan,
        "mg/L as CaCO3",
        "Alkalinity of the product",
        "salt passage of bicarbonate",
    )
    put(
        "hco3_mg_l",
        HCO3_PER_CACO3 * alkalinity if measured else math.nan,
        "mg/L",
        "Bicarbonate in the product (all alkalinity)",
        "salt passage of bicarbonate",
    )
    put(
        "co2_mg_l",
        found.speciation.co2_mol_kg * molar_mass("CO2") * 1000.0 if known else math.nan,
        "mg/L",
        "Carbon dioxide in the product",
        "CO2 passes the membrane",
    )
    for key, amount in plain.items():
        label = f"{analytes()[key].name.capitalize()} in the product"
        put(f"{key}_mg_l", amount, "mg/L", label, "salt passage of the ion")
    return found


def _flag_balanced(ledger: Ledger, brine: Concentrate, point: MembranePoint) -> None:
    """Say which passages differ from the site file's, so that the product is neutral."""
    if not isinstance(point.passage, NamedPassage):
        return
    moved = []
    for key, own in brine.passage.items():
        given, used = float(passage_of(point.passage, key)), float(np.asarray(own))
        if abs(used - given) > MOVED * max(given, MOVED):
            name = "alkalinity" if key == ALKALINITY else analytes()[key].name
            moved.append(f"{name} {used:.3g} instead of {given:.3g}")
    if moved:
        text = (
            "the salt passages given leave a product with more of one charge than of the other, "
            f"which no water holds; to balance it: {', '.join(moved)}"
        )
        ledger.flag(Flag("passage_balanced", "caution", text, "product.tds_mg_l"))


def _enter_osmotic(ledger: Ledger, key: str, water: Speciation, name: str, *inputs: str) -> None:
    pressure = float(np.asarray(osmotic_of_water_kpa(water)))
    if not math.isnan(pressure):
        ledger.put(
            f"{key}.osmotic_kpa",
            pressure,
            "kPa",
            f"Osmotic pressure of the {name}",
            method="from the activity of the water, ion by ion",
            cites=citations(osmotic_of_water_kpa, osmotic_pressure_kpa),
        )
        ledger.rests(f"{key}.osmotic_kpa", *inputs)
