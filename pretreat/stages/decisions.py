"""Which stages a train needs, and why."""

from dataclasses import dataclass, replace
from typing import Literal

from pretreat.core.equivalents import HARDNESS_IONS, equivalent_hardness_mg_l_caco3
from pretreat.core.errors import DesignError
from pretreat.site.design import DesignBasis
from pretreat.stages.inhibitor.laws import inhibitor_reaches
from pretreat.stages.limits import train_limits
from pretreat.stages.stream import RawWater

Mode = Literal["size", "rate"]
CHLORINE_RESIDUAL_MG_L = 1.0  # OPFLOW2021: 0.5 to 1.0 mg/L kept over the medium, the high end


@dataclass(frozen=True, slots=True)
class Stage:
    """A stage, whether it is in the train, and the number and limit that decide.

    ``limit`` is a key of data/train_limits.csv, or None where no number decides.
    ``overruled`` says that the engineer decided against the rule; ``missing`` that a plant that
    stands there lacks a stage it should have; ``danger`` what its absence destroys.
    """

    name: str
    included: bool
    reason: str
    value: float | None = None
    limit: str | None = None
    overruled: bool = False
    missing: bool = False
    danger: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """What the choice of stages looks at."""

    raw: RawWater
    design: DesignBasis
    mode: Mode
    recovery_without_softener: float | None = None
    recovery_inhibited: float | None = None

    def described(self, table: str) -> bool:
        """Tell whether the site file says more about a stage than that it is included."""
        prefix = f"{table}."
        return any(k.startswith(prefix) and k != f"{prefix}include" for k in self.design.chosen)


def _overruled(name: str, include: bool, wanted: bool) -> Stage:
    word = "in" if include else "out"
    rule = "as the limits say" if include == wanted else "against what the limits say"
    return Stage(name, include, f"left {word} by the engineer, {rule}", overruled=include != wanted)


def iron_filter_stage(question: Question) -> Stage:
    """Decide on the iron and manganese filter.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]

    Returns
    -------
    Stage
        The decision. [-]

    Raises
    ------
    DesignError
        If the filter is to be rated and its vessel is not given.
    """
    name, choice = "iron filter", question.design.iron_filter
    iron, manganese = question.raw.total("fe"), question.raw.total("mn")
    limits = train_limits()
    much_iron = iron > limits["filter_iron_left"].value
    metals = much_iron or manganese > limits["filter_manganese_left"].value
    sulfide = filter_takes_sulfide(question)
    wanted = metals or sulfide
    if choice.include is False:
        return _overruled(name, False, wanted)
    if question.mode == "rate":
        if choice.vessel_diameter_m is not None:
            idle = iron <= 0 and manganese <= 0 and not sulfide
            why = "installed, but the water has neither iron nor manganese" if idle else "installed"
            return Stage(name, not idle, why)
        if wanted and (question.described("iron_filter") or choice.include):
            raise DesignError(
                '[iron_filter] vessel_diameter is missing; write vessel_diameter = "0.61 m" and '
                'media_depth = "0.76 m" to rate it, or include = false'
            )
        return Stage(name, False, "not installed", iron + manganese, "iron_present", missing=wanted)
    if choice.include:
        return _overruled(name, True, wanted)
    if sulfide and not metals:
        return Stage(
            name, True, "its oxidant takes the hydrogen sulfide", question.raw.h2s_mg_l, "sulfide"
        )
    limit, value = (
        ("filter_iron_left", iron)
        if much_iron or not wanted
        else ("filter_manganese_left", manganese)
    )
    reason = "more than a filter leaves" if wanted else "no more than a filter would leave"
    return Stage(name, wanted, reason, value, limit)


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


def sulfide_stage(question: Question, *, iron_filter: bool) -> Stage:
    """Say what is done about hydrogen sulfide; it is a row of its own, not a vessel.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]
    iron_filter : bool
        Whether an iron filter is in the train. [-]

    Returns
    -------
    Stage
        Never included: what takes the sulfide is the iron filter, or is still missing. [-]
    """
    name, sulfide = "sulfide removal", question.raw.h2s_mg_l
    if sulfide <= train_limits()["sulfide"].value:
        why = (
            "no more hydrogen sulfide than resin and membranes take"
            if sulfide
            else ("no hydrogen sulfide found, or not measured")
        )
        return Stage(name, False, why, sulfide, "sulfide")
    if sulfide > train_limits()["filter_sulfide"].value:
        why = "more than an oxidising filter takes: aeration that strips it, ahead of the train"
        return Stage(name, False, why, sulfide, "filter_sulfide")
    if iron_filter:
        return Stage(name, False, "by the iron filter and its oxidant", sulfide, "sulfide")
    why = "nothing in the train takes it: oxidant and filter, or aeration that strips it"
    return Stage(name, False, why, sulfide, "sulfide")


def inhibitor_stage(question: Question) -> Stage:
    """Decide on the dosing of a scale inhibitor: the site file chooses it.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]

    Returns
    -------
    Stage
        The decision. [-]
    """
    if question.design.limits.inhibitor:
        where = "dosed behind the filters, ahead of the cartridge"
        return Stage("inhibitor dosing", True, f"chosen in [limits]; {where}")
    return Stage("inhibitor dosing", False, "no inhibitor chosen in [limits]")


def softener_stage(question: Question) -> Stage:
    """Decide on the softener.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]

    Returns
    -------
    Stage
        The decision. [-]

    Raises
    ------
    DesignError
        If the softener is to be rated and its resin is not given.
    """
    name, choice = "softener", question.design.softener
    hardness = raw_hardness_mg_l_caco3(question)
    hard = hardness > train_limits()["soft_water"].value
    scaling_stops = question.recovery_without_softener is None or (
        question.recovery_without_softener < question.design.machine.recovery
    )
    if choice.include is False:
        return _overruled(name, False, hard and scaling_stops)
    if question.mode == "rate":
        return _installed_softener(question, hardness, missing=hard and scaling_stops)
    if choice.include:
        return _overruled(name, True, hard and scaling_stops)
    return _proposed_softener(question, hardness, scaling_stops=scaling_stops)


def _installed_softener(question: Question, hardness: float, *, missing: bool) -> Stage:
    choice = question.design.softener
    if choice.resin_volume_l is not None:
        return Stage("softener", True, "installed")
    if question.described("softener") or choice.include:
        raise DesignError(
            '[softener] resin_volume is missing; write resin_volume = "140 L" and '
            'vessel_diameter = "0.41 m" to rate it, or include = false'
        )
    return Stage("softener", False, "not installed", hardness, "soft_water", missing=missing)


def _proposed_softener(question: Question, hardness: float, *, scaling_stops: bool) -> Stage:
    name, limit = "softener", "soft_water"
    unscaled = "the raw water itself reaches the recovery wanted"
    if hardness <= train_limits()[limit].value:
        return Stage(name, False, "soft water", hardness, limit)
    if scaling_stops:
        why = "hard water that would scale at the recovery wanted"
        most = question.recovery_inhibited
        if inhibitor_reaches(most, question.design.machine.recovery):
            why += f"; an inhibitor alone would allow {most:.0%}"
        return Stage(name, True, why, hardness, limit)
    if question.described("softener"):
        return Stage(name, True, f"described in the site file; {unscaled}", hardness, limit)
    return Stage(name, False, unscaled, hardness, limit)


def raw_hardness_mg_l_caco3(question: Question) -> float:
    """Return the hardness of the raw water, from the test kit where there is no analysis.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]

    Returns
    -------
    float
        Hardness of calcium, magnesium, strontium and barium. [mg/L as CaCO3]
    """
    kit = question.design.water.hardness_mg_l_caco3
    if question.raw.from_test_kit and kit is not None:
        return kit
    return equivalent_hardness_mg_l_caco3(question.raw.mg_l, HARDNESS_IONS)


def carbon_stage(question: Question, *, iron_filter: bool) -> Stage:
    """Decide on activated carbon.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]
    iron_filter : bool
        Whether an iron filter stands ahead. [-]

    Returns
    -------
    Stage
        The decision. [-]

    Raises
    ------
    DesignError
        If the carbon is to be rated and its volume is not given.
    """
    name, choice = "carbon", question.design.carbon
    chlorine = free_chlorine_mg_l(question)
    oxidant = question.design.iron_filter.oxidant
    strong = iron_filter and oxidant != "air"
    wanted = strong or chlorine > 0 or bool(choice.chloramine_mg_l)
    why = f"guards the membrane behind {oxidant}" if strong else "chlorine in the water"
    named = oxidant if strong else "chlorine"
    danger = f"{named} destroys polyamide membranes" if wanted else ""
    if choice.include is False:
        return replace(_overruled(name, False, wanted), danger=danger)
    if question.mode == "rate":
        if choice.media_volume_l is not None:
            return Stage(name, True, "installed", chlorine, "membrane_chlorine")
        if choice.include or (question.described("carbon") and wanted):
            raise DesignError(
                '[carbon] media_volume is missing; write media_volume = "140 L" to rate it, or '
                "include = false"
            )
        return Stage(
            name,
            False,
            "not installed",
            chlorine,
            "membrane_chlorine",
            missing=wanted,
            danger=danger,
        )
    if choice.include:
        return _overruled(name, True, wanted)
    reason = why if wanted else "no permanganate and no chlorine ahead of the membrane"
    return Stage(name, wanted, reason, chlorine, "membrane_chlorine")


def free_chlorine_mg_l(question: Question) -> float:
    """Return the free chlorine that leaves the iron filter: chosen, measured, or the residual.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]

    Returns
    -------
    float
        Free chlorine. [mg/L]
    """
    chosen: float | None = question.design.carbon.free_chlorine_mg_l
    if chosen is not None:
        return chosen
    fed = question.design.iron_filter.oxidant == "chlorine"
    if fed and iron_filter_stage(question).included:
        return max(question.raw.free_chlorine_mg_l, CHLORINE_RESIDUAL_MG_L)
    return question.raw.free_chlorine_mg_l


def multimedia_stage(question: Question, *, iron_filter: bool) -> Stage:
    """Decide on a multimedia filter.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]
    iron_filter : bool
        Whether an iron filter, which also holds back particles, stands ahead. [-]

    Returns
    -------
    Stage
        The decision. [-]
    """
    name, limits = "multimedia filter", train_limits()
    turbidity, sdi = question.raw.turbidity_ntu, question.raw.sdi
    cloudy = turbidity is not None and turbidity > limits["membrane_turbidity"].value
    fouling = sdi is not None and sdi > limits["membrane_sdi"].value
    if question.mode == "rate":
        return Stage(name, False, "not rated: the site file has no table for it", turbidity)
    if iron_filter:
        return Stage(
            name, False, "the iron filter holds back particles", turbidity, "membrane_turbidity"
        )
    if cloudy or not fouling:
        why = "cloudier than the membrane takes" if cloudy else "clear, or turbidity not measured"
        return Stage(name, cloudy, why, turbidity, "membrane_turbidity")
    return Stage(name, True, "silt density index above the limit", sdi, "membrane_sdi")
