"""Where the order of the trains turns: prices and hardness; the cheapest recovery."""

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from pretreat.life.annual import cost_of_recovery_m3, price_of_equal_cost
from pretreat.plant.choices.choose import Choice
from pretreat.plant.choices.costs import PRICED, repriced, year_of
from pretreat.plant.choices.order import Row, in_order, without_needless_salt
from pretreat.plant.choices.words import cliff, lower_step

PRICES = (
    ("salt_per_kg", "price of salt"),
    ("drain_per_m3", "price of the drain"),
    ("water_per_m3", "price of raw water"),
)
HARDNESS_PARTS = ("salt_per_kg", "resin_per_l")
BESIDE = 1e-4  # of a price: how far beside the turn it is tried
LOWEST, HIGHEST, STEP, FINE = 0.3, 0.9, 0.05, 0.01
WITHIN = 1e-9  # of a recovery: rounding of a search
GROWING_M3 = 0.05  # PRICEGUESS: money/m3, what grows with the concentration, at (1 - R) of 1


class Flip(Struct, frozen=True):
    """A value at which another train comes first.

    ``now`` is the value of the design; ``at`` None where no value turns the order.
    """

    what: str
    unit: str
    now: float
    at: float | None
    other: str


def price_flips(choice: Choice) -> list[Flip]:
    """Return the nearest price at which another train comes first, by verdict and then cost.

    Each is tried on both sides; a price is left out where a train that was not judged could
    turn the order.

    Parameters
    ----------
    choice : Choice
        The trains in order. [-]

    Returns
    -------
    list of Flip
        One for each price that can be told. [money/kg, money/m3]
    """
    first = choice.chosen
    if first is None or first.year is None or not first.feasible:
        return []
    found = []
    for key, words in PRICES:
        now, unit = choice.rates[key], f"per {key.rpartition('_')[2]}"
        nearest = _nearest(choice, first, key)
        if nearest is not None:
            found.append(Flip(words, unit, now, *nearest))
        elif not any(_equal_at(choice, first, row, key) for row in choice.rows if _shut(row)):
            found.append(Flip(words, unit, now, None, "no price turns the order"))
    return found


def _nearest(choice: Choice, first: Row, price: str) -> tuple[float, str] | None:
    """Return the nearest price that turns the order, and the train that comes first there."""
    now, name = choice.rates[price], first.candidate.name
    prices = (_equal_at(choice, first, row, price) for row in choice.rows[1:] if row.feasible)
    for at in sorted((at for at in prices if at), key=lambda at: abs(at - now)):
        away = BESIDE if at > now else -BESIDE
        inside, outside = (_first_with(choice, price, at * (1.0 + side)) for side in (-away, away))
        if inside == name and outside != name:
            return at, outside
    return None


def _shut(row: Row) -> bool:
    """Tell whether a train reaches the recovery, but was not judged for its cost."""
    return not row.feasible and not row.candidate.shut and row.year is not None


def _equal_at(choice: Choice, first: Row, row: Row, price: str) -> float | None:
    """Return the price above 0 at which two trains cost the same, None where there is none."""
    one, two = first.year, row.year
    if one is None or two is None:
        return None
    uses = [PRICED[price][1](year) for year in (one, two)]
    if uses[0] == uses[1]:
        return None
    at = price_of_equal_cost(choice.rates[price], one.cost, two.cost, *uses)
    return float(at) if at > 0 else None


def _first_with(choice: Choice, price: str, value: float) -> str:
    """Return the train that comes first with another price, of those that were judged."""
    rows = [
        replace(row, year=repriced(row.year, price, value))
        for row in choice.rows
        if row.feasible and row.told is not None and row.year is not None
    ]
    rows = without_needless_salt(rows, dict.fromkeys(choice.forced, True))
    return in_order(rows, choice.plant.recovery)[0].candidate.name


def _answer(row: Row) -> tuple[str, int] | None:
    return None if row.told is None else (row.told.answer, row.exposed)


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
            if row.feasible
            and _answer(row) == _answer(first)
            and row.candidate.soft is not first.candidate.soft
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
    less = replace(needs, amounts=amounts, media=media, waste_m3=needs.waste_m3 * share)
    return year_of(less, choice.plant, choice.rates, _at(row, choice)).cost


def _at(row: Row, choice: Choice) -> float:
    return min(row.reach or choice.plant.recovery, choice.plant.recovery)


def recovery_flip(choice: Choice) -> Flip | None:
    """Return the nearest recovery at which another train is the cheapest that reaches it.

    A train reaches a recovery that its limits allow; which trains are safe and can be built is
    taken from the recovery of the design.

    Parameters
    ----------
    choice : Choice
        The trains in order. [-]

    Returns
    -------
    Flip or None
        None where the train chosen is not the cheapest at the recovery of the design, since its
        verdict then decides and is not known at another. [-]
    """
    first, wanted = choice.chosen, choice.plant.recovery
    if first is None or not first.feasible or _cheapest(choice, wanted) != first.candidate.name:
        return None
    steps = [float(r) for r in np.arange(LOWEST, HIGHEST + FINE / 2.0, FINE)]
    for recovery in sorted(steps, key=lambda r: abs(r - wanted)):
        name = _cheapest(choice, recovery)
        if name not in {"", first.candidate.name}:
            return Flip("recovery", "-", wanted, round(recovery, 2), name)
    return Flip("recovery", "-", wanted, None, "no recovery that a train reaches turns the order")


def _cheapest(choice: Choice, recovery: float) -> str:
    """Return the cheapest train that reaches a recovery, empty where none does."""
    rows = [
        replace(row, year=year_of(row.needs, choice.plant, choice.rates, recovery))
        for row in choice.rows
        if not row.candidate.shut
        and row.needs is not None
        and (row.reach or 0.0) >= recovery - WITHIN
    ]
    costs = {row.candidate.name: row.year.cost for row in rows if row.year is not None}
    return min(costs, key=lambda name: costs[name]) if costs else ""


class AtRecovery(Struct, frozen=True):
    """The chosen train at a recovery: cost of a m3 of product, and what is said of it."""

    recovery: float
    cost_per_m3: float
    within: bool
    mark: str


def over_recovery(choice: Choice) -> list[AtRecovery]:
    """Return what a m3 of product of the chosen train costs over the recovery.

    What grows with the concentration (fouling, cleaning, lost life of membranes) is
    ``k / (1 - R)``. The yearly cost holds it for the recovery that the train is costed at, so
    that there the two are one number; here is added what it comes to beyond that, or less.

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
    step = lower_step(choice)
    lower = () if step is None else (step[0],)
    asked = (*steps, *lower, design, int(reach * 100.0) / 100.0)
    stations = sorted({round(r, 4) for r in asked})
    costed = cost_of_recovery_m3(_at(first, choice), 0.0, 0.0, GROWING_M3)
    costs = {}
    for recovery in (r for r in stations if 0.0 < r < 1.0):
        year = year_of(first.needs, choice.plant, choice.rates, recovery)
        grown = float(cost_of_recovery_m3(recovery, 0.0, 0.0, GROWING_M3) - costed)
        costs[recovery] = year.cost_per_m3 + grown
    inside = {r: c for r, c in costs.items() if r <= reach}
    best = min(inside, key=lambda r: inside[r]) if inside else None
    rows = []
    for recovery, cost in costs.items():
        marks = [
            word
            for word, here in (
                ("least cost within the limits", recovery == best),
                ("recovery of the design", recovery == round(design, 4)),
                (cliff(choice), recovery in {round(r, 4) for r in lower}),
            )
            if here
        ]
        rows.append(AtRecovery(recovery, cost, recovery <= reach, "; ".join(marks)))
    return rows
