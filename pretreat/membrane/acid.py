"""Acid in the feed: stoichiometry, and the dose that brings the carbonate index to its limit."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.chemistry.ends import Ends
from pretreat.chemistry.speciation import molal_totals, speciate
from pretreat.chemistry.species import Array
from pretreat.core.basis import cites
from pretreat.core.units import CACO3_MG_PER_MEQ, molar_mass
from pretreat.membrane.bands import Limits
from pretreat.membrane.concentrate import NO_PASSAGE, Concentrate, Passage, concentrate
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.recovery import carbonate_excess, excesses

ROUNDS = 40
CLOSE = 1e-3  # the index meets its limit this closely
LEAST_CARBON = 1.001  # of the alkalinity; less is a water that has no CO2
MOST_OF_ALKALINITY = 0.98  # no acid is dosed past this share of the alkalinity


class Acid(Struct, frozen=True):
    """A strong acid: formula, equivalents per mole, and the anion it brings."""

    name: str
    formula: str
    equivalents: int
    anion: str  # key of data/analytes.csv
    anion_formula: str

    @property
    def alkalinity_per_mg(self) -> float:
        """Alkalinity used per mg/L of 100 % acid. [mg/L as CaCO3 per mg/L]."""
        return self.equivalents * CACO3_MG_PER_MEQ / molar_mass(self.formula)

    @property
    def anion_per_mg(self) -> float:
        """Anion added per mg/L of 100 % acid. [mg/L per mg/L]."""
        return molar_mass(self.anion_formula) / molar_mass(self.formula)


SULFURIC = Acid("sulfuric acid", "H2SO4", 2, "so4", "SO4")
HYDROCHLORIC = Acid("hydrochloric acid", "HCl", 1, "cl", "Cl")


@cites("D3739", "adjustment by the ratio of alkalinity to CO2")
def acidified(feed: FeedWater, acids: Sequence[Acid], dose_mg_l: Any) -> FeedWater:
    """Return a feed after acid: less alkalinity, more of the anion, the same inorganic carbon.

    Parameters
    ----------
    feed : FeedWater
        A single water. [-]
    acids : sequence of Acid
        One acid per dose. [-]
    dose_mg_l : array
        Doses as 100 % acid. [mg/L]

    Returns
    -------
    FeedWater
        The acidified feeds, closed to the air. [-]
    """
    dose = np.asarray(dose_mg_l, float)
    nothing = np.zeros_like(dose)
    mg_l = {k: np.asarray(v) + nothing for k, v in feed.mg_l.items()}
    for key in {acid.anion for acid in acids}:
        share = np.array([a.anion_per_mg if a.anion == key else 0.0 for a in acids])
        mg_l[key] = mg_l.get(key, nothing) + share * dose
    used = np.array([acid.alkalinity_per_mg for acid in acids])
    alkalinity = feed.alkalinity_mg_l_caco3 - used * dose
    totals = molal_totals(mg_l, alkalinity)
    found = speciate(
        totals.mol_kg,
        temp_c=feed.temp_c,
        alkalinity_eq_kg=totals.alkalinity_eq_kg,
        inorganic_carbon_mol_kg=feed.speciation.inorganic_carbon_mol_kg + nothing,
    )
    return FeedWater(mg_l, alkalinity, feed.temp_c + nothing, found)


class AcidDose(Struct, frozen=True):
    """Doses of 100 % acid [mg/L], the feeds they make and what is over its limit then.

    ``enough`` is False where even most of the alkalinity taken away leaves the index over its
    limit. ``excesses`` is by scale, index minus limit.
    """

    dose_mg_l: Array
    enough: Any
    feed: FeedWater
    excesses: Mapping[str, Array]


def dose_for_index(
    feed: FeedWater,
    acids: Sequence[Acid],
    recovery: Any,
    limits: Limits,
    membrane: tuple[Passage, float, float] = (NO_PASSAGE, 0.0, 1.0),
) -> AcidDose:
    """Return the smallest dose that brings the carbonate index of the concentrate to its limit.

    Parameters
    ----------
    feed : FeedWater
        A single water with alkalinity. [-]
    acids : sequence of Acid
        One acid per recovery. [-]
    recovery : array
        Product / fresh feed. [-]
    limits : Limits
        Limits in force, one for all or one per recovery. [-]
    membrane : tuple of mapping and two floats
        Salt passage by analyte key, recycle / (fresh feed + recycle), and concentration
        polarisation, 1 for bulk. [-]

    Returns
    -------
    AcidDose
        Doses; 0 where none is needed. [mg/L as 100 % acid]
    """
    turn = list(_turns(feed, acids, recovery, limits, membrane))[-1]
    return AcidDose(turn.dose_mg_l, turn.enough, turn.feed, excesses(turn.brine, limits))


class SingleDose(Struct, frozen=True):
    """A dose of one 100 % acid [mg/L], as `AcidDose` has it of many."""

    dose_mg_l: float
    enough: bool
    excesses: Mapping[str, float]


def doses_apart(
    feed: FeedWater,
    acids: Sequence[Acid],
    recovery: float,
    limits: Limits,
    membrane: tuple[Passage, float, float] = (NO_PASSAGE, 0.0, 1.0),
) -> list[SingleDose]:
    """Return the dose of each acid as it is found alone, all of them looked for at once.

    Parameters
    ----------
    feed : FeedWater
        A single water with alkalinity. [-]
    acids : sequence of Acid
        The acids. [-]
    recovery : float
        Product / fresh feed. [-]
    limits : Limits
        Limits in force. [-]
    membrane : tuple of mapping and two floats
        As `dose_for_index` takes it. [-]

    Returns
    -------
    list of SingleDose
        One per acid; none is closer to the limit because another one took longer. [-]
    """
    found: dict[int, SingleDose] = {}
    for turn in _turns(feed, acids, np.full(len(acids), recovery), limits, membrane):
        new = [i for i in range(len(acids)) if turn.settled[i] and i not in found]
        over = excesses(turn.brine, limits) if new else {}
        for i in new:
            one = {k: float(v[i]) for k, v in over.items()}
            found[i] = SingleDose(float(turn.dose_mg_l[i]), bool(turn.enough[i]), one)
    return [found[i] for i in range(len(acids))]


class _Turn(Struct, frozen=True):
    """Doses that were tried, what they make, and which of them are close enough."""

    dose_mg_l: Array
    enough: Any
    feed: FeedWater
    brine: Concentrate
    settled: Any


def _turns(
    feed: FeedWater,
    acids: Sequence[Acid],
    recovery: Array,
    limits: Limits,
    membrane: tuple[Passage, float, float],
) -> Iterator[_Turn]:
    """Give the doses turn by turn, closer and closer."""
    most = float(feed.alkalinity_mg_l_caco3) / np.array([a.alkalinity_per_mg for a in acids])
    way = _Way.of(feed)

    def at(place: Array, index: Any) -> tuple[Array, FeedWater, Concentrate, Array]:
        """Return the dose at a place of the way, what it makes, and the index."""
        dose = most[index] * (1.0 - way.left(place)) + 0.0  # no -0 where none is needed
        made = acidified(feed, [acids[i] for i in index], dose)
        brine = concentrate(made, recovery[index], *membrane)
        return dose, made, brine, _index(brine, limits.of(index))

    every = np.arange(len(acids))
    none = np.full(most.shape, way.place(1.0))
    all_of_it = np.full(most.shape, way.place(1.0 - MOST_OF_ALKALINITY))
    first = at(np.concatenate([none, all_of_it]), np.tile(every, 2))[-1]
    ends = Ends(none, all_of_it, first[: every.size], first[every.size :])
    needless, hopeless = ends.weight_low <= 0, ends.weight_high > 0
    for turn in range(ROUNDS):
        place = np.where(needless, none, np.where(hopeless, all_of_it, ends.between()))
        dose, made, brine, value = at(place, every)
        ends = ends.drawn(place, value)
        settled = (np.abs(value) < CLOSE) | needless | hopeless | (turn == ROUNDS - 1)
        yield _Turn(dose, ~hopeless, made, brine, settled)
        if np.all(settled):
            break


class _Way(Struct, frozen=True):
    """Places along which the carbonate index is nearly straight as acid takes alkalinity.

    It follows the alkalinity, and pH follows alkalinity to CO2, which is what is left of the
    inorganic carbon: a place is 2 ln left - ln(carbon - left), in shares of the alkalinity.
    """

    carbon: float

    @classmethod
    def of(cls, feed: FeedWater) -> "_Way":
        """Return the way of a single water."""
        found = feed.speciation
        share = float(found.inorganic_carbon_mol_kg) / float(found.alkalinity_eq_kg)
        return cls(max(share, LEAST_CARBON))

    def place(self, left: float) -> float:
        """Return the place where a share of the alkalinity is left."""
        return float(2.0 * np.log(left) - np.log(self.carbon - left))

    def left(self, place: Array) -> Array:
        """Return the share of the alkalinity that is left at a place, never above 1."""
        grown = np.exp(place)
        root = np.sqrt(grown * (grown + 4.0 * self.carbon))
        left = 2.0 * grown * self.carbon / (grown + root)
        return np.where(place < self.place(1.0), left, 1.0)  # 1 to the last digit without acid


def _index(brine: Concentrate, limits: Limits) -> Array:
    found = carbonate_excess(brine, limits)
    return np.where(np.isfinite(found), found, -1.0)
