"""Where the order of the trains turns: prices, hardness and recovery, and the cheapest recovery."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from pretreat.life.annual import cost_of_recovery_m3, price_of_equal_cost
from pretreat.plant.choices.choose import Choice, Row
from pretreat.plant.choices.costs import Needs, Year, year_of

PRICES = (
    ("salt_per_kg", "price of salt"),
    ("drain_per_m3", "price of the drain"),
    ("water_per_m3", "price of raw water"),
)
HARDNESS_PARTS = ("salt_per_kg", "resin_per_l")
BISECTIONS = 40
LOWEST, HIGHEST, STEP = 0.3, 0.9, 0.05
GROWING_M3 = 0.05  # PRICEGUESS: money/m3, what grows with the concentration, at (1 - R) of 1


@dataclass(frozen=True, slots=True)
class Flip:
    """A value at which another train becomes as cheap as the chosen one.

    ``now`` is the value of the design; ``at`` None where no value turns the order.
    """

    what: str
    unit: str
    now: float
    at: float | None
    other: str


def _use(year: Year, price: str) -> float:
    if price == "drain_per_m3":
        return year.drain_m3
    if price == "water_per_m3":
        return year.raw_m3
    return year.amounts.get(price, 0.0)


def price_flips(choice: Choice) -> list[Flip]:
    """Return the nearest price at which another train of the same verdict is as cheap.

    Parameters
    ----------
    choice : Choice
        The trains in order. [-]

    Returns
    -------
    list of Flip
        One for each price looked at. [money/kg, money/m3]
    """
    first = choice.chosen
    if first is None or first.year is None:
        return []
    found = []
    for key, words in PRICES:
        now, unit = choice.rates[key], f"per {key.rpartition('_')[2]}"
        nearest: tuple[float, str] | None = None
        for row in _rivals(choice):
            year = row.year
            if year is None or _use(first.year, key) == _use(year, key):
                continue
            at = float(
                price_of_equal_cost(
                    now, first.year.cost, year.cost, _use(first.year, key), _use(year, key)
                )
            )
            if at >= 0 and (nearest is None or abs(at - now) < abs(nearest[0] - now)):
                nearest = at, row.candidate.name
        at_name = (None, "no price turns the order") if nearest is None else nearest
        found.append(Flip(words, unit, now, *at_name))
    return found


def _rivals(choice: Choice) -> Iterable[Row]:
    """Give the other trains that reach the recovery with as good a verdict, or the runner-up."""
    first = choice.chosen
    mine = None if first is None or first.told is None else first.told.answer
    wanted = choice.plant.recovery
    rivals = [
        row
        for row in choice.rows[1:]
        if row.year is not None
        and not row.candidate.why_not
        and (row.reach or 0.0) >= wanted
        and (row.told is None or row.told.answer == mine)
    ]
    second = choice.runner_up
    return rivals or ([second] if second is not None else [])


def hardness_flip(choice: Choice, hardness_mg_l_caco3: float) -> Flip | None:
    """Return the hardness at which a train with a softener costs what one without does.

    Salt, resin and regeneration water are straight in the hardness.

    Parameters
    ----------
    choice : Choice
        The trains in order. [-]
    hardness_mg_l_caco3 : float
        Hardness of the raw water. [mg/L as CaCO3]

    Returns
    -------
    Flip or None
        None where no pair differs by a softener. [mg/L as CaCO3]
    """
    first = choice.chosen
    if first is None or first.needs is None or first.year is None:
        return None
    other = next(
        (
            row
            for row in choice.rows[1:]
            if row.year is not None and row.candidate.soft is not first.candidate.soft
        ),
        None,
    )
    if other is None or other.needs is None or other.year is None:
        return None

    def gap(share: float) -> float:
        one, two = (_cost_at(choice, row, share) for row in (first, other))
        return one - two

    straight = gap(1.0) - gap(0.0)
    share = None if straight == 0 else -gap(0.0) / straight
    at = None if share is None or share < 0 else share * hardness_mg_l_caco3
    return Flip("hardness", "mg/L as CaCO3", hardness_mg_l_caco3, at, other.candidate.name)


def _cost_at(choice: Choice, row: Row, share: float) -> float:
    """Return the cost of a train at a share of its hardness."""
    needs = row.needs
    assert needs is not None  # noqa: S101 - rows without are left out by the callers
    if not row.candidate.soft:
        return row.year.cost if row.year is not None else np.inf
    amounts = {k: v * share if k in HARDNESS_PARTS else v for k, v in needs.amounts.items()}
    media = tuple(
        (price, litres * share if price in HARDNESS_PARTS else litres, life)
        for price, litres, life in needs.media
    )
    less = Needs(needs.keys, amounts, media, needs.waste_m3 * share)
    return year_of(less, choice.plant, choice.rates, _at(row, choice)).cost


def _at(row: Row, choice: Choice) -> float:
    return min(row.reach or choice.plant.recovery, choice.plant.recovery)


def recovery_flip(choice: Choice) -> Flip | None:
    """Return the recovery to which the chosen train may fall until the runner-up is as cheap.

    Parameters
    ----------
    choice : Choice
        The trains in order. [-]

    Returns
    -------
    Flip or None
        None without a runner-up. [-]
    """
    first, second = choice.chosen, choice.runner_up
    if first is None or first.needs is None or second is None or second.year is None:
        return None
    needs, now = first.needs, _at(first, choice)

    def dearer(recovery: float) -> bool:
        cost = year_of(needs, choice.plant, choice.rates, recovery).cost
        return second.year is not None and cost > second.year.cost

    low, high = LOWEST / 3.0, now
    if dearer(high) or not dearer(low):
        return Flip("recovery of the chosen train", "-", now, None, second.candidate.name)
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if dearer(middle) else (low, middle)
    return Flip("recovery of the chosen train", "-", now, high, second.candidate.name)


@dataclass(frozen=True, slots=True)
class AtRecovery:
    """The chosen train at a recovery: cost of a m3 of product, and what is said of it."""

    recovery: float
    cost_per_m3: float
    within: bool
    mark: str


def over_recovery(choice: Choice) -> list[AtRecovery]:
    """Return what a m3 of product of the chosen train costs over the recovery.

    What grows with the concentration (fouling, cleaning, lost life of membranes) is
    ``k / (1 - R)``, counted here on top of the yearly cost.

    Parameters
    ----------
    choice : Choice
        The trains in order. [-]

    Returns
    -------
    list of AtRecovery
        The cheapest within the limits and the design are marked. [-]
    """
    first = choice.chosen
    if first is None or first.needs is None:
        return []
    reach, design = first.reach or choice.plant.recovery, choice.plant.recovery
    steps = [float(r) for r in np.arange(LOWEST, HIGHEST + STEP / 2.0, STEP)]
    stations = sorted({round(r, 4) for r in (*steps, design, int(reach * 100.0) / 100.0)})
    growing = GROWING_M3
    costs = {}
    for recovery in (r for r in stations if 0.0 < r < 1.0):
        year = year_of(first.needs, choice.plant, choice.rates, recovery)
        costs[recovery] = year.cost_per_m3 + float(cost_of_recovery_m3(recovery, 0.0, 0.0, growing))
    inside = {r: c for r, c in costs.items() if r <= reach}
    best = min(inside, key=lambda r: inside[r]) if inside else None
    rows = []
    for recovery, cost in costs.items():
        marks = [
            word
            for word, here in (
                ("least cost within the limits", recovery == best),
                ("recovery of the design", recovery == round(design, 4)),
            )
            if here
        ]
        rows.append(AtRecovery(recovery, cost, recovery <= reach, "; ".join(marks)))
    return rows
