"""Whether a multimedia filter is needed."""

from pretreat.stages.decision import Decision, Question
from pretreat.stages.limits import train_limits


def decide(question: Question) -> Decision:
    """Decide on a multimedia filter.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]

    Returns
    -------
    Decision
        The decision. [-]
    """
    name, limits = "multimedia filter", train_limits()
    turbidity, sdi = question.raw.turbidity_ntu, question.raw.sdi
    cloudy = turbidity is not None and turbidity > limits["membrane_turbidity"].value
    fouling = sdi is not None and sdi > limits["membrane_sdi"].value
    if question.mode == "rate":
        return Decision(name, False, "not rated: the site file has no table for it", turbidity)
    if question.filtered:
        return Decision(name, False, "the iron filter holds back particles", turbidity,
                     "membrane_turbidity")  # fmt: skip
    if cloudy or not fouling:
        why = "cloudier than the membrane takes" if cloudy else "clear, or turbidity not measured"
        return Decision(name, cloudy, why, turbidity, "membrane_turbidity")
    return Decision(name, True, "silt density index above the limit", sdi, "membrane_sdi")
