"""Whether a neutralising filter stands behind the membranes: the site file chooses it."""

from pretreat.core.errors import DesignError
from pretreat.stages.decision import Decision, Question

NAME = "neutralising filter"


def decide(question: Question) -> Decision:
    """Decide on the neutralising filter.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]

    Returns
    -------
    Decision
        The decision. [-]

    Raises
    ------
    DesignError
        If the filter is to be rated and its volume is not given.
    """
    choice = question.design.neutralising_filter
    if choice.include is False or not (choice.include or question.described("neutralising_filter")):
        return Decision(NAME, False, "none asked for: the product keeps its carbon dioxide")
    if question.mode == "rate" and choice.media_volume_l is None:
        raise DesignError(
            '[neutralising_filter] media_volume is missing; write media_volume = "100 L" to rate '
            "it, or include = false"
        )
    installed = "installed" if question.mode == "rate" else "asked for in the site file"
    return Decision(NAME, True, f"{installed}: takes up the carbon dioxide of the product")
