"""Whether a softener is needed."""

from pretreat.core.errors import DesignError
from pretreat.stages.decision import Decision, Question, overruled
from pretreat.stages.limits import train_limits


def decide(question: Question) -> Decision:
    """Decide on the softener.

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
        If the softener is to be rated and its resin is not given.
    """
    name, choice = "softener", question.design.softener
    hardness = question.hardness_mg_l_caco3()
    hard = hardness > train_limits()["soft_water"].value
    scaling_stops = question.recovery_without_softener is None or (
        question.recovery_without_softener < question.design.machine.recovery
    )
    if choice.include is False:
        return overruled(name, False, hard and scaling_stops)
    if question.mode == "rate":
        return _installed_softener(question, hardness, missing=hard and scaling_stops)
    if choice.include:
        return overruled(name, True, hard and scaling_stops)
    return _proposed_softener(question, hardness, scaling_stops=scaling_stops)


def _installed_softener(question: Question, hardness: float, *, missing: bool) -> Decision:
    choice = question.design.softener
    if choice.resin_volume_l is not None:
        return Decision("softener", True, "installed")
    if question.described("softener") or choice.include:
        raise DesignError(
            '[softener] resin_volume is missing; write resin_volume = "140 L" and '
            'vessel_diameter = "0.41 m" to rate it, or include = false'
        )
    return Decision("softener", False, "not installed", hardness, "soft_water", missing=missing)


def _proposed_softener(question: Question, hardness: float, *, scaling_stops: bool) -> Decision:
    name, limit = "softener", "soft_water"
    unscaled = "the raw water itself reaches the recovery wanted"
    if hardness <= train_limits()[limit].value:
        return Decision(name, False, "soft water", hardness, limit)
    if scaling_stops:
        why = "hard water that would scale at the recovery wanted"
        most = question.recovery_inhibited
        if question.inhibitor_reaches:
            why += f"; an inhibitor alone would allow {most:.0%}"
        return Decision(name, True, why, hardness, limit)
    if question.described("softener"):
        return Decision(name, True, f"described in the site file; {unscaled}", hardness, limit)
    return Decision(name, False, unscaled, hardness, limit)
