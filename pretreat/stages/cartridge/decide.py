"""A cartridge filter always stands ahead of the membranes."""

from pretreat.stages.decision import Decision, Question


def decide(_question: Question) -> Decision:
    """Include the cartridge filter.

    Parameters
    ----------
    _question : Question
        Water, design and mode. [-]

    Returns
    -------
    Decision
        The decision. [-]
    """
    return Decision("cartridge filter", True, "guards the pump and the membranes from particles")
