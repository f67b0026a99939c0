"""A train that was looked at, the order of such trains, and those that need no line."""

from collections.abc import Mapping, Sequence

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.basis import Flag
from pretreat.plant.choices.candidates import Candidate
from pretreat.plant.choices.costs import Needs, Year
from pretreat.plant.choices.exposure import unguarded
from pretreat.plant.choices.waters import Kept
from pretreat.plant.uncertainty.spread import LIKELY, UNLIKELY
from pretreat.plant.verdict.case import Obstacle, Verdict, VerdictCase
from pretreat.plant.verdict.rules import verdict
from pretreat.site.design import DesignBasis

ORDER_OF_ANSWERS = ("fits", "fits with conditions", "depends", "does not fit")
DEPENDS = float(ORDER_OF_ANSWERS.index("depends"))
BETTER = 0.1  # PRACTICE: of the draws, what a stage more must gain where both are left open
EVEN = 0.5  # PRACTICE: as likely as not
SAME_REACH = 0.02  # PRACTICE: recoveries so close are told apart by cost


class Row(Struct, frozen=True):
    """A candidate with what was found of it; ``year`` is None where it was not sized.

    ``year`` is at the recovery wanted, or at the one that it reaches where that is less.
    """

    candidate: Candidate
    design: DesignBasis
    why_not: str = ""
    outdone: bool = False  # shut by a cheaper train whose verdict looked as good
    reach: float | None = None
    limited_by: str = ""
    needs: Needs | None = None
    year: Year | None = None
    kept: Kept | None = None
    told: Verdict | None = None
    closely: bool = False  # judged by more draws
    salty: str = ""  # what its salt and brine come to, where they have to be agreed first
    too_salty: bool = False  # hardly anyone would accept them
    spoiled: tuple[Obstacle, ...] = ()  # what its softener does to the use of the product
    over_drain: str = ""  # limits of the drain given by the site file that it breaks
    lime: Flag | None = None  # where it lays lime into its own tanks and beds
    unwashed: str = ""  # that the pump of the site is far too small for its backwash
    exposed: int = 0  # how bare it leaves the membranes where a scale cannot be judged

    @property
    def feasible(self) -> bool:
        """Whether it is safe, can be built and nominally reaches the recovery wanted."""
        return not self.why_not

    @property
    def answer(self) -> float:
        """Place of the verdict among the answers; what no train mends tells none apart."""
        if self.told is None:
            return float(len(ORDER_OF_ANSWERS))
        return float(ORDER_OF_ANSWERS.index(self.told.of_train or self.told.answer))

    @property
    def limed(self) -> float:
        """Weight of the lime that it lays into its own beds: 0 none, 1 some, 2 much."""
        return 0.0 if self.lime is None else 2.0 if self.lime.level == "warning" else 1.0

    @property
    def odds(self) -> float:
        """Share of the draws that keep the cautious limits; 0 where it is not known."""
        return 0.0 if self.told is None else self.told.probability or 0.0

    @property
    def loose(self) -> float:
        """1 where its scales leave the verdict open, 0 where something else does, or nothing."""
        known = self.kept is not None and self.answer >= DEPENDS
        return float(known and self.kept is not None and self.kept.kept["low"] < LIKELY)

    @property
    def hopeless(self) -> bool:
        """Whether the verdict is open and hardly any draw keeps the cautious limits."""
        known = self.told is not None and self.told.probability is not None
        return known and self.answer >= DEPENDS and self.odds < UNLIKELY

    def place(self, best: float, wanted: float) -> tuple[float, ...]:
        """Return what orders rows: feasible first, by verdict, then by cost.

        Where a scale cannot be judged what protects from it comes before both; of trains with the
        same verdict those that lay no lime into their own beds come first, then those whose
        verdict no scale leaves open.

        What is not feasible comes by what it reaches of the recovery ``wanted`` [-], in steps
        from ``best``, the highest of them [-], then by cost; what breaks a rule of the table
        after it, and last what the site file leaves out.
        """
        cost = self.year.cost if self.year is not None else np.inf
        if self.candidate.left_out:
            reach = min(self.reach or 0.0, wanted)
            return (4.0, float(self.exposed), float(int((wanted - reach) / SAME_REACH)), cost)
        if self.feasible and self.told is not None:
            spoiled = float(bool(self.spoiled))
            over = float(bool(self.over_drain))
            return (
                0.0,
                float(self.exposed),
                self.answer,
                over,
                spoiled,
                self.limed,
                self.loose,
                cost,
            )
        if self.year is not None and not self.candidate.why_not:
            reach = min(self.reach or 0.0, wanted)
            return (1.0, float(self.exposed), float(int((best - reach) / SAME_REACH)), cost)
        return (2.0 if self.year is not None else 3.0, 0.0, 0.0, cost)


def spoiled_by(row: Row, spoils: tuple[Obstacle, ...]) -> tuple[Obstacle, ...]:
    """Return what of the use of the product a train spoils by softening all of its water.

    Parameters
    ----------
    row : Row
        A train. [-]
    spoils : tuple of Obstacle
        What a softener that was sized did. [-]

    Returns
    -------
    tuple of Obstacle
        Empty without a softener, or with a bypass, which is for its own sizing to tell. [-]
    """
    return spoils if row.candidate.soft and "bypass" not in row.candidate.keys else ()


def without_needless_salt(rows: Sequence[Row], by_hand: Mapping[str, bool]) -> list[Row]:
    """Shut the softeners where a train without one does as well for less.

    A softener is never put in merely because the raw water scales; where its verdict is the
    better one it may stand first. The site file may ask for it anyway.

    Parameters
    ----------
    rows : sequence of Row
        Candidates with their year and a first verdict. [-]
    by_hand : mapping of str to bool
        What the site file puts in or leaves out. [-]

    Returns
    -------
    list of Row
        All, some with a reason why not. [-]
    """
    if by_hand.get("softener"):
        return list(rows)
    others = [
        row for row in rows if row.feasible and row.year is not None and not row.candidate.soft
    ]
    done = []
    for row in rows:
        idle = next((o for o in others if _idle_softener(o, row)), None)
        if idle is not None:
            done.append(replace(row, why_not=IDLE.format(idle.limited_by), outdone=True))
            continue
        least = min((o.year.cost for o in others if o.year and _as_good(o, row)), default=np.inf)
        if not (row.feasible and row.candidate.soft and row.year and row.year.cost > least):
            done.append(row)
            continue
        than = "and with as good a verdict"
        if row.spoiled:
            than = "gives a product without its sodium, fit for the use, and"
        why = (
            f"a train without a softener {than} costs "
            f"{least / row.year.cost:.0%} of this one; write [softener] include = true to have it"
        ).replace("%", " %")
        done.append(replace(row, why_not=why, outdone=True))
    return done


IDLE = (
    "its softener helps no scale that decides: without it {} stops the water at the same "
    "recovery; write [softener] include = true to have it"
)
NOT_EXCHANGED = "silica"  # the one scale among those judged that a softener leaves as it is


def _idle_softener(less: Row, row: Row) -> bool:
    """Tell whether a train is another one with a softener that does nothing for its scales."""
    if not (row.feasible and row.candidate.soft and less.limited_by == NOT_EXCHANGED):
        return False
    if less.reach is None or row.reach is None or less.year is None or row.year is None:
        return False
    return (
        set(less.candidate.keys) == set(row.candidate.keys) - {"softener", "bypass"}
        and row.reach <= less.reach + SAME_REACH
        and row.year.cost > less.year.cost
        and row.odds <= less.odds + BETTER
        and less.exposed <= row.exposed
        and less.limed <= row.limed
        and not (less.over_drain and not row.over_drain)
        and not (less.hopeless and not row.hopeless)
    )


def _as_good(row: Row, other: Row) -> bool:
    """Tell whether the verdict of a train is as good, and it leaves no scale less guarded.

    One that was not judged yet may turn out to fit.
    """
    bare = row.hopeless and not other.hopeless
    if other.over_drain and not row.over_drain:
        return False
    if row.spoiled and not other.spoiled:
        return row.exposed >= other.exposed
    best = 0.0 if other.told is None else other.answer
    bare = bare or other.limed > row.limed
    return row.answer <= best and row.exposed <= other.exposed and not bare


def settled_without(
    row: Row, rows: Sequence[Row], by_hand: Mapping[str, bool], *, unmeasured: bool
) -> bool:
    """Tell whether a train needs no verdict: whatever it is, another one shuts it.

    Parameters
    ----------
    row : Row
        A train that was not judged. [-]
    rows : sequence of Row
        All trains, some judged. [-]
    by_hand : mapping of str to bool
        What the site file puts in or leaves out. [-]
    unmeasured : bool
        As `without_dominated` takes it. [-]

    Returns
    -------
    bool
        True where a train that fits stands beside it and costs less. [-]
    """
    if row.year is None or not row.feasible:
        return True
    judged = [r for r in rows if r.feasible and r.told is not None and r.year is not None]
    salt = row.candidate.soft and not by_hand.get("softener")
    return any(
        (
            salt
            and not other.candidate.soft
            and other.year.cost < row.year.cost
            and _as_good(other, row)
        )
        or _serves(other, row, unmeasured=unmeasured)
        for other in judged
        if other.year is not None
    )


def may_be_shut(row: Row, rows: Sequence[Row], by_hand: Mapping[str, bool]) -> bool:
    """Tell whether a cheaper train may shut this one, so that its verdict can wait for it.

    Parameters
    ----------
    row : Row
        A train. [-]
    rows : sequence of Row
        All trains. [-]
    by_hand : mapping of str to bool
        What the site file puts in or leaves out. [-]

    Returns
    -------
    bool
        False for those to be judged first. [-]
    """
    salt = row.candidate.soft and not by_hand.get("softener")
    return any(
        other.feasible
        and other is not row
        and _cost(other) <= _cost(row)
        and (
            (salt and not other.candidate.soft)
            or set(other.candidate.keys) < set(row.candidate.keys)
        )
        for other in rows
    )


def _cost(row: Row) -> float:
    return row.year.cost if row.year is not None else np.inf


def _rank(row: Row) -> float:
    return row.place(0.0, 0.0)[2] if row.feasible else np.inf


def _serves(less: Row, row: Row, *, unmeasured: bool) -> bool:
    """Tell whether a train of fewer stages serves as well as another, for no more."""
    bare = unguarded(less.candidate.keys) > unguarded(row.candidate.keys)
    return (
        set(less.candidate.keys) < set(row.candidate.keys)
        and less.feasible
        and less.exposed <= row.exposed
        and less.limed <= row.limed
        and less.loose <= row.loose
        and not (unmeasured and bare)
        and _cost(less) <= _cost(row)  # a bypass is a stage more, and may cost less
        and _rank(less) <= _rank(row)
        and not (less.hopeless and not row.hopeless)
        and not (row.answer >= DEPENDS and row.odds > less.odds + BETTER)
    )


def without_hopeless(rows: Sequence[Row]) -> list[Row]:
    """Shut trains that hardly any draw keeps where another one keeps as likely as not.

    Both are left open by the draws, and only one of them has a recovery that it may be run at.
    Salt that nobody would accept stands for no other train, and no more does a product that
    is unfit for its use, or a drain over its limit.

    Parameters
    ----------
    rows : sequence of Row
        Candidates with a first verdict. [-]

    Returns
    -------
    list of Row
        All, some with a reason why not. [-]
    """
    sound = [
        row
        for row in rows
        if row.feasible and not row.too_salty and not row.spoiled and not row.over_drain
    ]
    best = max((row.odds for row in sound), default=0.0)
    worth = best >= EVEN and not any(
        row.feasible and row.answer < DEPENDS and not row.hopeless for row in rows
    )
    why = (
        "hardly a draw keeps its limits at the cautious end, and a train stands beside it that "
        f"{best:.0%} keep".replace("%", " %")
    )
    return [replace(r, why_not=why) if worth and r.feasible and r.hopeless else r for r in rows]


def one_of_a_kind(rows: Sequence[Row], wanted: float) -> list[Row]:
    """Return the rows with one for each way of scale that does not reach the recovery.

    Parameters
    ----------
    rows : sequence of Row
        Candidates. [-]
    wanted : float
        Recovery of the design. [-]

    Returns
    -------
    list of Row
        In order. [-]
    """
    seen: set[tuple[str, str]] = set()
    kept = []
    for row in in_order(rows, wanted):
        key = row.candidate.scale.key, row.candidate.left_out
        if row.candidate.left_out and row.year is None:
            continue
        if not row.feasible and not row.candidate.why_not:
            if key in seen:
                continue
            seen.add(key)
        kept.append(row)
    return kept


def without_dominated(rows: Sequence[Row], *, unmeasured: bool = False) -> list[Row]:
    """Return the rows without those that a train of fewer stages serves as well.

    Parameters
    ----------
    rows : sequence of Row
        Candidates with a first verdict. [-]
    unmeasured : bool, optional
        Whether an ion is missing that decides a scale: then no bare train serves as well as one
        that protects. [-]

    Returns
    -------
    list of Row
        Those worth a line. [-]
    """
    return [
        row
        for row in rows
        if not row.feasible or not any(_serves(less, row, unmeasured=unmeasured) for less in rows)
    ]


def in_order(rows: Sequence[Row], wanted: float) -> list[Row]:
    """Return the rows, best first.

    Parameters
    ----------
    rows : sequence of Row
        Candidates. [-]
    wanted : float
        Recovery of the design. [-]

    Returns
    -------
    list of Row
        Feasible ones by verdict and cost, then the others. [-]
    """
    reaches = [min(row.reach or 0.0, wanted) for row in rows if not row.feasible]
    best = max(reaches, default=0.0)
    return sorted(rows, key=lambda row: row.place(best, wanted))


def judged_as(row: Row, recovery: float, case: VerdictCase | None = None) -> Verdict:
    """Return the verdict on a candidate: its own odds, with what holds for every train.

    Parameters
    ----------
    row : Row
        A feasible candidate. [-]
    recovery : float
        Recovery wanted. [-]
    case : VerdictCase, optional
        That of the train that was sized: its gaps and obstacles hold for all. [-]

    Returns
    -------
    Verdict
        The verdict. [-]
    """
    kept = row.kept
    reach = row.reach or 0.0
    nominal = dict.fromkeys(("low", "likely", "high"), reach) if kept is None else kept.nominal
    own = row.candidate.needs
    mine = (Obstacle("condition", own),) if own else ()
    if row.lime is not None:
        much = row.lime.level == "warning"
        limed = Obstacle(
            "unknown" if much else "condition", row.lime.text, of_train=True, code=row.lime.code
        )
        mine = (*mine, limed)
    if row.salty:
        mine = (
            Obstacle("question" if row.too_salty else "condition", row.salty, of_train=True),
            *mine,
        )
    if row.over_drain:
        mine = (Obstacle("question", row.over_drain, of_train=True), *mine)
    mine = (*row.spoiled, *mine)
    return verdict(
        VerdictCase(
            recovery,
            (),
            nominal,  # type: ignore[arg-type]
            None if kept is None else kept.kept,
            unjudged=() if case is None else case.unjudged,
            judged=True if kept is None else kept.judged,
            obstacles=(*mine, *(() if case is None else case.obstacles)),
            inhibitor=row.candidate.inhibited,
        )
    )
