"""A machine at a duty: the feed pressure for a product, or the product at a pressure.

With recycle the array feed holds concentrate, whose composition follows in closed form from the
passage of each ion; feed pressure and passages are found together and must settle.
"""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from pretreat.core.basis import cites
from pretreat.core.errors import AnalysisError, DesignError
from pretreat.membrane.concentrate import concentration_factor
from pretreat.membrane.elements.array import Array, check_array
from pretreat.membrane.elements.feed import ElementFeed, dissolved_mg_l, imbalance_pct
from pretreat.membrane.elements.march import Coefficients, March, coefficients, march
from pretreat.membrane.elements.permeability import Membrane, check_membrane, refuse_outside

Numbers = NDArray[np.float64]
OSMOTIC_RANGE = (0.5, 1.5)  # a factor on the osmotic pressure; beyond, the analysis is wrong
SALTS_DOING = 0.1  # share of a change of the trial that the recycled salt may have caused
ROUNDS = 100
SETTLED = 1e-11  # relative change of pressure (or product) and of passages
NEAR = 0.01  # a product this near the wanted one is not what is wrong
HIGHEST_BAR = 120.0  # numerical bound; every vessel is weaker
FLOW_RANGE_M3_H = (1e-4, 10_000.0)
RECYCLE_RANGE_M3_H = (0.0, 10_000.0)
RECOVERY_RANGE = (1e-3, 0.95)


class Duty(Struct, frozen=True):
    """What the machine is to give; floats or arrays that broadcast.

    ``recovery`` is product / fresh feed; ``recycle_m3_h`` returns concentrate to the pump.
    """

    product_m3_h: Any
    recovery: Any
    recycle_m3_h: Any = 0.0

    @property
    def fresh_m3_h(self) -> Any:
        """Fresh feed. [m³/h]."""
        return np.asarray(self.product_m3_h, float) / self.recovery

    @property
    def array_feed_m3_h(self) -> Any:
        """Fresh feed and recycle. [m³/h]."""
        return self.fresh_m3_h + self.recycle_m3_h

    @property
    def rho(self) -> Any:
        """Recycle / (fresh feed + recycle). [-]."""
        return self.recycle_m3_h / self.array_feed_m3_h


class Operation(Struct, frozen=True):
    """The machine running; arrays of the shape of the waters, NaN where ``settled`` is false.

    ``march`` holds the array element by element, its feed with the recycle mixed in.
    """

    array: Array
    duty: Duty
    fresh: ElementFeed
    march: March
    settled: Any

    @property
    def feed_bar(self) -> Any:
        """Feed pressure of the array. [bar]."""
        return self._sound(self.march.feed_bar)

    @property
    def concentrate_bar(self) -> Any:
        """Pressure of the concentrate. [bar]."""
        return self._sound(self.march.concentrate_bar)

    @property
    def drain_m3_h(self) -> Any:
        """Concentrate that leaves the machine. [m³/h]."""
        return self.duty.fresh_m3_h - self.duty.product_m3_h

    @property
    def flux_lmh(self) -> Any:
        """Average flux. [L/m²/h]."""
        return self._sound(1000.0 * self.march.product_m3_h / self.array.area_m2)

    @property
    def array_recovery(self) -> Any:
        """Product / feed of the array, recycle included. [-]."""
        return self.duty.product_m3_h / self.duty.array_feed_m3_h

    @property
    def passage(self) -> Mapping[str, Any]:
        """Permeate / array feed by ion, as the concentrate takes it. [-]."""
        found = self.march.passage
        return {k: self._sound(found[i]) for i, k in enumerate(self.fresh.keys)}

    @property
    def permeate_mg_l(self) -> Mapping[str, Any]:
        """Composition of the product by key. [mg/L as the ion]."""
        return self._named(self.march.permeate)

    @property
    def concentrate_mg_l(self) -> Mapping[str, Any]:
        """Composition of the concentrate by key. [mg/L as the ion]."""
        return self._named(self.march.concentrate)

    @property
    def array_feed_mg_l(self) -> Mapping[str, Any]:
        """Composition of the array feed by key, recycle mixed in. [mg/L as the ion]."""
        return self._named(np.broadcast_to(self.march.feed.amounts, self.march.permeate.shape))

    @property
    def permeate_tds_mg_l(self) -> Any:
        """Dissolved solids of the product. [mg/L]."""
        return self._sound(dissolved_mg_l(self.fresh, self.march.permeate))

    @property
    def concentrate_tds_mg_l(self) -> Any:
        """Dissolved solids of the concentrate. [mg/L]."""
        return self._sound(dissolved_mg_l(self.fresh, self.march.concentrate))

    @property
    def array_feed_tds_mg_l(self) -> Any:
        """Dissolved solids of the array feed. [mg/L]."""
        return self._sound(dissolved_mg_l(self.fresh, self.march.feed.amounts))

    @property
    def permeate_imbalance_pct(self) -> Any:
        """Charge imbalance of the product; a rounding error. [%]."""
        return self._sound(imbalance_pct(self.fresh, self.march.permeate))

    def by_element(self, field: str) -> Numbers:
        """Return a field of the elements, feed to concentrate on the first axis. [its unit]."""
        values = [np.asarray(getattr(step, field), float) for step in self.march.steps]
        return np.array([self._sound(v) for v in values])

    def _sound(self, value: Any) -> Any:
        found = np.where(self.settled, value, np.nan)
        return float(found) if found.ndim == 0 else found

    def _named(self, amounts: Any) -> dict[str, Any]:
        return {k: self._sound(v) for k, v in self.fresh.mg_l(amounts).items()}


class _Machine(NamedTuple):
    """What stays the same from trial to trial."""

    array: Array
    known: Coefficients
    fresh: ElementFeed
    shape: tuple[int, ...]


def operate(
    array: Array,
    membrane: Membrane,
    fresh: ElementFeed,
    duty: Duty,
    osmotic_coefficient: Any = None,
) -> Operation:
    """Find the feed pressure at which the array gives the product.

    Parameters
    ----------
    array : Array
        The array. [-]
    membrane : Membrane
        A and B. [-]
    fresh : ElementFeed
        The fresh feed. [-]
    duty : Duty
        Product, recovery, recycle. [-]
    osmotic_coefficient : float or array, optional
        Osmotic pressure over that of an ideal solution; 0.93 where left out. [-]

    Returns
    -------
    Operation
        The machine running; where many waters are solved at once, NaN where one is not. [-]

    Raises
    ------
    OutOfRangeError
        If a value is outside its range.
    DesignError
        If a single machine cannot give the product at all.
    """
    machine = _prepared(array, membrane, fresh, duty, osmotic_coefficient)
    wanted = np.broadcast_to(np.asarray(duty.product_m3_h, float), machine.shape)
    flow = np.broadcast_to(duty.array_feed_m3_h, machine.shape)
    passage = np.zeros((len(fresh.keys), *machine.shape))
    bar, slope = _first_pressure(machine, wanted, duty)
    before: tuple[Any, Any, Any] | None = None
    near: March | None = None
    for _ in range(ROUNDS):
        mixed = _mixed(fresh, duty, passage)
        found = near = march(array, machine.known, mixed, flow, bar, near)
        shift = np.max(np.abs(found.passage - passage), axis=0)
        passage = _passage_at(found, wanted, machine)
        now = bar, found.product_m3_h, np.sum(mixed.amounts, axis=0)
        slope = slope if before is None else _secant(before, now, slope)
        before = now
        miss = wanted - found.product_m3_h
        settled = (np.abs(miss) <= SETTLED * wanted) & (shift <= SETTLED)
        stuck = (bar >= HIGHEST_BAR) & (miss > 0.0)
        if np.all(settled | stuck | ~np.isfinite(miss)):
            break
        step = np.clip(miss / slope, -bar / 2.0, np.maximum(bar, 1.0))
        bar = np.clip(bar + step, 0.0, HIGHEST_BAR)
    return _checked(Operation(array, duty, fresh, found, settled & found.settled))


def operate_at_pressure(
    array: Array,
    membrane: Membrane,
    fresh: ElementFeed,
    feed_bar: Any,
    duty: Duty,
) -> Operation:
    """Find the product that the array gives at a feed pressure.

    Parameters
    ----------
    array : Array
        The array. [-]
    membrane : Membrane
        A and B. [-]
    fresh : ElementFeed
        The fresh feed. [-]
    feed_bar : float or array
        Feed pressure, gauge, 0 to 120. [bar]
    duty : Duty
        Recovery (the drain is set to keep it) and recycle; its product is a first guess. [-]

    Returns
    -------
    Operation
        The machine running, its duty with the product found. [-]

    Raises
    ------
    OutOfRangeError
        If a value is outside its range.
    DesignError
        If a single machine gives nothing at that pressure.
    """
    refuse_outside("feed pressure", feed_bar, (0.0, HIGHEST_BAR), "bar")
    machine = _prepared(array, membrane, fresh, duty, None, feed_bar)
    passage = np.zeros((len(fresh.keys), *machine.shape))
    product = np.broadcast_to(np.asarray(duty.product_m3_h, float), machine.shape)
    before: tuple[Any, Any, Any] | None = None
    slope = np.full(machine.shape, -1.0)
    near: March | None = None
    for _ in range(ROUNDS):
        now = Duty(product, duty.recovery, duty.recycle_m3_h)
        mixed = _mixed(fresh, now, passage)
        feed_m3_h = now.array_feed_m3_h
        found = near = march(array, machine.known, mixed, feed_m3_h, feed_bar, near)
        shift = np.max(np.abs(found.passage - passage), axis=0)
        miss = found.product_m3_h - product
        trial = product, miss, np.sum(mixed.amounts, axis=0)
        slope = slope if before is None else _secant(before, trial, slope)
        before = trial
        settled = (np.abs(miss) <= SETTLED * product) & (shift <= SETTLED)
        if np.all(settled | ~np.isfinite(miss)):
            break
        product = np.clip(product - miss / slope, product / 3.0, product * 3.0)
        passage = _passage_at(found, product, machine)
    return _checked(Operation(array, now, fresh, found, settled & found.settled))


def _prepared(
    array: Array,
    membrane: Membrane,
    fresh: ElementFeed,
    duty: Duty,
    osmotic_coefficient: Any,
    feed_bar: Any = 0.0,
) -> _Machine:
    check_array(array)
    check_membrane(membrane)
    refuse_outside("product flow", duty.product_m3_h, FLOW_RANGE_M3_H, "m3/h")
    refuse_outside("recovery", duty.recovery, RECOVERY_RANGE, "-")
    refuse_outside("recycle flow", duty.recycle_m3_h, RECYCLE_RANGE_M3_H, "m3/h")
    if osmotic_coefficient is not None:
        refuse_outside("osmotic coefficient", osmotic_coefficient, OSMOTIC_RANGE, "-")
    known = coefficients(fresh, membrane, osmotic_coefficient)
    shape = np.broadcast_shapes(
        fresh.amounts.shape[1:],
        np.shape(duty.array_feed_m3_h),
        np.shape(known.water_lmh_bar),
        known.salt_lmh.shape[1:],
        np.shape(known.osmotic_bar_l_mmol),
        np.shape(membrane.drop_factor),
        np.shape(feed_bar),
    )
    spread = np.broadcast_to(_aligned(fresh.amounts, shape), (len(fresh.keys), *shape))
    wide = ElementFeed(fresh.keys, spread, fresh.temp_c)
    known = coefficients(wide, membrane, osmotic_coefficient)
    _refuse_one_sided(wide)
    return _Machine(array, known, wide, shape)


def _refuse_one_sided(water: ElementFeed) -> None:
    """Refuse a feed of cations or anions alone: no permeate of it could be neutral."""
    charge = water.charges()
    cations = np.tensordot(np.maximum(charge, 0.0), water.amounts, axes=1) > 0.0
    anions = np.tensordot(np.maximum(-charge, 0.0), water.amounts, axes=1) > 0.0
    if np.any(cations != anions):
        lacking = "anions" if np.any(cations & ~anions) else "cations"
        raise AnalysisError(
            f"the feed of the elements has no {lacking}: its permeate cannot be electroneutral; "
            "complete the analysis, or close its balance with sodium or chloride"
        )


def _aligned(amounts: Numbers, shape: tuple[int, ...]) -> Numbers:
    """Put new axes between the rows and the waters, so that the waters broadcast."""
    new = len(shape) - (amounts.ndim - 1)
    return amounts.reshape(amounts.shape[0], *(1,) * new, *amounts.shape[1:])


@cites("D4582", "mass balance of the membrane with recycle")
def _mixed(fresh: ElementFeed, duty: Duty, passage: Numbers) -> ElementFeed:
    """Return the array feed for given passages: fresh feed and recycled concentrate."""
    rho = duty.rho
    recycled = concentration_factor(duty.recovery, passage, rho)
    amounts = _aligned(fresh.amounts, passage.shape[1:]) * ((1.0 - rho) + rho * recycled)
    return ElementFeed(fresh.keys, amounts, fresh.temp_c)


def _passage_at(found: March, product_m3_h: Any, machine: _Machine) -> Numbers:
    """Return the passages brought from the product found to the product of the next trial.

    A passage goes about with ``B / (J + B)``; without this, salt that is recycled and pressure
    chase each other where both recycle and B are high. At the solution it changes nothing.
    """
    own = machine.known.salt_lmh * machine.array.area_m2 / 1000.0
    moved: Numbers = found.passage * (found.product_m3_h + own) / (product_m3_h + own)
    return moved


def _first_pressure(machine: _Machine, wanted: Any, duty: Duty) -> tuple[Any, Any]:
    """Return a pressure to start from and the product that a bar more gives, roughly."""
    known = machine.known
    concentrated = 1.0 / (1.0 - np.asarray(duty.recovery, float))
    mean = np.sum(known.osmotic * machine.fresh.amounts, axis=0) * (1.0 + concentrated) / 2.0
    area = machine.array.area_m2
    slope = np.broadcast_to(known.water_lmh_bar * area / 1000.0, machine.shape)
    start = wanted / slope + machine.array.product_bar + known.osmotic_bar_l_mmol * mean
    return np.minimum(start, HIGHEST_BAR / 2.0), slope


def _secant(before: tuple[Any, Any, Any], now: tuple[Any, Any, Any], slope: Any) -> Any:
    """Return the slope between two trials, the old one where it would mislead.

    That is where the trials are too near, or where the recycled salt moved more than a tenth of
    what the trial moved: the change of the product is then the salt's doing. The third number
    of a trial is the salt of the array feed.
    """
    run, rise = now[0] - before[0], now[1] - before[1]
    salt = np.abs(now[2] - before[2]) / np.where(now[2] > 0.0, now[2], 1.0)
    apart = (np.abs(run) > 1e-7 * np.abs(now[0])) & (
        salt < SALTS_DOING * np.abs(run) / np.abs(now[0])
    )
    found = np.divide(rise, run, out=np.array(slope, float), where=apart)
    sound = np.isfinite(found) & (np.sign(found) == np.sign(slope)) & (found != 0.0)
    return np.where(sound, found, slope)


def _checked(found: Operation) -> Operation:
    """Raise for a single machine that does not settle; many waters carry NaN."""
    if np.ndim(found.settled) == 0 and not found.settled:
        at, made = float(found.march.feed_bar), float(found.march.product_m3_h)
        dry = sum(bool(np.any(step.flux_lmh <= 0.0)) for step in found.march.steps)
        wanted = float(np.asarray(found.duty.product_m3_h))
        if dry:
            why = f"{dry} of {len(found.march.steps)} elements in series make no product there"
        elif abs(made - wanted) < NEAR * wanted:
            why = "pressure and recycled salt do not settle together"
        else:
            why = "the elements cannot pass so much of their feed"
        raise DesignError(
            f"the array of {found.array.elements} elements {found.array.element.name} does not "
            f"settle: {made:.3g} m3/h of product at {at:.3g} bar; {why}: "
            "add elements or recycle, or lower product or recovery"
        )
    return found
