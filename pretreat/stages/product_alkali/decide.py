"""Alkali is fed into the product where the site file says so."""

from pretreat.stages.decision import Decision, Question, as_described


def decide(question: Question) -> Decision:
    """Tell whether the site file describes it.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]

    Returns
    -------
    Decision
        The decision. [-]
    """
    return as_described(question, "product_alkali", "alkali feed into the product")
