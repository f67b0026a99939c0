"""From an analysis to its verdict in one call; whoever composes a study may take the parts."""

import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.chemistry.species import Array
from pretreat.core.water import WaterAnalysis
from pretreat.lab.implied import SIDES
from pretreat.lab.water_figures import Composition
from pretreat.membrane.concentrate import Concentrate, concentrate
from pretreat.membrane.feed import FeedWater, exchanged
from pretreat.membrane.limits import MembranePoint
from pretreat.membrane.recovery import excesses
from pretreat.plant.uncertainty.bands import LimitBand
from pretreat.plant.uncertainty.draws import DRAWS, Draws, Uncertain, drawn
from pretreat.plant.uncertainty.inputs import (
    PLANT_NAMES,
    engine_errors,
    uncertain_engine,
    uncertain_water,
)
from pretreat.plant.uncertainty.recovery_draws import RecoveryDraws, recovery_draws
from pretreat.plant.uncertainty.spread import LIKELY
from pretreat.plant.uncertainty.unjudged import (
    UnjudgedScale,
    plausible_highs,
    unjudged_scales,
)
from pretreat.plant.uncertainty.water_draws import (
    DrawnWater,
    Season,
    as_measured,
    drawn_water,
    feeds,
    with_nominal,
)
from pretreat.plant.verdict.case import Obstacle, Verdict, VerdictCase
from pretreat.plant.verdict.from_draws import case_from_draws
from pretreat.plant.verdict.gaps import STAND_IN_PH, gap_obstacles
from pretreat.plant.verdict.rules import verdict
from pretreat.plant.verdict.train_draws import TrainDraws

Treat = Callable[[DrawnWater], DrawnWater]


class Question(Struct, frozen=True):
    """A design whose verdict is asked.

    ``treat`` leads the raw water, nominal and draws at once, through the train to the
    membranes; without it the raw water reaches them. What the train takes or gives is an
    exchange: alkalinity and inorganic carbon stay, ``carbon_lost_mol_kg`` aside, and pH follows.
    ``train`` holds the parts of it that work otherwise draw by draw. ``more`` are further
    uncertain inputs: of a hardness that was split, of the plant. ``count`` 0 turns the draws off.
    """

    water: WaterAnalysis
    taken: Composition
    seasons: Sequence[Season]
    band: LimitBand
    point: MembranePoint
    treat: Treat | None = None
    carbon_lost_mol_kg: float = 0.0
    alkalinity_added_mg_l_caco3: float = 0.0
    train: TrainDraws = field(default_factory=TrainDraws)
    inhibitor: bool = False
    obstacles: Sequence[Obstacle] = ()
    more: Sequence[Uncertain] = ()
    site_pct: Mapping[str, float] = field(default_factory=dict)
    ph_u: float | None = None
    count: int = DRAWS


class Judgement(Struct, frozen=True):
    """The verdict, and all that it rests on."""

    verdict: Verdict
    case: VerdictCase
    draws: Draws
    raw: DrawnWater
    found: RecoveryDraws
    unjudged: tuple[UnjudgedScale, ...]
    banded: bool = False  # the limits are a band


def judge(question: Question) -> Judgement:
    """Return the verdict on a design, and all that it rests on.

    Parameters
    ----------
    question : Question
        Analysis, seasons, limits, design point and train. [-]

    Returns
    -------
    Judgement
        Verdict, case, draws and what was not judged. [-]
    """
    q = question
    draws, raw, at_membranes = _waters(q)
    feed = fed(q, raw, at_membranes)
    found = recovery_draws(feed, q.seasons, q.band, q.point, engine_errors(draws))
    blind = tuple(
        replace(one, unread=not q.water.unread.keys().isdisjoint(one.missing))
        for one in _unjudged(q, raw, at_membranes)
    )
    banded = q.inhibitor and not q.band.is_one
    case = case_from_draws(
        draws,
        found,
        blind,
        (*q.obstacles, *gap_obstacles(_looked_for(q.water, q.taken), q.obstacles)),
        inhibitor=q.inhibitor,
        banded=banded,
    )
    return Judgement(verdict(case), case, draws, raw, found, blind, banded)


def _waters(q: Question) -> tuple[Draws, DrawnWater, DrawnWater]:
    """Return the draws, and with them the water of the well and that at the membranes."""
    inputs = (
        *uncertain_water(q.water, q.taken, q.site_pct, ph_u=q.ph_u),
        *q.more,
        *uncertain_engine(q.band.low.criteria()),
    )
    draws = drawn(inputs, q.count)
    ph = STAND_IN_PH if q.water.ph is None else q.water.ph
    raw = replace(drawn_water(q.taken, ph, draws), plant=_of_the_train(draws))
    return draws, raw, raw if q.treat is None else q.treat(raw)


def keeps_low_limits(question: Question, judged: Judgement, shift: Mapping[str, Array]) -> bool:
    """Tell whether a design would keep the low limits if its indexes were others.

    At its recovery alone: how much further it could go is not asked.

    Parameters
    ----------
    question : Question
        The design. [-]
    judged : Judgement
        Its verdict. [-]
    shift : mapping of str to array, shape (seasons, 1)
        By scale, what the index of the water as analysed moves; every draw moves alike. [-]

    Returns
    -------
    bool
        Whether nine draws of ten keep them; without draws, whether the water as analysed does. [-]
    """
    found = judged.found
    if found.sound.size:
        kept = [found.low_excess[k] + shift[k] <= 0.0 for k in found.scales]
        return float(np.all([*np.all(kept, axis=1), found.sound], axis=0).mean()) >= LIKELY
    over = excesses(as_analysed(question)[1], question.band.low)
    return all(bool(np.all(over[k] + shift[k] <= 0.0)) for k in found.scales)


def with_obstacles(found: Judgement, more: Sequence[Obstacle]) -> Judgement:
    """Return a judgement with more that is no scale: the draws stay, the verdict is made anew.

    Parameters
    ----------
    found : Judgement
        The judgement without them. [-]
    more : sequence of Obstacle
        What comes to it. [-]

    Returns
    -------
    Judgement
        With its verdict. [-]
    """
    case = replace(found.case, obstacles=(*found.case.obstacles, *more))
    return replace(found, verdict=verdict(case), case=case)


def as_analysed(q: Question) -> tuple[FeedWater, Concentrate]:
    """Return the feed of the membranes and its concentrate, without any uncertainty.

    Parameters
    ----------
    q : Question
        Analysis, seasons, design point and train; the pH is known. [-]

    Returns
    -------
    tuple of FeedWater and Concentrate
        A value a season. [-]
    """
    raw = drawn_water(q.taken, q.water.ph or STAND_IN_PH, drawn((), 0))
    feed, point = fed(q, raw, raw if q.treat is None else q.treat(raw)), q.point
    brine = concentrate(feed, point.recovery, point.passage, point.rho, point.wall_factor)
    return feed, brine


def fed(q: Question, raw: DrawnWater, at_membranes: DrawnWater) -> FeedWater:
    """Return the feed of the membranes; pH is that of the exchange, not that of the well.

    Parameters
    ----------
    q : Question
        Seasons and train. [-]
    raw, at_membranes : DrawnWater
        The water of the well, and its ions behind the train. [-]

    Returns
    -------
    FeedWater
        Arrays of shape (seasons, n + 1). [-]
    """
    if q.treat is None:
        return feeds(raw, q.seasons)
    gas_is_needed = q.train.stripper is not None  # what it strips hangs on the temperature
    before = feeds(raw, q.seasons) if gas_is_needed else as_measured(raw, q.seasons)
    as_analysed = q.alkalinity_added_mg_l_caco3, q.carbon_lost_mol_kg
    added, lost = q.train.changes(before, raw, *as_analysed)
    after = exchanged(before, at_membranes.mg_l, lost, added)
    # Alkalinity is the same in every season, as the ions are.
    return replace(after, alkalinity_mg_l_caco3=before.alkalinity_mg_l_caco3 + added)


def _of_the_train(draws: Draws) -> dict[str, Array]:
    """Return the draws of what a train does, the value that it is sized with first."""
    return {
        one.key: with_nominal(one.distribution.centre, draws.values[one.key])
        for one in draws.inputs
        if one.key in PLANT_NAMES
    }


def _looked_for(water: WaterAnalysis, taken: Composition) -> frozenset[str]:
    found = {*taken.scaling, *water.below_mg_l, *water.total_mg_l, *water.unread}
    told = {*water.unread}  # by the line that could not be read
    return frozenset(k for k in found if k not in SIDES or water.measured(k) or k in told)


def _unjudged(q: Question, raw: DrawnWater, fed: DrawnWater) -> tuple[UnjudgedScale, ...]:
    """Judge the gaps at the membranes: what the train leaves of a high amount in the well."""
    nominal = {k: float(v[0]) for k, v in fed.mg_l.items()}
    measured = {k: v for k, v in nominal.items() if k in raw.mg_l}
    absent = [k for k in plausible_highs() if k not in raw.mg_l]
    shares = _shares_left(q.treat, raw, absent)
    alkalinity = float(fed.alkalinity_mg_l_caco3[0])
    known = q.water.ph is not None and math.isfinite(alkalinity)
    ph = float(fed.ph[0]) if known or q.water.ph is not None else None
    state = (alkalinity, ph, float(fed.measured_temp_c[0]))
    return unjudged_scales(measured, state, q.seasons, q.band.low, q.point, shares)


def _shares_left(treat: Treat | None, raw: DrawnWater, absent: Sequence[str]) -> dict[str, float]:
    if treat is None or not absent:
        return {}
    guessed = {k: np.array([plausible_highs()[k]]) for k in absent}
    nominal = DrawnWater(
        {k: v[:1] for k, v in raw.mg_l.items()} | guessed,
        raw.alkalinity_mg_l_caco3[:1],
        raw.ph[:1],
        raw.measured_temp_c[:1],
        raw.temperature_shift_c[:1],
    )
    left = treat(nominal)
    return {k: float(left.mg_l[k][0]) / plausible_highs()[k] for k in absent if k in left.mg_l}
