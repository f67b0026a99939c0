"""What an operation breaks: element and vessel limits, flux by kind of feed, levelness."""

from collections.abc import Iterator
from math import ceil
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.basis import cites
from pretreat.core.errors import DesignError
from pretreat.membrane.elements.arrange import FluxRule, flux_rule
from pretreat.membrane.elements.array import Array
from pretreat.membrane.elements.feed import ElementFeed
from pretreat.membrane.elements.operate import Duty, Operation, operate
from pretreat.membrane.elements.permeability import Membrane

RECYCLE_SPAN = (0.01, 10.0)  # of the fresh feed: where the search for a recycle looks
STATIONS = 30
REFINED = 3  # rounds, each thirty times finer
ROUNDING = 1e-9  # a value this near its limit keeps it
LITRES = 1000.0  # DEFINITION: in a cubic metre
WALL_RANGE = 0.3  # element recovery up to which exp(0.7 r) is used, PRACTICE
FAR_LOADED = "far above the band"  # mark of a flag
LOADS = frozenset({"average_flux", "element_feed"})
FAR_LOAD = 1.4  # PRACTICE: times the high end of the band


class Broken(Struct, frozen=True):
    """A limit that at least one water of the operation breaks; values over all of them."""

    code: str
    text: str
    value: float
    limit: float
    unit: str

    @property
    def far(self) -> bool:
        """Whether elements are loaded far above their band."""
        return self.code in LOADS and self.value > FAR_LOAD * self.limit


class MachineLimits(Struct, frozen=True):
    """Limits of flux and recovery beside those of the element; every one may be replaced."""

    flux_lmh: float
    element_recovery: float
    lead_over_average: float
    vessel_pressure_bar: float | None = None  # that of the element's usual vessel if left out


@cites("PRACTICE", "lead element below 1.3 to 1.5 times the average flux")
def usual_limits(feed: str = "well") -> MachineLimits:
    """Return the usual upper limits for a kind of feed.

    Parameters
    ----------
    feed : str
        One of "well", "filtered", "surface". [-]

    Returns
    -------
    MachineLimits
        High ends of the usual ranges. [-]

    Raises
    ------
    DesignError
        If the kind of feed is not known.
    """
    rule: FluxRule = flux_rule(feed)
    return MachineLimits(rule.flux_high_lmh, rule.element_recovery_high, 1.5)


def broken_limits(found: Operation, limits: MachineLimits | None = None) -> tuple[Broken, ...]:
    """Return the limits that an operation breaks, worst value of each.

    Parameters
    ----------
    found : Operation
        The machine running, one water or many; unsettled ones are left out. [-]
    limits : MachineLimits, optional
        Flux, element recovery, levelness; those of a well where left out. [-]

    Returns
    -------
    tuple of Broken
        Empty where all limits are kept. [-]
    """
    if not np.any(found.settled):
        return ()
    return tuple(_broken(found, limits or usual_limits()))


def _broken(found: Operation, limits: MachineLimits) -> Iterator[Broken]:
    element, length = found.array.element, found.array.elements_per_vessel
    feed, drain = found.by_element("feed_m3_h"), found.by_element("concentrate_m3_h")
    drop, flux = found.by_element("drop_bar"), found.by_element("flux_lmh")
    recovery = found.by_element("recovery")
    in_vessels = drop.reshape(-1, length, *drop.shape[1:]).sum(axis=1)
    top = limits.vessel_pressure_bar or element.vessel_pressure_bar
    most_drop = element.max_vessel_drop_bar
    average = np.asarray(found.flux_lmh)
    asked: tuple[tuple[str, str, Any, float, str], ...] = (
        ("element_feed", "feed of one vessel", feed, element.max_feed_m3_h, "m3/h"),
        ("element_recovery", "recovery of one element", recovery, limits.element_recovery, "-"),
        ("element_drop", "pressure drop of one element", drop, element.max_drop_bar, "bar"),
        ("vessel_drop", "pressure drop of one vessel", in_vessels, most_drop, "bar"),
        ("vessel_pressure", "feed pressure", found.by_element("feed_bar"), top, "bar"),
        ("average_flux", "average flux", average, limits.flux_lmh, "L/m2/h"),
        (
            "lead_flux",
            "flux of an element over the average",
            flux / average,
            limits.lead_over_average,
            "-",
        ),
        ("wall_factor_range", "recovery of one element", recovery, WALL_RANGE, "-"),
    )
    for code, name, values, limit, unit in asked:
        worst = float(np.nanmax(values))
        if worst > limit * (1.0 + ROUNDING):
            text = f"{name} is {worst:.3g} {unit}, at most {limit:g} {unit}".replace(" -", "")
            if values is recovery:
                text = f"{name} is {worst:.1%}, at most {limit:.0%}".replace("%", " %")
            if code == "wall_factor_range":
                text = (
                    f"one element takes {worst:.1%} of its feed, no element is run above "
                    f"{limit:.0%}: product and scaling computed there do not hold"
                ).replace("%", " %")
            text += _cure(code, found.array, worst, limit)
            yield Broken(code, text, worst, limit, unit)
    least = float(np.nanmin(drain))
    if least < element.min_concentrate_m3_h * (1.0 - ROUNDING):
        text = (
            f"concentrate of one vessel is {least:.3g} m3/h, at least "
            f"{element.min_concentrate_m3_h:g} m3/h: recycle more, or fewer vessels"
        )
        yield Broken("element_concentrate", text, least, element.min_concentrate_m3_h, "m3/h")
    left = float(np.nanmin(np.asarray(found.concentrate_bar)))
    if left < 0.0:
        text = (
            f"no pressure is left at the concentrate outlet ({left:.2g} bar): the pressure drops "
            "use up the feed pressure; more vessels side by side, or fewer elements in series"
        )
        yield Broken("no_pressure_left", text, left, 0.0, "bar")


def _cure(code: str, array: Array, worst: float, limit: float) -> str:
    """Say what would keep a limit, in numbers where they follow from it."""
    if code == "average_flux":
        ask = ceil(array.elements * worst / limit * (1.0 - ROUNDING))
        more = ask - array.elements
        less = limit * array.area_m2 / LITRES
        return (
            f": it fouls soon; {ask} elements instead of {array.elements} ({more} more), or "
            f"{less:.3g} m3/h of product at most, over more hours"
        )
    cures = {
        "element_recovery": ": it scales and fouls first; recycle more, or more elements in series",
        "wall_factor_range": "; recycle more, or more elements in series, and compute again",
        "lead_flux": ": throttle the first product, or a booster between the stages",
        "element_feed": ": more vessels side by side, or less recycle",
        "element_drop": ": more vessels side by side, or less recycle",
        "vessel_drop": ": more vessels side by side, or fewer elements in series",
    }
    return cures.get(code, "")


def least_recycle_m3_h(
    array: Array,
    membrane: Membrane,
    fresh: ElementFeed,
    duty: Duty,
    limits: MachineLimits | None = None,
) -> Any:
    """Return the least recycle at which no element is driven too hard.

    The recycle of the duty is the least that is tried; it is raised until element recovery and
    concentrate per vessel keep their limits. Recycle costs quality and pump energy.

    Parameters
    ----------
    array : Array
        The array. [-]
    membrane : Membrane
        A and B. [-]
    fresh : ElementFeed
        The fresh feed; one water, or several on one axis. [-]
    duty : Duty
        Product, recovery and least recycle; single numbers. [-]
    limits : MachineLimits, optional
        Element recovery; that of a well where left out. [-]

    Returns
    -------
    float or array
        Recycle, one per water. [m³/h]

    Raises
    ------
    OutOfRangeError
        If a value is outside its range.
    DesignError
        If no recycle up to ten times the fresh feed is enough for one of the waters.
    """
    rules = limits or usual_limits()
    low, fresh_m3_h = float(duty.recycle_m3_h), float(duty.fresh_m3_h)
    stations = low + fresh_m3_h * np.concatenate([[0.0], np.geomspace(*RECYCLE_SPAN, STATIONS)])
    # the waters, and the stations of each on the last axis
    waters = np.broadcast_shapes(fresh.amounts.shape[1:], np.shape(fresh.temp_c))
    amounts = np.broadcast_to(fresh.amounts.T, (*waters, len(fresh.keys))).T
    wide = ElementFeed(fresh.keys, amounts[..., None], np.asarray(fresh.temp_c)[..., None])
    tried = np.broadcast_to(stations, (*waters, stations.size))
    for _ in range(REFINED):
        found = operate(array, membrane, wide, replace(duty, recycle_m3_h=tried))
        kept = _kept(found, rules)
        if not kept.any(axis=-1).all():
            raise DesignError(
                f"no recycle up to {tried.max():.3g} m3/h holds the {array.elements} elements "
                "within their limits: add elements, arrange more of them in series, or choose "
                "another size"
            )
        first = np.argmax(kept, axis=-1)[..., None]
        best = np.take_along_axis(tried, first, axis=-1)[..., 0]
        if not first.any():
            break
        under = np.take_along_axis(tried, np.maximum(first - 1, 0), axis=-1)[..., 0]
        tried = np.linspace(under, best, STATIONS, axis=-1)
    return best


def _kept(found: Operation, limits: MachineLimits) -> Any:
    """Return, water by water, whether no element is driven too hard."""
    settled = found.settled
    hardest = np.where(settled, found.by_element("recovery").max(axis=0), np.inf)
    least = np.where(settled, found.by_element("concentrate_m3_h").min(axis=0), 0.0)
    enough = found.array.element.min_concentrate_m3_h * (1.0 - ROUNDING)
    return (hardest <= limits.element_recovery * (1.0 + ROUNDING)) & (least >= enough)
