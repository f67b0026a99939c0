"""Flows to set on the machine, as a person reads them, and slips of units caught."""

from fractions import Fraction

from msgspec import Struct

from pretreat.core.basis import cites
from pretreat.core.errors import check_range
from pretreat.core.units import LITRE_PER_US_GALLON

RECOVERY_RANGE = (0.01, 0.95)  # below and above no machine of this kind is set
LARGEST_PART = 20  # a ratio with larger numbers is no help before two flow meters
LITRE_PER_M3 = 1000.0
MINUTES = 60.0
LITRE_PER_IMPERIAL_GALLON = 4.54609  # GALLONS: exact
SLIP_TOLERANCE = 0.04  # RECORD_STATISTICS: two gauges of 2 % each
BALANCED = 0.06  # RECORD_STATISTICS: balance of three meters of 2 % each
CHANGE_LIKE = (0.8, 1.25)  # RECORD_STATISTICS: a slip that a real change of flow could be
AGREES = 0.10  # RECORD_STATISTICS: flows that balance this closely are no slip


class FlowSettings(Struct, frozen=True):
    """Flows at one setting. [m3/h]."""

    recovery: float
    feed_m3_h: float
    product_m3_h: float
    drain_m3_h: float
    recycle_m3_h: float

    @property
    def array_recovery(self) -> float:
        """Product over what enters the vessels, fresh feed and recycle. [-]."""
        return self.product_m3_h / (self.feed_m3_h + self.recycle_m3_h)


def measured_recovery(product_m3_h: float, drain_m3_h: float) -> float:
    """Return the recovery that two flow meters show.

    Parameters
    ----------
    product_m3_h : float
        Product flow. [m3/h]
    drain_m3_h : float
        Concentrate to drain. [m3/h]

    Returns
    -------
    float
        Product / (product + drain). [-]

    Raises
    ------
    OutOfRangeError
        If the recovery is outside 0.01 to 0.95.
    """
    recovery = product_m3_h / (product_m3_h + drain_m3_h)
    check_range("recovery of product and drain", recovery, RECOVERY_RANGE, "-", "PRACTICE")
    return recovery


def flow_settings(product_m3_h: float, recovery: float, recycle_m3_h: float = 0.0) -> FlowSettings:
    """Return the flows of a setting from its product flow and recovery.

    Parameters
    ----------
    product_m3_h : float
        Product flow. [m3/h]
    recovery : float
        Product / fresh feed, 0.01 to 0.95. [-]
    recycle_m3_h : float
        Concentrate recycled. [m3/h]

    Returns
    -------
    FlowSettings
        Feed = product / recovery, drain = feed - product. [m3/h]

    Raises
    ------
    OutOfRangeError
        If the recovery is outside its range.
    """
    check_range("recovery", recovery, RECOVERY_RANGE, "-", "PRACTICE")
    feed = product_m3_h / recovery
    return FlowSettings(recovery, feed, product_m3_h, feed - product_m3_h, recycle_m3_h)


class Split(Struct, frozen=True):
    """Product to drain as whole numbers; ``exact`` is False where it is rounded."""

    product: int
    drain: int
    exact: bool

    def __str__(self) -> str:
        return f"{'' if self.exact else 'about '}{self.product}:{self.drain}"


def split(recovery: float) -> Split:
    """Return the split of product to drain as the simplest ratio of whole numbers.

    Parameters
    ----------
    recovery : float
        Product / fresh feed, 0.01 to 0.95. [-]

    Returns
    -------
    Split
        1:1 at 0.5, 3:2 at 0.6, 7:3 at 0.7. [-]

    Raises
    ------
    OutOfRangeError
        If the recovery is outside its range.
    """
    check_range("recovery", recovery, RECOVERY_RANGE, "-", "PRACTICE")
    share = Fraction(recovery).limit_denominator(LARGEST_PART)
    if not 0 < share < 1:
        share = Fraction(recovery).limit_denominator(10 * LARGEST_PART)
    exact = abs(float(share) - recovery) < 1e-9
    return Split(share.numerator, share.denominator - share.numerator, exact)


class Slip(Struct, frozen=True):
    """A mistake of units that turns the expected value into the one written."""

    words: str
    factor: float  # written / expected


def _slips() -> tuple[Slip, ...]:
    gallon, imperial = LITRE_PER_US_GALLON, LITRE_PER_IMPERIAL_GALLON
    day, hour = 24.0 * MINUTES, MINUTES
    cubic = LITRE_PER_M3 / hour  # L/min per m3/h
    pairs = (
        ("US gallons read as imperial gallons", imperial / gallon),
        ("L/min written as US gallons per minute", gallon),
        ("L/min written as imperial gallons per minute", imperial),
        ("m3/h written as US gallons per minute", gallon / cubic),
        ("L/min written as m3/h", cubic),
        ("per minute written as per hour", 1.0 / hour),
        ("per minute written as per day", 1.0 / day),
        ("per hour written as per day", 1.0 / 24.0),
    )
    found = [Slip(words, factor) for words, factor in pairs]
    found += [Slip(_turned(words), 1.0 / factor) for words, factor in pairs]
    return tuple(found)


def _turned(words: str) -> str:
    middle = " written as " if " written as " in words else " read as "
    one, other = words.split(middle)
    return f"{other}{middle}{one}"


SLIPS = _slips()


@cites("GALLONS", "ratios of the units")
@cites("RECORD_STATISTICS", "a slip is named where it explains the value within 4 %")
def unit_slips(written: float, expected: float) -> tuple[Slip, ...]:
    """Return the slips of units that explain a written flow, likeliest first.

    Parameters
    ----------
    written : float
        Flow as written down. [any unit]
    expected : float
        Flow that the others imply. [same unit]

    Returns
    -------
    tuple of Slip
        Empty where the two agree within 10 %, or no slip explains the difference. [-]
    """
    if not (written > 0.0 and expected > 0.0):
        return ()
    ratio = written / expected
    if abs(ratio - 1.0) <= AGREES:
        return ()
    near = sorted((abs(ratio / slip.factor - 1.0), slip.words, slip) for slip in SLIPS)
    return tuple(slip for error, _, slip in near if error <= SLIP_TOLERANCE)


class FlowsRead(Struct, frozen=True):
    """Flows of one reading as written; None where a meter was not read. [m3/h]."""

    feed_m3_h: float | None
    product_m3_h: float | None
    drain_m3_h: float | None


def _imbalance(feed: float, product: float, drain: float) -> float:
    return abs(feed / (product + drain) - 1.0) if product + drain > 0.0 else float("inf")


def _explained(read: FlowsRead, name: str, slip: Slip) -> bool:
    """Tell whether taking the slip back closes the balance of the three meters."""
    flows = {"feed": read.feed_m3_h, "product": read.product_m3_h, "drain": read.drain_m3_h}
    known = {k: v for k, v in flows.items() if v is not None}
    if len(known) < len(flows):
        return False
    before = _imbalance(**known)
    known[name] /= slip.factor
    return before > BALANCED and _imbalance(**known) < before / 2.0


def doubtful_flows(read: FlowsRead, usual: FlowSettings) -> tuple[str, ...]:
    """Return what is wrong with the flows of a reading, one sentence each.

    Each flow is compared with the setting. A slip between the two gallons looks like a real
    change of a sixth: it is named only where taking it back closes the balance of the three
    meters, or where all three are off alike.

    Parameters
    ----------
    read : FlowsRead
        As written. [m3/h]
    usual : FlowSettings
        The setting of the machine, or the first record. [m3/h]

    Returns
    -------
    tuple of str
        Empty where the flows are consistent. [-]
    """
    found: dict[str, tuple[Slip, str]] = {}
    for name in ("feed", "product", "drain"):
        written, set_to = getattr(read, f"{name}_m3_h"), getattr(usual, f"{name}_m3_h")
        slips = unit_slips(written, set_to) if written is not None else ()
        if slips:
            said = f"{name} flow is written as {written:.4g} m3/h, the setting is {set_to:.4g} m3/h"
            found[name] = slips[0], f"{said}: looks like {slips[0].words}"
    alike = len(found) == len(FlowsRead.__struct_fields__)
    alike = alike and len({slip.words for slip, _ in found.values()}) == 1
    told = tuple(
        text
        for name, (slip, text) in found.items()
        if alike or not _like_a_change(slip) or _explained(read, name, slip)
    )
    return told or _unbalanced(read)


def _like_a_change(slip: Slip) -> bool:
    return CHANGE_LIKE[0] < slip.factor < CHANGE_LIKE[1]


def _unbalanced(read: FlowsRead) -> tuple[str, ...]:
    feed, product, drain = read.feed_m3_h, read.product_m3_h, read.drain_m3_h
    if feed is None or product is None or drain is None:
        return ()
    if _imbalance(feed, product, drain) <= AGREES:
        return ()
    return (
        f"feed {feed:.4g} m3/h is not product {product:.4g} plus drain {drain:.4g} m3/h: "
        "read the three meters again",
    )
