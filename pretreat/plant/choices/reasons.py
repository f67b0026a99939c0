"""Why the first train stands first, in one sentence."""

from pretreat.plant.choices.choose import Choice
from pretreat.plant.choices.order import BETTER, DEPENDS
from pretreat.plant.choices.proportion import Cheaper, cheaper_words, left_out_words
from pretreat.plant.choices.words import cliff, no_second, scale_words
from pretreat.plant.uncertainty.digits import probability_words
from pretreat.stages import BY_KEY


def why(choice: Choice, cheaper: Cheaper | None = None) -> str:
    """Say in one sentence why the first train stands first.

    Parameters
    ----------
    choice : Choice
        The trains in order. [-]
    cheaper : Cheaper, optional
        A train that costs much less. [-]

    Returns
    -------
    str
        The reason. [-]
    """
    first = choice.chosen
    if first is None or first.year is None:
        return ""
    known = first.reach is not None or bool(first.candidate.why_not)
    if not first.feasible and known:
        return f"no train is feasible; this one comes nearest: {first.why_not}"
    parts = [first.candidate.iron.words, scale_words(first.candidate)]
    if choice.gaps:
        gaps = " and ".join(choice.gaps)
        parts.append(f"calcite cannot be judged, so the train protects: measure {gaps}")
    if first.feasible:
        parts += [_against(choice), certainty(choice), cheaper_words(choice, cheaper)]
        parts += [cliff(choice), left_out_words(choice)]
    return "; ".join(part for part in parts if part)


def _against(choice: Choice) -> str:
    """Say what sets the runner-up behind the first train."""
    first, second = choice.chosen, choice.runner_up
    if first is None or first.year is None:
        return ""
    if second is None or second.year is None:
        return no_second(choice)
    if first.exposed < second.exposed:
        return "the runner-up protects less where a scale is not known"
    answers = [None if row.told is None else row.told.answer for row in (first, second)]
    if answers[0] != answers[1]:
        return f"the runner-up's verdict is '{answers[1]}'"
    apart = [None if row.told is None else row.told.of_train for row in (first, second)]
    if apart[0] != apart[1]:
        return f"what no train mends aside, the runner-up's verdict is '{apart[1]}'"
    more = second.year.cost / first.year.cost - 1.0
    surer = ""
    if first.answer >= DEPENDS and second.odds > first.odds + BETTER:
        surer = (
            f", and keeps its limits in {probability_words(second.odds)} of the draws, this one "
            f"in {probability_words(first.odds)}"
        )
    worth = f"{more:.0%} more" if more >= 0 else f"{-more:.0%} less, but a scale leaves it open"
    return f"the runner-up costs {worth}".replace("%", " %") + surer


def certainty(choice: Choice) -> str:
    """Say what the first train buys where a cheaper one reaches the recovery with more doubt.

    Parameters
    ----------
    choice : Choice
        The trains in order. [-]

    Returns
    -------
    str
        Empty where the first train is the cheapest that reaches it. [-]
    """
    first = choice.chosen
    if first is None or first.year is None:
        return ""
    cost = first.year.cost
    cheaper = [
        (row.year.cost, row.candidate, row.told)
        for row in choice.rows[1:]
        if row.feasible and row.year and row.year.cost < cost and row.exposed == first.exposed
    ]
    if not cheaper:
        return ""
    least, candidate, told = min(cheaper, key=lambda one: one[0])
    mine = [key for key in first.candidate.way if key not in candidate.way]
    what = " and ".join(BY_KEY[key].name.lower() for key in mine) or "the train chosen"
    answer = "" if told is None else f"; its verdict is '{told.answer}' at the cautious limits"
    return (
        f"{what} buys certainty: {candidate.name} reaches the recovery at the usual limits "
        f"for {least:,.0f} a year instead of {cost:,.0f}{answer}"
    )
