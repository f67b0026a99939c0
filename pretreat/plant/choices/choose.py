"""The choice of a train: every candidate carried, sized, costed, judged and put in order."""

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.core.results import Ledger
from pretreat.core.water import WaterAnalysis
from pretreat.lab.water_figures import DECIDING, Composition
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.limits import MembranePoint, limits_from
from pretreat.plant.choices.backwash import pump_words
from pretreat.plant.choices.candidates import (
    Candidate,
    candidates,
    designed,
    forced,
    without_alkali,
)
from pretreat.plant.choices.costs import Needs, Plant, Rates, rates_of, year_of
from pretreat.plant.choices.drain import held_to_drain, keeps_drain
from pretreat.plant.choices.exposure import (
    exposed,
    missing,
    open_scale,
    own_gaps,
    unguarded,
)
from pretreat.plant.choices.order import (
    Row,
    in_order,
    judged_as,
    may_be_shut,
    one_of_a_kind,
    settled_without,
    spoiled_by,
    without_dominated,
    without_hopeless,
    without_needless_salt,
)
from pretreat.plant.choices.salt import salted
from pretreat.plant.choices.table import facts_of
from pretreat.plant.choices.trial import Bench, Tried, tried
from pretreat.plant.choices.unwashed import without_unwashed
from pretreat.plant.choices.waters import (
    DRAWN,
    Chances,
    Fed,
    Kept,
    fed_by,
    reached,
)
from pretreat.plant.uncertainty.seasons import seasons_of
from pretreat.plant.uncertainty.spread import LIKELY, UNLIKELY
from pretreat.plant.verdict.case import Obstacle, Verdict, VerdictCase
from pretreat.site.design import DesignBasis
from pretreat.stages.carbonate import water_behind
from pretreat.stages.limits import train_limits
from pretreat.stages.stream import RawWater, Stream

SAME_RECOVERY = 1e-9
CLOSELY = 256  # draws of the first train where few leave its verdict open
ENOUGH = 128  # draws for a recovery that is rounded down to a whole percent
CLOSE_LOOKS, OPEN = 6, 0.05  # of a share: what 32 draws leave open near nine in ten
SHARED = frozenset({"bypass.share", "bypass.target_hardness_mg_l_caco3"})
LEAST_RECOVERY = 0.1  # a cost at less says nothing


class Asking(Struct, frozen=True):
    """What a choice is made for: water, design point and prices."""

    ledger: Ledger
    raw: RawWater
    feed: FeedWater
    water: WaterAnalysis
    taken: Composition
    point: MembranePoint
    design: DesignBasis
    draws: int


class Choice(Struct, frozen=True):
    """The trains in order, best first, and what they were compared with.

    ``known`` holds verdicts of trains that were sized before, by their stages joined.
    """

    rows: tuple[Row, ...]
    plant: Plant
    rates: Rates
    known: Mapping[str, Verdict] = field(default_factory=lambda: MappingProxyType({}))
    forced: tuple[str, ...] = ()
    fixed: tuple[str, ...] = ()  # stages that the site file puts in or leaves out
    gaps: tuple[str, ...] = ()  # what calcite cannot be judged without
    judge: Callable[[Row, VerdictCase | None], Verdict] | None = None  # a row with shared gaps
    safe: Callable[[Row], float | None] | None = None  # the recovery that 90 % of its draws keep

    @property
    def chosen(self) -> Row | None:
        """The first train, None where none could be sized."""
        return self.rows[0] if self.rows and self.rows[0].year is not None else None

    @property
    def keeps_drain(self) -> str:
        """The train that keeps the limits of the drain, where the first does not."""
        return keeps_drain(self.rows)

    @property
    def runner_up(self) -> Row | None:
        """The next train that is feasible, None where there is none."""
        return next((r for r in self.rows[1:] if r.feasible and r.year is not None), None)


class Learnt(Struct):
    """What sizing a train taught: its verdict, and the gaps and conditions that all share."""

    verdicts: dict[str, Verdict] = field(default_factory=dict)
    case: VerdictCase | None = None
    spoils: tuple[Obstacle, ...] = ()  # what any softener does to the use of the product
    open_scale: bool = False  # one that was not judged could limit a train that was sized


def choose(asking: Asking, learnt: Learnt | None = None) -> Choice:
    """Choose the train of a water.

    Parameters
    ----------
    asking : Asking
        Water, design point and prices. [-]
    learnt : Learnt, optional
        From trains that were sized before. [-]

    Returns
    -------
    Choice
        The trains in order. [-]
    """
    ledger, raw, design = asking.ledger, asking.raw, asking.design
    tds = ledger.number("water.tds_mg_l") or 0.0
    facts = facts_of(raw, asking.water, design, ledger)
    every = candidates(ledger, raw, design, facts)
    # Where every way breaks a condition, the least bad is still sized, with its reason.
    own = [one for one in every if not one.left_out]
    open_ = [one for one in own if not one.why_not] or own
    open_ += [one for one in every if one.left_out]
    parts = _Parts(asking)
    rows = [parts.row(one) for one in parts.lean(open_)]
    rows = _with_reach(asking, rows, parts)
    plant = _plant(asking, tds)
    rates = rates_of(design)
    rows = [_with_year(row, plant, rates) for row in rows]
    gaps, open_ended = missing(raw), learnt is not None and learnt.open_scale
    spoils = () if learnt is None else learnt.spoils
    rows = [replace(row, spoiled=spoiled_by(row, spoils)) for row in rows]
    rows = [_with_exposure(row, gaps, facts["hardness"] or 0.0, open_ended) for row in rows]
    rows = salted(rows, plant, asked=bool(forced(design).get("softener")))
    rows = [held_to_drain(row, plant, raw, design.stages["discharge"]) for row in rows]
    unmeasured = any(ion not in asking.taken.scaling for ion in DECIDING)
    looks = _Looks(asking, rows, parts, learnt or Learnt(), unmeasured)
    rows = looks.done()
    rows = without_unwashed(rows)
    rows = without_hopeless(without_needless_salt(rows, forced(design)))
    rows = one_of_a_kind(without_dominated(rows, unmeasured=unmeasured), plant.recovery)
    closed = [Row(one, design, why_not=one.why_not) for one in every if one not in open_]
    order = in_order(rows, plant.recovery)
    by_hand = tuple(key for key, put in forced(design).items() if put)
    fixed = tuple(forced(design))
    return Choice(
        (*order, *closed),
        plant,
        rates,
        _known(learnt),
        by_hand,
        fixed,
        gaps,
        parts.judged,
        looks.safe,
    )


def held(asking: Asking, keys: Sequence[str]) -> DesignBasis | None:
    """Return the design with a train that was chosen before, all that goes with it set anew.

    Parameters
    ----------
    asking : Asking
        Water and design point. [-]
    keys : sequence of str
        Stages of the train as its name has them, in the order of flow. [-]

    Returns
    -------
    DesignBasis or None
        As `choose` would size it; None where it is none of the trains looked at. [-]
    """
    ledger, raw, design = asking.ledger, asking.raw, asking.design
    facts = facts_of(raw, asking.water, design, ledger)
    every = _Parts(asking).lean(candidates(ledger, raw, design, facts))
    same = (c for c in every if c.name == " + ".join(keys))
    found = next(same, None)
    return None if found is None else designed(design, found.keys, found.iron, found.scale)


def _with_exposure(row: Row, gaps: Sequence[str], hardness: float, open_ended: bool) -> Row:
    bare = exposed(row.candidate.keys, gaps, hardness)
    return replace(row, exposed=max(bare, unguarded(row.candidate.keys) if open_ended else 0))


def _known(learnt: Learnt | None) -> Mapping[str, Verdict]:
    return MappingProxyType({} if learnt is None else dict(learnt.verdicts))


def _plant(asking: Asking, tds_mg_l: float) -> Plant:
    value, machine = asking.ledger.number, asking.design.machine
    return Plant(
        value("machine.product_m3_d") or 0.0,
        machine.product_flow_m3_h,
        machine.days_per_year,
        asking.point.recovery,
        tds_mg_l,
    )


class _Parts:
    """The parts of trains tried so far, each once."""

    def __init__(self, asking: Asking) -> None:
        self.asking = asking
        self.bench = Bench.of(asking.ledger, asking.raw)
        self.ahead: dict[tuple[str, ...], Tried] = {}
        self.way: dict[tuple[object, ...], Tried] = {}
        self.fed: dict[str, Fed] = {}
        basis, taken = asking.design.water, asking.taken
        said = asking.water.temperature_c is not None or basis.operating_temperature_c is not None
        self.seasons = seasons_of(
            taken.operating_temp_c,
            basis.coldest_temperature_c,
            basis.warmest_temperature_c,
            known=said,
        )

    def lean(self, every: Sequence[Candidate]) -> list[Candidate]:
        """Return candidates without alkali where stripping alone lifts the pH enough."""
        wanted = forced(self.asking.design).get("alkali")
        found: dict[str, Candidate] = {}
        for one in every:
            kept = one
            if "alkali" in one.ahead and not wanted and not one.why_not:
                ahead = self._ahead(one)
                if not ahead.fault and not ahead.amounts.get("alkali_per_kg"):
                    kept = without_alkali(one)
            found.setdefault(kept.name, kept)
        return list(found.values())

    def row(self, one: Candidate) -> Row:
        """Return a candidate with its parts tried."""
        design = designed(self.asking.design, one.keys, one.iron, one.scale)
        ahead = self._ahead(one)
        way = self._way(one, ahead)
        fault = ahead.fault or way.fault
        if fault:
            return Row(one, design, why_not=one.why_not or fault)
        self.fed[one.name] = fed_by(self.asking.raw, ahead, way, inhibited=one.inhibited)
        amounts: dict[str, float] = {}
        for part in (ahead, way):
            for key, amount in part.amounts.items():
                amounts[key] = amounts.get(key, 0.0) + amount
        media, waste = (*ahead.media, *way.media), ahead.waste_m3 + way.waste_m3
        needs = Needs(one.keys, amounts, media, waste, one.counter)
        lime = ahead.lime or way.lime
        washes = [part.wash for part in (ahead, way) if part.wash is not None]
        most = max(washes, key=lambda one: one.flow_m3_h, default=None)
        pump = pump_words(most, self.asking.design.supply)
        return Row(one, design, why_not=one.why_not, needs=needs, lime=lime, unwashed=pump)

    def judged(self, row: Row, case: VerdictCase | None) -> Verdict:
        """Return the verdict on a candidate; a scale in the dark is judged for its own water."""
        recovery = self.asking.point.recovery
        if case is None or not open_scale(case):
            return judged_as(row, recovery, case)
        asking, fed = self.asking, self.fed[row.candidate.name]
        taken, raw = asking.taken, asking.raw
        gaps = own_gaps(
            taken.scaling,
            fed.mg_l,
            (float(taken.alkalinity_mg_l_caco3), raw.ph, float(taken.measured_temp_c)),
            self.seasons,
            limits_from(asking.design.limits, fed.inhibited, "low"),
            asking.point,
        )
        return judged_as(row, recovery, replace(case, unjudged=gaps))

    def _ahead(self, one: Candidate) -> Tried:
        key = (one.iron.key, *one.ahead)
        if key not in self.ahead:
            design = designed(self.asking.design, one.ahead, one.iron)
            self.ahead[key] = tried(self.bench, design, one.ahead, self.asking.raw)
        return self.ahead[key]

    def _way(self, one: Candidate, ahead: Tried) -> Tried:
        raw = self._filtered(ahead)
        key: tuple[object, ...] = (one.way, one.counter, ())
        if "acid" in one.way and ahead.stream is not None:  # its dose hangs on the pH there
            changed = self._with_ph(raw, ahead.stream)
            if changed is not raw:
                raw, key = changed, (one.way, one.counter, (one.iron.key, *one.ahead))
        if key not in self.way:
            design = designed(self.asking.design, one.way, one.scale)
            gaps = missing(self.asking.raw)
            if "bypass" in one.way and gaps and not SHARED & design.chosen:
                fault = f"no bypass: what may pass is not known; measure {' and '.join(gaps)}"
                self.way[key] = Tried(fault=fault, raw=raw)
            else:
                self.way[key] = tried(self.bench, design, one.way, raw)
        return self.way[key]

    def _with_ph(self, raw: RawWater, stream: Stream) -> RawWater:
        """Return a water with the pH and alkalinity that the stages ahead leave it."""
        moved = abs(stream.carbon_lost_mol_kg) > 0
        moved = moved or stream.alkalinity_mg_l_caco3 != self.asking.raw.alkalinity_mg_l_caco3
        behind = water_behind(self.asking.raw, stream) if moved else None
        if behind is None or not np.isfinite(float(behind.ph)):
            return raw
        alkalinity = stream.alkalinity_mg_l_caco3
        return replace(
            raw, ph=float(behind.ph), alkalinity_mg_l_caco3=alkalinity, ph_temperature_c=None
        )

    def _filtered(self, ahead: Tried) -> RawWater:
        """Return the raw water with the iron and manganese that the ways ahead leave."""
        raw, stream = self.asking.raw, ahead.stream
        limits = train_limits()
        left = {"fe": limits["filter_iron_left"].value, "mn": limits["filter_manganese_left"].value}
        if stream is not None and "multimedia" in stream.passed:  # a bed holds what is undissolved
            raw = replace(raw, total_mg_l={})
        much = stream is not None and any(stream.metal(k) < raw.total(k) for k in left)
        if not much:
            return raw
        metals = {k: min(raw.mg_l[k], v) for k, v in left.items() if k in raw.mg_l}
        return replace(raw, mg_l={**raw.mg_l, **metals}, total_mg_l={}, h2s_mg_l=0.0)


def _with_reach(asking: Asking, rows: Sequence[Row], parts: _Parts) -> list[Row]:
    """Return the rows with the recovery that each reaches, from one batch."""
    sized = [row for row in rows if row.needs is not None]
    if not sized:
        return list(rows)
    unique = {parts.fed[row.candidate.name].key: parts.fed[row.candidate.name] for row in sized}
    limits = asking.design.limits
    most, names = reached(asking.feed, list(unique.values()), asking.point, limits)
    found = dict(zip(unique, zip(most, names, strict=True), strict=True))
    gaps = missing(asking.raw)
    unknown = "the recovery that it reaches cannot be worked out"
    unknown += f": measure {' and '.join(gaps)}" if gaps else ""
    done = []
    for row in rows:
        if row.needs is None:
            done.append(row)
            continue
        reach, by = found[parts.fed[row.candidate.name].key]
        reach = float(reach)
        why = row.why_not
        if not why and not reach >= asking.point.recovery - SAME_RECOVERY:
            shown = f"reaches {int(reach * 1000.0) / 10.0:g} %" if np.isfinite(reach) else ""
            why = f"{shown}, limited by {by or 'an unknown scale'}" if shown else unknown
        if row.candidate.left_out:
            why = f"{row.candidate.left_out}; {why}" if why else row.candidate.left_out
        done.append(
            replace(row, why_not=why, reach=reach if np.isfinite(reach) else None, limited_by=by)
        )
    return done


def _with_year(row: Row, plant: Plant, rates: Rates) -> Row:
    if row.needs is None:
        return row
    reach = plant.recovery if row.reach is None else min(row.reach, plant.recovery)
    if reach < LEAST_RECOVERY:
        return row
    return replace(row, year=year_of(row.needs, plant, rates, reach))


class _Looks:
    """The trains as they are looked at: drawn and judged, those that cost least first.

    A train that a cheaper one shuts whatever its verdict is not drawn.
    """

    def __init__(
        self, asking: Asking, rows: Sequence[Row], parts: _Parts, learnt: Learnt, unmeasured: bool
    ) -> None:
        self.asking, self.parts, self.learnt = asking, parts, learnt
        self.rows, self.unmeasured = list(rows), unmeasured
        self.by_hand = forced(asking.design)
        self.kept: dict[tuple[object, ...], Kept | None] = {}
        analysis = (asking.water, asking.taken)
        self.chances = Chances(analysis, parts.seasons, asking.point, asking.design.limits)

    def done(self) -> list[Row]:
        """Return the rows with their odds and a first verdict: of scales, and of what they need."""
        self._judge([r for r in self.rows if not may_be_shut(r, self.rows, self.by_hand)])
        self._judge(self._waiting())
        for _ in range(CLOSE_LOOKS):
            first = in_order(self.rows, self.asking.point.recovery)[0]
            if not _open(first, self.learnt):
                break
            fed = self.parts.fed[first.candidate.name]
            better = replace(first, kept=self._drawn([fed], CLOSELY)[0], closely=True)
            told = self.parts.judged(better, self.learnt.case)
            self.rows[self.rows.index(first)] = replace(better, told=told)
            self._judge(self._waiting())
        return self.rows

    def safe(self, row: Row) -> float | None:
        """Return the recovery of a train that nine in ten of many draws keep; None undrawn."""
        kept = self._drawn([self.parts.fed[row.candidate.name]], ENOUGH)[0]
        return None if kept is None or not kept.judged else kept.safe

    def _waiting(self) -> list[Row]:
        """Return those not judged whose verdict matters."""
        return [
            row
            for row in self.rows
            if row.told is None
            and not settled_without(row, self.rows, self.by_hand, unmeasured=self.unmeasured)
        ]

    def _drawn(self, waters: Sequence[Fed], most: int) -> list[Kept | None]:
        return self.chances.of(waters, min(self.asking.draws, most))

    def _judge(self, wanted: Sequence[Row]) -> None:
        """Judge trains, and with them those whose chances hang on the same."""
        unique: dict[tuple[object, ...], Fed] = {}
        for one in sorted(wanted, key=lambda r: r.year.cost if r.year else np.inf):
            if one.feasible:
                unique.setdefault(_kind(one), self.parts.fed[one.candidate.name])
        self.kept.update(zip(unique, self._drawn(list(unique.values()), DRAWN), strict=True))
        for at, row in enumerate(self.rows):
            if row.feasible and row.told is None and _kind(row) in self.kept:
                judged = replace(row, kept=self.kept[_kind(row)])
                told = self.learnt.verdicts.get(row.candidate.name)
                told = told or self.parts.judged(judged, self.learnt.case)
                self.rows[at] = replace(judged, told=told)


def _open(first: Row, learnt: Learnt) -> bool:
    """Tell whether few draws leave the verdict of the first train open."""
    if first.kept is None or not first.feasible or first.closely:
        return False
    return first.candidate.name not in learnt.verdicts and _borderline(first.kept)


CHANGING = ("aeration", "alkali", "degasser", "bisulfite")  # the carbonate system


def _kind(row: Row) -> tuple[object, ...]:
    """Return what the chances of a train hang on: the way of scale, and what moves the pH.

    What an oxidant takes of the alkalinity is too little to tell trains apart by.
    """
    keys = row.candidate.keys
    one = row.candidate
    return (one.way, one.counter, *(key in keys for key in CHANGING))


def _borderline(kept: Kept) -> bool:
    """Tell whether a few draws leave the verdict open."""
    cautious = abs(kept.kept["low"] - LIKELY) < OPEN
    return cautious or abs(kept.kept["high"] - UNLIKELY) < OPEN
