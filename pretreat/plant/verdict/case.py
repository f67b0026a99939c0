"""What the verdict is made from, and what it is."""

from collections.abc import Mapping
from typing import Literal

from msgspec import Struct, field

from pretreat.core.basis import Flag

Answer = Literal["fits", "fits with conditions", "depends", "does not fit"]
Column = Literal["low", "likely", "high"]
SeasonName = Literal["coldest", "operating", "warmest"]


GAP = "not_measured"  # code of what the analysis lacks
# Kinds of a study: a water onto membranes as it is, and a plant that stands.
NO_TRAIN, AS_INSTALLED = "scaling", "rate"


class SeasonCase(Struct, frozen=True):
    """One season: what the water as analysed allows at the limits in force, and the draws.

    ``recovery_max`` and ``limited_by`` are at the likely limits. ``kept`` is the share of draws
    that keep every limit at the design recovery, by column of the limits; None without draws.
    """

    name: SeasonName
    temp_c: float
    recovery_max: float
    limited_by: str
    kept: Mapping[Column, float] | None = None


class ScaleCase(Struct, frozen=True):
    """One scale in the worst season: the share of draws that keep it, by column."""

    scale: str
    kept: Mapping[Column, float]


class Unjudged(Struct, frozen=True):
    """A scale that could not be judged for want of an ion, and whether it could limit.

    ``usual`` is False where the ion is absent from most reports: then a scale that could not
    limit is told and is no condition.
    """

    scale: str
    missing: str  # in words: "barium", "calcium and sulfate"
    could_limit: bool
    usual: bool = True
    held: bool = False  # a softener takes the missing ion with calcium
    from_mg_l: float | None = None  # of the well, from where on it would limit
    unread: bool = False  # it is printed in a line that could not be read


class Obstacle(Struct, frozen=True):
    """Something that is no scale.

    "stops": the design cannot run so (the machine's valves, an unsafe order of stages, a code
    that refuses). "doubt": the analysis cannot be right as it stands. "unknown": it keeps the
    scales from being judged at all. "question": somebody has to accept it before there is an
    answer (salt and brine out of all proportion). "condition": it must be seen to first (pump,
    discharge permit, jar test). "note": it is told, and changes nothing.
    """

    kind: Literal["stops", "doubt", "unknown", "question", "condition", "note"]
    text: str
    absent: str = ""  # the ion that the analysis lacks, where that is all
    of_train: bool = False  # another train may be without it
    anyway: bool = False  # no choice of a train mends it
    measure: str = ""  # what a measurement would settle it
    code: str = ""  # of data/quote_conditions.csv: what a customer is told of it
    of_softening: bool = False  # what any softener does to the product


class VerdictCase(Struct, frozen=True):
    """All that the verdict takes into account.

    ``nominal`` is the recovery that the water as analysed allows in the worst season by column
    of the limits. ``kept`` is the share of draws in which every scale keeps its limit in every
    season at the design recovery, by column; None where nothing was drawn. ``safe_recovery`` is
    what 90 % of the draws keep in the worst season at the low limits, None without draws.
    ``measure_next`` is the measurement that would narrow the spread most, empty if none.
    ``judged`` is False where no scale could be judged at all.
    """

    recovery: float
    seasons: tuple[SeasonCase, ...]
    nominal: Mapping[Column, float]
    kept: Mapping[Column, float] | None = None
    scales: tuple[ScaleCase, ...] = ()
    unjudged: tuple[Unjudged, ...] = ()
    judged: bool = True
    obstacles: tuple[Obstacle, ...] = ()
    safe_recovery: float | None = None
    p10_p90: tuple[float, float] | None = None  # of the maximum recovery, worst season
    measure_next: str = ""
    inhibitor: bool = False


class Verdict(Struct, frozen=True):
    """The answer with its reasons, gravest first.

    ``probability`` is the share of draws that keep every limit in every season at the low
    limits; None where it cannot be judged. ``card_recovery`` is what the settings card may
    print, rounded down; None means that it must say not to run. ``short`` holds
    what decides, gaps of a kind in one; ``decides`` the same, each with what it is, "reason" or
    "condition". ``of_train`` is the answer without what no train mends.
    """

    answer: Answer
    reasons: tuple[str, ...]
    probability: float | None
    measure_next: str
    card_recovery: float | None
    flags: tuple[Flag, ...] = field(default=())
    decides: tuple[tuple[str, str], ...] = ()
    of_train: Answer | None = None
    conditions: tuple[tuple[str, str], ...] = ()  # code and text of what must be seen to
    grave: tuple[tuple[str, str], ...] = ()  # code and text of what keeps it from an offer

    @property
    def short(self) -> tuple[str, ...]:
        """What decides, gravest first, in words alone."""
        return tuple(text for _, text in self.decides)
