"""What a unit process is asked when a train is put together, and what it answers."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

from msgspec import Struct, field

from pretreat.core.basis import cites
from pretreat.core.equivalents import HARDNESS_IONS, equivalent_hardness_mg_l_caco3
from pretreat.site.design import DesignBasis
from pretreat.stages.limits import train_limits
from pretreat.stages.stream import RawWater

Mode = Literal["size", "rate"]
CHLORINE_RESIDUAL_MG_L = 1.0  # OPFLOW2021: 0.5 to 1.0 mg/L kept over the medium, the high end


class Decision(Struct, frozen=True):
    """Whether a stage is in the train, and the number and limit that decide.

    ``limit`` is a key of data/train_limits.csv, or None where no number decides.
    ``overruled`` says that the engineer decided against the rule; ``missing`` that a plant that
    stands there lacks a stage it should have; ``danger`` what its absence destroys; ``oxidant``
    what the stage adds to the water.
    """

    name: str
    included: bool
    reason: str
    value: float | None = None
    limit: str | None = None
    overruled: bool = False
    missing: bool = False
    danger: str = ""
    oxidant: str = ""


def overruled(name: str, include: bool, wanted: bool) -> Decision:
    """Return the decision of the engineer, beside that of the limits.

    Parameters
    ----------
    name : str
        Name of the stage. [-]
    include, wanted : bool
        What the engineer and what the limits say. [-]

    Returns
    -------
    Decision
        The decision. [-]
    """
    word = "in" if include else "out"
    rule = "as the limits say" if include == wanted else "against what the limits say"
    return Decision(
        name, include, f"left {word} by the engineer, {rule}", overruled=include != wanted
    )


def _none() -> Mapping[str, Decision]:
    return MappingProxyType({})


class Question(Struct, frozen=True):
    """What the choice of stages looks at; ``ahead`` are the decisions in the order of flow."""

    raw: RawWater
    design: DesignBasis
    mode: Mode
    recovery_without_softener: float | None = None
    recovery_inhibited: float | None = None
    ahead: Mapping[str, Decision] = field(default_factory=_none)

    def described(self, table: str) -> bool:
        """Tell whether the site file says more about a stage than that it is included."""
        prefix = f"{table}."
        return any(k.startswith(prefix) and k != f"{prefix}include" for k in self.design.chosen)

    @property
    def oxidant(self) -> str:
        """What the stages ahead add to the water, empty where nothing."""
        return next((d.oxidant for d in self.ahead.values() if d.included and d.oxidant), "")

    @property
    def filtered(self) -> bool:
        """Whether a filter that holds back particles stands ahead."""
        return any(d.included for key, d in self.ahead.items() if key in FILTERS)

    @property
    def inhibitor_reaches(self) -> bool:
        """Whether an inhibitor alone allows the raw water the recovery wanted."""
        most = self.recovery_inhibited
        return most is not None and most >= self.design.machine.recovery

    @cites("OPFLOW2021", "0.5 to 1.0 mg/L of free chlorine over the medium")
    def free_chlorine_mg_l(self) -> float:
        """Return the free chlorine behind the filters: chosen, measured, or the residual [mg/L]."""
        chosen: float | None = self.design.carbon.free_chlorine_mg_l
        if chosen is not None:
            return chosen
        if self.oxidant == "chlorine":
            return max(self.raw.free_chlorine_mg_l, CHLORINE_RESIDUAL_MG_L)
        return self.raw.free_chlorine_mg_l

    @property
    def carbon_first(self) -> bool:
        """Whether carbon stands before the softener: more chlorine than resin takes."""
        chosen: bool | None = self.design.carbon.before_softener
        if chosen is not None:
            return chosen
        return self.free_chlorine_mg_l() > train_limits()["softener_chlorine"].value

    def hardness_mg_l_caco3(self) -> float:
        """Return the hardness of the raw water, from the test kit where there is no analysis."""
        kit = self.design.water.hardness_mg_l_caco3
        if self.raw.from_test_kit and kit is not None:
            return kit
        return equivalent_hardness_mg_l_caco3(self.raw.mg_l, HARDNESS_IONS)


def as_described(question: Question, key: str, name: str, oxidant: str = "") -> Decision:
    """Return the decision of a stage that no rule asks for: in where the site file describes it.

    Parameters
    ----------
    question : Question
        Water, design and mode. [-]
    key, name : str
        Key of the stage, and its name. [-]
    oxidant : str
        What it adds to the water. [-]

    Returns
    -------
    Decision
        The decision. [-]
    """
    choice = question.design.stages.get(key)
    asked = choice is not None and choice.include
    told = asked if choice is not None and choice.include is not None else question.described(key)
    reason = f"described in [{key}]" if told else f"not described in [{key}]"
    return Decision(name, bool(told), reason, oxidant=oxidant)


FILTERS = ("iron_filter",)  # stages whose bed holds back particles as well
