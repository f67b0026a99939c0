"""The recovery that the settings card orders, and the flows on its gauges."""

import math
from collections.abc import Callable, Mapping
from typing import Any

from msgspec import Struct

from pretreat.core.basis import Value
from pretreat.core.results import Ledger
from pretreat.membrane.gauges.gauge_laws import flow_gpm, flow_l_min
from pretreat.membrane.gauges.setpoints import split
from pretreat.plant.laws import drain_flow_m3_h, product_of_feed_m3_h
from pretreat.plant.summary import percent_down
from pretreat.site.design import DesignBasis

FITS, CONDITIONS = "fits", "fits with conditions"
CONDITION = "condition"  # what a point of the verdict is
DO_NOT_RUN = "DO NOT RUN"
GAUGES = (
    ("feed", "machine.feed_flow_m3_h", "Feed"),
    ("product", "machine.product_flow_m3_h", "Product"),
    ("drain", "machine.concentrate_flow_m3_h", "Drain"),
    ("recycle", "machine.recycle_flow_m3_h", "Recycle"),
)
NEEDED, SET = "machine.recycle_needed_m3_h", "machine.recycle_flow_m3_h"
MENDED = ("recycle", "of one element", "of one vessel")  # by the recycle that the card sets
MOST_WHY = 160  # letters beside the order, but for the first; the sheet Verdict has the rest


class Order(Struct, frozen=True):
    """What the card orders.

    ``recovery`` is the key of the recovery to set, empty where the machine must not run;
    ``flows`` the keys of flows that differ from those of the design. ``backed_off`` tells that
    it is less than was wanted: the feed is then kept, so that pump, beds and timers serve it as
    they were designed, and the product falls.
    """

    recovery: str
    flows: Mapping[str, str]

    @property
    def backed_off(self) -> bool:
        """Whether less is ordered than was wanted."""
        return self.recovery == "settings.recovery"


def enter_order(ledger: Ledger, design: DesignBasis) -> Order:
    """Enter the recovery that the card may order, and why.

    Unless the verdict is `fits`, it is the recovery that is kept in 90 % of the draws, the
    machine's valves and the wanted recovery not exceeded; where there is none, the card says
    so in place of a setting.

    Parameters
    ----------
    ledger : Ledger
        With machine and verdict entered. [-]
    design : DesignBasis
        The engineer's choices. [-]

    Returns
    -------
    Order
        Keys of the recovery and of its flows. [-]
    """
    recycle = _recycled(ledger)
    answer = _said(ledger, "verdict.answer")
    if not answer or "verdict.card_recovery" not in ledger or answer == FITS:
        if recycle:
            _enter_words(ledger, _in_words(design.machine.recovery), f"{answer}{_with(ledger)}")
        return Order("machine.recovery", recycle)
    kept = ledger.number("verdict.card_recovery")
    valves = design.machine.recovery_range
    if not kept or (valves is not None and kept < valves[0]):
        why = _what_stops(ledger)
        if kept is not None:
            why = f"{percent_down(kept)} is kept in 90 % of the draws, below what the valves allow"
        _enter_words(ledger, DO_NOT_RUN, f"{answer}: {why}")
        return Order("", {})
    if kept >= design.machine.recovery:
        said = f"{answer}{_conditions(ledger) if answer == CONDITIONS else ''}"
        _enter_words(ledger, _in_words(design.machine.recovery), said + _with(ledger))
        return Order("machine.recovery", recycle)
    return _backed_off(ledger, kept, recycle)


def _backed_off(ledger: Ledger, kept: float, recycle: Mapping[str, str]) -> Order:
    wanted = ledger.number("machine.recovery") or 0.0
    ledger.put(
        "settings.recovery",
        kept,
        "-",
        "Recovery to set",
        method="kept in 90 % of the draws in the worst season at the low limits, rounded down",
        evidence="common practice",
        cites=("PRACTICE",),
    )
    ledger.rests("settings.recovery", "verdict.card_recovery")
    ledger.law(
        "settings.product_m3_h",
        product_of_feed_m3_h,
        feed_flow_m3_h="machine.feed_flow_m3_h",
        recovery="settings.recovery",
        label="Product at the recovery to set, the feed as designed",
    )
    ledger.law(
        "settings.drain_m3_h",
        drain_flow_m3_h,
        feed_flow_m3_h="machine.feed_flow_m3_h",
        product_flow_m3_h="settings.product_m3_h",
        label="Drain at the recovery to set",
    )
    made, answer = ledger.number("settings.product_m3_h") or 0.0, _said(ledger, "verdict.answer")
    why = (
        f"{answer}: set for {percent_down(kept)}, which is kept in 90 % of "
        f"the draws, not for the {percent_down(wanted)} wanted; the feed stays, the product falls "
        f"to {made:.3g} m3/h"
    )
    _enter_words(ledger, _in_words(kept), why + _with(ledger))
    flows = {"product": "settings.product_m3_h", "drain": "settings.drain_m3_h", **recycle}
    return Order("settings.recovery", flows)


def _what_stops(ledger: Ledger) -> str:
    """Return why there is no setting: what was not judged, else the gravest reason."""
    reasons = [text for _, text in _points(ledger)]
    unseen = next((text for text in reasons if text.startswith("not judged, and at")), "")
    first = reasons[0] if reasons else ""
    return unseen if _said(ledger, "verdict.answer") == "depends" and unseen else first


def _points(ledger: Ledger) -> tuple[tuple[str, str], ...]:
    """Return the points of the verdict, gravest first: what each is, and its words."""
    table = ledger.study().series.get("verdict.decides")
    if table is None:
        return ()
    return tuple((str(is_a), str(text)) for _, is_a, text in table.rows)


def _said(ledger: Ledger, key: str) -> str:
    figure = ledger.figure(key)
    return str(figure.value or "") if figure is not None else ""


def _recycled(ledger: Ledger) -> dict[str, str]:
    """Return the recycle that the elements need, where less is set."""
    needed, given = ledger.number(NEEDED), ledger.number(SET) or 0.0
    if needed is None:
        return {}
    from pretreat.membrane.elements.arrange import LEAST_FLOW_M3_H

    return {"recycle": NEEDED} if needed > given + LEAST_FLOW_M3_H else {}


def _with(ledger: Ledger) -> str:
    needed = ledger.number(NEEDED)
    return f"; recycle {needed:.3g} m3/h" if _recycled(ledger) and needed else ""


def _in_words(recovery: float) -> str:
    return f"{percent_down(recovery)} recovery"


def _conditions(ledger: Ledger) -> str:
    """Return the first conditions, each whole, and how many there are where some are left."""
    every = [text for is_a, text in _points(ledger) if is_a == CONDITION]
    asked = every
    if _recycled(ledger):  # it stands on the card
        asked = [text for text in asked if not any(word in text for word in MENDED)]
    shown: list[str] = []
    for text in asked:
        if shown and len("; ".join((*shown, text))) > MOST_WHY:
            break
        shown.append(text)
    if len(shown) < len(asked):
        shown.append(f"all {len(every)} conditions stand on the sheet Verdict")
    return f": {'; '.join(shown)}" if shown else ""


def _enter_words(ledger: Ledger, order: str, why: Value) -> None:
    for name, text, label in (("order", order, "Run at"), ("order_why", why, "Why")):
        ledger.put(f"settings.{name}", text, "-", label)
        rests = ("verdict.answer", "machine.recovery", "machine.product_flow_m3_h", NEEDED)
        ledger.rests(f"settings.{name}", *(key for key in rests if key in ledger))


def enter_gauges(ledger: Ledger, order: Order) -> None:
    """Enter the split and the flows on gauges in litres and in US gallons.

    Parameters
    ----------
    ledger : Ledger
        With the order entered. [-]
    order : Order
        What the card orders, a recovery. [-]
    """
    chosen = order.recovery
    recovery = ledger.number(chosen) or math.nan
    ledger.put(
        "settings.split",
        str(split(recovery)),
        "-",
        "Product to drain",
        method="simplest ratio of whole numbers",
    )
    ledger.rests("settings.split", chosen, again=_split_in_words(chosen))
    for name, key, label in GAUGES:
        source = order.flows.get(name, key)
        if ledger.number(source) is None:
            continue
        ledger.law(
            f"settings.{name}_l_min",
            flow_l_min,
            flow_m3_h=source,
            label=f"{label} on a gauge in litres",
        )
        ledger.law(
            f"settings.{name}_gpm",
            flow_gpm,
            flow_m3_h=source,
            label=f"{label} on a gauge in US gallons",
        )


def _split_in_words(key: str) -> Callable[[Callable[[str], Any]], Any]:
    """Return the split of a recovery in words; draws of it have no one split."""

    def words(value: Callable[[str], Any]) -> str | None:
        recovery = value(key)
        return str(split(recovery)) if isinstance(recovery, float) else None

    return words
