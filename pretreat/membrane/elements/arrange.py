"""A first choice: elements from flux by kind of feed, their arrangement, the recycle needed."""

from collections.abc import Mapping
from functools import lru_cache
from math import ceil, log
from types import MappingProxyType

from msgspec import Struct

from pretreat.core.basis import cites
from pretreat.core.errors import DesignError, check_range, one_of
from pretreat.core.tables import rows
from pretreat.membrane.elements.array import MOST_VESSELS, Array
from pretreat.membrane.elements.element import Element

PRODUCT_RANGE_M3_H = (1e-4, 10_000.0)
FLUX_RANGE_LMH = (5.0, 60.0)  # PRACTICE: no well water is run outside it
RECOVERY_RANGE = (1e-3, 0.95)
ONE_VESSEL = 6  # a single string longer than this is arranged in stages
WHOLE = 1e-9  # a count this near a whole number is that number
LEAST_FLOW_M3_H = 1e-6  # below, a recycle that is needed is rounding
# Divisions of a flow meter by the flow up to which it has them, PRACTICE; beyond: COARSE_M3_H
METER_STEPS_M3_H = ((0.2, 0.01), (2.0, 0.05), (10.0, 0.1), (40.0, 0.5))
COARSE_M3_H = 1.0


class FluxRule(Struct, frozen=True):
    """One row of data/element_flux.csv: flux and element recovery by kind of feed."""

    feed: str
    name: str
    flux_lmh: float
    flux_low_lmh: float
    flux_high_lmh: float
    element_recovery: float
    element_recovery_low: float
    element_recovery_high: float


@lru_cache(maxsize=1)
def flux_rules() -> Mapping[str, FluxRule]:
    """Return the usual flux and element recovery by kind of feed.

    Returns
    -------
    mapping of str to FluxRule
        Keys "well", "filtered", "surface". [-]
    """
    texts = ("feed", "name")
    return MappingProxyType(
        {
            row["feed"]: FluxRule(
                row["feed"],
                row["name"],
                **{key: float(row[key]) for key in FluxRule.__struct_fields__ if key not in texts},
            )
            for row in rows("element_flux.csv")
        }
    )


def flux_rule(feed: str) -> FluxRule:
    """Return the rule of a kind of feed.

    Parameters
    ----------
    feed : str
        One of "well", "filtered", "surface". [-]

    Returns
    -------
    FluxRule
        Its flux and element recovery. [-]

    Raises
    ------
    DesignError
        If the kind is not known.
    """
    known = flux_rules()
    if feed not in known:
        raise DesignError(
            f"kind of feed '{feed}' is not known{one_of(feed, list(known))} "
            f"Use one of: {', '.join(known)}"
        )
    return known[feed]


def series_recovery(elements: int, element_recovery: float) -> float:
    """Return the recovery of elements in series, each at the same recovery.

    Parameters
    ----------
    elements : int
        Elements in series, at least 1. [-]
    element_recovery : float
        Product / feed of one element, above 0 to below 1. [-]

    Returns
    -------
    float
        ``1 - (1 - r)^n``: the most an array reaches without recycle. [-]
    """
    return 1.0 - (1.0 - element_recovery) ** elements


def elements_in_series(recovery: float, element_recovery: float) -> int:
    """Return how many elements in series reach a recovery without recycle.

    Parameters
    ----------
    recovery : float
        Product / fresh feed, above 0 to below 1. [-]
    element_recovery : float
        Highest product / feed of one element, above 0 to below 1. [-]

    Returns
    -------
    int
        Elements. [-]
    """
    return ceil(log(1.0 - recovery) / log(1.0 - element_recovery) - WHOLE)


def recycle_needed_m3_h(
    array: Array, product_m3_h: float, recovery: float, element_recovery: float
) -> float:
    """Return the concentrate to recycle so that no element is driven too hard.

    The larger of what element recovery and the least concentrate flow per vessel ask for:
    ``Q_r >= Q_p / Y_max - Q_p / Y`` and ``Q_p / Y - Q_p + Q_r >= least``.

    Parameters
    ----------
    array : Array
        The array. [-]
    product_m3_h : float
        Product while running. [m³/h]
    recovery : float
        Product / fresh feed, 0.001 to 0.95. [-]
    element_recovery : float
        Highest product / feed of one element, 0.01 to 0.3. [-]

    Returns
    -------
    float
        Recycle, 0 where none is needed. [m³/h]

    Raises
    ------
    OutOfRangeError
        If a value is outside its range.
    """
    _check_duty(product_m3_h, recovery, element_recovery)
    fresh = product_m3_h / recovery
    reach = series_recovery(array.in_series, element_recovery)
    by_recovery = product_m3_h / reach - fresh
    least = array.vessels[-1] * array.element.min_concentrate_m3_h
    return max(0.0, by_recovery, least - (fresh - product_m3_h))


def metered_m3_h(flow_m3_h: float) -> float:
    """Return a flow rounded up to what the flow meter of a machine of its size shows.

    Parameters
    ----------
    flow_m3_h : float
        A flow, 0 or more. [m³/h]

    Returns
    -------
    float
        The flow, never less: in steps of about a twentieth of it (common practice). [m³/h]
    """
    if flow_m3_h < LEAST_FLOW_M3_H:
        return 0.0
    step = next((fine for top, fine in METER_STEPS_M3_H if flow_m3_h <= top), COARSE_M3_H)
    return round(ceil(flow_m3_h / step - WHOLE) * step, 6)


@cites("PRACTICE", "range of element recovery that is run at all")
def _check_duty(product_m3_h: float, recovery: float, element_recovery: float) -> None:
    check_range("product flow", product_m3_h, PRODUCT_RANGE_M3_H, "m3/h", "PRACTICE")
    check_range("recovery", recovery, RECOVERY_RANGE, "-", "PRACTICE")
    check_range("element recovery", element_recovery, (0.01, 0.3), "-", "PRACTICE")


def elements_for(product_m3_h: float, flux_lmh: float, element: Element) -> int:
    """Return the number of elements for a product at an average flux, rounded up.

    Parameters
    ----------
    product_m3_h : float
        Product while running. [m³/h]
    flux_lmh : float
        Highest average flux, 5 to 60. [L/m²/h]
    element : Element
        The element. [-]

    Returns
    -------
    int
        Elements. [-]

    Raises
    ------
    OutOfRangeError
        If flow or flux is outside its range.
    """
    check_range("product flow", product_m3_h, PRODUCT_RANGE_M3_H, "m3/h", "PRACTICE")
    check_range("flux", flux_lmh, FLUX_RANGE_LMH, "L/m2/h", "PRACTICE")
    return max(1, ceil(product_m3_h * 1000.0 / (flux_lmh * element.area_m2) - WHOLE))


def arranged(
    element: Element, count: int, product_m3_h: float, recovery: float, element_recovery: float
) -> Array:
    """Arrange elements in vessels and stages.

    Up to six stand in one string; more in vessels of equal length with two vessels of a stage
    for one of the next, as long as each vessel keeps its least concentrate. The count is
    rounded up to full vessels.

    Parameters
    ----------
    element : Element
        The element. [-]
    count : int
        Elements needed. [-]
    product_m3_h : float
        Product while running. [m³/h]
    recovery : float
        Product / fresh feed. [-]
    element_recovery : float
        Highest product / feed of one element. [-]

    Returns
    -------
    Array
        The array. [-]

    Raises
    ------
    DesignError
        If more vessels were needed than an array may have.
    """
    fresh = product_m3_h / recovery
    if count <= ONE_VESSEL and fresh <= element.max_feed_m3_h:
        return Array(element, (1,), count)
    best: tuple[float, Array] | None = None
    for length in range(1, ONE_VESSEL + 1):
        for stages in _stagings(ceil(count / length - WHOLE)):
            array = Array(element, stages, length)
            if fresh / stages[0] > element.max_feed_m3_h or max(stages) > MOST_VESSELS:
                continue
            score = _effort(array, count, (product_m3_h, fresh, element_recovery))
            if best is None or score < best[0] - WHOLE:
                best = score, array
    if best is None:
        raise DesignError(
            f"{count} elements of {element.name} for {product_m3_h:g} m3/h do not fit an array of "
            f"{MOST_VESSELS} vessels a stage: choose a larger element"
        )
    return best[1]


def _effort(array: Array, count: int, duty: tuple[float, float, float]) -> float:
    """Weigh an arrangement: surplus elements, and what recycle it would take at even flux."""
    product_m3_h, fresh_m3_h, usual = duty
    surplus = (array.elements - count) / count
    hardest = hardest_element(array, product_m3_h, fresh_m3_h)
    least = array.vessels[-1] * array.element.min_concentrate_m3_h
    missing = max(0.0, least - (fresh_m3_h - product_m3_h)) / fresh_m3_h
    return surplus + missing + max(0.0, hardest / usual - 1.0) + len(array.vessels) / 1000.0


def hardest_element(array: Array, product_m3_h: float, feed_m3_h: float) -> float:
    """Return the highest element recovery if every element made the same product.

    Parameters
    ----------
    array : Array
        The array. [-]
    product_m3_h : float
        Product of the array. [m³/h]
    feed_m3_h : float
        Feed of the array, more than the product. [m³/h]

    Returns
    -------
    float
        Product / feed of the hardest driven element. [-]
    """
    each = product_m3_h / array.elements
    flow, hardest = feed_m3_h, 0.0
    for vessels in array.vessels:
        for _ in range(array.elements_per_vessel):
            hardest = max(hardest, each * vessels / flow)
            flow -= each * vessels
    return hardest


def _even_recycle_m3_h(
    array: Array, product_m3_h: float, fresh_m3_h: float, element_recovery: float
) -> float:
    """Return the recycle that holds the hardest element to a recovery at even flux."""
    low, high = fresh_m3_h, 100.0 * fresh_m3_h
    if hardest_element(array, product_m3_h, low) <= element_recovery:
        return 0.0
    for _ in range(60):
        middle = (low + high) / 2.0
        hard = hardest_element(array, product_m3_h, middle) > element_recovery
        low, high = (middle, high) if hard else (low, middle)
    return high - fresh_m3_h


def _stagings(vessels: int) -> list[tuple[int, ...]]:
    """List one, two and three stages of about two to one that use all the vessels."""
    found: list[tuple[int, ...]] = [(vessels,)]
    if vessels >= 2:
        second = max(1, round(vessels / 3))
        found.append((vessels - second, second))
    if vessels >= 6:
        third = max(1, round(vessels / 7))
        second = max(third, round((vessels - third) / 3))
        found.append((vessels - second - third, second, third))
    return found


class Choice(Struct, frozen=True):
    """An array chosen for a duty, and the recycle that it needs."""

    array: Array
    recycle_m3_h: float
    flux_lmh: float
    rule: FluxRule


def choose_array(
    element: Element,
    product_m3_h: float,
    recovery: float,
    feed: str = "well",
    flux_lmh: float | None = None,
) -> Choice:
    """Choose the number of elements from flux by kind of feed, arrange them, set the recycle.

    Parameters
    ----------
    element : Element
        The element. [-]
    product_m3_h : float
        Product while running. [m³/h]
    recovery : float
        Product / fresh feed, 0.001 to 0.95. [-]
    feed : str
        One of "well", "filtered", "surface". [-]
    flux_lmh : float, optional
        Highest average flux, 5 to 60; that of the kind of feed where left out. [L/m²/h]

    Returns
    -------
    Choice
        Array, recycle, the average flux reached and the rule used. [-]

    Raises
    ------
    DesignError
        If the kind of feed is not known or no array is large enough.
    OutOfRangeError
        If a value is outside its range.
    """
    rule = flux_rule(feed)
    _check_duty(product_m3_h, recovery, rule.element_recovery)
    count = elements_for(product_m3_h, flux_lmh or rule.flux_lmh, element)
    array = arranged(element, count, product_m3_h, recovery, rule.element_recovery_high)
    recycle = max(
        recycle_needed_m3_h(array, product_m3_h, recovery, rule.element_recovery),
        _even_recycle_m3_h(
            array, product_m3_h, product_m3_h / recovery, rule.element_recovery_high
        ),
    )
    return Choice(array, recycle, product_m3_h * 1000.0 / array.area_m2, rule)
