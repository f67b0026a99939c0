"""Whether a scale inhibitor is dosed."""

from pretreat.stages.decision import Decision, Question


def decide(question: Question) -> Decision:
    """Decide on the dosing of a scale inhibitor: the site file chooses it.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]

    Returns
    -------
    Decision
        The decision. [-]
    """
    if question.design.limits.inhibitor:
        where = "dosed behind the filters, ahead of the cartridge"
        return Decision("inhibitor dosing", True, f"chosen in [limits]; {where}")
    return Decision("inhibitor dosing", False, "no inhibitor chosen in [limits]")
