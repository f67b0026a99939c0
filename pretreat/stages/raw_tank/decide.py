"""Whether raw water is stored."""

from pretreat.stages.decision import Decision, Question


def decide(question: Question) -> Decision:
    """Tell whether the site file describes a raw tank.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]

    Returns
    -------
    Decision
        The decision. [-]
    """
    tank = question.design.supply
    stored = tank.raw_tank_volume_m3 is not None or tank.vented_raw_tank
    return Decision(
        "raw water storage",
        stored,
        "described in the site file" if stored else "none described: the well pump feeds the train",
    )
