"""The words of a choice that hang on the train as it stands, with what the site file put in."""

from pretreat.plant.choices.candidates import Candidate
from pretreat.plant.choices.choose import Choice
from pretreat.plant.choices.table import options


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
    same = next((o for o in ways if set(o.stages) == set(one.way)), None)
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
