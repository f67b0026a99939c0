"""Element by element through the array: flux, passage, wall factor and pressure drop.

In one element, with r its recovery, beta the wall factor and m the electroneutral multiplier,

    J = A (P_f - dP/2 - P_p - (beta pi_fb - pi_p)),  c_p = m B beta c_fb / (J + B)

and the mean of feed and concentrate c_fb follows from the balance, so that c_p is closed for a
given J and m. A quasi-Newton step on J and the fixed point on m run together; all waters of a
broadcast are solved at once.
"""

from typing import Any, NamedTuple

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from pretreat.core.basis import cites
from pretreat.core.units import ZERO_C_IN_K
from pretreat.membrane.elements.array import Array
from pretreat.membrane.elements.channel import (
    film_wall_factor,
    pressure_drop_bar,
    recovery_wall_factor,
)
from pretreat.membrane.elements.element import Element
from pretreat.membrane.elements.feed import ElementFeed
from pretreat.membrane.elements.permeability import (
    Membrane,
    salt_permeability_lmh,
    temperature_factor,
)

Numbers = NDArray[np.float64]
ROUNDS = 80
SETTLED = 1e-11  # last relative change of flux and multiplier; the error left is far below it
DROP_POWER = 1.7  # of the mean flow, as `pressure_drop_bar` goes
HIGHEST_ELEMENT_RECOVERY = 0.95  # numerical bound; far beyond any element that is run
GAS_L_BAR = 8.31446e-2  # CODATA 2018, L bar/(mol K)


class Coefficients(NamedTuple):
    """What the march needs of membrane and water, at the temperature of the water."""

    water_lmh_bar: Any
    salt_lmh: Numbers  # rows as the feed's
    osmotic_bar_l_mmol: Any
    charge: Numbers  # columns that broadcast against the rows
    osmotic: Numbers
    cations: Numbers  # charges by row, those of anions 0; and the other way round
    anions: Numbers
    particles: Numbers  # `osmotic` by row
    temp_c: Any
    membrane: Membrane


class ElementStep(Struct, frozen=True):
    """One element position: every field has the shape of the waters, amounts a row per key."""

    feed_m3_h: Any
    product_m3_h: Any
    flux_lmh: Any
    wall_factor: Any
    drop_bar: Any
    feed_bar: Any
    permeate: Numbers
    concentrate: Numbers
    neutral: Any  # the multiplier of cations that leaves the permeate without charge
    settled: Any

    @property
    def recovery(self) -> Any:
        """Product / feed of the element. [-]."""
        return self.product_m3_h / self.feed_m3_h

    @property
    def concentrate_m3_h(self) -> Any:
        """Flow that leaves on the feed side. [m³/h]."""
        return self.feed_m3_h - self.product_m3_h


class March(Struct, frozen=True):
    """The whole array at one feed pressure; amounts have a row per key of the feed.

    ``steps`` are per vessel, ``vessels`` says how many vessels each stands for.
    """

    feed: ElementFeed
    feed_m3_h: Any
    feed_bar: Any
    product_m3_h: Any
    concentrate_m3_h: Any
    concentrate_bar: Any
    permeate: Numbers
    concentrate: Numbers
    steps: tuple[ElementStep, ...]
    vessels: tuple[int, ...]
    settled: Any

    @property
    def passage(self) -> Numbers:
        """Permeate / array feed of each row; 0 where the feed has none. [-]."""
        amounts = np.broadcast_to(self.feed.amounts, self.permeate.shape)
        return np.divide(
            self.permeate, amounts, out=np.zeros_like(self.permeate), where=amounts > 0
        )


@cites("SOLUTION_DIFFUSION", "osmotic coefficient 0.93: within 2.5 % of pitzer.dat on three feeds")
def usual_osmotic_coefficient() -> float:
    """Return the osmotic coefficient of brackish water when none is calculated.

    Returns
    -------
    float
        0.93. [-]
    """
    return 0.93


def coefficients(
    feed: ElementFeed, membrane: Membrane, osmotic_coefficient: Any = None
) -> Coefficients:
    """Return A, B and the osmotic factor at the water's temperature.

    Parameters
    ----------
    feed : ElementFeed
        The water. [-]
    membrane : Membrane
        A and B at 25 °C. [-]
    osmotic_coefficient : float or array, optional
        Osmotic pressure over that of an ideal solution; 0.93 where left out. [-]

    Returns
    -------
    Coefficients
        Ready for the march. [-]
    """
    phi = usual_osmotic_coefficient() if osmotic_coefficient is None else osmotic_coefficient
    waters = feed.amounts.ndim - 1
    column = (-1, *(1,) * waters)
    salts = [salt_permeability_lmh(membrane, key, feed.temp_c) for key in feed.keys]
    shape = np.broadcast_shapes(feed.amounts.shape[1:], *(np.shape(b) for b in salts))
    warm = temperature_factor(feed.temp_c, membrane.water_temperature_base)
    charge, particles = feed.charges(), feed.osmotic()
    return Coefficients(
        np.asarray(membrane.water_lmh_bar, float) * warm,
        np.array([np.broadcast_to(b, shape) for b in salts]),
        np.asarray(phi, float) * GAS_L_BAR * (feed.temp_c + ZERO_C_IN_K) / 1000.0,
        charge.reshape(column),
        particles.reshape(column),
        np.maximum(charge, 0.0),
        np.maximum(-charge, 0.0),
        particles,
        feed.temp_c,
        membrane,
    )


@cites("SOLUTION_DIFFUSION", "pi = phi R T sum of c, phi 0.93")
def osmotic_bar(feed: ElementFeed, osmotic_coefficient: Any = None) -> Any:
    """Return the osmotic pressure of a water as the march counts it.

    Parameters
    ----------
    feed : ElementFeed
        The water. [-]
    osmotic_coefficient : float or array, optional
        Osmotic pressure over that of an ideal solution; 0.93 where left out. [-]

    Returns
    -------
    float or array
        Osmotic pressure. [bar]
    """
    factor = coefficients(feed, Membrane(), osmotic_coefficient).osmotic_bar_l_mmol
    return factor * np.tensordot(feed.osmotic(), feed.amounts, axes=1)


class _Trial(NamedTuple):
    """One trial of an element's flux."""

    permeate: Numbers
    product_m3_h: Any
    wall: Any
    drop: Any
    miss: Any
    slope: Any


@cites("SOLUTION_DIFFUSION", "flux and passage of one element, averages of feed and concentrate")
def _trial(
    flux: Any, multiplier: Numbers, entering: "_Entering", known: Coefficients, element: Element
) -> _Trial:
    """Return permeate and the miss of the flux equation for a flux and a multiplier.

    The slope holds what matters, not all: it costs a round at most.
    """
    flow, bar, amounts, product_bar = entering
    product = flux * element.area_m2 / 1000.0
    r = product / flow
    mean_flow = flow - product / 2.0
    if known.membrane.wall == "film":
        wall = film_wall_factor(flux, mean_flow, known.temp_c, element)
        wall_growth = np.log(wall) / np.maximum(flux, 1e-12)
    else:
        wall = recovery_wall_factor(r)
        wall_growth = 0.7 * element.area_m2 / 1000.0 / flow
    share = multiplier * wall * known.salt_lmh / (flux + known.salt_lmh + 1e-300)
    half = (2.0 - r) / (2.0 * (1.0 - r))
    back = r / (2.0 * (1.0 - r))
    permeate = share * half * amounts / (1.0 + share * back)
    mean = (amounts + (amounts - r * permeate) / (1.0 - r)) / 2.0
    factor = known.osmotic_bar_l_mmol
    osmotic = wall * factor * _summed(known.particles, mean)
    osmotic_permeate = factor * _summed(known.particles, permeate)
    drop = known.membrane.drop_factor * pressure_drop_bar(mean_flow, known.temp_c, element)
    net = bar - drop / 2.0 - product_bar - (osmotic - osmotic_permeate)
    growth = wall_growth + element.area_m2 / 1000.0 / flow / ((1.0 - r) * (2.0 - r))
    # at a low flux the permeate's own osmotic pressure falls steeply with flux
    fall = permeate / ((flux + known.salt_lmh + 1e-300) * (1.0 + share * back))
    relief = DROP_POWER / 2.0 * drop * element.area_m2 / 2000.0 / mean_flow
    slope = -1.0 - known.water_lmh_bar * (
        (osmotic - osmotic_permeate) * growth + factor * _summed(known.particles, fall) - relief
    )
    return _Trial(permeate, product, wall, drop, known.water_lmh_bar * net - flux, slope)


class _Entering(NamedTuple):
    """What enters an element on both sides."""

    flow_m3_h: Any
    bar: Any
    amounts: Numbers
    product_bar: Any


def _summed(weights: Numbers, amounts: Numbers) -> Any:
    """Return the sum over the rows, each with its weight."""
    return np.einsum("k,k...->...", weights, amounts)


def _neutral_ratio(permeate: Numbers, known: Coefficients) -> Any:
    """Return sqrt(anions / cations) in equivalents; 1 where there are no ions."""
    cations, anions = _summed(known.cations, permeate), _summed(known.anions, permeate)
    both = (cations > 0) & (anions > 0)
    ratio = np.divide(anions, cations, out=np.ones_like(cations), where=both)
    return np.sqrt(ratio)


def solve_element(
    entering: _Entering, known: Coefficients, element: Element, near: ElementStep | None = None
) -> ElementStep:
    """Solve one element for its flux and its permeate.

    Where the pressure does not overcome the osmotic pressure the flux is 0 and the element
    counts as not settled, as it does where more than 95 % of its feed would pass.

    Parameters
    ----------
    entering : tuple
        Flow [m³/h], pressure [bar], amounts [mmol/L] and product pressure [bar].
    known : Coefficients
        Of membrane and water. [-]
    element : Element
        The element. [-]
    near : ElementStep, optional
        An element of much the same flux, from which to start. [-]

    Returns
    -------
    ElementStep
        The element. [-]
    """
    flow = entering.flow_m3_h
    most = HIGHEST_ELEMENT_RECOVERY * flow * 1000.0 / element.area_m2
    sign = np.sign(known.charge)
    shape = np.broadcast_shapes(np.shape(most), np.shape(entering.bar), known.salt_lmh.shape[1:])
    flux, neutral = np.zeros(shape), np.ones(shape)
    if near is not None:
        flux = np.where(near.settled, np.minimum(near.flux_lmh, most), flux)
        neutral = np.where(near.settled, near.neutral, neutral)
    trial = _trial(flux, neutral**sign, entering, known, element)
    for _ in range(ROUNDS):
        following = np.minimum(np.maximum(flux - trial.miss / trial.slope, 0.0), most)
        neutral_next = neutral * _neutral_ratio(trial.permeate, known)
        moved = np.abs(following - flux) > SETTLED * most
        moved |= np.abs(neutral_next - neutral) > SETTLED * neutral
        flux, neutral = following, neutral_next
        trial = _trial(flux, neutral**sign, entering, known, element)
        if not moved.any():
            break
    permeate = trial.permeate * _neutral_ratio(trial.permeate, known) ** sign
    product = trial.product_m3_h
    concentrate = (flow * entering.amounts - product * permeate) / (flow - product)
    settled = ~moved & (flux > 0.0) & (flux < most)
    return ElementStep(
        feed_m3_h=flow,
        product_m3_h=product,
        flux_lmh=flux,
        wall_factor=trial.wall,
        drop_bar=trial.drop,
        feed_bar=entering.bar,
        permeate=permeate,
        concentrate=concentrate,
        neutral=neutral,
        settled=settled,
    )


def march(
    array: Array,
    known: Coefficients,
    feed: ElementFeed,
    flow_m3_h: Any,
    feed_bar: Any,
    near: March | None = None,
) -> March:
    """March the array from feed to concentrate at a given feed flow and pressure.

    Parameters
    ----------
    array : Array
        The array. [-]
    known : Coefficients
        Of membrane and water. [-]
    feed : ElementFeed
        The water that enters the array, recycle included. [-]
    flow_m3_h : float or array
        Feed of the array. [m³/h]
    feed_bar : float or array
        Feed pressure, gauge. [bar]
    near : March, optional
        The same waters at much the same flow and pressure, from which to start. [-]

    Returns
    -------
    March
        Flows, pressures, permeate and concentrate. [-]
    """
    flow, bar = np.asarray(flow_m3_h, float), np.asarray(feed_bar, float)
    amounts = feed.amounts
    made: Any = 0.0
    passed: Any = 0.0
    sound: Any = True
    steps: list[ElementStep] = []
    per_step: list[int] = []
    for stage, vessels in enumerate(array.vessels):
        if stage:
            bar = bar - array.interstage_bar
        bar = bar + (array.boost_bar[stage] if array.boost_bar else 0.0)
        back = array.product_bar + (array.throttle_bar[stage] if array.throttle_bar else 0.0)
        in_vessel = flow / vessels
        for _ in range(array.elements_per_vessel):
            start = near.steps[len(steps)] if near else steps[-1] if steps else None
            entering = _Entering(in_vessel, bar, amounts, back)
            step = solve_element(entering, known, array.element, start)
            in_vessel, amounts = step.concentrate_m3_h, step.concentrate
            bar = bar - step.drop_bar
            made = made + vessels * step.product_m3_h
            passed = passed + vessels * step.product_m3_h * step.permeate
            sound = sound & step.settled
            steps.append(step)
            per_step.append(vessels)
        flow = in_vessel * vessels
    permeate = np.divide(passed, made, out=np.full_like(passed, np.nan), where=made > 0.0)
    return March(
        feed,
        np.asarray(flow_m3_h, float),
        np.asarray(feed_bar, float),
        made,
        flow,
        bar,
        permeate,
        amounts,
        tuple(steps),
        tuple(per_step),
        sound,
    )
