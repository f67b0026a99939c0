"""Whether activated carbon is needed."""

from msgspec.structs import replace

from pretreat.core.errors import DesignError
from pretreat.stages.decision import Decision, Question, overruled


def decide(question: Question) -> Decision:
    """Decide on activated carbon.

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
        If the carbon is to be rated and its volume is not given.
    """
    name, choice = "carbon", question.design.carbon
    chlorine = question.free_chlorine_mg_l()
    oxidant = question.oxidant
    strong = oxidant not in {"", "air"}
    wanted = strong or chlorine > 0 or bool(choice.chloramine_mg_l)
    why = f"guards the membrane behind {oxidant}" if strong else "chlorine in the water"
    named = oxidant if strong else "chlorine"
    danger = f"{named} destroys polyamide membranes" if wanted else ""
    if choice.include is False:
        return replace(overruled(name, False, wanted), danger=danger)
    if question.mode == "rate":
        if choice.media_volume_l is not None:
            return Decision(name, True, "installed", chlorine, "membrane_chlorine")
        if choice.include or (question.described("carbon") and wanted):
            raise DesignError(
                '[carbon] media_volume is missing; write media_volume = "140 L" to rate it, or '
                "include = false"
            )
        return Decision(
            name,
            False,
            "not installed",
            chlorine,
            "membrane_chlorine",
            missing=wanted,
            danger=danger,
        )
    if choice.include:
        return overruled(name, True, wanted)
    reason = why if wanted else "no permanganate and no chlorine ahead of the membrane"
    return Decision(name, wanted, reason, chlorine, "membrane_chlorine")
