"""Whether an iron and manganese filter is needed."""

from msgspec.structs import replace

from pretreat.core.errors import DesignError
from pretreat.stages.decision import Decision, Question, overruled
from pretreat.stages.limits import train_limits


def decide(question: Question) -> Decision:
    """Decide on the iron and manganese filter.

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
        If the filter is to be rated and its vessel is not given.
    """
    return replace(_decide(question), oxidant=question.design.iron_filter.oxidant)


def _decide(question: Question) -> Decision:
    name, choice = "iron filter", question.design.iron_filter
    iron, manganese = question.raw.total("fe"), question.raw.total("mn")
    limits = train_limits()
    much_iron = iron > limits["filter_iron_worth"].value
    metals = much_iron or manganese > limits["filter_manganese_left"].value
    sulfide = filter_takes_sulfide(question)
    wanted = metals or sulfide
    if choice.include is False:
        return overruled(name, False, wanted)
    if question.mode == "rate":
        if choice.vessel_diameter_m is not None:
            idle = iron <= 0 and manganese <= 0 and not sulfide
            why = "installed, but the water has neither iron nor manganese" if idle else "installed"
            return Decision(name, not idle, why)
        if wanted and (question.described("iron_filter") or choice.include):
            raise DesignError(
                '[iron_filter] vessel_diameter is missing; write vessel_diameter = "0.61 m" and '
                'media_depth = "0.76 m" to rate it, or include = false'
            )
        return Decision(
            name, False, "not installed", iron + manganese, "iron_present", missing=wanted
        )
    if choice.include:
        return overruled(name, True, wanted)
    if sulfide and not metals:
        return Decision(
            name, True, "its oxidant takes the hydrogen sulfide", question.raw.h2s_mg_l, "sulfide"
        )
    limit, value = (
        ("filter_iron_worth", iron)
        if much_iron or not wanted
        else ("filter_manganese_left", manganese)
    )
    reason = "more than a filter leaves" if wanted else "a filter would leave most of it"
    return Decision(name, wanted, reason, value, limit)


def filter_takes_sulfide(question: Question) -> bool:
    """Tell whether there is sulfide enough to act on, and no more than an oxidising filter takes.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]

    Returns
    -------
    bool
        True where oxidant and filter are the way. [-]
    """
    limits, sulfide = train_limits(), question.raw.h2s_mg_l
    return limits["sulfide"].value < sulfide <= limits["filter_sulfide"].value


def sulfide(question: Question, *, iron_filter: bool) -> Decision:
    """Say what is done about hydrogen sulfide; it is a row of its own, not a vessel.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]
    iron_filter : bool
        Whether an iron filter is in the train. [-]

    Returns
    -------
    Decision
        Never included: what takes the sulfide is the iron filter, or is still missing. [-]
    """
    name, found = "sulfide removal", question.raw.h2s_mg_l
    if found <= train_limits()["sulfide"].value:
        why = (
            "no more hydrogen sulfide than resin and membranes take"
            if found
            else ("no hydrogen sulfide found, or not measured")
        )
        return Decision(name, False, why, found, "sulfide")
    if found > train_limits()["filter_sulfide"].value:
        why = "more than an oxidising filter takes: aeration that strips it, ahead of the train"
        return Decision(name, False, why, found, "filter_sulfide")
    if iron_filter:
        return Decision(name, False, "by the iron filter and its oxidant", found, "sulfide")
    why = "nothing in the train takes it: oxidant and filter, or aeration that strips it"
    return Decision(name, False, why, found, "sulfide")
