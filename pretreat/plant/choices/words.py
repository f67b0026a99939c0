"""The words of a choice that hang on the train as it stands, with what the site file put in."""

from pretreat.plant.choices.candidates import COUNTER, Candidate
from pretreat.plant.choices.choose import Choice
from pretreat.plant.choices.order import Row
from pretreat.plant.choices.salt import salt_words
from pretreat.plant.choices.table import options

WITHIN = 0.1  # PRACTICE: of the recovery wanted, what a plant may be asked to give up
LEAST_WORTH = 0.2  # PRACTICE: a recovery below is no alternative
WORTH = 0.9  # PRACTICE: of the cost of the train chosen, below which it is worth asking
THOUSANDTHS = 1000.0  # a recovery that is promised is rounded down


def scale_words(one: Candidate) -> str:
    """Return what is said of the way that keeps scale off, by the stages that are in the train.

    Parameters
    ----------
    one : Candidate
        The train. [-]

    Returns
    -------
    str
        Those of the way of the table with the same stages, where there is one. [-]
    """
    ways = [o for o in options() if o.group == "scale"]
    same = next(
        (
            o
            for o in ways
            if set(o.stages) == set(one.way)
            and one.counter is (("softener", "direction", COUNTER) in o.settings)
        ),
        None,
    )
    if same is not None:
        return same.words
    return f"{one.scale.words}, with {' and '.join(one.way)}" if one.way else one.scale.words


def no_second(choice: Choice) -> str:
    """Say why there is no runner-up.

    Parameters
    ----------
    choice : Choice
        The trains in order. [-]

    Returns
    -------
    str
        What holds the next train back, or that the site file leaves none. [-]
    """
    for row in choice.rows[1:]:
        if row.why_not:
            return f"the next train, {row.candidate.name}, is no runner-up: {row.why_not}"
    if choice.fixed:
        return f"the site file leaves no other train ({', '.join(choice.fixed)})"
    return "no other train of the decision table is needed for this water"


def lower_step(choice: Choice) -> tuple[float, Row, float] | None:
    """Return the cheapest train that a slightly lower recovery would allow.

    Parameters
    ----------
    choice : Choice
        The trains in order. [-]

    Returns
    -------
    tuple or None
        The recovery that it reaches, rounded down [-], the train, and its cost of a year there
        [money/year]; None where none is much cheaper.
    """
    first, wanted = choice.chosen, choice.plant.recovery
    if first is None or first.year is None or not first.feasible:
        return None
    found = [
        (row.year.cost, row.reach, row)
        for row in choice.rows[1:]
        if row.year is not None
        and row.reach is not None
        and wanted - WITHIN <= row.reach < wanted
        and not row.candidate.shut
        and row.exposed <= first.exposed
        and row.year.cost < WORTH * first.year.cost
    ]
    if not found:
        return None
    cost, reach, row = min(found, key=lambda one: one[0])
    return int(reach * THOUSANDTHS) / THOUSANDTHS, row, cost


def less_salt(choice: Choice) -> str:
    """Return the train that comes nearest without salt out of proportion, in words.

    Parameters
    ----------
    choice : Choice
        The trains in order. [-]

    Returns
    -------
    str
        Such as "inhibitor + cartridge reaches 64.7 % for 38,000 a year". [-]
    """
    wanted = choice.plant.recovery
    rows = [
        (min(row.reach, wanted), -row.year.cost, row)
        for row in choice.rows
        if row.year is not None
        and row.reach is not None
        and row.reach >= LEAST_WORTH
        and not row.candidate.why_not
        and not salt_words(row, choice.plant)
    ]
    if not rows:
        return "no train without it comes near: take less recovery, or another well"
    reach, cost, row = max(rows, key=lambda one: one[:2])
    shown = int(reach * THOUSANDTHS) / THOUSANDTHS
    asked = f" ({row.candidate.left_out})" if row.candidate.left_out else ""
    return (
        f"without it {row.candidate.name} reaches {shown:.1%} at the usual limits for "
        f"{-cost:,.0f} a year{asked}"
    ).replace("%", " %", 1)


def cliff(choice: Choice) -> str:
    """Say what a slightly lower recovery would save; empty where little.

    Parameters
    ----------
    choice : Choice
        The trains in order. [-]

    Returns
    -------
    str
        Such as "at 68.8 % inhibitor + cartridge would do for 14,023 a year". [-]
    """
    step = lower_step(choice)
    if step is None:
        return ""
    recovery, row, cost = step
    return (
        f"at {recovery:.1%} {row.candidate.name} would do for {cost:,.0f} a year, at the usual "
        "limits: ask whether the recovery is needed"
    ).replace("%", " %", 1)
