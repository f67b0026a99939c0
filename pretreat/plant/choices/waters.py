"""The waters that the candidates bring to the membranes, all of them speciated at once."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from pretreat.chemistry.species import Array
from pretreat.core.water import WaterAnalysis
from pretreat.lab.water_figures import Composition
from pretreat.membrane.feed import FeedWater, exchanged, mapped_feed
from pretreat.membrane.limits import MembranePoint, limits_from
from pretreat.membrane.recovery import Limits, recovery_limit
from pretreat.plant.choices.trial import Tried
from pretreat.plant.uncertainty.bands import COLUMNS, Column, limit_band
from pretreat.plant.uncertainty.draws import Draws, drawn
from pretreat.plant.uncertainty.inputs import engine_errors, uncertain_engine, uncertain_water
from pretreat.plant.uncertainty.order import quantiles
from pretreat.plant.uncertainty.recovery_draws import RecoveryDraws, Share, drawn_together
from pretreat.plant.uncertainty.spread import LIKELY
from pretreat.plant.uncertainty.water_draws import (
    DrawnWater,
    Season,
    as_measured,
    carbon_lost,
    drawn_water,
    feeds,
)
from pretreat.plant.verdict.following import Leakage, following
from pretreat.site.design import LimitChoices
from pretreat.stages.stream import RawWater

DRAWN = 32  # draws of every candidate; that of the study has more
SAME_MG_L = 1e-9


class Fed(Struct, frozen=True):
    """A water at the membranes: ions, carbon lost and alkalinity added on the way.

    ``mg_l`` in mg/L as the ion, ``carbon_lost`` in mol/kg, ``alkalinity`` in mg/L as CaCO3.
    """

    mg_l: Mapping[str, float]
    carbon_lost: float
    alkalinity: float
    inhibited: bool
    leaks: Leakage | None = None

    @property
    def key(self) -> tuple[Any, ...]:
        """What tells it from another."""
        ions = tuple((k, round(v, 6)) for k, v in sorted(self.mg_l.items()))
        return ions, round(self.carbon_lost, 9), round(self.alkalinity, 4), self.inhibited


def fed_by(raw: RawWater, ahead: Tried, way: Tried, *, inhibited: bool) -> Fed:
    """Return the water behind two parts of a train: what each changes, one after the other.

    Parameters
    ----------
    raw : RawWater
        The water ahead of the first stage. [-]
    ahead, way : Tried
        The way for iron, and the way for scale with the water that it was tried on. [-]
    inhibited : bool
        Whether an inhibitor is dosed. [-]

    Returns
    -------
    Fed
        The water at the membranes. [-]
    """
    mg_l, lost, added = dict(raw.mg_l), 0.0, 0.0
    for part in (ahead, way):
        if part.stream is None or part.raw is None:
            continue
        for ion in dict.fromkeys((*part.stream.mg_l, *part.raw.mg_l)):
            change = part.stream.mg_l.get(ion, 0.0) - part.raw.mg_l.get(ion, 0.0)
            if abs(change) > SAME_MG_L:
                mg_l[ion] = max(mg_l.get(ion, 0.0) + change, 0.0)
        lost += part.stream.carbon_lost_mol_kg
        before, after = part.raw.alkalinity_mg_l_caco3, part.stream.alkalinity_mg_l_caco3
        if before is not None and after is not None:
            added += after - before
    return Fed(mg_l, lost, added, inhibited, way.leaks or ahead.leaks)


def batch(feed: FeedWater, waters: Sequence[Fed]) -> FeedWater:
    """Return the feeds of the candidates, speciated in one call.

    Parameters
    ----------
    feed : FeedWater
        The raw water at the operating temperature, single. [-]
    waters : sequence of Fed
        Waters at the membranes. [-]

    Returns
    -------
    FeedWater
        One-dimensional. [-]
    """
    ions = dict.fromkeys(ion for water in waters for ion in water.mg_l)
    n = len(waters)
    wide = mapped_feed(feed, lambda v: np.broadcast_to(v, (n,)))
    mg_l = {ion: np.array([water.mg_l.get(ion, 0.0) for water in waters]) for ion in ions}
    lost = np.array([water.carbon_lost for water in waters])
    return exchanged(wide, mg_l, lost, np.array([water.alkalinity for water in waters]))


def limits_of(choices: LimitChoices, inhibited: bool) -> LimitChoices:
    """Return the choices of limits with an inhibitor dosed or not."""
    return replace(choices, inhibitor=inhibited)


def reached(
    feed: FeedWater, waters: Sequence[Fed], point: MembranePoint, choices: LimitChoices
) -> tuple[Array, Sequence[str]]:
    """Return the recovery that each water reaches under its limits, and what stops it.

    Parameters
    ----------
    feed : FeedWater
        The raw water at the operating temperature, single. [-]
    waters : sequence of Fed
        Waters at the membranes. [-]
    point : MembranePoint
        The design point. [-]
    choices : LimitChoices
        Limits chosen by the user. [-]

    Returns
    -------
    tuple of array and sequence of str
        Recoveries [-] and names of scales.
    """
    sets = [limits_from(limits_of(choices, w.inhibited), w.inhibited) for w in waters]
    each = Limits(
        np.array([s.lsi for s in sets], float),
        np.array([s.sdsi for s in sets], float),
        {k: np.array([s.si[k] for s in sets], float) for k in sets[0].si},
        sets[0].k_chart,
    )
    many = batch(feed, waters)
    found = recovery_limit(many, each, point.passage, point.rho, None, point.wall_factor)
    return found.maximum, [str(name) for name in found.limited_by]


class Kept(Struct, frozen=True):
    """Share of the draws that keep every limit at the design recovery, and the nominal limit.

    By column of the limits, worst season included; ``judged`` is False where no scale could be.
    """

    kept: Mapping[Column, float]
    nominal: Mapping[Column, float]
    judged: bool
    safe: float  # the recovery that nine in ten of the draws keep at the cautious limits


class Chances:
    """How many of the draws of a raw water keep their limits behind its trains.

    Parameters
    ----------
    analysis : tuple
        The raw water's analysis, and what was taken of it. [-]
    seasons : sequence of Season
        Temperatures of the plant. [-]
    point : MembranePoint
        The design point. [-]
    choices : LimitChoices
        Limits chosen by the user. [-]
    """

    def __init__(
        self,
        analysis: tuple[WaterAnalysis, Composition],
        seasons: Sequence[Season],
        point: MembranePoint,
        choices: LimitChoices,
    ) -> None:
        self.water, self.taken = analysis
        self.seasons, self.point, self.choices = tuple(seasons), point, choices
        self._before: dict[tuple[int, bool], tuple[Draws, DrawnWater, FeedWater]] = {}

    def of(self, waters: Sequence[Fed], count: int) -> list[Kept | None]:
        """Return for every water how many of the draws keep its limits, in one batch.

        Parameters
        ----------
        waters : sequence of Fed
            Waters at the membranes. [-]
        count : int
            Draws, none where 0. [-]

        Returns
        -------
        list of Kept or None
            None without draws. [-]
        """
        if not count or not waters or self.water.ph is None:
            return [None] * len(waters)
        draws, raw, before = self._drawn(count, gas=any(water.carbon_lost for water in waters))
        ions = self.taken.scaling
        # A share reaches as far as its furthest water: those of one kind of limits are one.
        order = sorted(range(len(waters)), key=lambda i: waters[i].inhibited)
        treated = [
            (waters[i], following(ions, waters[i].mg_l, waters[i].leaks)(raw)) for i in order
        ]
        fed = _drawn_batch(before, treated, len(self.seasons))
        shares, rows = [], []
        for inhibited in (False, True):
            mine = [i for i in order if waters[i].inhibited is inhibited]
            if mine:
                band = limit_band(limits_of(self.choices, inhibited), inhibited)
                shares.append(Share(self.seasons * len(mine), band))
                rows.append(mine)
        found: list[Kept | None] = [None] * len(waters)
        results = drawn_together(fed, shares, self.point, engine_errors(draws))
        n = len(self.seasons)
        for result, mine in zip(results, rows, strict=True):
            for at, i in enumerate(mine):
                found[i] = _kept(result, slice(at * n, (at + 1) * n))
        return found

    def _drawn(self, count: int, *, gas: bool) -> tuple[Draws, DrawnWater, FeedWater]:
        """Return the draws, and the raw water with them, once for each number of draws.

        Where ``gas`` leaves it, its carbon dioxide in every season.
        """
        if (count, gas) not in self._before:
            scales = limits_from(self.choices, False).criteria()
            inputs = (*uncertain_water(self.water, self.taken, {}), *uncertain_engine(scales))
            draws = drawn(inputs, count)
            raw = drawn_water(self.taken, float(self.water.ph or np.nan), draws)
            before = (feeds if gas else as_measured)(raw, self.seasons)
            self._before[count, gas] = draws, raw, before
        return self._before[count, gas]


def _drawn_batch(
    before: FeedWater, treated: Sequence[tuple[Fed, DrawnWater]], seasons: int
) -> FeedWater:
    """Return the drawn feeds of several waters, stacked along their seasons."""
    shape, n = np.shape(before.temp_c), len(treated)
    wide = mapped_feed(before, lambda v: np.tile(np.broadcast_to(v, shape), (n, 1)))
    ions = dict.fromkeys(ion for _, water in treated for ion in water.mg_l)
    none = np.zeros(shape[1])
    mg_l = {
        ion: np.concatenate([np.broadcast_to(w.mg_l.get(ion, none), shape) for _, w in treated])
        for ion in ions
    }
    each = [one for one, _ in treated for _ in range(seasons)]
    lost = np.array([one.carbon_lost for one in each])[:, None]
    added = np.array([one.alkalinity for one in each])[:, None]
    return exchanged(wide, mg_l, carbon_lost(wide, lost), added)


def _kept(result: RecoveryDraws, part: slice) -> Kept:
    """Return the share of draws that keep every limit in the seasons of one water."""
    shares = dict.fromkeys(COLUMNS, 0.0)
    for column in COLUMNS if result.scales else ():
        scales = [np.all(v[part], axis=0) for v in result.kept[column].values()]
        shares[column] = float(np.mean(np.all(scales, axis=0)))
    nominal = {c: float(np.min(result.nominal_maximum[c][part])) for c in COLUMNS}
    worst = np.nan_to_num(result.maximum["low"][part].min(axis=0), nan=0.0)
    safe = quantiles(worst, (1.0 - LIKELY,), "lower")[0] if result.scales else 0.0
    return Kept(shares, nominal, bool(result.scales), safe)
