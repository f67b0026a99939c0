"""The cost of a year of a train: prices of the user, else class estimates that say so."""

from collections.abc import Callable, Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.core.law import Law
from pretreat.core.tables import rows
from pretreat.life import annual
from pretreat.site.design import DesignBasis, Prices

CHEMICALS = (
    "inhibitor_per_kg",
    "acid_per_kg",
    "permanganate_per_kg",
    "chlorine_per_kg",
    "bisulfite_per_kg",
    "alkali_per_kg",
)


class StageCost(Struct, frozen=True):
    """Class estimate of a stage: capital at a flow, its exponent, visits, things to look after."""

    capital: float
    at_m3_h: float
    exponent: float
    visits: float
    things: float


@lru_cache(maxsize=1)
def stage_costs() -> Mapping[str, StageCost]:
    """Return the class estimates by stage.

    Returns
    -------
    mapping of str to StageCost
        Rows of data/train_costs.csv; "machine" is the machine without any stage. [-]
    """
    return MappingProxyType(
        {
            row["stage"]: StageCost(
                *(
                    float(row[name])
                    for name in (
                        "capital",
                        "at_m3_h",
                        "exponent",
                        "visits_per_year",
                        "looked_after",
                    )
                )
            )
            for row in rows("train_costs.csv")
        }
    )


@lru_cache(maxsize=2)
def _values(name: str) -> Mapping[str, float]:
    return MappingProxyType({row["key"]: float(row["value"]) for row in rows(name)})


class Rates(Struct, frozen=True):
    """Prices and standing values of a comparison; ``guessed`` are prices the user did not give."""

    values: Mapping[str, float]
    guessed: tuple[str, ...]
    currency: str
    installed: Mapping[str, float]  # own capital by stage, at the flow of the design

    def __getitem__(self, key: str) -> float:
        return self.values[key]


def rates_of(design: DesignBasis) -> Rates:
    """Return the prices of the user, and where there are none the stand-ins.

    Parameters
    ----------
    design : DesignBasis
        The engineer's choices. [-]

    Returns
    -------
    Rates
        Prices and standing values by key. [-]
    """
    prices: Prices = design.prices
    stand_in = _values("train_prices.csv")
    own = {k: prices.of(k) for k in stand_in}
    found = {k: v if own[k] is None else float(own[k] or 0.0) for k, v in stand_in.items()}
    guessed = tuple(k for k, v in own.items() if v is None)
    installed = {key: prices.of(f"installed_{key}") for key in stage_costs()}
    return Rates(
        {**_values("train_standing.csv"), **found},
        guessed,
        prices.currency,
        {key: price for key, price in installed.items() if price is not None},
    )


class Plant(Struct, frozen=True):
    """The machine that a train serves: product of a day and of an hour, and its salt.

    ``known`` holds what laws made of the same numbers before: trains share flows and stages.
    """

    product_m3_d: float
    product_m3_h: float
    days: float
    recovery: float
    tds_mg_l: float
    known: dict[tuple[Any, ...], float] = field(default_factory=dict)

    @property
    def product_m3_year(self) -> float:
        """Product of a year [m3]."""
        return self.product_m3_d * self.days

    def once(self, law: Law[..., Any], *numbers: float) -> float:
        """Return the result of a law, computed once for the same numbers."""
        key = (law.name, *numbers)
        if key not in self.known:
            self.known[key] = law(*numbers)
        return self.known[key]


class Needs(Struct, frozen=True):
    """What a whole train uses in a year at the recovery of the design.

    ``amounts`` by price, ``media`` litres and standing life by price, ``waste_m3`` of
    regenerations and backwashes.
    """

    keys: tuple[str, ...]
    amounts: Mapping[str, float]
    media: tuple[tuple[str, float, str], ...]
    waste_m3: float
    counter: bool = False  # its softener is regenerated against the flow

    @property
    def soft(self) -> bool:
        """Whether the membranes get softened water."""
        return bool({"softener", "weak_acid"} & set(self.keys)) and "bypass" not in self.keys


class Year(Struct, frozen=True):
    """A year of a train at a recovery: money by line, and the water."""

    lines: Mapping[str, float]
    capital: float
    raw_m3: float
    drain_m3: float
    product_m3: float
    amounts: Mapping[str, float]
    things: float

    @property
    def cost(self) -> float:
        """Equivalent annual cost [money/year]."""
        return sum(self.lines.values())

    @property
    def cost_per_m3(self) -> float:
        """Cost of a m3 of product [money/m3]."""
        return self.cost / self.product_m3

    @property
    def overall(self) -> float:
        """Product over raw water [-]."""
        return self.product_m3 / self.raw_m3


def year_of(needs: Needs, plant: Plant, rates: Rates, recovery: float) -> Year:
    """Return the cost of a year of a train at a recovery.

    The product is the same; feed, chemicals, regenerations and media grow as the recovery
    falls, vessels with the exponent of their class.

    Parameters
    ----------
    needs : Needs
        What the train uses at the recovery of the design. [-]
    plant : Plant
        The machine. [-]
    rates : Rates
        Prices and standing values. [-]
    recovery : float
        Product / feed of the membranes. [-]

    Returns
    -------
    Year
        Lines of cost and of water. [-]
    """
    more = plant.recovery / recovery
    feed = plant.product_m3_year / recovery
    raw = feed + needs.waste_m3 * more
    amounts = {key: amount * more for key, amount in needs.amounts.items()}
    net, osmotic = rates["net_pressure_bar"], rates["osmotic_bar_l_mg"]
    pressure = plant.once(annual.feed_pressure_bar, recovery, plant.tds_mg_l, net, osmotic)
    energy = plant.once(annual.pumping_kwh_year, feed, pressure, rates["efficiency"])
    rate = rates["discount_rate"]
    flows = (plant.product_m3_h / recovery, plant.product_m3_h / plant.recovery)
    capital, visits, things = _upkeep(needs, plant, flows, rates)
    lines = {
        "raw water": annual.bought_per_year(raw, rates["water_per_m3"]),
        "drain": annual.bought_per_year(raw - plant.product_m3_year, rates["drain_per_m3"]),
        "energy": plant.once(annual.bought_per_year, energy, rates["energy_per_kwh"]),
        "salt": annual.bought_per_year(amounts.get("salt_per_kg", 0.0), rates["salt_per_kg"]),
        "chemicals": sum(
            annual.bought_per_year(amounts[k], rates[k]) for k in CHEMICALS if k in amounts
        ),
        "media": sum(
            plant.once(annual.yearly_of_price, litres * more * rates[price], rate, rates[life])
            for price, litres, life in needs.media
        ),
        "visits": visits * rates["labour_per_h"],
        "membranes": _membranes(needs, plant, rates),
        "capital": plant.once(annual.yearly_of_price, capital, rate, rates["study_years"]),
    }
    return Year(
        lines,
        capital,
        raw,
        raw - plant.product_m3_year,
        plant.product_m3_year,
        amounts,
        things,
    )


# What a price bears on: the line of the cost, and how much of it a year takes.
PRICED: Mapping[str, tuple[str, Callable[[Year], float]]] = {
    "salt_per_kg": ("salt", lambda year: year.amounts.get("salt_per_kg", 0.0)),
    "drain_per_m3": ("drain", lambda year: year.drain_m3),
    "water_per_m3": ("raw water", lambda year: year.raw_m3),
}


def repriced(year: Year, key: str, price: float) -> Year:
    """Return a year with another price of salt, drain or raw water.

    Parameters
    ----------
    year : Year
        At the prices of the design. [-]
    key : str
        One of `PRICED`. [-]
    price : float
        The other price. [money/kg, money/m3]

    Returns
    -------
    Year
        With the one line that moves. [-]
    """
    line, use = PRICED[key]
    return replace(year, lines={**year.lines, line: annual.bought_per_year(use(year), price)})


def _upkeep(
    needs: Needs, plant: Plant, flows_m3_h: tuple[float, float], rates: Rates
) -> tuple[float, float, float]:
    """Return capital, visits of a year and things to look after.

    The flows are the feed here, and at the recovery of the design, where own prices hold.
    """
    table, installed = stage_costs(), rates.installed
    capital, visits, things = 0.0, table["machine"].visits, 0.0
    for key in needs.keys:
        found = table[key]
        price, at_m3_h = found.capital, found.at_m3_h
        if key in installed:
            price, at_m3_h = installed[key], flows_m3_h[1]
        if key == "softener" and needs.counter:
            price *= rates["counter_current_capital"]
        if price:
            capital += plant.once(annual.scaled_cost, price, flows_m3_h[0], at_m3_h, found.exponent)
        visits += found.visits
        things += found.things
    return capital, visits, things


def set_of_elements(plant: Plant, rates: Rates) -> float:
    """Return the price of a set of elements.

    Parameters
    ----------
    plant : Plant
        The machine. [-]
    rates : Rates
        Prices and standing values. [-]

    Returns
    -------
    float
        By the product of a day. [money]
    """
    return plant.product_m3_d / rates["element_product_m3_d"] * rates["element_each"]


def _membranes(needs: Needs, plant: Plant, rates: Rates) -> float:
    """Return elements and cleanings of a year."""
    life = rates["element_years_soft"] if needs.soft else rates["element_years"]
    cleanings = rates["cleanings_soft"] if needs.soft else rates["cleanings"]
    each = rates["cleaning_base"] + rates["cleaning_m3_d"] * plant.product_m3_d
    price, rate = set_of_elements(plant, rates), rates["discount_rate"]
    bought = plant.once(annual.yearly_of_price, price, rate, life)
    return float(bought + cleanings * each)
