"""What the verdict of the first train costs, where another one costs much less."""

from math import ceil

from msgspec import Struct

from pretreat.core.basis import Evidence, Value
from pretreat.core.results import Ledger
from pretreat.plant.choices.choose import Choice
from pretreat.plant.choices.costs import Year, set_of_elements, year_of
from pretreat.plant.choices.order import Row

LESS = 0.25  # PRACTICE, own judgement: of the cost of a year; or the price of a set of elements
LEAST = 0.2  # PRACTICE: a recovery below is no alternative
SAME = 1e-6  # of a percent: rounding
HUNDREDTHS = 100.0  # a recovery that is promised is rounded down


class Cheaper(Struct, frozen=True):
    """A train that costs much less: the recovery that nine in ten draws keep, its year there."""

    row: Row
    recovery: float
    year: Year


def cheaper_train(choice: Choice) -> Cheaper | None:
    """Return the train that costs much less than the first, at a recovery that it may be run at.

    Parameters
    ----------
    choice : Choice
        The trains in order, judged. [-]

    Returns
    -------
    Cheaper or None
        Of those that cost much less at the recovery that they keep, the one that keeps most;
        None where there is none. [-]
    """
    first = choice.chosen
    if first is None or first.year is None or choice.safe is None or not first.feasible:
        return None
    sound = [row for row in choice.rows[1:] if _may_stand_for(first, row, choice)]
    found = [(row, row.kept.safe) for row in sound if row.kept is not None]  # of few draws
    seen = [one for row, safe in found if (one := _at(choice, row, safe)) is not None]
    if not seen:
        return None
    row = max(seen, key=lambda one: (one.recovery, -one.year.cost)).row
    return _at(choice, row, choice.safe(row) or 0.0)


def _at(choice: Choice, row: Row, safe: float) -> Cheaper | None:
    """Return a train at the recovery that it keeps, rounded down; None where little is saved."""
    first, wanted = choice.chosen, choice.plant.recovery
    # Below the one wanted: that its verdict leaves open, though few draws may allow it.
    recovery = min(int(safe * HUNDREDTHS), ceil(wanted * HUNDREDTHS - SAME) - 1) / HUNDREDTHS
    if recovery < LEAST or row.needs is None or first is None:
        return None
    year = year_of(row.needs, choice.plant, choice.rates, recovery)
    return Cheaper(row, recovery, year) if _much_less(first, year.cost, choice) else None


def _cost(row: Row) -> float:
    return row.year.cost if row.year is not None else float("inf")


def _may_stand_for(first: Row, row: Row, choice: Choice) -> bool:
    sound = row.feasible and row.told is not None and not row.too_salty
    sound = sound and row.exposed <= first.exposed and row.limed <= first.limed
    sound = sound and not (row.spoiled and not first.spoiled)
    return sound and _much_less(first, _cost(row), choice)


def _much_less(first: Row, cost: float, choice: Choice) -> bool:
    saved = _cost(first) - cost
    return saved >= LESS * _cost(first) or saved >= set_of_elements(choice.plant, choice.rates)


def cheaper_words(choice: Choice, found: Cheaper | None) -> str:
    """Say at what recovery a train that costs much less would fit, and what it costs there.

    Parameters
    ----------
    choice : Choice
        The trains in order. [-]
    found : Cheaper or None
        As `cheaper_train` returns it. [-]

    Returns
    -------
    str
        Empty where there is none. [-]
    """
    if found is None or choice.chosen is None:
        return ""
    wanted = f"{100.0 * choice.plant.recovery:.4g} %"
    name = found.row.candidate.name
    return (
        f"at {100.0 * found.recovery:.0f} % {name} keeps every limit in 90 % of the draws at the "
        f"cautious limits, worst season included, for {found.year.cost:,.0f} a year instead of "
        f"{_cost(choice.chosen):,.0f}: ask whether {wanted} is needed"
    )


def left_out_words(choice: Choice) -> str:
    """Name the train that the site file leaves out though it costs much less.

    Parameters
    ----------
    choice : Choice
        The trains in order. [-]

    Returns
    -------
    str
        Empty where there is none. [-]
    """
    first, wanted = choice.chosen, choice.plant.recovery
    if first is None:
        return ""
    found = [
        row
        for row in choice.rows[1:]
        if row.candidate.left_out
        and row.year is not None
        and (row.reach or 0.0) >= wanted
        and row.exposed <= first.exposed
        and not row.too_salty
        and _much_less(first, _cost(row), choice)
    ]
    if not found:
        return ""
    row = min(found, key=_cost)
    return (
        f"{row.candidate.name} reaches the recovery at the usual limits for {_cost(row):,.0f} a "
        f"year, {row.candidate.left_out}"
    )


def enter_cheaper(ledger: Ledger, choice: Choice, found: Cheaper | None) -> None:
    """Enter the train that costs much less, the recovery that it keeps, and its cost there.

    Parameters
    ----------
    ledger : Ledger
        Where the figures go. [-]
    choice : Choice
        The trains in order. [-]
    found : Cheaper or None
        As `cheaper_train` returns it; None enters nothing. [-]
    """
    if found is None:
        return
    money = choice.rates.currency or "currency"
    kept = "kept in 90 % of the draws at the cautious limits, worst season included, rounded down"
    priced = "prices of the user, class estimates where there are none"
    label = "Cheaper train at less recovery"
    guessed: Evidence = "memory" if choice.rates.guessed else "computed"
    practice: Evidence = "common practice"
    entries: tuple[tuple[str, Value, str, str, str, Evidence], ...] = (
        ("", found.row.candidate.name, "-", "", kept, practice),
        ("_recovery", found.recovery, "-", ": its recovery", kept, practice),
        ("_cost_per_year", found.year.cost, f"{money}/year", ": cost there", priced, guessed),
        ("_cost_per_m3", found.year.cost_per_m3, f"{money}/m3", ": of a m3", priced, guessed),
    )
    for key, value, unit, words, method, evidence in entries:
        full = f"train.cheaper{key}"
        ledger.put(full, value, unit, label + words, method=method, evidence=evidence)
        ledger.rests(full, held=True)
